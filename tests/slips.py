"""Clean records as people make them, and single slips of unit and size planted in them.

The trees are measured ones: rows of a published table of city trees that the project's bands were not derived from,
and street trees of a census with a diameter and no height. The lines are those of the trade (common practice, no
source): most riggers bring like slings and pads for both ends and tie the line level, the rest have at each end what
they had; some trees lean, some stand on banks, some pads are folded, and a tenth of the surveyors write down every
tenth of a degree that a phone shows. Nothing here is drawn from `data/size_rules.csv`.
Import as `from slips import ...`.
"""

from __future__ import annotations

import copy
import csv
import datetime
import math
import random
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from unittest.mock import patch

import yaml
from city_trees import raw
from parks import SECTORS, SIGNS

from siteassess.advice import assess as story
from siteassess.advice.assess import assess
from siteassess.errors import FaultyInput
from siteassess.records.doubtful import findings
from siteassess.records.finding import number_and_unit
from siteassess.records.reading import read_text
from siteassess.records.record import Record
from siteassess.units import UNITS, quantity, si_factor

TODAY = datetime.date(2026, 6, 1)
DATA = Path(__file__).parent / "published" / "data"
LEAST_ANCHOR_M, LEAST_HEIGHT_M, LEAST_CLEAR_M = 0.20, 5.0, 1.5  # other trees are no anchor anyone measures for a line
SLIPS_A_RECORD = 4  # each by itself
LEAST_CHANGE = 0.10  # of a use, for a slip to count
WEBBINGS = ("polyester", "nylon", "polyester 50 mm", "high-modulus polyethylene")
SLINGS_MM = (25, 30, 50, 60, 75, 90, 100)  # bearing widths sold (common practice, no source)
WIDE_SLINGS_MM = (120, 150)  # sold too, and rarely tied to a tree
UPRIGHT = ("0 deg", "0 deg", "0 deg", "1 deg", "2 deg", "3 deg", "5 deg", "8 deg")
LEANING = ("10 deg", "12 deg", "15 deg")
LAWNS, BANKS = ("0 deg", "1 deg", "2 deg", "5 %", "8 %", "10 deg"), ("15 deg", "20 deg", "25 deg", "30 %", "40 %")
ENDS_ALIKE, WIDE, FOLDED, SMALL, STEEP, BY_PHONE = 0.7, 0.03, 0.05, 0.1, 0.04, 0.1  # shares (no source)


@dataclass(frozen=True)
class MeasuredTree:
    """A row of a published table; what was not measured is None [m]."""

    species: str
    diameter: float
    height: float | None = None
    crown_base: float | None = None
    crown: float | None = None


@cache
def measured_trees() -> tuple[MeasuredTree, ...]:
    """City trees that are stout and tall enough for a line, drawn from those `data/size_rules.csv` does not rest on."""
    drawn = raw()[raw().by_lot].sort_values("database_id")
    trees = (
        MeasuredTree(row.species, row.diameter_cm / 100, row.height_m,
                     row.crown_base_m if row.crown_base_m > 0 else None, row.crown_m)
        for row in drawn.itertuples()
    )  # fmt: skip
    return tuple(
        tree for tree in trees if tree.diameter >= LEAST_ANCHOR_M and tree.height >= LEAST_HEIGHT_M
        and (tree.crown_base is None or tree.crown_base >= LEAST_CLEAR_M)
    )  # fmt: skip


