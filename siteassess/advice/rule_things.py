"""Clauses that require or bar a thing, name genera, species, places, objects and materials, or months and hours.

Hours by the sun need the place, the day, and the time zone its clocks keep. Dawn and dusk are taken as civil twilight,
the sun's centre six degrees below the horizon (common usage, no rule said).
"""

from __future__ import annotations

import datetime
from typing import get_args
from zoneinfo import ZoneInfo

from siteassess.advice.gear_inputs import pad_planned, sling_inputs
from siteassess.advice.results import Answered
from siteassess.advice.rule_sizes import (
    A_TREE,
    NO_POSITION,
    NO_TREE,
    ClauseAnswer,
    HeldAgainst,
    anchor_words,
    asked,
    chosen,
    written,
)
from siteassess.advice.survey_age import days_hung, last_day, past_midnight
from siteassess.errors import UnknownName
from siteassess.records.anchor import Tree
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.names import is_nothing
from siteassess.reference.rules import ClockEvent, HoursClause, ListClause, MonthsClause, ThingClause
from siteassess.reference.species import SpeciesMatch, find_species

THICK_BARK_M = constant("rule thick bark")
ROUGH_FORMS = ("fine fissured", "deep ridged", "plated", "fibrous", "warty")
NAMES = {"barred": "rule-names-barred", "preferred": "rule-names-preferred", "only": "rule-names-only"}
DAY_MIN = 24 * 60
ROPE_WRAPS = ("turns", "friction turns")


