"""The one answer to "may we rig here": every list, page, card, rota, calendar, copy and export shows it, none decides.

Only a line can be open. A park or a single anchor is never leave to rig: what was approved is this line between these
two anchors. Whatever speaks against it is gathered whole, so that a reader sees all of it, and one objection is enough.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

from siteassess.advice.regions import regions_of
from siteassess.advice.verdict import STOP_SIGNS, VERDICTS
from siteassess.reference.constants import constant
from siteassess.reference.seasons import Window, hemisphere_of, windows
from siteassess.register.care import open_rest
from siteassess.register.events import Event
from siteassess.register.fold import Subject
from siteassess.register.free_texts import Unsaid
from siteassess.register.intact import Doubts
from siteassess.register.moves import ACTIVE, APPROVED
from siteassess.register.reading_records import position
from siteassess.register.reasons import SOME_PART, Reason, reason, text_of
from siteassess.register.standing import Around, HowItStands, label, standing

MAY, MAY_NOT = "yes with conditions", "no"
OPEN = frozenset((APPROVED, ACTIVE))
AGAINST = frozenset(("cannot say", "leave it"))
# a yearly look, with a month's grace (judgement; that trees in use are looked at once a year is common practice, no
# source)
SURVEY_HOLDS_DAYS = int(constant("survey holds"))
# what a group may not sign away: a nest is the law's, a prohibition somebody else's
NEVER_SIGNED_AWAY = {"nest_in_use": "nest-in-use", "posted_no": "posted-no"}
_ALONE = {"site": (reason("park-alone"),), "anchor": (reason("anchor-alone"),)}


@dataclass(frozen=True)
class MayRig:
    """What a reader may take from the register on a day.

    `against` speaks against rigging, `beside` is to be minded where nothing does; `until` is the last day a "yes" may
    hold, None for a "no". `marks` tells how the group's and the owner's mark stand. `is_open` is whether status and
    marks are in force, and of a line whether it may be rigged.
    """

    word: str
    against: tuple[Reason, ...]
    beside: tuple[Reason, ...]
    until: str | None
    marks: Mapping[str, Reason]
    is_open: bool
    standing: HowItStands

    @property
    def reasons(self) -> tuple[Reason, ...]:
        return (*self.against, *self.beside)


def answer(
    subject: Subject, around: Around, on: date, doubts: Doubts, *, copy_ends: str | None = None,
    verdict: str | None = None,
) -> MayRig:
    """Whether a line may be rigged on a day, and why.

    Parameters
    ----------
    subject : a site, anchor or line; only a line is ever answered with yes
    doubts : what the register says of itself, `Store.doubts`
    copy_ends : last day of the copy it is told in; None where it is told out of the register itself
    verdict : of an assessment made beside the register, as a card is; it can only make the answer less kind
    around : what stands about it, for parts and twins
    on : the day asked about
    """
    now = standing(subject, around, on)
    marks = {by: mark.state(on) for by, mark in now.marks.items()}
    against = [] if now.status in OPEN else [reason("status", word=now.status)]
    against += [why for why in (*now.reasons, *marks.values()) if why.code not in ("mark-in-force", "copies-differ")]
    against += [*_approved_later(subject, now, on), *_doubted(doubts)]
    if subject.kind != "line":
        is_open = not against
        # nobody moves a park by itself: its own word says nothing of the lines in it
        kept = [] if subject.kind == "site" else dict.fromkeys(against)
        return MayRig(MAY_NOT, (*kept, *_ALONE.get(subject.kind, ())), (), None, marks, is_open, now)
    spoken = [*verdicts(subject, around, on), *stop_signs(subject, around)]
    against += [why for why, entry in spoken if entry not in subject.signed or why.code in NEVER_SIGNED_AWAY.values()]
    beside = [*(why for why in now.reasons if why.code == "copies-differ"), *_signed(subject, spoken)]
    against += _of_file(verdict, subject, around, on)
    against += _rests((subject, *around.below(subject)), on)
    against += _surveys(subject, around, on)
    against += _permissions(subject, around, on)
    if against:
        return MayRig(MAY_NOT, tuple(dict.fromkeys(against)), tuple(beside), None, marks, False, now)
    beside += [] if subject.of("assessment") else [reason("not-assessed")]
    beside += [*_nests(subject, around, on), reason("look-again")]
    lasts = [now.valid_until, copy_ends, *_last_days(subject, around)]
    return MayRig(MAY, (), tuple(beside), min(filter(None, lasts), default=None), marks, True, now)


def why_told(found: MayRig, on: date) -> Reason:
    """The reasons as one sentence that names its day."""
    if found.word == MAY_NOT:
        return reason("as-of", day=on, whys=found.reasons)
    return reason("as-of-until", day=on, until=found.until, whys=found.reasons)


def needs_signature(line: Subject, around: Around, on: date) -> list[tuple[Reason, str]]:
    """What a group can only approve against with a signed reason, each with the entry that says it.

    Parameters
    ----------
    line : to be approved
    around : what stands about it
    on : the day asked about

    Returns
    -------
    list of (Reason, str)
    """
    spoken = (*verdicts(line, around, on), *stop_signs(line, around))
    return [(why, e) for why, e in spoken if why.code not in NEVER_SIGNED_AWAY.values() and e not in line.signed]


def verdicts(line: Subject, around: Around, on: date) -> Iterator[tuple[Reason, str]]:
    """The verdicts kept of a line that speak against it, each with the entry that says it.

    Of each name of the line its latest assessment counts; where several are of one day, or corrections stand side by
    side, all of them do. An assessment dated ahead never makes the answer kinder.
    """
    for one in (line, *around.same_as(line)):
        entries = one.of("assessment")
        latest = max((e.body["date"] for e in entries if e.body["date"] <= on.isoformat()), default="")
        for entry in entries:
            corrections = [c.name for c in entry.corrections if not c.body.get("void")]
            for body, name in zip(entry.bodies, corrections or [entry.event.name], strict=True):
                word = _word(body)
                if word in AGAINST and body["date"] >= latest:
                    yield reason("verdict", day=body["date"], word=word), name


def _word(body: Mapping[str, Any]) -> str:
    word = body["result"].get("verdict")
    return word if word in VERDICTS else "cannot say"


def stop_signs(line: Subject, around: Around) -> Iterator[tuple[Reason, str]]:
    """Stop signs seen at the anchors of a line in any survey in force, each with that survey's entry."""
    for anchor in around.anchors(line):
        for version in anchor.versions:
            record = version.body["record"]
            for sign, words in STOP_SIGNS.items():
                said = record.get(sign) if sign == "posted_no" else None
                if "yes" not in ((record.get("signs") or {}).get(sign), said):
                    continue
                if code := NEVER_SIGNED_AWAY.get(sign):
                    yield reason(code, part=label(anchor)), version.name
                else:
                    yield reason("stop-sign", part=label(anchor), sign=words), version.name


