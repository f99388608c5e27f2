"""Hypothesis strategies for whole records, built from the record's own schema.

Import as `from strategies import records, trees`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import datetime
import string
from functools import cache

from hypothesis import strategies as st
from pydantic import BaseModel

from siteassess.records.anchor import ANCHOR_KINDS, Tree
from siteassess.records.characters import forbidden_character
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.records.schema import Asked, members
from siteassess.records.site import Site, Survey
from siteassess.records.size_terms import terms_of
from siteassess.units import UNITS, parse, quantity

_TRICKY = [
    "no", "yes", "on", "off", "null", "~", "true", "12", "1.5", "1e3", "010", "0x1F", "1:30", ".nan", "-", "- a",
    "a: b", "a #b", "#", "*a", "&a", "!a", "%a", "@a", "`", "{a}", "[a]", "'", '"', "\\", "|", ">", "?", "<<", "=",
    "2026-01-01", " lead", "trail ", "two\nlines", "\nlead", "trail\n", "tab\there", "é", "木", "𝄞", "${x}",
    "<img src=x onerror=y>", "---", "...", "a\n\n b", "a\u00a0", "one\n  two\n", "x\n\n", "a\u200b",
]


def texts(longest: int = 60) -> st.SearchStrategy[str]:
    """Texts a record may hold, hostile ones among them."""
    free = st.text(st.characters(codec="utf-8"), min_size=1, max_size=longest)
    return st.one_of(st.sampled_from(_TRICKY), free).filter(lambda text: text.strip() and not forbidden_character(text))


def codes() -> st.SearchStrategy[str]:
    return st.text(string.ascii_letters + string.digits, min_size=1, max_size=5)


@st.composite
def quantity_texts(draw, kind: str, low: str, high: str) -> str:
    """Texts of quantities within a range, in any unit of their kind."""
    lowest, highest = parse(low, kind).si, parse(high, kind).si
    unit = draw(st.sampled_from(sorted(UNITS[kind])))
    value = draw(st.floats(lowest, highest))
    text = quantity(value, unit, kind, digits=6).text
    return text if lowest <= parse(text, kind).si <= highest else low


def _points() -> st.SearchStrategy:
    return st.lists(st.tuples(st.floats(-90, 90), st.floats(-180, 180)), max_size=3)


def _tables() -> st.SearchStrategy:
    leaf = st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.floats(-1e9, 1e9) | texts(20)
    deep = st.recursive(leaf, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts(8), inner, max_size=3))
    return st.dictionaries(texts(8), deep, max_size=3)


_SHAPED_TEXTS = {"country": st.just("NL"), "time_zone": st.just("Europe/Oslo"), "path": st.just("photos/a b.jpg")}


def values(asked: Asked) -> st.SearchStrategy:
    """Plain values a field can be given in a file."""
    if asked.kind == "quantity":
        return quantity_texts(asked.quantity, asked.low, asked.high)
    if asked.kind == "number":
        return st.floats(asked.low, asked.high)
    if asked.kind == "whole number":
        return st.integers(int(asked.low), int(asked.high))
    if asked.kind == "part":
        return parts(asked.models[0])
    if asked.kind == "parts":
        return st.lists(parts(asked.models[0]), max_size=2)
    if asked.name in _SHAPED_TEXTS:
        return _SHAPED_TEXTS[asked.name]
    return {
        "text": texts(),
        "code": codes(), "choice": st.sampled_from(asked.choices or ("",)), "yes or no": st.booleans(),
        "date": st.dates(datetime.date(1990, 1, 1), datetime.date(2026, 1, 1)).map(datetime.date.isoformat),
        "time": st.times().map(lambda time: time.strftime("%H:%M")), "points": _points(), "table": _tables(),
    }[asked.kind]


@cache
def _named_values(model: type[BaseModel]) -> list[tuple[str, bool, st.SearchStrategy]]:
    return [(asked.name, asked.required, values(asked)) for asked in members(model)]


@st.composite
def parts(draw, model: type[BaseModel]) -> dict:
    """A part with its required fields and some of the others, as plain data that fits together."""
    named = _named_values(model)
    chosen = draw(st.sets(st.sampled_from([name for name, _, _ in named]), max_size=12))
    filled = {name: draw(value) for name, required, value in named if required or name in chosen}
    return _mended(draw, model.__name__, filled)


def _mended(draw, name: str, filled: dict) -> dict:
    if name == "TrunkReading":
        filled.pop("diameter", None)
        filled["girth"] = filled.get("girth") or draw(quantity_texts("length", "10 cm", "15 m"))
    elif name == "Fix":
        filled = {key: value for key, value in filled.items() if key not in ("lat", "lon", "at")}
        degrees = st.fixed_dictionaries({"lat": st.floats(-90, 90), "lon": st.floats(-180, 180)})
        filled |= draw(degrees | st.just({"at": "31U DQ 48251 11932"}))
    elif name == "Position":
        filled["fixes"] = filled.get("fixes", [])
        for tie in filled.get("ties", []):
            tie["landmark"] = "LM0"
    elif name == "Standing":
        filled.pop("sag", None)
    elif name == "Planned":
        filled.pop("until", None)
    return filled


@st.composite
def records(draw, most_anchors: int = 4) -> Record:
    """Whole records that read without a fault."""
    site = draw(parts(Site))
    site["landmarks"] = [{**one, "code": f"LM{index}"} for index, one in enumerate(site.get("landmarks", []), 1)]
    site["landmarks"].append({"code": "LM0", "what": "a bench"})
    for landmark in site["landmarks"]:
        landmark.pop("position", None)
    kinds = draw(st.lists(st.sampled_from(["tree", "tree", "boulder", "other"]), min_size=2, max_size=most_anchors))
    anchors = [{**draw(parts(ANCHOR_KINDS[kind])), "code": f"A{index}"} for index, kind in enumerate(kinds)]
    lines = [_between(draw, index, len(anchors)) for index in range(draw(st.integers(0, 2)))]
    data = {"siteassess_record": 1, "site": site, "survey": draw(parts(Survey)), "anchors": anchors, "lines": lines}
    _leave_out_impossible(data)
    return Record.model_validate(data)


def _leave_out_impossible(data: dict) -> None:
    """Take out every size that cannot stand beside another; the sizes are drawn each by itself."""
    while wrong := next((term.size.path for term in terms_of(data) if term.impossible()), None):
        if wrong[-2:] == ("trial", "tie_height") or (len(wrong) > 3 and isinstance(wrong[-2], int)):
            wrong = wrong[:-1]  # the part cannot do without it
        at = data
        for step in wrong[:-1]:
            at = at[step]
        del at[wrong[-1]]


def _between(draw, index: int, anchors: int) -> dict:
    line = {**draw(parts(Line)), "id": f"L{index}"}
    a = draw(st.integers(0, anchors - 2))
    line["a"]["anchor"], line["b"]["anchor"] = f"A{a}", f"A{a + 1}"
    return line


def trees() -> st.SearchStrategy[Tree]:
    def possible(tree: dict) -> Tree:
        _leave_out_impossible({"anchors": [tree]})
        return Tree.model_validate(tree)

    return parts(Tree).map(possible)