@cache
def census_trees() -> tuple[MeasuredTree, ...]:
    """Street trees of a census (New York 2015): a diameter in whole inches and a name."""
    with (DATA / "nyc_2015_street_trees_5000.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["status"] == "Alive" and row["spc_latin"]]
    sized = ((row["spc_latin"], float(row["tree_dbh"]) * 0.0254) for row in rows)
    return tuple(MeasuredTree(name, size) for name, size in sized if LEAST_ANCHOR_M <= size <= 2.0)


class Pen:
    """Writes sizes as a surveyor of one country does."""

    def __init__(self, us: bool):
        self.us = us

    def small(self, si: float, step_cm: float = 1.0) -> str:
        """Girths, diameters, bark and walls."""
        return _rounded(si, "in", 0.5) if self.us else _rounded(si, "cm", step_cm)

    def long(self, si: float, step_m: float = 0.1, step_ft: float = 1.0) -> str:
        """Heights, spans, ties and distances."""
        return _rounded(si, "ft", step_ft) if self.us else _rounded(si, "m", step_m)

    def thin(self, si: float) -> str:
        return _rounded(si, "in", 0.25) if self.us else _rounded(si, "mm", 1.0)

    def force(self, si: float) -> str:
        return _rounded(si, "lbf", 10) if self.us else _rounded(si, "kN", 0.1)

    def mass(self, si: float) -> str:
        return _rounded(si, "lb", 1) if self.us else _rounded(si, "kg", 1)


def _rounded(si: float, unit: str, step: float) -> str:
    kind = next(kind for kind, table in UNITS.items() if unit in table)
    steps = max(1, round(si / si_factor(kind, unit) / step))
    return f"{steps * step:.10g} {unit}"


def clean_record(seed: int) -> dict:
    """A record without a slip, as plain data: two trees and a line."""
    draw = random.Random(seed)
    pen = Pen(us=draw.random() < 0.3)
    habit = draw.random()  # some survey with a tool of the other system: heights, trunks or slings; rarely one length
    other = Pen(not pen.us)
    heights, trunks, slings = (other if low <= habit < low + 0.03 else pen for low in (0.0, 0.03, 0.06))
    spans = other if 0.09 <= habit < 0.093 else pen
    from_census = draw.random() < 0.15
    source = census_trees() if from_census else measured_trees()
    line = _line(draw, pen, spans)
    trees = [_tree(draw, pen, heights, trunks, draw.choice(source), f"T{number}") for number in (1, 2)]
    if draw.random() < BY_PHONE:
        for _, data in trees:
            data["lean"] = f"{abs(draw.gauss(0, 3)):.1f} deg"
            data["ground"]["slope"] = f"{abs(draw.gauss(0, 4)):.1f} deg"
    brought = _brought(draw)
    level = _tie(draw, line["use"])
    for name, (tree, data) in zip("ab", trees):
        if draw.random() > ENDS_ALIKE:
            brought, level = _brought(draw), _tie(draw, line["use"])
        line[name] |= {"anchor": data["code"]} | _end(draw, pen, slings, tree, level * draw.uniform(0.9, 1.1), brought)
    return {
        "siteassess_record": 1, "site": {"name": "Slip Common (invented)", "invented": True},
        "survey": {"by": "N. Body (invented)", "date": "2026-04-18"},
        "anchors": [data for _, data in trees], "lines": [line],
    }  # fmt: skip


def _tree(
    draw: random.Random, pen: Pen, heights: Pen, trunks: Pen, tree: MeasuredTree, code: str
) -> tuple[MeasuredTree, dict]:
    trunk = {"diameter": trunks.small(tree.diameter)} if draw.random() < 0.2 else {
        "girth": trunks.small(math.pi * tree.diameter)}  # fmt: skip
    data = {
        "kind": "tree", "code": code, "species": {"name": tree.species, "certainty": "sure"},
        "trunk": [trunk | {"read_at": pen.long(1.37, 0.1, 0.5), "how": "taped"}], "stems": "single",
        "condition": "sound", "use_so_far": "occasional", "bark": {"form": draw.choice(["smooth", "deep ridged"])},
        "lean": draw.choice(LEANING if draw.random() < STEEP else UPRIGHT),
        "lean_toward": f"{draw.randrange(0, 360, 10)} deg",
        "roots": dict.fromkeys(SECTORS, "covered"), "hard_edge_near": "no",
        "ground": {"slope": draw.choice(BANKS if draw.random() < STEEP else LAWNS), "downhill": "180 deg",
                   "shallow": "no", "wetness": draw.choice(["dry", "moist", "moist", "wet"])},
        "signs": dict.fromkeys(SIGNS, "no"),
    }  # fmt: skip
    if tree.height is not None:
        data |= {"height": heights.long(tree.height, 0.5), "height_how": "measured"}
    if tree.crown is not None and draw.random() < 0.8:
        data["crown_spread"] = pen.long(tree.crown, 0.5)
    if tree.crown_base is not None and draw.random() < 0.6 and tree.crown_base < tree.height:
        data["crown_base"] = pen.long(tree.crown_base, 0.5)
    if draw.random() < 0.15:  # read at an old wound
        data["bark"]["thickness"] = pen.thin(max(0.002, tree.diameter * draw.uniform(0.012, 0.05)))
    if draw.random() < 0.08:
        data["hollow"] = {"height": pen.long(draw.uniform(0.3, 2.0)),
                          "sound_wall": pen.small(tree.diameter / 2 * draw.uniform(0.32, 0.9))}  # fmt: skip
    if draw.random() < 0.15:
        off = pen.long(tree.diameter / 2 + draw.uniform(0.4, 5))
        data["hard_edges"] = [{"what": "kerb", "side": draw.choice(SECTORS), "distance": off}]
        data["hard_edge_near"] = "yes"
    if draw.random() < 0.1:
        data["ground"] |= {"bank_distance": pen.long(draw.uniform(1.5, 20)), "bank_side": draw.choice(SECTORS)}
    return tree, data


@dataclass(frozen=True)
class Brought:
    """What a rigger has for one end: a sling, and mostly a pad [m]."""

    kind: str
    wrap: str
    width: float
    pad: tuple[float, float] | None


def _brought(draw: random.Random) -> Brought:
    width = draw.choice(WIDE_SLINGS_MM if draw.random() < WIDE else SLINGS_MM) / 1000
    thick = 0.040 if draw.random() < FOLDED else draw.choice([0.006, 0.010, 0.015, 0.020])
    pad = (thick, draw.choice([0.2, 0.25, 0.3, 0.4])) if draw.random() < 0.8 else None
    return Brought(draw.choice(["round sling", "flat sling"]), draw.choice(["basket", "doubled basket"]), width, pad)


def _tie(draw: random.Random, use: str) -> float:
    least, most = {
        "hammock": (1.0, 1.8), "low line": (0.5, 1.2), "trick line": (1.0, 1.6), "long line": (1.3, 2.8),
        "high line": (2.0, 6.0),
    }[use]  # fmt: skip
    return draw.uniform(least, most)


def _end(draw: random.Random, pen: Pen, slings: Pen, tree: MeasuredTree, tie: float, brought: Brought) -> dict:
    if tree.height is not None:
        tie = min(tie, 0.3 * tree.height)
    if tree.crown_base is not None:
        tie = min(tie, tree.crown_base - 0.4)  # under the lowest branch, with room for rounding
    radius = tree.diameter / 2
    link = radius * draw.uniform(1.6, 3.5) + 0.1
    end = {
        "tie_height": pen.long(tie, 0.1, 0.5),
        "sling": {"kind": brought.kind, "wrap": brought.wrap, "width": slings.thin(brought.width),
                  "link_distance": pen.long(link, 0.1, 0.25)},
    }  # fmt: skip
    if draw.random() < 0.5:
        end["sling"]["length"] = pen.long(2 * link + 2 * radius + draw.uniform(0.2, 1.0), 0.5, 1)
    if brought.pad:
        thick, wide = brought.pad
        end["padding"] = {"material": "carpet", "thickness": pen.thin(thick), "width": pen.small(wide),
                          "goes_round": "whole trunk"}  # fmt: skip
    return end


def _line(draw: random.Random, pen: Pen, spans: Pen) -> dict:
    use = draw.choice(["hammock", "low line", "low line", "trick line", "long line", "long line", "high line"])
    span, pull = {
        "hammock": (draw.uniform(2.8, 5.5), None),
        "low line": (draw.uniform(8, 30), draw.uniform(1.2, 4.0)),
        "trick line": (draw.uniform(12, 25), draw.uniform(4, 12)),
        "long line": (draw.uniform(35, 100), draw.uniform(3, 9)),
        "high line": (draw.uniform(20, 80), draw.uniform(2, 7)),
    }[use]  # fmt: skip
    mass = min(max(draw.gauss(76, 13), 45), 120)
    if use in ("hammock", "low line") and draw.random() < SMALL:
        mass = draw.uniform(16, 45)  # a child
    line = {
        "id": "L1", "use": use, "a": {}, "b": {}, "span": {"taped": spans.long(span, 0.1, 1), "how": "taped"},
        "walkers": {"mass": pen.mass(mass)}, "planned": {"date": "2026-04-20", "attended": "always"},
    }  # fmt: skip
    if use == "hammock":
        return line
    kind = "polyester 50 mm" if use == "trick line" else draw.choice(WEBBINGS)
    line["webbing"] = {"kind": kind, "width": "50 mm" if "50" in kind else "25 mm"}
    if draw.random() < 0.4:
        line["webbing"]["mass"] = f"{draw.choice([110, 130, 150] if '50' in kind else [40, 55, 60, 65, 70, 80])} g/m"
    line["standing"] = {"tension": pen.force(pull * 1e3), "how": draw.choice(["load cell", "estimate"])}
    if draw.random() < 0.5:
        dip = draw.uniform(0, 0.8)
        nought = "0 ft" if spans.us else "0 m"
        middle = {"at": spans.long(span / 2, 0.5), "height": "-" + spans.long(dip, 0.1, 0.5)}
        far = {"at": line["span"]["taped"], "height": nought}
        line["ground"] = [{"at": nought, "height": nought}, middle, far]
    if use == "high line":
        line |= {"backup": "other tree"}
        line["walkers"]["leash"] = pen.long(draw.uniform(1.0, 1.8), 0.1, 0.5)
    return line


# ---- slips


@dataclass(frozen=True)
class Slip:
    path: tuple
    typed: str
    meant: str
    kind: str

    @property
    def field(self) -> str:
        return ".".join(step for step in self.path if isinstance(step, str)).replace("lines.a", "lines.end").replace(
            "lines.b.", "lines.end.")  # fmt: skip

    def planted(self, data: dict) -> dict:
        made = copy.deepcopy(data)
        at = made
        for step in self.path[:-1]:
            at = at[step]
        at[self.path[-1]] = self.typed
        return made


SHIFTS = {"a place": 10, "two places": 100, "three places": 1000}
SWAPS = {"length": ("cm", "m", "in", "ft"), "mass": ("kg", "lb")}
DIRECTIONS = ("downhill", "lean_toward", "toward", "edge_bearing", "out", "back")  # no size, and no partner


def slips_of(data: dict) -> list[Slip]:
    """Every single slip of a record: the point lost or moved, one unit written for another, or read in another."""
    found = []
    for path, text in _texts(data):
        number, unit = number_and_unit(text)
        kind = next((kind for kind, table in UNITS.items() if unit in table), None)
        if kind is None or float(number) == 0:
            continue
        for name, factor in SHIFTS.items():
            found.append(Slip(path, f"{_plain(float(number) * factor)} {unit}", text, f"{name} up"))
            found.append(Slip(path, f"{_plain(float(number) / factor)} {unit}", text, f"{name} down"))
        for other in SWAPS.get(kind, ()):
            if other != unit:
                found.append(Slip(path, f"{number} {other}", text, f"{unit} written {other}"))
                read = quantity(float(number) * si_factor(kind, unit), other, kind, 3).text
                found.append(Slip(path, f"{number_and_unit(read)[0]} {unit}", text, f"{other} read for {unit}"))
    return found


def _plain(number: float) -> str:
    return f"{number:.8f}".rstrip("0").rstrip(".") or "0"


def _texts(node, path: tuple = ()) -> Iterator[tuple[tuple, str]]:
    """Every quantity of a record with its path, directions left out."""
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in items:
        yield from _texts(value, (*path, key))
    if isinstance(node, str) and path[-1] not in DIRECTIONS and _QUANTITY.fullmatch(node):
        yield path, node


_QUANTITY = re.compile(r"-?[0-9.]+ \S+")


@dataclass(frozen=True)
class Planted:
    """A slip that reads or is refused, what it did to the uses, and whether anything was said."""

    slip: Slip
    seed: int
    refused: bool
    doubted: bool
    change: float  # greatest change of a use, as a factor from 1 up; infinite where a use appears or goes

    @property
    def flagged(self) -> bool:
        return self.refused or self.doubted


def plant(count: int, seed: int = 0) -> Iterator[Planted]:
    """Plant single slips in clean records until `count` of them changed a use by a tenth or were refused."""
    draw = random.Random(seed)
    found = 0
    while found < count:
        number = draw.randrange(10**9)
        data = clean_record(number)
        clean = read(data)
        told, used = Counter(doubts(clean)), uses(clean)
        every = slips_of(data)
        for path in draw.sample(sorted({slip.path for slip in every}, key=str), SLIPS_A_RECORD):
            planted = judged(draw.choice([slip for slip in every if slip.path == path]), data, number, told, used)
            if planted.refused or planted.change >= 1 + LEAST_CHANGE:
                found += 1
                yield planted


def judged(slip: Slip, data: dict, seed: int, told: Counter, used: list) -> Planted:
    """One slip in one record, beside the doubts and the uses of the clean one."""
    try:
        record = read(slip.planted(data))
    except FaultyInput:
        return Planted(slip, seed, True, False, math.inf)
    return Planted(slip, seed, False, bool(Counter(doubts(record)) - told), changed(used, uses(record)))


def read(data: dict) -> Record:
    return read_text(yaml.safe_dump(data, sort_keys=False), today=TODAY)


def doubts(record: Record) -> list[tuple]:
    """Doubts of a record by path; a day without a direction or a position is no matter of size."""
    return [finding.path for finding in findings(record, TODAY)]


def uses(record: Record) -> list[float | None]:
    """Hold and care use of both ends; remedies and clearance, which leave them alone, are not sought."""
    unsought = dict.fromkeys(("hold_remedies", "would_hold", "care_mends"), lambda *_: ())
    with patch.multiple(story, **unsought, of_the_whole_line=lambda *_: (None, [], None, ())):
        return uses_in_full(record)


def uses_in_full(record: Record) -> list[float | None]:
    (line,) = assess(record).lines
    return [use for anchor in line.anchors for use in (anchor.hold_use, anchor.care_use)]


def changed(before: list, after: list) -> float:
    """The greatest factor between two lists of uses."""
    worst = 1.0
    for one, other in zip(before, after, strict=True):
        if (one is None) != (other is None) or (one is not None and (one == 0) != (other == 0)):
            return math.inf
        if one:
            worst = max(worst, one / other, other / one)
    return worst
