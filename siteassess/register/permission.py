"""Whether a reader of a list may take a thing in it as leave to rig, in words nobody can take for more than they say.

Only a line can be open, and only when its status, both marks and the day agree. A park or a single anchor is never
leave to rig: what was approved is this line between these two anchors.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from siteassess.register.fold import Subject
from siteassess.register.moves import ACTIVE, APPROVED
from siteassess.register.standing import MarkNow, Standing, label

MAY, MAY_NOT = "yes with conditions", "no"
OPEN = frozenset((APPROVED, ACTIVE))
_NEVER_BY_ITSELF = {
    "site": "a park is not approved as a whole, only single lines in it",
    "anchor": "a single anchor is not approved, only a line: see the line's own entry",
}


@dataclass(frozen=True)
class Permission:
    """What stands on one day: the word, why, both marks, and whether status and marks are in force."""

    may_rig_now: str
    why: str
    group_mark: str
    owner_mark: str
    is_open: bool


def permission(subject: Subject, now: Standing, on: date, copy_ends: str | None = None) -> Permission:
    """What a reader may take from a subject's standing on a day.

    Parameters
    ----------
    now : the standing on that same day
    copy_ends : last day of the copy it is told in, as text; None where it is told out of the register itself
    """
    marks = {by: mark_in_words(mark, on) for by, mark in now.marks.items()}
    against = [] if now.status in OPEN else [f"its status is {now.status}"]
    against += [f"the {by}'s mark is {marks[by]}" for by, mark in now.marks.items() if not mark.holds(on)]
    is_open = not against
    if subject.kind == "site":
        # nobody moves a park by itself: its own word says nothing of the lines in it
        against = []
    if subject.kind in _NEVER_BY_ITSELF:
        against.append(_NEVER_BY_ITSELF[subject.kind])
    if against:
        said = "; ".join(against)
        return Permission(MAY_NOT, f"as of {on}: {said}", marks["group"], marks["owner"], is_open)
    last = min(filter(None, (now.valid_until, copy_ends)))
    why = f"as of {on}, and no later than {last}; look at both trees again on the day"
    return Permission(MAY, why, marks["group"], marks["owner"], True)


def mark_in_words(mark: MarkNow, on: date) -> str:
    """How the group's or the owner's mark stands on a day, with its last day."""
    if mark.refused:
        return "refused or taken back"
    if not mark.events:
        return "missing"
    if mark.doubted:
        return "older than a loss of entries: it has to be given again"
    if on.isoformat() < mark.begins:
        return f"not yet in force: it begins on {mark.begins}"
    if not mark.holds(on):
        return f"out of date: it ran out on {mark.expires}"
    return f"in force until {mark.expires}"


def conditions_on(subject: Subject, now: Standing, parts: Iterable[Subject]) -> list[str]:
    """Every condition in force: of the covering marks, of the approval, and of what the subject stands on.

    Parameters
    ----------
    parts : the anchors and the site of a line, whose own conditions bind whoever rigs it
    """
    texts = [e.body["conditions"] for mark in now.marks.values() for e in mark.events if e.body.get("conditions")]
    texts += subject.approval_conditions
    for part in parts:
        of_marks = [e.body["conditions"] for marks in part.marks.values() for e in marks if e.body.get("conditions")]
        texts += [
            f"{label(part)}: {text}" for text in (*of_marks, *part.approval_conditions) if text not in texts
        ]
    return list(dict.fromkeys(texts))