def _signed(line: Subject, spoken: Iterable[tuple[Reason, str]]) -> Iterator[Reason]:
    """Each objection that somebody signed against, shown with who and why."""
    for why, entry in spoken:
        said = dict(why.values)
        for move in line.signed.get(entry, ()):
            if why.code in NEVER_SIGNED_AWAY.values():
                continue
            signed = move.body["against"]
            word, day = said.get("word") or said.get("sign"), move.recorded[:10]
            yield reason("approved-against", word=word, name=signed["signed"], day=day, why=signed["why"])


def _doubted(doubts: Doubts) -> list[Reason]:
    behind = [reason("clock-behind", day=(doubts.newest or "")[:10])] if doubts.clock_behind else []
    return [*behind, *([reason("taken-out")] if doubts.taken_out else [])]


def _approved_later(subject: Subject, now: HowItStands, on: date) -> list[Reason]:
    """Nothing was open before the move that opened it."""
    day = max(filter(None, map(_made_on, subject.moves)), default="")
    return [reason("approved-later", day=day)] if now.status in OPEN and day > on.isoformat() else []


def _made_on(move: Event) -> str:
    # an entry of an older program says no day; its stamp is in UTC, whose day may be a day on already
    stamped = date.fromisoformat(move.recorded[:10]) - timedelta(days=1)
    return move.body.get("date") or stamped.isoformat()


def _of_file(verdict: str | None, line: Subject, around: Around, on: date) -> list[Reason]:
    kept = [dict(why.values)["word"] for why, _ in verdicts(line, around, on)]
    if verdict not in AGAINST or any(VERDICTS.index(word) >= VERDICTS.index(verdict) for word in kept):
        return []
    return [reason("verdict-of-file", word=verdict)]


def _rests(parts: Iterable[Subject], on: date) -> Iterator[Reason]:
    for part in parts:
        until = open_rest([part], on)
        if until == "9999-12-31":
            yield reason("rest-open", part=label(part))
        elif until:
            yield reason("rest", part=label(part), day=until)


def survey_day(anchor: Subject, around: Around) -> str | None:
    """Day an anchor was last surveyed, under whichever name; None where nobody wrote it down."""
    days = [_day_of(one, around) for one in (anchor, *around.same_as(anchor))]
    return max(filter(None, days), default=None)


def _day_of(anchor: Subject, around: Around) -> str | None:
    # a survey written before its anchors carried the day leans on that of its site
    of_site = [(v.body.get("survey") or {}).get("date") for site in around.sites(anchor) for v in site.versions]
    fallback = min(filter(None, of_site), default=None)
    # of two surveys side by side the older one counts
    days = [version.body.get("surveyed") or fallback for version in anchor.versions]
    return min(filter(None, days), default=None) if all(days) else None


