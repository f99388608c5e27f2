"""What the papers take out of a group's register: how a line stands, and a tree's log of one year.

A subject may stand in the register under several names that people found to be the same tree; its log is then read
whole.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from siteassess.advice.results import Assessment
from siteassess.errors import AmbiguousName, UnknownName
from siteassess.records.fields import Part
from siteassess.records.record import Record
from siteassess.reference.findings import worded
from siteassess.reference.pages import plain
from siteassess.register import reading_records
from siteassess.register.answer import MayRig, answer, conditions_for_readers, conditions_on, for_readers
from siteassess.register.care import UseSum, entry_hours, entry_load_hours, open_rest, use_of
from siteassess.register.due import Due, due, looks_to_come
from siteassess.register.fold import Entry, Subject
from siteassess.register.free_texts import Unsaid
from siteassess.register.girths import GirthReading, girth_over_years
from siteassess.register.hidden import hidden_code, hidden_parts, reach_of
from siteassess.register.intact import Doubts
from siteassess.register.log_bodies import BarkMark, GroundMark, by_arborist
from siteassess.register.moves import DRAFT, WITHDRAWN
from siteassess.register.naming import resolve
from siteassess.register.reasons import Reason
from siteassess.register.standing import HowItStands, label, standing
from siteassess.register.store import Store
from siteassess.register.views import Folded

# from least to worst, as the log's own words stand there; where nobody looked is less than "none"
BARK_ORDER, GROUND_ORDER = (("not looked", *(one for one in get_args(marks) if one != "not looked"))
                            for marks in (BarkMark, GroundMark))
DUE_WITHIN_DAYS = 60


def listed_as(store: Store, text: str, kind: str) -> str | None:
    """The subject of that name, or None where none is listed.

    Raises
    ------
    AmbiguousName : several things bear the name.
    """
    try:
        return resolve(store, text, kind)
    except AmbiguousName:
        raise
    except UnknownName:
        return None


@dataclass(frozen=True)
class LineStanding:
    """How a line stands in the register on a day. `differs` names what the register has another survey of.

    Of a withheld line `shown_as` is what it goes by beyond the officers, and the answer says nothing that finds it.
    """

    answer: MayRig
    on: datetime.date
    withheld: bool
    shown_as: str
    differs: tuple[str, ...]
    next_check: str | None
    conditions: tuple[str | Reason, ...]
    heads: tuple[str, ...]
    licence: str

    @property
    def status(self) -> str:
        return self.answer.standing.status


def line_standing(store: Store, assessment: Assessment, line_id: str, on: datetime.date) -> LineStanding | None:
    """How an assessed line stands in the register; None where the register does not list it.

    The verdict given counts beside those the register holds, and can only make its answer less kind.
    """
    record = assessment.record
    verdict = next((line.verdict for line in assessment.lines if line.id == line_id), None)
    site = record.site.name
    name = listed_as(store, f"{site}/{line_id}", "line")
    if name is None:
        return None
    folded = Folded(store.db)
    line = folded.known(name)
    anchors = folded.around.anchors(line)
    parts = [line, *anchors]
    may = answer(line, folded.around, on, store.doubts(folded), verdict=verdict)
    unknown = _unknown_to_readers(folded, line)
    withheld, unsaid = line.id in unknown, Unsaid(map(folded.known, sorted(unknown)))
    sites = folded.around.sites(line)
    conditions = conditions_on(line, may.standing, [*anchors, *sites])
    return LineStanding(
        for_readers(may, withheld),
        on,
        withheld,
        hidden_code(line.id) if withheld else line_id,
        () if withheld else _differing(record, line_id, parts),
        _next_look(anchors),
        tuple(conditions_for_readers(conditions, withheld, unsaid)),
        store.heads(),
        licence_of(store),
    )


def _unknown_to_readers(folded: Folded, line: Subject) -> set[str]:
    """Names of what stays with the officers of a line's parks, by the same rule as in a copy."""
    unknown: set[str] = set()
    for site in folded.around.sites(line):
        parts = [part for part in folded.parts(site.id, "anchor", "line") if part.versions]
        unknown |= hidden_parts(parts, site, folded.around)
        of_site = reach_of(site, site) == "officer"
        unknown |= {part.id for part in (line, *parts) if of_site or reach_of(part, site) == "officer"}
    return unknown


def _differing(record: Record, line_id: str, parts: list[Subject]) -> tuple[str, ...]:
    """Codes of what was surveyed otherwise in the record's file than in the register."""
    mine: dict[tuple[str, str], Part] = {("line", line.id): line for line in record.lines if line.id == line_id}
    mine |= {("anchor", anchor.code): anchor for anchor in record.anchors}
    other = []
    for part in parts:
        own = mine.get((part.kind, label(part)))
        if own is not None and own.model_dump(mode="json", exclude_unset=True) != dict(part.record):
            other.append(label(part))
    return tuple(dict.fromkeys(other))


