"""How a subject stands on a day: its moves, its two marks, the news, and what it leans on.

A line leans on its two anchors and its site; an anchor on its site; each on whatever people found to be the same
thing under another name. Bad news travels down this way, good news never does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from siteassess.register.events import Event
from siteassess.register.fold import Subject, Trigger
from siteassess.register.moves import (
    ARCHIVED,
    HOLDING,
    MOVES,
    NEEDS_MARK,
    REVIEW_DUE,
    REVIEWED,
    WITHDRAWN,
    most_cautious,
)
from siteassess.register.reasons import Reason, reason

# leave is given by the season or for a few years; a year typed wrong shows (judgement)
LONGEST_MARK = timedelta(days=5 * 366)


@dataclass(frozen=True)
class MarkNow:
    """The group's or the owner's mark as it stands."""

    by: str
    events: tuple[Event, ...] = ()
    refused: bool = False
    expires: str | None = None
    begins: str = ""
    # recorded before entries were lost: it may have been taken back by one of them
    doubted: bool = False
    # its last day lies years on, and nobody said that this is meant
    too_long: bool = False

    def holds(self, on: date | None) -> bool:
        """Whether the mark is given and, when a day is named, it lies within the mark's first and last day."""
        return self.state(on).code == "mark-in-force"

    def state(self, on: date | None) -> Reason:
        """How the mark stands; None as the day leaves its first and last day out of account."""
        if self.refused:
            return reason("mark-refused", by=self.by)
        if not self.events:
            return reason("mark-missing", by=self.by)
        if self.doubted:
            return reason("mark-doubted", by=self.by)
        if on is not None and (self.expires is None or self.expires < on.isoformat()):
            return reason("mark-ended", by=self.by, day=self.expires)
        if on is not None and self.begins > on.isoformat():
            return reason("mark-ahead", by=self.by, day=self.begins)
        if self.too_long:
            return reason("mark-too-long", by=self.by, day=self.expires)
        return reason("mark-in-force", by=self.by, day=self.expires)


@dataclass(frozen=True)
class HowItStands:
    """The one word a reader needs, and why.

    `own` is the word before what the subject leans on is looked at; moves start from it.
    """

    status: str
    own: str
    reasons: tuple[Reason, ...]
    open_news: tuple[Trigger, ...]
    marks: dict[str, MarkNow]
    valid_until: str | None
    until: str | None = None

    @property
    def legal(self) -> tuple[str, ...]:
        return MOVES[self.own]


class Around:
    """Looks up what a subject leans on.

    Parameters
    ----------
    lookup : gives the folded subject of a name, or None where the register does not hold it
    mates : gives the names joined to a name as the same thing, itself left out
    parts : gives the anchors and lines of a site's name
    """

    def __init__(
        self, lookup: Callable[[str], Subject | None], mates: Callable[[str], Iterable[str]],
        parts: Callable[[str], Iterable[Subject]] = lambda site: (),
    ):
        self._lookup, self._mates, self._parts = lookup, mates, parts

    def same_as(self, subject: Subject) -> list[Subject]:
        return self._found(self._mates(subject.id))

    def anchors(self, subject: Subject) -> list[Subject]:
        """Anchors of every version in force, with what they are joined to."""
        names = {name for version in subject.versions for name in version.body.get("anchors", ())}
        direct = self._found(sorted(names))
        return _once([*direct, *(mate for anchor in direct for mate in self.same_as(anchor))])

    def sites(self, subject: Subject) -> list[Subject]:
        names = {version.body["site"] for version in subject.versions if "site" in version.body}
        direct = self._found(sorted(names))
        return _once([*direct, *(mate for site in direct for mate in self.same_as(site))])

    def beside(self, parts: Iterable[Subject]) -> list[Subject]:
        """Anchors and lines of a park, with all those of every park that a join of one of them leads to."""
        found = {part.id: part for part in parts}
        todo = list(found.values())
        while todo:
            for mate in self.same_as(todo.pop()):
                if mate.id not in found:
                    more = [mate, *(part for site in self.sites(mate) for part in self._parts(site.id))]
                    todo += [part for part in more if part.id not in found]
                    found.update((part.id, part) for part in more)
        return list(found.values())

    def below(self, subject: Subject) -> list[Subject]:
        """All it leans on."""
        mates = self.same_as(subject)
        anchors = self.anchors(subject) if subject.kind == "line" else []
        sites = [site for part in (subject, *mates, *anchors) for site in self.sites(part)]
        return _once([*mates, *anchors, *sites])

    def _found(self, names: Iterable[str]) -> list[Subject]:
        # what is named and not here leaves a gap that may hold the worst news
        return [self._lookup(name) or Subject(name, complete=False) for name in names]


def _once(subjects: Iterable[Subject]) -> list[Subject]:
    return list({subject.id: subject for subject in subjects}.values())


