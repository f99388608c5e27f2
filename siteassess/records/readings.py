"""Check of readings: values that may be right but look like a slip, each with what it more likely was.

A warning never blocks and never changes a value. All limits are judgement: wide enough to let a true but rare reading
pass with a question, since whoever stood there knows better.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator
from typing import Any

from siteassess.records.anchor import Boulder, Other, Tree
from siteassess.records.fields import SECTORS
from siteassess.records.finding import Doubt, ReadingWarning, field_name
from siteassess.records.line import End, Line, Span, Webbing
from siteassess.records.reading import ReadRecord
from siteassess.records.record import Record
from siteassess.records.site import Fix, Position
from siteassess.records.sizes import size_findings
from siteassess.records.tree_sizes import trunk_findings
from siteassess.records.trunk import diameter_m
from siteassess.records.yaml_lines import Steps
from siteassess.reference.constants import constant
from siteassess.units import show

OLD_SURVEY_DAYS = int(constant("survey too old"))
ROUGH_DECIMALS = int(constant("rough decimals"))
ONE_POSITION_DECIMALS = int(constant("one position decimals"))
HIGH_TIE_SHARE = constant("highest tie")
SLOPE_WORTH_NAMING_DEG = constant("slope worth naming")
BACK_BEARING_LIMIT_DEG = constant("back bearing limit")
UNTURNED_LIMIT_DEG = constant("back bearing unturned")
WIDE_OPENING_DEG = constant("widest opening")


def check_readings(
    record: Record, read: ReadRecord | None = None, today: datetime.date | None = None
) -> list[ReadingWarning]:
    """Every doubtful reading of a record.

    Parameters
    ----------
    record : Record
    read : ReadRecord, optional
        What the record was read with, to name lines.
    today : datetime.date, optional
        Day the survey's age is counted to.

    Returns
    -------
    list of ReadingWarning
        In the order of the file, or of the record where no lines are known.
    """
    warnings = [
        ReadingWarning(
            read.line_at(finding.path) if read else None, field_name(record, finding.path),
            finding.says, finding.likelier, finding.would_be, finding.or_else,
        )
        for finding in findings(record, today or datetime.date.today())
    ]
    return sorted(warnings, key=lambda warning: warning.line or 0)


def findings(record: Record, today: datetime.date) -> Iterator[Doubt]:
    """Every doubtful reading by its path."""
    yield from _age(record, today)
    yield from _between_anchors(record)
    slips = list(size_findings(record.model_dump(exclude_none=True)))
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
        yield Doubt(
            ("survey", "date"), f"the survey is {days} days old, and trees, ground and rules change within a year",
            or_else="look again before relying on it",
        )


def _between_anchors(record: Record) -> Iterator[Doubt]:
    yield from _shared(record, "tag", lambda anchor: getattr(anchor, "tag", None), "the manager's tag")
    yield from _shared(record, "code", lambda anchor: anchor.code.lower(), "but for capitals, the code")
    yield from _shared(record, "position", _place, "the position")


def _place(anchor: Tree | Boulder | Other) -> tuple[float, float] | None:
    fixes = anchor.position.fixes if anchor.position is not None else ()
    return next(((round(fix.lat, ONE_POSITION_DECIMALS), round(fix.lon, ONE_POSITION_DECIMALS))
                 for fix in fixes if fix.lat is not None and fix.lon is not None), None)  # fmt: skip


def _shared(record: Record, field: str, key: Callable[[Any], object], what: str) -> Iterator[Doubt]:
    first: dict[object, str] = {}
    for index, anchor in enumerate(record.anchors):
        value = key(anchor)
        if value is None:
            continue
        if value in first:
            says = f"{what} is also that of {first[value]}"
            yield Doubt(("anchors", index, field), says, "one tree entered twice, or copied and not changed")
        first.setdefault(value, anchor.code)


def _position(anchor: Tree | Boulder | Other, path: Steps) -> Iterator[Doubt]:
    if anchor.position is None:
        return
    for index, fix in enumerate(anchor.position.fixes):
        where = (*path, "position") if _stands_alone(anchor.position) else (*path, "position", "fixes", index)
        if fix.accuracy is None:
            yield Doubt((*where, "accuracy"), "a position without its accuracy cannot be weighed against the tape")
        if _is_rough(fix):
            says = f"lat {fix.lat:g}, lon {fix.lon:g} are rounded to more than 10 m"
            yield Doubt((*where, "lat"), says, "digits lost in copying")


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
        says = f"roots are undercut to the {', '.join(undercut)}, yet the stop sign was answered no"
        yield Doubt((*path, "signs", "undercut_roots"), says, "the stop sign is there", "yes")


def _directions(tree: Tree, path: Steps) -> Iterator[Doubt]:
    if tree.lean is not None and tree.lean.si > 0 and tree.lean_toward is None:
        yield Doubt((*path, "lean"), f"a lean of {tree.lean.text} without its direction is taken as along the pull")
    if tree.lean is None and tree.lean_toward is not None:
        yield Doubt((*path, "lean_toward"), "a direction of lean without the lean itself counts for nothing")
    ground = tree.ground
    if ground is not None and ground.slope is not None and abs(ground.slope.si) > 0 and ground.downhill is None:
        yield Doubt((*path, "ground", "slope"), f"a slope of {ground.slope.text} without its downhill direction")


def _cavity(tree: Tree, path: Steps) -> Iterator[Doubt]:
    hollow = tree.hollow
    if hollow is None:
        return
    thinnest = min((diameter_m(reading) for reading in tree.trunk), default=None)
    if hollow.sound_wall is not None and thinnest is not None and hollow.sound_wall.si >= thinnest / 2:
        says = f"{hollow.sound_wall.text} of sound wall leaves no cavity in a trunk {show(thinnest, 'cm', 2)} thick"
        yield Doubt((*path, "hollow", "sound_wall"), says, "millimetres, or the diameter typed")
    if hollow.opening is not None and hollow.opening.si > WIDE_OPENING_DEG and tree.signs.wide_opening == "no":
        says = f"an opening of {hollow.opening.text} is over a third of the round, yet the stop sign was answered no"
        yield Doubt((*path, "signs", "wide_opening"), says, "the stop sign is there", "yes")


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
        yield Doubt((*path, "sections"), "both one webbing and joined webbings are given; the joined ones count")
    yield from _planned(record, line, path)
    for name, end in (("a", line.a), ("b", line.b)):
        yield from _end(record, end, (*path, name))


def _stretch(webbing: Webbing, path: Steps) -> Iterator[Doubt]:
    rows = [(0.0, 0.0), *((row.tension.si, row.stretch.si) for row in webbing.stretch)]
    if any(not (after[0] > before[0] and after[1] > before[1]) for before, after in zip(rows, rows[1:])):
        says = "the rows of the stretch table do not rise in tension and in stretch from above zero"
        yield Doubt((*path, "stretch"), says, "rows out of order, or one in another unit")
    if webbing.stretch and webbing.stiffness is not None:
        yield Doubt((*path, "stiffness"), "both a stiffness and a stretch table are given; the table counts")


def _planned(record: Record, line: Line, path: Steps) -> Iterator[Doubt]:
    day = line.planned.date if line.planned is not None else None
    if day is not None and day < record.survey.date:
        says = f"the line is planned for {day}, before the survey of {record.survey.date}"
        yield Doubt((*path, "planned", "date"), says, "one of the two days mistyped", "", "plan a day to come")


def _span(span: Span, path: Steps) -> Iterator[Doubt]:
    slope = span.slope
    if span.along == "slope" and slope is None:
        says = f"{span.taped.text} was taped along the ground, but its slope was not read"
        less = 100 * (1 - math.cos(math.radians(10)))
        yield Doubt((*path, "slope"), says, or_else=f"at 10 deg the level span is {less:.1f} % less; read the slope")
    if slope is None:
        return
    level = show(span.taped.si * math.cos(math.radians(slope.si)), "m", 4)
    if span.along == "slope":
        yield Doubt((*path, "taped"), f"{span.taped.text} along a slope of {slope.text} is {level} level")
    elif abs(slope.si) > SLOPE_WORTH_NAMING_DEG:
        says = f"the tape is said to be level, yet a slope of {slope.text} is given"
        yield Doubt((*path, "along"), says, "taped along the ground", f"{level} level")


def _profile(line: Line, span: Span, path: Steps) -> Iterator[Doubt]:
    for index, point in enumerate(line.ground):
        if point.at.si > span.taped.si:
            says = f"a point of the ground at {point.at.text} lies beyond the span of {span.taped.text}"
            yield Doubt((*path, "ground", index, "at"), says, "one of the two in another unit")
        elif index and point.at.si < line.ground[index - 1].at.si:
            says = f"a point of the ground at {point.at.text} comes after one at {line.ground[index - 1].at.text}"
            yield Doubt((*path, "ground", index, "at"), says, "one of the two in another unit")
        elif index and point.at.si == line.ground[index - 1].at.si and point.height != line.ground[index - 1].height:
            says = f"the ground has two heights at {point.at.text}: {line.ground[index - 1].height} and {point.height}"
            yield Doubt((*path, "ground", index, "height"), says, "one of the two at another place")


def _compass(line: Line, path: Steps) -> Iterator[Doubt]:
    compass = line.compass
    if compass is None or compass.out is None or compass.back is None:
        return
    off = abs((compass.out.si - compass.back.si) % 360 - 180)
    where = (*path, "compass", "back")
    says = f"bearings out {compass.out.text} and back {compass.back.text} miss half a turn by {off:.0f} deg"
    if off > 180 - UNTURNED_LIMIT_DEG:
        would_be = f"{(compass.back.si + 180) % 360:g} deg"
        yield Doubt(where, says, "the back bearing was read from A, or written without turning about", would_be)
    elif off > BACK_BEARING_LIMIT_DEG:
        yield Doubt(where, says, "iron or a magnet near one end, or a dial misread", "", "sight both ends again")


def _end(record: Record, end: End, path: Steps) -> Iterator[Doubt]:
    tree = record.anchor(end.anchor)
    if end.tie_height is None or not isinstance(tree, Tree):
        return
    tie, where = end.tie_height, (*path, "tie_height")
    if tree.crown_base is not None and tie.si > tree.crown_base.si:
        says = f"a tie at {tie.text} is above the lowest branch of {tree.code} at {tree.crown_base.text}"
        yield Doubt(where, says, "one of the two in another unit")
    if tree.height is not None and tie.si > HIGH_TIE_SHARE * tree.height.si:
        says = f"a tie at {tie.text} is above a third of the height of {tree.code}, {tree.height.text}"
        yield Doubt(where, says, "one of the two in another unit")
    if tree.fork_height is not None and tree.stems in ("fork above tie", "fork below tie"):
        above = tree.fork_height.si > tie.si
        if above != (tree.stems == "fork above tie"):
            fork = tree.fork_height.text
            says = f"{tree.code} has a {tree.stems}, yet its fork is at {fork} and the tie at {tie.text}"
            yield Doubt(where, says, "one of the heights misread")