def _next_look(subjects: list[Subject], inspected: bool = False) -> str | None:
    """The first day that a look is due at any of them; `inspected`: by a qualified arborist."""
    days = (look["next_due"] for subject in subjects for look in looks_to_come(subject)
            if not inspected or by_arborist(look))  # fmt: skip
    return min(days, default=None)


def next_checks(store: Store, record: Record) -> dict[str, str]:
    """Day of the next inspection by anchor code, where a qualified arborist set one: a look of users is none."""
    folded = Folded(store.db)
    told = {}
    for anchor in record.anchors:
        name = listed_as(store, f"{record.site.name}/{anchor.code}", "anchor")
        if name and (day := _next_look([folded.known(name)], inspected=True)):
            told[anchor.code] = day
    return told


def only_site(store: Store, name: str | None) -> str:
    """The subject of a site by its name, or of the only site listed.

    Raises
    ------
    UnknownName : no such site, or several where none was named.
    """
    if name is not None:
        return resolve(store, name, "site")
    sites = store.db.execute("SELECT subject, name FROM sites ORDER BY name").fetchall()
    if len(sites) == 1:
        return str(sites[0][0])
    code = "rg-which-site" if sites else "rg-which-site-none"
    raise UnknownName(worded(code, sites=tuple(row[1] for row in sites)))


def licence_of(store: Store) -> str:
    """The licence the register was begun with."""
    row = store.db.execute("SELECT name FROM events WHERE kind = 'register' ORDER BY id").fetchone()
    event = store.event(row[0]) if row else None
    return plain(event.body.get("licence") or "") if event else ""


@dataclass(frozen=True)
class LogRow:
    """One entry of a tree's log, as it reads after corrections; `dispute` where copies of it differ."""

    body: Mapping[str, Any]
    who: str
    hours: float | None
    load_hours_kn_h: float | None
    corrected: bool
    disputed: bool
    line: str


@dataclass(frozen=True)
class TreeYear:
    """A tree's log of one year. `status` is empty where only lines on it were ever moved, not the tree itself.

    `carried` are looks of earlier years whose action was open still when the year began; `lines` are names of subjects.
    """

    code: str
    tag: str
    species: str
    kind: str
    status: str
    reasons: tuple[Reason, ...]
    uses: tuple[LogRow, ...]
    marks: tuple[LogRow, ...]
    inspections: tuple[LogRow, ...]
    carried: tuple[LogRow, ...]
    events: tuple[LogRow, ...]
    rests: tuple[LogRow, ...]
    total: UseSum
    share: float | None
    resting_until: str | None
    girths: tuple[GirthReading, ...]
    first_before: bytes | None
    last_after: bytes | None
    lines: tuple[str, ...]

    @property
    def has_entries(self) -> bool:
        return any((self.uses, self.marks, self.inspections, self.events, self.rests))

    @property
    def open_actions(self) -> tuple[LogRow, ...]:
        return tuple(row for row in self.inspections if row.body.get("action") and not row.body.get("action_done"))

    def heaviest(self, which: str) -> str | None:
        """The heaviest mark of the year, "bark_marks" or "ground_marks"; None where nothing was written."""
        order = BARK_ORDER if which == "bark_marks" else GROUND_ORDER
        seen = [row.body.get(which, "not looked") for row in (*self.uses, *self.marks)]
        return max(seen, key=order.index, default=None)


@dataclass(frozen=True)
class LineYear:
    """A line's standing, whether it may be rigged on the day asked about, and how often it was put up in the year."""

    id: str
    code: str
    answer: MayRig
    standing: HowItStands
    times_up: int


@dataclass(frozen=True)
class SiteYear:
    """A site's log of one year. Sums of load-hours leave out uses whose pull or time is not known."""

    name: str
    year: int
    record: Mapping[str, Any]
    trees: tuple[TreeYear, ...]
    lines: tuple[LineYear, ...]
    due: tuple[Due, ...]
    conflicts: tuple[tuple[str, Reason], ...]
    heads: tuple[str, ...]
    licence: str

    def count(self, event: str) -> int:
        return sum(1 for tree in self.trees for row in tree.events if row.body["event"] == event)

    @property
    def uses(self) -> int:
        return sum(tree.total.uses for tree in self.trees)

    @property
    def uses_unknown(self) -> int:
        return sum(tree.total.uses_unknown for tree in self.trees)

    @property
    def load_hours_kn_h(self) -> float:
        return sum(tree.total.load_hours_kn_h for tree in self.trees)

    @property
    def times_up(self) -> int:
        return sum(line.times_up for line in self.lines)

    @property
    def withdrawn(self) -> tuple[str, ...]:
        return tuple(part.code for part in self.lines if part.standing.status == WITHDRAWN) + tuple(
            tree.code for tree in self.trees if tree.status == WITHDRAWN
        )