def standing(subject: Subject, around: Around, on: date | None = None) -> HowItStands:
    """How a subject stands.

    Parameters
    ----------
    subject : a site, anchor or line
    around : what stands about it, for parts and marks
    on : the day asked about; None leaves last days out of account, as the tables in the file must
    """
    below = around.below(subject)
    news = open_news(subject, below)
    marks = {by: mark_now(subject, around.sites(subject), by) for by in ("group", "owner")}
    own, reasons = _own_word(subject, news, marks, on)
    status = own
    if own in REVIEWED:
        for part in below:
            word = _holding_word(part, around, on)
            if word in HOLDING:
                status = most_cautious((status, word))
                reasons.append(reason("part-status", part=label(part), word=word))
        if torn := [part for part in (subject, *below) if not part.complete]:
            status = most_cautious((status, REVIEW_DUE))
            reasons.extend(not_to_be_believed(part) for part in torn)
    lasts = [mark.expires for mark in marks.values() if mark.events and not mark.refused and mark.expires]
    until = max((m.body["until"] for m in subject.moves if m.body.get("until")), default=None)
    return HowItStands(status, own, tuple(reasons), news, marks, min(lasts, default=None), until)


def _own_word(
    subject: Subject, news: Iterable[Trigger], marks: Mapping[str, MarkNow], on: date | None
) -> tuple[str, list[Reason]]:
    word = subject.moved_to
    reasons = []
    if len({move.body["to"] for move in subject.moves}) > 1:
        said = tuple(sorted({move.body["to"] for move in subject.moves}))
        reasons.append(reason("copies-differ", words=said))
    if marks["owner"].refused and word != ARCHIVED:
        return WITHDRAWN, [*reasons, marks["owner"].state(on)]
    if word not in REVIEWED:
        return word, reasons
    if news:
        reasons.extend(reason("news", what=item.what, day=item.date) for item in news)
        word = REVIEW_DUE
    if word in REVIEWED:
        for by in NEEDS_MARK.get(word, ("group",)):  # a place that rests needs its owner's once it shall be used
            if not marks[by].holds(on):
                word = REVIEW_DUE
                reasons.append(marks[by].state(on))
    return word, reasons


def _holding_word(part: Subject, around: Around, on: date | None) -> str:
    """The word of something leaned on: its moves, its owner's refusal, and news if it was ever reviewed."""
    word = part.moved_to
    if mark_now(part, around.sites(part), "owner").refused:
        return WITHDRAWN
    if word not in REVIEWED or word in HOLDING:
        return word
    marks = {by: mark_now(part, around.sites(part), by) for by in ("group", "owner")}
    return _own_word(part, open_news(part, around.below(part)), marks, on)[0]


def open_news(subject: Subject, below: Iterable[Subject]) -> tuple[Trigger, ...]:
    """News about a subject and what it leans on that none of its own reviews has named."""
    heard = {t.event: t for part in (subject, *below) for t in part.triggers if t.event not in subject.reviewed}
    return tuple(sorted(heard.values(), key=lambda t: (t.date, t.event)))


def mark_now(subject: Subject, sites: Iterable[Subject], by: str) -> MarkNow:
    """The mark that covers a subject: its own, else its site's; a refusal for either refuses both."""
    own = subject.marks.get(by, ())
    sites = list(sites)
    of_sites = [site.marks[by] for site in sites if by in site.marks]
    refused = any(not mark.body["given"] for marks in (own, *of_sites) for mark in marks)
    covering = own or tuple(mark for marks in of_sites for mark in marks)
    given = [mark.body for mark in covering if mark.body["given"]]
    lost = max([part.lost_since for part in (subject, *sites)])
    return MarkNow(
        by, tuple(covering), refused, min((body["expires"] for body in given), default=None),
        max((body["date"] for body in given), default=""), any(mark.recorded <= lost for mark in covering),
        any(holds_too_long(body) and not body.get("far_end_is_right") for body in given),
    )


def holds_too_long(mark: Mapping[str, Any]) -> bool:
    """Whether a mark's last day lies further on than marks are given for: 2206 for 2026 would hold for good."""
    if not mark["given"]:
        return False
    return date.fromisoformat(mark["expires"]) - date.fromisoformat(mark["date"]) > LONGEST_MARK


def not_to_be_believed(part: Subject) -> Reason:
    """What is wrong with the history of a subject that is not complete."""
    if part.altered:
        return reason("altered", part=label(part), names=", ".join(name[:10] for name in part.altered))
    return reason("missing", part=label(part))


def label(subject: Subject) -> str:
    """A short name a person knows it by.

    Parameters
    ----------
    subject : of any kind
    """
    if not subject.kind or not subject.versions:
        return subject.id[:10]
    record = subject.current.body.get("record", subject.current.body)
    return str(record.get("code") or record.get("id") or record.get("name") or record.get("title"))
