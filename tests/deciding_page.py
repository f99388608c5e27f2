"""The published list of deciding things per use, as a page in Markdown.

Run from the repository's root to write it anew: `python tests/deciding_page.py`.
"""

from __future__ import annotations

from pathlib import Path

from siteassess.advice.deciding import DECIDING, boulder_deciding, published

TARGET = Path(__file__).parent / "published" / "deciding_things.md"
HEAD = """# Deciding things, by use

Written by `tests/deciding_page.py`; a test writes it again and compares. What must have been looked at before a verdict
may be "suits", and what follows where it was not. The evidence figure counts these.
"""


def page() -> str:
    parts = [HEAD, "| use | on a tree | on a boulder |", "|---|---:|---:|"]
    parts += [f"| {use} | {len(things)} | {len(boulder_deciding(use))} |" for use, things in DECIDING.items()]
    every = dict.fromkeys(line for use in DECIDING for line in published(use)[1:])
    parts += ["", "## On a tree\n", "| thing | not looked at | asked for |", "|---|---|---|"]
    for line in every:
        thing, _, follows = line.rpartition(": not looked at, ")
        uses = [use for use in DECIDING if line in published(use)]
        parts.append(f"| {thing} | {follows} | {'every use' if len(uses) == len(DECIDING) else ', '.join(uses)} |")
    own = [thing for thing in boulder_deciding("hammock") if thing not in ("span", "walker")]
    parts += ["", "## On a boulder, beside those of the line\n", *(f"- {thing}" for thing in own), ""]
    return "\n".join(parts)


if __name__ == "__main__":
    TARGET.write_text(page(), encoding="utf-8")
