"""What is due: reviews, marks that end, closed seasons and rests that end, inspections and actions.

The list is a question to people, not an answer: nothing on it says that a place holds until then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any

from siteassess.register.answer import SURVEY_HOLDS_DAYS, answer, survey_day, survey_ends, why_in_words
from siteassess.register.care import open_rest
from siteassess.register.fold import Subject
from siteassess.register.intact import Doubts
from siteassess.register.moves import ARCHIVED, CLOSED, RESTING, REVIEW_DUE, SURVEYED, WITHDRAWN
from siteassess.register.reasons import in_words
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.views import Folded


@dataclass(frozen=True, order=True)
class Due:
    """One thing to do and its day; about a line, also whether it may be rigged on the day asked about."""

    date: str
    what: str
    kind: str
    label: str
    site: str
    subject: str
    reason: str = ""
    may_rig_now: str | None = None
    may_rig_until: str | None = None
    may_rig_why: str | None = None

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def due(
    store: Store,
    on: date,
    horizon_days: int = 60,
    sites: set[str] | None = None,
    tick: Callable[[int], None] = lambda done: None,
) -> list[Due]:
    """All that is due, oldest first.

    Parameters
    ----------
    on : the day asked about
    horizon_days : how far ahead to look [d]
    sites : names of the sites wanted; None takes all
    """
    last = (on + timedelta(days=horizon_days)).isoformat()
    folded = Folded(store.db)
    doubts = store.doubts(folded)
    found: set[Due] = set()
    done = 0
    for name in folded.site_names():
        site = folded.known(name)
        for subject in (site, *folded.parts(site.id, "anchor", "line")):
            if sites is None or site.id in sites:
                found.update(item for item in _of(subject, site, folded, on, doubts) if item.date <= last)
            done += 1
            tick(done)
        folded.keep_small()
    return sorted(found)


def _of(subject: Subject, site: Subject, folded: Folded, on: date, doubts: Doubts) -> Iterator[Due]:
    may = answer(subject, folded.around, on, doubts)
    now = may.standing
    told = (may.word, may.until, why_in_words(may, on)) if subject.kind == "line" else (None, None, None)

    def item(day: str, what: str, reason: str = "") -> Due:
        return Due(day, what, subject.kind, label(subject), label(site), subject.id, reason, *told)

    for what, sides in subject.conflicts():
        yield item(max(e.recorded for e in sides)[:10], f"settle two copies that differ: {what}")
    if now.own in (WITHDRAWN, ARCHIVED):
        return
    if now.own == REVIEW_DUE:
        days = [news.date for news in now.open_news] or [m.recorded[:10] for m in subject.moves] or [on.isoformat()]
        yield item(min(days), "review", "; ".join(map(in_words, now.reasons)))
    if now.own == SURVEYED:
        yield item(max(move.recorded for move in subject.moves)[:10], "second look")
    for by, events in subject.marks.items():
        for event in events:
            if event.body["given"]:
                yield item(event.body["expires"], f"{by}'s mark ends")
    if now.own in (CLOSED, RESTING) and now.until:
        yield item(now.until, f"'{now.own}' ends")
    if subject.kind == "anchor" and (day := survey_day(subject, folded.around)):
        holds = f"last surveyed on {day}; a survey counts for {SURVEY_HOLDS_DAYS} days"
        yield item(survey_ends(day), "new survey", holds)
    yield from _from_log(subject, item, on)


def _from_log(subject: Subject, item: Callable[..., Due], on: date) -> Iterator[Due]:
    inspections = subject.log("inspection")
    # the latest inspection says when the next one is due
    if inspections and (next_due := inspections[-1].body.get("next_due")):
        yield item(next_due, "inspection")
    for entry in inspections:
        body = entry.body
        if body.get("action") and not body.get("action_done"):
            yield item(body.get("action_due") or body["date"], "action", body["action"])
    rest = open_rest([subject], on)
    if rest is not None and rest != "9999-12-31":
        yield item(rest, "rest ends")
