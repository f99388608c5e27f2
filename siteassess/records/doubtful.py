"""Check of readings: values that may be right but look like a slip, each with what it more likely was.

A warning never blocks and never changes a value. All limits are judgement: wide enough to let a true but rare reading
pass with a question, since whoever stood there knows better.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from siteassess.records.anchor import Anchor, Tree
from siteassess.records.fields import SECTORS
from siteassess.records.finding import Doubt, ReadingWarning, field_name
from siteassess.records.line import End, Line, Span, Webbing
from siteassess.records.reading import ReadRecord
from siteassess.records.record import Record
from siteassess.records.site import Fix, Position
from siteassess.records.sizes import size_doubts
from siteassess.records.tree_sizes import trunk_findings
from siteassess.records.trunk import diameter_m
from siteassess.records.yaml_lines import Steps
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import show

OLD_SURVEY_DAYS = int(constant("survey too old"))
ROUGH_DECIMALS = int(constant("rough decimals"))
ONE_POSITION_DECIMALS = int(constant("one position decimals"))
HIGH_TIE_SHARE = constant("highest tie")
SLOPE_WORTH_NAMING_DEG = constant("slope worth naming")
SPAN_ROUNDED_M = constant("span rounded")
BACK_BEARING_LIMIT_DEG = constant("back bearing limit")
UNTURNED_LIMIT_DEG = constant("back bearing unturned")
WIDE_OPENING_DEG = constant("widest opening")
EXAMPLE_SLOPE_DEG = 10.0  # what a slope takes off a tape is told of one
YES = Said("answered-so", (("answer", "yes"),))


def check_readings(
    record: Record, read: ReadRecord | None = None, today: datetime.date | None = None
) -> list[ReadingWarning]:
    """Every doubtful reading of a record.

    Parameters
    ----------
    record : Record
    read : what the record was read with, to name lines
    today : datetime.date, optional
        Day the survey's age is counted to.

    Returns
    -------
    list of ReadingWarning
        In the order of the file, or of the record where no lines are known.
    """
    warnings = warnings_of(findings(record, today or datetime.date.today()), record, read)
    return sorted(warnings, key=lambda warning: warning.line or 0)


def warnings_of(doubts: Iterable[Doubt], record: Record, read: ReadRecord | None = None) -> list[ReadingWarning]:
    """Doubts with the line and the name of what they are about.

    Parameters
    ----------
    doubts : of `check_readings`
    record : they are about
    read : with its lines; None for a record that came from no file
    """
    return [
        ReadingWarning(**vars(one), line=read.line_at(one.path) if read else None, field=field_name(record, one.path))
        for one in doubts
    ]


def findings(record: Record, today: datetime.date) -> Iterator[Doubt]:
    """Every doubtful reading by its path."""
    yield from _age(record, today)
    yield from _between_anchors(record)
    slips = list(size_doubts(record.model_dump(exclude_none=True)))
    yield from slips
    told = {finding.path for finding in slips}
    for index, anchor in enumerate(record.anchors):
        path = ("anchors", index)
        yield from _position(anchor, path)
        if isinstance(anchor, Tree):
            if not any(slip[:3] == (*path, "trunk") for slip in told):
                yield from trunk_findings(anchor, path)
            yield from _tree(anchor, path)
    for index, line in enumerate(record.lines):
        yield from _line(record, line, ("lines", index))


def _age(record: Record, today: datetime.date) -> Iterator[Doubt]:
    days = (today - record.survey.date).days
    if days > OLD_SURVEY_DAYS:
        yield Doubt(("survey", "date"), said("old-survey", days=days), then=said("look-before-relying"))


def _between_anchors(record: Record) -> Iterator[Doubt]:
    yield from _shared(record, "tag", "tag-shared", _tag)
    yield from _shared(record, "code", "code-shared", lambda anchor: anchor.code.lower())
    yield from _shared(record, "position", "position-shared", _place)


def _place(anchor: Anchor) -> tuple[float, float] | None:
    fixes = anchor.position.fixes if anchor.position is not None else ()
    return next(((round(fix.lat, ONE_POSITION_DECIMALS), round(fix.lon, ONE_POSITION_DECIMALS))
                 for fix in fixes if fix.lat is not None and fix.lon is not None), None)


def _tag(anchor: Anchor) -> str | None:
    return anchor.tag if isinstance(anchor, Tree) else None


def _shared(record: Record, field: str, code: str, key: Callable[[Any], object]) -> Iterator[Doubt]:
    first: dict[object, str] = {}
    for index, anchor in enumerate(record.anchors):
        value = key(anchor)
        if value is None:
            continue
        if value in first:
            told = said(code, anchor=first[value])
            yield Doubt(("anchors", index, field), told, said("slip-entered-twice"))
        first.setdefault(value, anchor.code)


def _position(anchor: Anchor, path: Steps) -> Iterator[Doubt]:
    if anchor.position is None:
        return
    for index, fix in enumerate(anchor.position.fixes):
        where = (*path, "position") if _stands_alone(anchor.position) else (*path, "position", "fixes", index)
        if fix.accuracy is None:
            yield Doubt((*where, "accuracy"), said("no-accuracy"))
        if _is_rough(fix):
            told = said("rough-position", lat=f"{fix.lat:g}", lon=f"{fix.lon:g}")
            yield Doubt((*where, "lat"), told, said("slip-digits-lost"))


def _stands_alone(position: Position) -> bool:
    # a single fix is written without its list
    return len(position.fixes) == 1 and not position.ties


def _is_rough(fix: Fix) -> bool:
    if fix.lat is None or fix.lon is None:
        return False
    return all(math.isclose(value, round(value, ROUGH_DECIMALS - 1), abs_tol=1e-9) for value in (fix.lat, fix.lon))


def _tree(tree: Tree, path: Steps) -> Iterator[Doubt]:
    yield from _directions(tree, path)
    yield from _cavity(tree, path)
    undercut = [sector for sector in SECTORS if tree.roots is not None and getattr(tree.roots, sector) == "undercut"]
    if undercut and tree.signs.undercut_roots == "no":
        told = said("undercut-yet-no", sectors=tuple(undercut))
        yield Doubt((*path, "signs", "undercut_roots"), told, said("slip-sign-there"), YES)


def _directions(tree: Tree, path: Steps) -> Iterator[Doubt]:
    if tree.lean is not None and tree.lean.si > 0 and tree.lean_toward is None:
        yield Doubt((*path, "lean"), said("lean-without-direction", lean=tree.lean.text))
    if tree.lean is None and tree.lean_toward is not None:
        yield Doubt((*path, "lean_toward"), said("direction-without-lean"))
    ground = tree.ground
    if ground is not None and ground.slope is not None and abs(ground.slope.si) > 0 and ground.downhill is None:
        yield Doubt((*path, "ground", "slope"), said("slope-without-downhill", slope=ground.slope.text))


def _cavity(tree: Tree, path: Steps) -> Iterator[Doubt]:
    hollow = tree.hollow
    if hollow is None:
        return
    thinnest = min((diameter_m(reading) for reading in tree.trunk), default=None)
    if hollow.sound_wall is not None and thinnest is not None and hollow.sound_wall.si >= thinnest / 2:
        told = said("wall-leaves-no-cavity", wall=hollow.sound_wall.text, thick=thinnest)
        yield Doubt((*path, "hollow", "sound_wall"), told, said("slip-wall"))
    if hollow.opening is not None and hollow.opening.si > WIDE_OPENING_DEG and tree.signs.wide_opening == "no":
        told = said("opening-yet-no", opening=hollow.opening.text)
        yield Doubt((*path, "signs", "wide_opening"), told, said("slip-sign-there"), YES)


def _line(record: Record, line: Line, path: Steps) -> Iterator[Doubt]:
    if line.span is not None:
        yield from _span(line.span, (*path, "span"))
        yield from _profile(line, line.span, path)
    yield from _compass(line, path)
    if line.webbing is not None:
        yield from _stretch(line.webbing, (*path, "webbing"))
    for index, section in enumerate(line.sections):
        yield from _stretch(section, (*path, "sections", index))
    if line.webbing is not None and line.sections:
        yield Doubt((*path, "sections"), said("webbing-and-sections"))
    yield from _planned(record, line, path)
    for name, end in (("a", line.a), ("b", line.b)):
        yield from _end(record, end, (*path, name))


def _stretch(webbing: Webbing, path: Steps) -> Iterator[Doubt]:
    rows = [(0.0, 0.0), *((row.tension.si, row.stretch.si) for row in webbing.stretch)]
    if any(not (after[0] > before[0] and after[1] > before[1]) for before, after in zip(rows, rows[1:])):
        yield Doubt((*path, "stretch"), said("rows-do-not-rise"), said("slip-rows"))
    if webbing.stretch and webbing.stiffness is not None:
        yield Doubt((*path, "stiffness"), said("stiffness-and-table"))


def _planned(record: Record, line: Line, path: Steps) -> Iterator[Doubt]:
    day = line.planned.date if line.planned is not None else None
    if day is not None and day < record.survey.date:
        told = said("planned-before-survey", day=day.isoformat(), surveyed=record.survey.date.isoformat())
        yield Doubt((*path, "planned", "date"), told, said("slip-days"), then=said("plan-a-day-to-come"))


def _span(span: Span, path: Steps) -> Iterator[Doubt]:
    slope = span.slope
    if span.along == "slope" and slope is None:
        less = 100 * (1 - math.cos(math.radians(EXAMPLE_SLOPE_DEG)))
        then = said("read-the-slope", slope=EXAMPLE_SLOPE_DEG, less=less)
        yield Doubt((*path, "slope"), said("slope-not-read", taped=span.taped.text), then=then)
    if slope is None:
        return
    level = span.taped.si * math.cos(math.radians(slope.si))
    if span.along == "slope":
        yield Doubt((*path, "taped"), said("taped-is-level", taped=span.taped.text, slope=slope.text, level=level))
    elif abs(slope.si) > SLOPE_WORTH_NAMING_DEG:
        told = said("level-yet-slope", slope=slope.text)
        yield Doubt((*path, "along"), told, said("slip-along-ground"), said("so-long-level", level=level))


def _profile(line: Line, span: Span, path: Steps) -> Iterator[Doubt]:
    for index, point in enumerate(line.ground):
        if point.at.si > span.taped.si + SPAN_ROUNDED_M:
            told = said("beyond-span", at=point.at.text, taped=span.taped.text)
            yield Doubt((*path, "ground", index, "at"), told, said("slip-other-unit"))
        elif index and point.at.si < line.ground[index - 1].at.si:
            told = said("back-again", at=point.at.text, before=line.ground[index - 1].at.text)
            yield Doubt((*path, "ground", index, "at"), told, said("slip-other-unit"))
        elif index and point.at.si == line.ground[index - 1].at.si and point.height != line.ground[index - 1].height:
            heights = {"one": str(line.ground[index - 1].height), "other": str(point.height)}
            told = said("two-heights", at=point.at.text, **heights)
            yield Doubt((*path, "ground", index, "height"), told, said("slip-other-place"))


def _compass(line: Line, path: Steps) -> Iterator[Doubt]:
    compass = line.compass
    if compass is None or compass.out is None or compass.back is None:
        return
    off = abs((compass.out.si - compass.back.si) % 360 - 180)
    where = (*path, "compass", "back")
    told = said("half-turn", out=compass.out.text, back=compass.back.text, off=off)
    if off > 180 - UNTURNED_LIMIT_DEG:
        meant = said("as-typed", typed=show((compass.back.si + 180) % 360, "deg g"))
        yield Doubt(where, told, said("slip-not-turned"), meant)
    elif off > BACK_BEARING_LIMIT_DEG:
        yield Doubt(where, told, said("slip-iron"), then=said("sight-again"))


def _end(record: Record, end: End, path: Steps) -> Iterator[Doubt]:
    tree = record.anchor(end.anchor)
    if end.tie_height is None or not isinstance(tree, Tree):
        return
    tie, where = end.tie_height, (*path, "tie_height")
    if tree.crown_base is not None and tie.si > tree.crown_base.si:
        told = said("tie-above-branch", tie=tie.text, anchor=tree.code, at=tree.crown_base.text)
        yield Doubt(where, told, said("slip-other-unit"))
    if tree.height is not None and tie.si > HIGH_TIE_SHARE * tree.height.si:
        told = said("tie-high", tie=tie.text, anchor=tree.code, at=tree.height.text)
        yield Doubt(where, told, said("slip-other-unit"))
    if tree.fork_height is not None and tree.stems in ("fork above tie", "fork below tie"):
        above = tree.fork_height.si > tie.si
        if above != (tree.stems == "fork above tie"):
            told = said("fork-elsewhere", anchor=tree.code, stems=tree.stems, at=tree.fork_height.text, tie=tie.text)
            yield Doubt(where, told, said("slip-heights"))