def site_year(store: Store, site: str, year: int, on: datetime.date) -> SiteYear:
    """A site's trees and lines in one year.

    Parameters
    ----------
    site : name of the site's subject, see `register.naming.resolve`
    year : calendar year
    on : day the standing and what is due are told for
    """
    folded = Folded(store.db)
    subject = folded.known(site)
    anchors, parts = folded.parts(site, "anchor"), folded.parts(site, "line")
    first, last = datetime.date(year, 1, 1), datetime.date(year, 12, 31)
    totals = {}
    for anchor in anchors:
        totals[anchor.id] = use_of([anchor, *folded.around.same_as(anchor)], first, last)
    whole = sum(total.load_hours_kn_h for total in totals.values())
    doubts = store.doubts(folded)
    lines = tuple(_line_year(folded, one, year, on, doubts) for one in parts)
    tied = {one.id: {anchor.id for anchor in folded.around.anchors(one)} for one in parts}
    trees = tuple(
        _tree_year(store, folded, one, year, on, totals[one.id], whole,
                   tuple(line for line, anchor_ids in tied.items() if one.id in anchor_ids))
        for one in anchors
    )  # fmt: skip
    conflicts = [
        (label(part), what)
        for part in (subject, *anchors, *parts)
        for what, _ in part.conflicts()
    ]
    return SiteYear(
        label(subject), year, subject.record, trees, lines,
        tuple(due(store, on, DUE_WITHIN_DAYS, {site})), tuple(conflicts), store.heads(), licence_of(store),
    )  # fmt: skip


def _tree_year(
    store: Store, folded: Folded, anchor: Subject, year: int, on: datetime.date, total: UseSum, whole: float,
    lines: tuple[str, ...],
) -> TreeYear:
    same = [anchor, *folded.around.same_as(anchor)]
    now = standing(anchor, folded.around, on)
    entries = [entry for part in same for entry in part.log() if _year_of(entry) == year]
    entries.sort(key=lambda entry: (entry.body["date"], entry.body.get("start") or "", entry.event.name))

    def of(what: str) -> tuple[LogRow, ...]:
        return tuple(_row(entry, folded) for entry in entries if entry.body["what"] == what)

    rests = [e for part in same for e in part.log("rest") if e.body["date"][:4] <= str(year) <= _end_of_rest(e)[:4]]
    carried = [e for part in same for e in part.log("inspection") if _year_of(e) < year and _open_in(e, year)]
    photos = [entry.body.get("photos") or {} for entry in entries]
    return TreeYear(
        code=label(anchor),
        tag=plain(anchor.record.get("tag") or ""),
        species=plain(reading_records.species(anchor.record) or ""),
        kind=anchor.record["kind"],
        status=now.status if anchor.moves or now.status != DRAFT else "",
        reasons=now.reasons,
        uses=of("use"),
        marks=of("marks"),
        inspections=of("inspection"),
        carried=tuple(_row(entry, folded) for entry in sorted(carried, key=lambda entry: entry.body["date"])),
        events=of("event"),
        rests=tuple(_row(entry, folded) for entry in rests),
        total=total,
        share=total.load_hours_kn_h / whole if whole > 0 else None,
        resting_until=open_rest(same, on),
        girths=tuple(sorted((g for part in same for g in girth_over_years(store.events(part.id))), key=_read_on)),
        first_before=_picture(store, [sha for each in photos for sha in each.get("before", ())][:1]),
        last_after=_picture(store, [sha for each in photos for sha in each.get("after", ())][-1:]),
        lines=lines,
    )


def _year_of(entry: Entry) -> int:
    return int(entry.body["date"][:4])


def _open_in(look: Entry, year: int) -> bool:
    """Whether what a look asked for was open still when a year began."""
    return bool(look.body.get("action")) and (look.body.get("action_done") or "9999") >= str(year)


def _end_of_rest(entry: Entry) -> str:
    return entry.body.get("until") or "9999-12-31"


def _row(entry: Entry, folded: Folded) -> LogRow:
    body = entry.body
    line = folded.subject(body["line"]) if body.get("line") else None
    return LogRow(
        body, plain(entry.event.who), entry_hours(body) if body["what"] == "use" else None, entry_load_hours(body),
        bool(entry.corrections), entry.disputed, label(line) if line else "",
    )  # fmt: skip


def _read_on(girth: GirthReading) -> str:
    return girth.day or girth.entered


def _picture(store: Store, names: list[str]) -> bytes | None:
    kept = store.photo(names[0]) if names else None
    return kept[1] if kept else None


def _line_year(folded: Folded, line: Subject, year: int, on: datetime.date, doubts: Doubts) -> LineYear:
    seen = set()
    for anchor in folded.around.anchors(line):
        for entry in anchor.log("use"):
            body = entry.body
            if body.get("line") == line.id and _year_of(entry) == year:
                # both trees of a line have an entry for the same time up
                seen.add((body["date"], body.get("start"), body.get("end"), body.get("hours")))
    may = answer(line, folded.around, on, doubts)
    return LineYear(line.id, label(line), may, may.standing, len(seen))
