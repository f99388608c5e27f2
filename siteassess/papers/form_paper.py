"""The blank paper form: the same questions in the same order as on the phone, from the same schema."""

from __future__ import annotations

from dataclasses import dataclass, field

from pydantic import BaseModel

from siteassess.papers.form_data import measure
from siteassess.papers.form_words import FormWords
from siteassess.records.anchor import ANCHOR_KINDS, Roots
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.records.schema import Asked, members
from siteassess.reference.findings import word

# how often a list's questions stand on paper, once if not said: girth at the sling and at a rule's height; a few points
TIMES = {"trunk": 2, "ground": 4}
BOXES_AT_MOST = 9  # more answers than this are written, not ticked


@dataclass(frozen=True)
class Blank:
    """One thing to fill in on paper: a question with boxes to tick, or with room to write."""

    ask: str
    quick: bool
    boxes: tuple[str, ...] = ()
    unit: str = ""
    long: bool = False
    level: int = 0
    heading: bool = False
    roots: bool = False
    path: tuple[str, ...] = ()


@dataclass(frozen=True)
class FormSheet:
    """One sheet of the paper form."""

    title: str
    quick: bool
    blanks: tuple[Blank, ...] = field(default_factory=tuple)


def sheets(words: FormWords, units: str = "metric") -> tuple[FormSheet, ...]:
    """The sheets: site and survey, each kind of anchor, a line, and each list that stands beside them."""
    first = []
    for asked in members(Record):
        if asked.name in ("site", "survey", "note"):
            first += _blanks(asked, words, units, 0)
    made = [FormSheet(words.sentence("screen-site"), True, tuple(first))]
    for kind, model in ANCHOR_KINDS.items():
        made.append(FormSheet(words.sentence(f"add-{kind}"), kind == "tree", _of(model, words, units)))
    made.append(FormSheet(words.sentence("add-line"), True, _of(Line, words, units)))
    beside = (asked for asked in members(Record) if asked.kind == "parts" and asked.name not in ("anchors", "lines"))
    for asked in beside:
        made.append(FormSheet(words.question(asked.question), asked.quick, tuple(_blanks(asked, words, units, 0))))
    return tuple(made)


def _of(model: type[BaseModel], words: FormWords, units: str, level: int = 0) -> tuple[Blank, ...]:
    open_ones = (asked for asked in members(model) if len(asked.choices) != 1)  # the kind of anchor is the sheet's own
    return tuple(blank for asked in open_ones for blank in _blanks(asked, words, units, level))


def _blanks(asked: Asked, words: FormWords, units: str, level: int) -> list[Blank]:
    ask = words.question(asked.question)
    if not asked.models:
        return [_leaf(asked, ask, words, units, level)]
    heading = Blank(ask, asked.quick, level=level, heading=True, roots=asked.models[0] is Roots, path=asked.path)
    inside = _of(asked.models[0], words, units, level + 1)
    if not asked.quick:
        # a part left out of the short form is left out whole
        inside = tuple(Blank(**{**blank.__dict__, "quick": False}) for blank in inside)
    times = TIMES.get(asked.name, 1) if asked.kind == "parts" else 1
    return [heading, *(blank for _ in range(times) for blank in inside)]


def _leaf(asked: Asked, ask: str, words: FormWords, units: str, level: int) -> Blank:
    boxes: tuple[str, ...] = ()
    if asked.kind == "choice" and len(asked.choices) <= BOXES_AT_MOST:
        boxes = tuple(words.choice(choice) for choice in asked.choices)
    elif asked.kind == "yes or no":
        boxes = (words.sentence("yes"), words.sentence("no"))
    unit = word(measure(asked, units)[-1], words.language) if asked.kind == "quantity" else ""
    long = asked.kind in ("points", "table") or asked.name in ("notes", "conditions")
    return Blank(ask, asked.quick, boxes, unit, long, level, path=asked.path)
