"""The tree-care sheet for the land manager: a site's year on one page, a row a tree, ten trees to a page.

A row tells what has room in it; what has none is counted, and stands with the whole log in the appendix.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any
from unicodedata import east_asian_width

from siteassess.errors import SiteassessError
from siteassess.papers.care_paper import care_frame, until_told
from siteassess.papers.from_register import LogRow, SiteYear, TreeYear
from siteassess.papers.handover import Manner, page
from siteassess.papers.language import Words, told_how_read, trunk_told
from siteassess.papers.look import shorten
from siteassess.reference.measures import Measures
from siteassess.reference.pages import part, plain
from siteassess.reference.species import common_name, find_species
from siteassess.reference.texts import cautions
from siteassess.register import reading_records

TREES_A_PAGE = 10
CARE_COLUMNS = ("ca-tree", "ca-used", "ca-touched", "ca-found", "ca-done", "ca-again", "ca-looked")
# characters of a printed row of each column, and rows of a printed page beside its heads (seen in a browser)
CHARACTERS = (21, 24, 21, 30, 27, 22, 27)
ROWS_A_PAGE = 52
ROW_OF_PAGE = 185  # characters of a row over the whole page
ROWS_A_TREE = 30  # of one tree
PLACE_SHOWN, TAG_SHOWN, UNUSED_SHOWN, DAYS_NAMED = 90, 24, 170, 2
HEAD_BESIDE = 60  # characters of place and manager together that stand in one row each
CAPITALS = re.compile(r"[^\W\d_a-zß-ÿ]{2}")
# of the log's events those that somebody did for the tree; the others befell it
DONE_FOR_IT = frozenset(("pruning", "reopened", "other"))


@dataclass(frozen=True)
class CareRow:
    """One tree: its tag and code, and a text for each column; the first goes behind tag and code."""

    tag: str
    code: str
    cells: tuple[str, ...]


def care_page(site: SiteYear, how: Manner, trees: tuple[TreeYear, ...] | None = None, other: str = "") -> str:
    """The sheet as text.

    Parameters
    ----------
    site : the site's year, see `from_register.site_year`
    how : language and units
    trees : those wanted; None takes all that have an entry in the year, and names the others
    other : name of the file of its appendix, see `care_paper.care_log_page`
    """
    t = how.words
    chosen = tuple(tree for tree in site.trees if tree.has_entries) if trees is None else trees
    left = [tree.code for tree in site.trees if tree not in chosen] if trees is None else []
    unused = shorten(", ".join(left), UNUSED_SHOWN)
    frame = care_frame(site, how, [tree.code for tree in chosen], _short(site.name, PLACE_SHOWN))
    return page(
        "care", how, subtitle=str(site.year), style=part("care.css"), **frame,
        heads_of=[t(key, day=how.day) if key == "ca-again" else t(key) for key in CARE_COLUMNS],
        sheets=_sheets(chosen, site, how, _foot_rows(site, how, unused)), count=len(chosen), a_page=TREES_A_PAGE,
        unused=unused, unused_count=len(left), other=other,
    )  # fmt: skip


def _foot_rows(site: SiteYear, how: Manner, unused: str) -> int:
    """Printed rows of what stands on the first page beside the trees."""
    told = sum(map(len, cautions(how.words.language)))
    head = len(_spaced(_short(site.name, PLACE_SHOWN) + str(site.record.get("manager") or "")))
    below = sum(math.ceil(length / ROW_OF_PAGE) for length in (told, 70 * len(site.heads), len(unused)))
    return below + head // HEAD_BESIDE


def _sheets(trees: Sequence[TreeYear], site: SiteYear, how: Manner, foot: int) -> list[list[CareRow]]:
    made = []
    for first in range(0, len(trees), TREES_A_PAGE):
        told = [(tree, _cells(tree, site, how)) for tree in trees[first : first + TREES_A_PAGE]]
        made.append(_fitting(told, ROWS_A_PAGE - (0 if first else foot), how.words))
    return made


def _fitting(told: list[tuple[TreeYear, list[list[str]]]], room: int, t: Words) -> list[CareRow]:
    """The trees of one page: a printed row more for each in turn, as long as all of them stay on it."""
    made = [_row(tree, cells, 1, t) for tree, cells in told]
    for most in range(2, ROWS_A_TREE):
        for number, (tree, cells) in enumerate(told):
            tried = [*made[:number], _row(tree, cells, most, t), *made[number + 1 :]]
            if sum(map(_height, tried)) <= room:
                made = tried
    return made


def _height(row: CareRow) -> float:
    """Printed rows of its longest cell; the line and the air between trees are half a row."""
    return max(map(_rows, (_first(row), *row.cells[1:]), CHARACTERS)) + 0.5


def _row(tree: TreeYear, cells: list[list[str]], most: int, t: Words) -> CareRow:
    named = CareRow(_short(tree.tag or t("tag-none"), TAG_SHOWN), _short(tree.code, TAG_SHOWN), ("",))
    before = (_first(named), *[""] * (len(cells) - 1))
    told = (_cell(pieces, begun, wide, most, t) for pieces, begun, wide in zip(cells, before, CHARACTERS, strict=True))
    return CareRow(named.tag, named.code, tuple(told))


def _first(row: CareRow) -> str:
    """What its first cell is as long as: the tag is bold and larger."""
    return f"{row.tag}{'_' * math.ceil(len(row.tag) / 4)} ({row.code}) {row.cells[0]}"


def _rows(text: str, wide: int) -> int:
    """Printed rows; a word that does not fit goes to the next."""
    return len(wrap(_spaced(text), wide, break_on_hyphens=False))


def _spaced(text: str) -> str:
    """As many characters as it is wide: capitals and the letters of the far east are wider than others."""
    return "".join(one + "_" * (east_asian_width(one) in "WF") for one in CAPITALS.sub(r"\g<0>_", text))


def _short(text: str, room: int) -> str:
    """A text cut to so many characters of usual width."""
    return shorten(text, max(1, int(room * len(text) / len(_spaced(text))))) if text else text


def _cell(pieces: Sequence[str], begun: str, wide: int, most: int, t: Words) -> str:
    """As many pieces as have room, of the first at least its beginning; the others are counted."""
    for count in range(len(pieces), 0, -1):
        more = len(pieces) - count
        told = t("between").join([*pieces[:count], *([t("ca-more", count=more)] if more else [])])
        if _rows(begun + told, wide) <= most:
            return told
    rest = f" {t('ca-more', count=len(pieces) - 1)}" if len(pieces) > 1 else ""
    return _short(pieces[0], max(wide, wide * most - len(_spaced(begun + rest)) - wide // 2)) + rest


def _cells(tree: TreeYear, site: SiteYear, how: Manner) -> list[list[str]]:
    """The pieces of each column, what matters most first."""
    t, m = how.words, how.measures()
    columns = (_tree(tree, t), _used(tree, t, m), _touched(tree, t, m), _found(tree, t), _done(tree, how),
               _again(tree, site, how), _looked(tree, t))  # fmt: skip
    return [list(dict.fromkeys(map(plain, pieces))) for pieces in columns]


def _tree(tree: TreeYear, t: Words) -> Iterator[str]:
    """Its common name with the last reading of its size, then how and when that was read."""
    kind = _common(tree.species, t) if tree.species else t.of("unknown" if tree.kind == "tree" else tree.kind)
    if not tree.girths:
        yield from (kind, *([t("rp-not-measured")] if tree.kind == "tree" else []))
        return
    last, reading = tree.girths[-1], tree.girths[-1].reading
    day = last.day or t("c-undated", day=last.entered)
    if last.stems > 1 or not reading.get("read_at"):
        yield from (kind, f"{trunk_told(reading, last.stems, t)} ({day})")
        return
    name = "girth" if reading.get("girth") else "diameter"
    yield f"{kind}{t('between')}{t(f'ca-{name}', size=reading[name])}"
    yield t("ca-read", at=reading["read_at"], how=told_how_read(reading, t), day=day)


def _common(species: str, t: Words) -> str:
    try:
        name = find_species(species).accepted
    except SiteassessError:
        return species
    return common_name(name, t.language) or species


def _used(tree: TreeYear, t: Words, m: Measures) -> Iterator[str]:
    """By line how often and on which days, and how long in all."""
    if not tree.uses:
        yield t("ca-unused")
        return
    for line in dict.fromkeys(row.line for row in tree.uses):
        rows = [row for row in tree.uses if row.line == line]
        days = sorted({row.body["date"] for row in rows})
        when = ", ".join(days) if len(days) <= DAYS_NAMED else t("rp-from-to", a=days[0], b=days[-1])
        told = t("ca-uses", count=len(rows), days=len(days))
        yield f"{line or t('ca-no-line')}{t('colon')} {told}, {when}"
    untimed = sum(1 for row in tree.uses if row.hours is None)
    key = "ca-hours-none" if untimed == len(tree.uses) else "ca-hours-least" if untimed else "ca-hours"
    yield t(key, hours=m.number(tree.total.hours), count=untimed)


def _touched(tree: TreeYear, t: Words, m: Measures) -> Iterator[str]:
    """What lay on the bark, how wide and how high, and for how many uses nobody wrote it."""
    if not tree.uses:
        yield t("none")
        return
    bodies = [row.body for row in tree.uses]
    yield from dict.fromkeys(body["padding"] for body in bodies if body.get("padding"))
    lacking = sum(1 for body in bodies if not body.get("padding"))
    if lacking:
        yield t("ca-pads-unwritten", count=lacking, all=len(bodies))
    widths = _sizes(bodies, "sling_width")
    if widths:
        yield t("ca-sling", widths=", ".join(m.width(width) for width in widths))
    heights = _sizes(bodies, "tie_height")
    if heights:
        told = [m.length(height, 2) for height in dict.fromkeys((heights[0], heights[-1]))]
        yield t("ca-tied", height=told[0] if len(told) == 1 else t("rp-from-to", a=told[0], b=told[1]))


def _sizes(bodies: Sequence[Any], name: str) -> list[float]:
    """The different sizes of that name [m], least first."""
    read = (reading_records.si(body.get(name), "length") for body in bodies)
    return sorted({size for size in read if size is not None})


def _found(tree: TreeYear, t: Words) -> Iterator[str]:
    """The heaviest marks on bark and ground with their day, and what befell it; where nobody looked, that."""
    for which, term in (("bark_marks", "ca-bark"), ("ground_marks", "ca-ground")):
        heaviest = tree.heaviest(which)
        seen = [row.body for row in (*tree.uses, *tree.marks) if row.body.get(which, "not looked") == heaviest]
        if heaviest in (None, "not looked"):
            yield f"{t(term)}{t('colon')} {t('ca-nobody-looked')}"
        else:
            size = ", ".join(dict.fromkeys(body["mark_size"] for body in seen if body.get("mark_size")))
            of_bark = size if which == "bark_marks" else ""
            told = ", ".join(filter(None, (t.of(heaviest), of_bark, seen[-1].get("notes"))))
            yield f"{t(term)}{t('colon')} {told} ({max(body['date'] for body in seen)})"
    yield from (_event(row, t) for row in reversed(tree.events) if row.body["event"] not in DONE_FOR_IT)
    yield from (f"{row.body['date']}{t('colon')} {row.body['notes']}" for row in reversed(tree.marks)
                if row.body.get("notes") and row.body.get("bark_marks") != tree.heaviest("bark_marks"))  # fmt: skip
    unlooked = sum(1 for row in tree.uses if row.body.get("bark_marks", "not looked") == "not looked")
    if unlooked and tree.heaviest("bark_marks") != "not looked":
        yield t("ca-not-looked-after", count=unlooked, all=len(tree.uses))


def _event(row: LogRow, t: Words) -> str:
    notes = row.body.get("notes") or ""
    return f"{t.of(row.body['event'])} {row.body['date']}{t('colon') + ' ' + notes if notes else ''}"


def _done(tree: TreeYear, how: Manner) -> Iterator[str]:
    """What was to be done and was, rests, and what else somebody did; what is open still first."""
    t, told = how.words, []
    looks = [row.body for row in (*tree.carried, *tree.inspections) if row.body.get("action")]
    for body in sorted(looks, key=lambda body: bool(body.get("action_done"))):
        done, last = body.get("action_done"), body.get("action_due") or t("not-recorded")
        told.append(f"{body['action']} ({t('done-on')} {done})" if done else
                    f"{t('ca-open')}{t('colon')} {body['action']} ({t('due-on')} {last})")  # fmt: skip
    for row in reversed(tree.rests):
        notes = row.body.get("notes") or ""
        until = until_told(row.body.get("until") or "9999-12-31", how)
        told.append(f"{t('ca-rest')} {row.body['date']} {until}{t('colon') + ' ' + notes if notes else ''}")
    told += [_event(row, t) for row in reversed(tree.events) if row.body["event"] in DONE_FOR_IT]
    yield from told or [t("ca-nothing-done")]


def _again(tree: TreeYear, site: SiteYear, how: Manner) -> Iterator[str]:
    """Whether it rests, and what the register answers today of each line on it, with its first reason."""
    t = how.words
    yield f"{t('ca-rests')} {until_told(tree.resting_until, how)}" if tree.resting_until else t("ca-no-rest")
    if tree.status:
        yield f"{t.with_colon('status-here')} {t.of(tree.status)}"
    lines = [line for line in site.lines if line.id in tree.lines]
    for line in lines:
        until = f"{t('until')} {line.answer.until}" if line.answer.until else t.why(line.answer.against[:1])
        yield f"{line.code}{t('colon')} {t.of(line.answer.word)} ({until})"
    if not lines:
        yield t("ca-no-lines")


def _looked(tree: TreeYear, t: Words) -> Iterator[str]:
    """Each later look, the last one first, with who it was; then who wrote the last entry."""
    for row in reversed(tree.inspections):
        body = row.body
        yield f"{body['date']} {body['inspector']} ({t.of(body['standing'])}){t('colon')} {body['finding']}"
        if body.get("next_due"):
            yield t("ca-next", day=body["next_due"])
    if not tree.inspections:
        yield t("ca-no-look")
    rows = sorted((*tree.uses, *tree.marks, *tree.events, *tree.rests), key=lambda row: row.body["date"])
    if rows:
        yield t("ca-last-entry", day=rows[-1].body["date"], who=rows[-1].who)
    if any(row.disputed for row in (*rows, *tree.inspections)):
        yield t("disputed")
