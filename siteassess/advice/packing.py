"""What to bring: slings by length and width, pads, slats and the small things, for a line, a day or a whole plan.

Lines that may hang at once each need their own gear; lines on other days use it again, so a plan over several days
asks for what its fullest day asks for. `stock.py` holds it against what a group owns.
"""

from __future__ import annotations

import datetime
import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import get_args

from siteassess.advice.care_results import Protection
from siteassess.advice.results import AnchorResult, LineResult
from siteassess.advice.survey_age import days_hung
from siteassess.records.line import FROM_HEIGHT, Line
from siteassess.records.owned import OwnedKind
from siteassess.reference.constants import constant
from siteassess.reference.findings import English, Said, said

LENGTH_STEP_M = 0.5  # slings are sold in half metres; a longer one only sets the link farther out
PAD_STEP_M = 0.1
FLAG_EVERY_M = constant("flag every")
TIES_A_PAD = int(constant("ties of a pad"))
OWNED_KINDS: tuple[OwnedKind, ...] = get_args(OwnedKind)
COUNTED_BY_TIES = ("shackle", "connector", "other", "unknown")  # recorded pieces that are no row of their own


@dataclass(frozen=True)
class PackItem:
    """One row of the list; sizes in metres, None where a size does not matter."""

    kind: str
    thing: Said
    count: int
    length_m: float | None = None
    width_m: float | None = None
    thickness_m: float | None = None
    lines: tuple[str, ...] = ()
    replaces: tuple[Said, ...] = ()  # what of the planned gear, and where
    what, instead = English("thing"), English("replaces")

    def told(self) -> Said:
        """The whole row."""
        least, wide = self.kind in ("sling", "rope", "tie"), "pack-high" if self.kind == "pad" else "pack-wide"
        sizes = []
        if self.length_m:
            sizes.append(said("pack-long-at-least" if least else "pack-long", length=self.length_m))
        if self.width_m:
            sizes.append(said(wide, width=self.width_m))
        if self.thickness_m:
            sizes.append(said("pack-thick", thickness=self.thickness_m))
        instead = (said("in-brackets", told=self.replaces),) if self.replaces else ()
        return said("pack-row", count=self.count, what=self.thing, sizes=tuple(sizes), instead=instead)


Days = tuple[datetime.date, datetime.date]  # first and last
Key = tuple[str, Said, float | None, float | None, float | None]  # kind, thing, length, width, thickness


def packing_list(
    lines: Iterable[LineResult], plans: Iterable[Line] = (), asked: datetime.date | None = None
) -> tuple[PackItem, ...]:
    """The list for some lines, for the ties their verdicts ask for; lines we say "leave it" to bring nothing.

    Parameters
    ----------
    lines : iterable of LineResult
        Assessed lines.
    plans : iterable of Line, optional
        The same lines as recorded, for their own pieces of gear and their days; a line without a day may hang on any.
    asked : date, optional
        The day they were judged for instead of their own.
    """
    wanted = [line for line in lines if line.verdict != "leave it"]
    planned = {plan.id: plan for plan in plans}
    days = {code: days_hung(plan, asked) for code, plan in planned.items()}
    most: Counter[Key] = Counter()
    users: dict[Key, list[str]] = {}
    notes: dict[Key, list[Said]] = {}
    for together in _together(wanted, days):
        counted: Counter[Key] = Counter()
        for line in together:
            for item, count in (*_of_line(line), *_of_pieces(planned.get(line.id))):
                counted[item] += count
                users.setdefault(item, []).append(line.id)
            for item, note in _replaced(line):
                notes.setdefault(item, []).append(note)
        for item, count in _of_day(together):
            counted[item] += count
        most |= counted  # the greater of the two counts
    return tuple(
        PackItem(kind, thing, most[key], length, width, thick, tuple(dict.fromkeys(users.get(key, ()))),
                 tuple(dict.fromkeys(notes.get(key, ()))))
        for key in sorted(most, key=_order) for kind, thing, length, width, thick in [key]
    )  # fmt: skip


def packing_notes(lines: Iterable[LineResult]) -> tuple[Said, ...]:
    """What to know before packing: lines of which nothing is settled, and conditions that gear alone does not meet.

    Parameters
    ----------
    lines : judged
    """
    lines = tuple(lines)
    told = [said("pack-unsettled", line=line.id) for line in lines if line.verdict == "cannot say"]
    for line in lines:
        for end in line.anchors if line.verdict != "leave it" else ():
            told += [said("pack-not-by-gear", line=line.id, anchor=end.code, asked=asked)
                     for asked in _not_met_by_gear(end)]  # fmt: skip
    return tuple(told)


def _not_met_by_gear(end: AnchorResult) -> list[Said]:
    """Conditions on the bark that the listed tie leaves open, such as to wait for the dormant season."""
    tie = end.protection.asked if end.protection else None
    if tie is None or not tie.pressure_pa or not tie.reference_pa or tie.pressure_pa <= tie.reference_pa:
        return []
    return [finding.met_by for finding in end.findings if finding.about == "bark" and finding.met_by]


def lines_on(plans: Iterable[Line], day: datetime.date) -> tuple[str, ...]:
    """Ids of the lines that are planned on a day.

    Parameters
    ----------
    plans : lines of a record
    day : any; a line without a day is planned on none
    """
    return tuple(plan.id for plan in plans if (days := days_hung(plan)) is not None and days[0] <= day <= days[1])


