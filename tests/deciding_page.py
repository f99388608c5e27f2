"""The published list of deciding things per use, as a page in Markdown.

Run from the repository's root to write it anew: `python tests/deciding_page.py`.
"""

from __future__ import annotations

from pathlib import Path

from siteassess.advice.verdict import DECIDING, WORST_CASE_TAKEN, boulder_deciding

TARGET = Path(__file__).parent / "published" / "deciding_things.md"
HEAD = """# Deciding things, by use

Written by `tests/deciding_page.py`; a test writes it again and compares. What must have been looked at before a verdict
may be "suits", and what follows where it was not. The evidence figure counts these.
"""
TAKEN_IF = {
    "soil wetness": "taken as wet, and at best suits if the ground is not soaked",
    "span": "no tape, the distance by positions stands in, and at best suits if a tape agrees",
}


def page() -> str:
    parts = [HEAD, "| use | on a tree | on a boulder |", "|---|---:|---:|"]
    parts += [f"| {use} | {len(things)} | {len(boulder_deciding(use))} |" for use, things in DECIDING.items()]
    every = dict.fromkeys(thing for things in DECIDING.values() for thing in things)
    parts += ["", "## On a tree\n", "| thing | not looked at | asked for |", "|---|---|---|"]
    for thing in every:
        uses = [use for use, things in DECIDING.items() if thing in things]
        by = "every use" if len(uses) == len(DECIDING) else ", ".join(uses)
        parts.append(f"| {thing} | {follows(thing)} | {by} |")
    own = [thing for thing in boulder_deciding("hammock") if thing not in ("span", "walker")]
    parts += ["", "## On a boulder, beside those of the line\n", *(f"- {thing}" for thing in own), ""]
    return "\n".join(parts)


def follows(thing: str) -> str:
    """What follows where a deciding thing of a tree or line was not looked at."""
    taken = WORST_CASE_TAKEN.get(thing)
    return taken.in_words() if taken else TAKEN_IF.get(thing, "cannot say")


if __name__ == "__main__":
    TARGET.write_text(page(), encoding="utf-8")