def thing_clause(clause: ThingClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of a thing that is required or barred."""
    wanted = thing_asked(clause)
    if clause.over is not None:
        span = held.whole.geometry.taped_m or held.whole.geometry.distance_m
        if span is None:
            return "cannot tell", wanted, said("rule-span-unmeasured")
        if span <= clause.over.metres:
            return "met", wanted, said("rule-does-not-apply", span=span)
    there, shown = _present(clause.kind, held)
    answer = asked(there, clause.asks)
    if clause.when and answer == "not met":
        answer = "cannot tell"  # whether the condition holds only a person can say; what meets it anyway needs none
    return answer, wanted, shown


def thing_asked(clause: ThingClause) -> Said:
    """What a clause on a thing asks for."""
    over = (said("rule-over-length", length=clause.over.value, unit=clause.over.unit),) if clause.over else ()
    when = (said("rule-when", when=clause.when),) if clause.when else ()
    return said("rule-required" if clause.asks == "required" else "rule-barred", more=(*over, *when))


def _present(kind: str, held: HeldAgainst) -> tuple[bool | None, Said]:
    """Whether a thing is there, None where the record does not say, and what it says."""
    pad, planned = pad_planned(held.end), held.line.planned
    if kind == "trees":
        return held.tree is not None, A_TREE if held.tree else said("rule-no-tree-here")
    if kind == "padding":
        return _padding(held)
    if kind == "pad all round":
        return _three(pad.goes_round if pad else "unknown", "whole trunk", "contact only")
    if kind == "permit":
        return permit_held(held)
    if kind == "flags":
        placed = any(feature.kind == "flag place" for feature in held.record.site.surroundings)
        return (True, said("rule-flags-marked")) if placed else (None, said("rule-no-flag"))
    if kind == "someone in attendance":
        return _three(planned.attended if planned else "unknown", "always", "not always")
    if kind == "take down daily":
        if planned is None or planned.date is None:
            return None, said("rule-no-day")
        if planned.until is None or planned.until == planned.date:
            return True, said("rule-one-day")
        return False, said("rule-until", day=planned.until.isoformat())
    if kind == "choker":
        wrap = held.end.sling.wrap if held.end.sling else "unknown"
        return None if wrap == "unknown" else wrap == kind, chosen(wrap)
    if kind == "rope":
        return _rope(held)
    return _of_tree(kind, held.tree) if held.tree else (None, NO_TREE)


def _padding(held: HeldAgainst) -> tuple[bool | None, Said]:
    """Whether a pad of the table is planned: what stands in no table nobody knows to be one."""
    sling = sling_inputs(held.end)
    if sling.pad_material:
        return True, said("pad-alone", material=sling.pad_material)
    named = sling.pad_in_no_table
    return None, said("no-such-pad", name=named) if named else said("rule-no-padding")


def permit_held(held: HeldAgainst) -> tuple[bool | None, Said]:
    """Whether a permit that still holds on the day is named."""
    permission = held.record.site.permission
    if permission is None or permission.basis == "unknown":
        return None, said("rule-no-permit")
    if permission.basis != "permit":
        return False, said("rule-permission", basis=permission.basis)
    if permission.expires is not None and permission.expires < last_day(held.line, held.on):
        return False, said("rule-expired", day=permission.expires.isoformat())
    if permission.expires is None:
        return None, said("rule-permit-undated")
    if days_hung(held.line, held.asked) is None:
        return None, said("rule-no-day")
    if permission.reference is not None and is_nothing(permission.reference):
        return None, written(permission.reference)
    return True, written(permission.reference) if permission.reference else said("rule-a-permit")


def _rope(held: HeldAgainst) -> tuple[bool | None, Said]:
    sling = held.end.sling
    if sling is None or (sling.kind == "unknown" and sling.wrap not in ROPE_WRAPS):
        return None, chosen("unknown")
    known = sling.kind != "unknown"
    return sling.kind == "rope" or not known, chosen(sling.kind if known else sling.wrap)


def _of_tree(kind: str, tree: Tree) -> tuple[bool | None, Said]:
    if kind == "named tree":
        return _three(tree.designated, "yes", "no")
    if kind == "heritage trees":
        return None if tree.status == "unknown" else tree.status != "ordinary", chosen(tree.status)
    if kind == "conifers":
        match = _match(tree)
        leaf = (match.leaf_type if match else "") or "unknown"
        return None if leaf == "unknown" else leaf == "conifer", chosen(leaf)
    if kind == "thick bark":
        taken = tree.bark.thickness.si if tree.bark and tree.bark.thickness else None
        if taken is None:
            return None, said("rule-thickness-unread")
        return taken > THICK_BARK_M, said("rule-bark-thickness", thickness=taken)
    form = tree.bark.form if tree.bark else "unknown"
    if form == "unknown":
        return None, said("rule-bark-unseen")
    rough = form in ROUGH_FORMS
    return (rough if kind == "rough bark" else not rough), chosen(form)


def list_clause(clause: ListClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of named genera, species, places, objects or pad materials."""
    wanted = said(NAMES[clause.asks], names=clause.names)
    if clause.kind == "places":
        answer, shown = _places(clause, held)
    elif clause.kind == "objects":
        answer, shown = _objects(clause, held)
    elif clause.kind == "pad materials":
        answer, shown = _pad_materials(clause, held)
    else:
        answer, shown = _kinds(clause, held)
    return answer, wanted, shown


def _places(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    """A place is known by its name; what a line may not cross, by what is marked. Not being named is no permission."""
    site = held.record.site
    here = [name for name in clause.names if _same_stuff(_bare(name), site.name)]
    if here:
        return _named(clause.asks, True, "cannot tell"), written(site.name)
    crossed = [thing for thing in held.crossed if thing.kind in clause.crosses]
    if crossed and clause.asks == "barred":
        first = crossed[0]
        code = "rule-crosses-named" if first.name else "rule-crosses"
        return "not met", said(code, kind=first.kind, name=first.name)
    return "cannot tell", said("rule-place-not-named", site=site.name)


def _bare(name: str) -> str:
    """A listed name without what stands in brackets behind it."""
    return name.split(" (")[0]


def _objects(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    """Objects a line may not be tied to: a tree is none of them, unless the list takes in trees nobody named."""
    if held.tree is None:
        shown = anchor_words(held.anchor)
        if clause.all_but_trees:
            return _named(clause.asks, True), shown
        what = getattr(held.anchor, "what", held.anchor.kind)
        listed = any(_same_stuff(name.rstrip("s"), what) for name in clause.names)
        return _named(clause.asks, listed, "cannot tell"), shown
    if not clause.unnamed_trees:
        return _named(clause.asks, False), A_TREE
    if held.tree.designated == "not looked":
        return "cannot tell", said("rule-a-tree-maybe-named")
    named = said("rule-a-tree-named", answer=held.tree.designated)
    return _named(clause.asks, held.tree.designated == "no"), named


def _pad_materials(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    known, shown = _padding(held)
    sling = sling_inputs(held.end)
    material = sling.pad_material or sling.pad_in_no_table
    if material is None:
        return "cannot tell", shown
    # of what is in no table only the rule's own words tell what it is: "no carpet" has carpet in it
    same = _same_stuff if known or clause.asks == "barred" else _same_words
    named = any(same(name, material) for name in clause.names)
    # another material: what is barred by name it is not, what is the only one allowed a person must compare
    return _named(clause.asks, named, "met" if known and clause.asks == "barred" else "cannot tell"), shown


def _kinds(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    if held.tree is None:
        return "cannot tell", NO_TREE
    match, species = _match(held.tree), held.tree.species
    if match is None or species is None or not match.genus:
        return "cannot tell", said("rule-species-unknown")
    told = written(match.accepted)
    listed = any(_holds(name, match, clause.kind) for name in clause.names)
    if species.certainty == "guess" and clause.asks != "preferred":
        return "cannot tell", said("rule-species-guessed", species=match.accepted)
    unsure = clause.kind == "species" and match.matched_by == "genus" and any(
        name.split()[0] == match.genus for name in clause.names)  # fmt: skip
    if unsure and not listed:
        return "cannot tell", told
    return _named(clause.asks, listed), told


def _named(asks: str, named: bool, unnamed: Answered = "met") -> Answered:
    """Answer for a name that is on a list or not; `unnamed` answers where a list bars others only."""
    if asks == "barred":
        return "not met" if named else unnamed
    if asks == "only":
        return "met" if named else ("not met" if unnamed == "met" else unnamed)
    return "met" if named else "cannot tell"  # preferred: another kind is not forbidden


def _holds(name: str, match: SpeciesMatch, kind: str) -> bool:
    words = name.replace(" spp.", "").replace(" sp.", "").split()
    if kind == "genera" or len(words) == 1:
        return words[0] == match.genus
    try:
        return find_species(name).accepted == match.accepted
    except UnknownName:
        return name == match.accepted


def _same_stuff(name: str, material: str) -> bool:
    a, b = name.casefold(), material.casefold()
    return a in b or b in a


def _same_words(name: str, material: str) -> bool:
    return name.casefold().split() == material.casefold().split()


def _match(tree: Tree) -> SpeciesMatch | None:
    if tree.species is None:
        return None
    try:
        return find_species(tree.species.name)
    except UnknownName:
        return None


def _three(answer: str, yes: str, no: str) -> tuple[bool | None, Said]:
    return {yes: True, no: False}.get(answer), chosen(answer)


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
TWILIGHT_DEG = 6.0
NEAR_MIN = constant("rule hour near")
BY_THE_SUN = ("sunrise", "sunset", "dawn", "dusk")


def months_clause(clause: MonthsClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of months that are closed or call for care."""
    wanted = said("rule-months-closed" if clause.asks == "closed" else "rule-months-care", months=months_of(clause))
    if days_hung(held.line, held.asked) is None:
        return "cannot tell", wanted, said("rule-no-day")
    first, last = held.on, last_day(held.line, held.on)
    touched = sorted({(first + datetime.timedelta(days=day)).month for day in range(min((last - first).days, 366) + 1)})
    days = {"first": first.isoformat(), "last": last.isoformat()}
    shown = said("rule-days", **days) if last != first else written(first.isoformat())
    if not set(touched) & set(clause.months):
        return "met", wanted, shown
    return ("not met" if clause.asks == "closed" else "cannot tell"), wanted, shown


def months_of(clause: MonthsClause) -> tuple[str, ...]:
    """The months of a clause by their short names."""
    return tuple(MONTHS[month - 1] for month in clause.months)


def hours_asked(clause: HoursClause) -> Said:
    """The hours of a clause."""
    return said("rule-hours", start=_event(clause.start), end=_event(clause.end))


def hours_clause(clause: HoursClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of hours in which a line may hang."""
    wanted, planned = hours_asked(clause), held.line.planned
    if planned is None or planned.start is None or planned.end is None:
        return "cannot tell", wanted, said("rule-no-times")
    times = {"start": planned.start, "end": planned.end}
    if planned.until is not None and planned.until > (planned.date or held.on):
        return "not met", wanted, said("rule-left-up", **times, last=planned.until.isoformat())
    hours = _minutes(planned.start), _minutes(planned.end) + DAY_MIN * past_midnight(planned)
    answer, sides = _within(clause, held, held.on, hours)
    if answer == "not met" and _open_past_midnight(held):  # what goes up after midnight may lie in the hours before
        earlier = _within(clause, held, held.on - datetime.timedelta(days=1), tuple(DAY_MIN + at for at in hours))
        answer, sides = (answer, sides) if earlier[0] == "not met" else earlier
    return answer, wanted, said("rule-times", **times, sides=sides)


def _within(
    clause: HoursClause, held: HeldAgainst, day: datetime.date, hours: tuple[float, ...]
) -> tuple[Answered, tuple[Said, ...]]:
    """Answer for both ends of the hours that open on a day, planned in minutes from its midnight, with what is told."""
    sides = [_side(clause.start, held, day, hours[0], 1), _side(clause.end, held, day, hours[1], -1)]
    answers = {answer for answer, _ in sides}
    return next(word for word in get_args(Answered) if word in answers), tuple(told for _, told in sides)


def _open_past_midnight(held: HeldAgainst) -> bool:
    opens, closes = held.record.site.opens, held.record.site.closes
    return opens is not None and closes is not None and closes <= opens


def _side(event: ClockEvent, held: HeldAgainst, day: datetime.date, planned: float, sign: int) -> tuple[Answered, Said]:
    """Answer for one end of the hours, `sign` 1 for its start, and what is told of it."""
    moment = clock_of(event, held, day)
    if isinstance(moment, Said):
        return "cannot tell", moment
    told = {"event": _event(event), "clock": f"{moment:%H:%M}"}
    spare, unsure = sign * (planned - _minutes_of(moment, day)), NEAR_MIN if event.event in BY_THE_SUN else 0.0
    if spare < -unsure:
        return "not met", said("rule-at-clock", **told)
    if spare < unsure:
        return "cannot tell", said("rule-near-clock", near=NEAR_MIN, **told)
    return "met", said("rule-at-clock", **told)


def clock_of(event: ClockEvent, held: HeldAgainst, day: datetime.date) -> datetime.datetime | Said:
    """Local clock time of an event with its offset, or why it is not known."""
    if event.event not in BY_THE_SUN:
        hour = held.record.site.opens if event.event == "park opening" else held.record.site.closes
        if hour is None:
            return said("rule-hour-not-in-record", event=event.event)
        if event.event == "park closing" and _open_past_midnight(held):
            day += datetime.timedelta(days=1)
        shut_or_open = datetime.datetime.combine(day, datetime.time.fromisoformat(hour))
        return shut_or_open + datetime.timedelta(minutes=event.offset_min)
    if held.place is None:
        return NO_POSITION
    if held.record.site.time_zone is None:
        return said("rule-no-time-zone")
    found = sun_event(event.event, *held.place, day, held.record.site.time_zone)
    if found is None:
        return said("rule-no-event", event=event.event)
    return found + datetime.timedelta(minutes=event.offset_min)


def sun_event(
    event: str, latitude: float, longitude: float, day: datetime.date, time_zone: str
) -> datetime.datetime | None:
    """Local clock time of sunrise, sunset, dawn or dusk over a level horizon; None where the sun keeps up or down.

    Parameters
    ----------
    latitude, longitude : float
        Of the place, north and east positive [deg].
    time_zone : str
        As the tz database names it.
    """
    from astral import Observer, sun

    observer = Observer(latitude, longitude)
    zone, below = ZoneInfo(time_zone), (TWILIGHT_DEG,) if event in ("dawn", "dusk") else ()
    try:
        found: datetime.datetime = getattr(sun, event)(observer, day, *below, tzinfo=zone)
    except ValueError:
        return None
    return found


def _event(event: ClockEvent) -> Said:
    if not event.offset_min:
        return chosen(event.event)
    code = "rule-minutes-after" if event.offset_min > 0 else "rule-minutes-before"
    return said(code, minutes=abs(event.offset_min), event=event.event)


def _minutes(clock: str) -> float:
    hours, minutes = clock.split(":")
    return 60.0 * int(hours) + int(minutes)


def _minutes_of(moment: datetime.datetime, day: datetime.date) -> float:
    """From the midnight a day begins with to a moment by the same clock [min]."""
    return DAY_MIN * (moment.date() - day).days + 60.0 * moment.hour + moment.minute + moment.second / 60.0