def totals(items: Iterable[PackItem]) -> dict[str, float]:
    """Pieces by kind, and length of sling and area of pad in all [m, m2].

    Parameters
    ----------
    items : of a list

    Returns
    -------
    `sling_pieces` and the like where there are any, `sling_total_m` [m], `pad_total_m2` [m2].
    """
    items = tuple(items)
    summed: dict[str, float] = {kind: sum(item.count for item in items if item.kind == kind) for kind in OWNED_KINDS}
    summed = {f"{kind}_pieces": count for kind, count in summed.items() if count}
    tied = [item for item in items if item.kind in ("sling", "rope")]
    summed["sling_total_m"] = sum(item.count * (item.length_m or 0.0) for item in tied)
    summed["pad_total_m2"] = sum(
        item.count * (item.length_m or 0.0) * (item.width_m or 0.0) for item in items if item.kind == "pad"
    )
    return summed


def _together(lines: list[LineResult], days: dict[str, Days | None]) -> list[list[LineResult]]:
    """Lines that may hang at once: on each first day, those up on it and those without a day."""
    firsts = sorted({span[0] for line in lines if (span := days.get(line.id))})
    if not firsts:
        return [lines] if lines else []

    def up(line: LineResult, day: datetime.date) -> bool:
        span = days.get(line.id)
        return span is None or span[0] <= day <= span[1]

    return [[line for line in lines if up(line, day)] for day in firsts]


def _order(key: Key) -> tuple[int | float | str, ...]:
    """By kind and code, then the shortest first; values only tell apart what is named alike."""
    kind, thing, *sizes = key
    return (OWNED_KINDS.index(kind), thing.code, *(size or 0.0 for size in sizes), repr(thing.values))


def _of_line(line: LineResult) -> Iterator[tuple[Key, int]]:
    """What one line needs for itself."""
    for anchor in line.anchors:
        if anchor.protection is not None:
            yield from _of_tie(anchor.protection.asked, line.use)
        yield from _of_anchor(anchor)
    span = line.geometry.taped_m or line.geometry.distance_m
    if span:
        yield ("sign", said("pack-flag"), None, None, None), max(2, math.ceil(span / FLAG_EVERY_M))
    yield ("sign", said("pack-notice"), None, None, None), 1


def _of_pieces(plan: Line | None) -> Iterator[tuple[Key, int]]:
    """The pieces a line's own record lists: what pulls it tight and locks it, leash, ring and ropes."""
    for piece in plan.gear if plan else ():
        if piece.kind not in COUNTED_BY_TIES:
            name = said("name-alone", name=piece.what) if piece.what else said("kind-alone", kind=piece.name)
            thing = (said("pack-piece-rated", piece=name, rating=piece.rating.text) if piece.rating
                     else said("pack-piece", piece=name))  # fmt: skip
            yield ("rigging", thing, None, None, None), 1


def _replaced(line: LineResult) -> Iterator[tuple[Key, Said]]:
    """Slings, ropes and slats that replace what was planned, with what they replace."""
    for anchor in line.anchors:
        plan = anchor.protection.instead if anchor.protection else None
        if plan is None:
            continue
        for key, _ in _of_tie(plan, line.use):
            if key[0] in ("sling", "rope", "slat"):
                yield key, said("pack-for", line=line.id, anchor=anchor.code, why=plan.instead_told())


def _of_tie(plan: Protection, use: str) -> Iterator[tuple[Key, int]]:
    """Sling or rope, links, pads, slats and cords of one tie."""
    if plan.sling_length_m:
        kind = "rope" if plan.sling_kind == "rope" else "sling"
        first, second = (("pack-rope", "pack-second-rope") if kind == "rope" else ("pack-sling", "pack-second-sling"))
        length = _up(plan.rope_length_m or plan.sling_length_m, LENGTH_STEP_M)
        yield (kind, said(first, wrap=plan.wrap), length, plan.sling_width_m, None), 1
        if use in FROM_HEIGHT:
            yield (kind, said(second), length, plan.sling_width_m, None), 1
    yield ("link", said("pack-link"), None, None, None), 2 if use in FROM_HEIGHT else 1
    if plan.pad_length_m:
        size = _up(plan.pad_length_m, PAD_STEP_M), plan.pad_height_m, plan.pad_thickness_m
        yield ("pad", said("pad-alone", material=plan.pad_material), *size), plan.pad_pieces
        round_it = _up(math.pi * (plan.trunk_diameter_m + 2 * (plan.pad_thickness_m or 0.0)) + 0.3, LENGTH_STEP_M)
        yield ("tie", said("pack-cord"), round_it, None, None), TIES_A_PAD * plan.pad_pieces
    if plan.slats:
        yield ("slat", said("pack-slat"), plan.slat_length_m, plan.slat_width_m, plan.slat_thickness_m), plan.slats


def _of_anchor(anchor: AnchorResult) -> Iterator[tuple[Key, int]]:
    """What the ground at one tree asks for."""
    ground = anchor.protection.root_zone if anchor.protection else None
    if ground is not None and ground.mats:
        yield ("ground", said("pack-mat"), None, None, None), 1


def _of_day(lines: list[LineResult]) -> Iterator[tuple[Key, int]]:
    """What a day needs once, however many lines hang."""
    if not lines:
        return
    yield ("measuring", said("pack-tape"), None, None, None), 1
    yield ("measuring", said("pack-compass"), None, None, None), 1
    yield ("hygiene", said("pack-brush"), None, None, None), 1
    kept = [one for line in lines for end in line.anchors if end.protection and end.protection.season
            for one in end.protection.season.hygiene]  # fmt: skip
    if any(one.brings == "disinfectant" for one in kept):
        yield ("hygiene", said("pack-disinfectant"), None, None, None), 1


def _up(value: float, step: float) -> float:
    return round(math.ceil(value / step - 1e-9) * step, 3)