def _surveys(line: Subject, around: Around, on: date) -> Iterator[Reason]:
    for anchor in around.anchors(line):
        day = survey_day(anchor, around)
        if day is None:
            yield reason("survey-undated", part=label(anchor))
        # a day's grace: the survey's day is a local one
        elif day > (on + timedelta(days=1)).isoformat():
            yield reason("survey-ahead", part=label(anchor), day=day)
        elif survey_ends(day) < on.isoformat():
            yield reason("survey-old", part=label(anchor), day=day)


def survey_ends(day: str) -> str:
    """Last day on which a survey of a day still counts."""
    return (date.fromisoformat(day) + timedelta(days=SURVEY_HOLDS_DAYS)).isoformat()


def _permits(line: Subject, around: Around) -> list[str]:
    said = [(v.body["record"].get("permission") or {}).get("expires") for s in around.sites(line) for v in s.versions]
    return [str(day) for day in said if day]


def _permissions(line: Subject, around: Around, on: date) -> list[Reason]:
    ended = min(_permits(line, around), default="9999-12-31")
    return [reason("permission-ended", day=ended)] if ended < on.isoformat() else []


def _last_days(line: Subject, around: Around) -> Iterator[str]:
    yield from _permits(line, around)
    for anchor in around.anchors(line):
        if day := survey_day(anchor, around):
            yield survey_ends(day)


def _nests(line: Subject, around: Around, on: date) -> list[Reason]:
    """The longest breeding season that is on, by the table of seasons; an unknown place counts both halves' seasons."""
    places = [place for anchor in around.anchors(line) if (place := position(anchor.record))]
    lat, lon = places[0][:2] if places else (math.nan, math.nan)
    side = hemisphere_of(lat) if places else None
    half = None if side == "tropics" else side
    found: set[Window] = set()
    for site in around.sites(line):
        named = SimpleNamespace(**{key: site.record.get(key) for key in ("manager", "country", "region")})
        named.name = label(site)
        found.update(windows("nesting", None, regions_of("nesting", named, lat, lon), half))
    now = [window for window in found if window.holds(on.month, on.day)]
    if not now:
        return []
    # month and day of all that are on, widest first; over the new year the end is smaller than the start
    start, end = max(((w.start, w.end) for w in now), key=lambda w: ((w[1][0] - w[0][0]) % 12, w))
    return [reason("nest-season", start=_month_day(start), end=_month_day(end))]


def _month_day(day: tuple[int, int]) -> str:
    return f"{day[0]:02d}-{day[1]:02d}"


def conditions_on(subject: Subject, now: HowItStands, parts: Iterable[Subject]) -> list[str | Reason]:
    """Every condition in force: of the covering marks, of the approval, and of what the subject stands on.

    Parameters
    ----------
    subject, now : a line or other thing, and how it stands
    parts : the anchors and the site of a line, whose own conditions bind whoever rigs it
    """
    own = _written(event for mark in now.marks.values() for event in mark.events)
    asked: list[str | Reason] = [*own, *subject.approval_conditions]
    for part in parts:
        of_marks = _written(event for marks in part.marks.values() for event in marks)
        texts = (text for text in (*of_marks, *part.approval_conditions) if text not in asked)
        asked += [reason("condition-of-part", part=label(part), says=text) for text in texts]
    return list(dict.fromkeys(asked))


def _written(marks: Iterable[Event]) -> list[str]:
    return [mark.body["conditions"] for mark in marks if mark.body.get("conditions")]


def conditions_for_readers(asked: list[str | Reason], hidden: bool, unsaid: Unsaid) -> list[str | Reason]:
    """The same conditions beyond the officers: what was written about a hidden place may describe it.

    Parameters
    ----------
    asked : as `conditions_on` finds them
    hidden : whether the subject's place stays with the officers
    unsaid : what no text of a copy may name
    """
    shown = [one for one in asked if not (hidden or unsaid.kept_back(text_of(one)))]
    if len(shown) < len(asked):
        # a condition that may not be shown still binds
        shown.append(reason("more-kept", count=len(asked) - len(shown)))
    return shown


def for_readers(found: MayRig, hidden: bool) -> MayRig:
    """The same answer beyond the officers: without nests, what finds a hidden tree, and names of people.

    Parameters
    ----------
    found : as `answer` finds it
    hidden : whether the subject's place stays with the officers
    """
    return replace(found, against=_kept_back(found.against, hidden), beside=_kept_back(found.beside, hidden))


def _kept_back(reasons: Iterable[Reason], hidden: bool) -> tuple[Reason, ...]:
    told = []
    for why in reasons:
        values = dict(why.values)
        if why.code == "nest-in-use" or (hidden and why.code == "stop-sign"):
            told.append(reason("kept-back"))
        elif why.code == "approved-against":
            word = values["word"] if not hidden or values["word"] in AGAINST else "leave it"
            told.append(reason("approved-against-kept", word=word))
        elif hidden and "part" in values:
            told.append(reason(why.code, **values | {"part": SOME_PART}))
        else:
            told.append(why)
    return tuple(dict.fromkeys(told))
