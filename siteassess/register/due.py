"""What is due: reviews, marks that end, closed seasons and rests that end, inspections and actions.

The list is a question to people, not an answer: nothing on it says that a place holds until then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from siteassess.register.answer import SURVEY_HOLDS_DAYS, answer, survey_day, survey_ends, why_told
from siteassess.register.care import open_rest
from siteassess.register.fold import Subject
from siteassess.register.intact import Doubts
from siteassess.register.log_bodies import by_arborist
from siteassess.register.moves import ARCHIVED, CLOSED, RESTING, REVIEW_DUE, SURVEYED, WITHDRAWN
from siteassess.register.reasons import Reason, reason, sentence, text_of
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.views import Folded


@dataclass(frozen=True)
class Due:
    """One thing to do and its day; about a line, also whether it may be rigged on the day asked about.

    Why it is to be done are reasons, or of an action what somebody wrote.
    """

    date: str
    what: Reason
    kind: str
    label: str
    site: str
    subject: str
    why: tuple[Reason, ...] = ()
    wrote: str = ""
    may_rig_now: str | None = None
    may_rig_until: str | None = None
    may_rig_why: Reason | None = None

    @property
    def says(self) -> str:
        """What is due, in English."""
        return sentence(self.what)

    @property
    def reason(self) -> str:
        """Why, in English."""
        return self.wrote or text_of(self.why)

    def as_dict(self) -> dict[str, Any]:
        """For other programs: the sentences in English, and the code of what is due."""
        told = {name: value for name, value in vars(self).items() if name not in ("why", "wrote")}
        told |= {"may_rig_why": sentence(self.may_rig_why)} if self.may_rig_why else {}
        return {**told, "what": self.says, "code": self.what.code, "reason": self.reason}


def due(
    store: Store, on: date, horizon_days: int = 60, sites: set[str] | None = None,
    tick: Callable[[int], None] = lambda done: None,
) -> list[Due]:
    """All that is due, oldest first.

    Parameters
    ----------
    store : of the register
    on : the day asked about
    horizon_days : how far ahead to look [d]
    sites : names of the sites wanted; None takes all
    tick : told how many things are done
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
    return sorted(found, key=lambda one: (one.date, one.what.code, one.kind, one.label, one.site, one.subject,
                                          repr((one.what, one.why)), one.wrote))  # fmt: skip


def _of(subject: Subject, site: Subject, folded: Folded, on: date, doubts: Doubts) -> Iterator[Due]:
    may = answer(subject, folded.around, on, doubts)
    now = may.standing
    told = (may.word, may.until, why_told(may, on)) if subject.kind == "line" else (None, None, None)

    def item(day: str, what: Reason, *why: Reason, wrote: str = "") -> Due:
        return Due(day, what, subject.kind, label(subject), label(site), subject.id, why, wrote, *told)

    for what, sides in subject.conflicts():
        yield item(max(e.recorded for e in sides)[:10], reason("due-settle", what=what))
    if now.own in (WITHDRAWN, ARCHIVED):
        return
    if now.own == REVIEW_DUE:
        days = [news.date for news in now.open_news] or [m.recorded[:10] for m in subject.moves] or [on.isoformat()]
        yield item(min(days), reason("due-review"), *now.reasons)
    if now.own == SURVEYED:
        yield item(max(move.recorded for move in subject.moves)[:10], reason("due-second-look"))
    for by, events in subject.marks.items():
        for event in events:
            if event.body["given"]:
                yield item(event.body["expires"], reason("due-mark-ends", by=by))
    if now.own in (CLOSED, RESTING) and now.until:
        yield item(now.until, reason("due-status-ends", word=now.own))
    if subject.kind == "anchor" and (day := survey_day(subject, folded.around)):
        yield item(survey_ends(day), reason("due-survey"), reason("survey-counts", day=day, days=SURVEY_HOLDS_DAYS))
    yield from _from_log(subject, item, on)


def _from_log(subject: Subject, item: Callable[..., Due], on: date) -> Iterator[Due]:
    for body in looks_to_come(subject):
        look = reason("due-inspection") if by_arborist(body) else reason("due-look")
        yield item(body["next_due"], look)
    for entry in subject.log("inspection"):
        body = entry.body
        if body.get("action") and not body.get("action_done"):
            yield item(body.get("action_due") or body["date"], reason("due-action"), wrote=body["action"])
    rest = open_rest([subject], on)
    if rest is not None and rest != "9999-12-31":
        yield item(rest, reason("due-rest-ends"))


def looks_to_come(subject: Subject) -> list[Mapping[str, Any]]:
    """What was noted by the latest that looked and by the latest arborist, where it names a day for the next.

    The latest says when the next one is due, but no look of others stands for an arborist's inspection.

    Parameters
    ----------
    subject : an anchor or another thing with a log

    Returns
    -------
    Bodies of log entries, at most two.
    """
    looks = [entry.body for entry in subject.log("inspection")]
    by_arborists = [body for body in looks if by_arborist(body)]
    return [body for body in (*looks[-1:], *by_arborists[-1:]) if body.get("next_due")]
