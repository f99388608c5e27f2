"""The life of a place in the group's list: ten words, one table of moves, what forces a review.

The order and the demands are the group's good practice put into a table (common practice, no single source);
nothing here says that a place holds.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteassess.errors import StoreError
from siteassess.reference.findings import worded

DRAFT, SURVEYED, SECOND_LOOK = "draft", "surveyed", "second look"
APPROVED, ACTIVE = "approved with conditions", "active"
RESTING, CLOSED = "resting", "closed for a season"
REVIEW_DUE, WITHDRAWN, ARCHIVED = "review due", "withdrawn", "archived"

MOVES: dict[str, tuple[str, ...]] = {
    DRAFT: (SURVEYED, WITHDRAWN, ARCHIVED),
    SURVEYED: (SECOND_LOOK, DRAFT, WITHDRAWN, ARCHIVED),
    SECOND_LOOK: (APPROVED, SURVEYED, WITHDRAWN, ARCHIVED),
    APPROVED: (ACTIVE, RESTING, CLOSED, REVIEW_DUE, WITHDRAWN, ARCHIVED),
    ACTIVE: (RESTING, CLOSED, REVIEW_DUE, WITHDRAWN, ARCHIVED),
    RESTING: (ACTIVE, CLOSED, REVIEW_DUE, WITHDRAWN, ARCHIVED),
    CLOSED: (ACTIVE, RESTING, REVIEW_DUE, WITHDRAWN, ARCHIVED),
    # what forced the review must be looked at again: there is no way straight back
    REVIEW_DUE: (SURVEYED, SECOND_LOOK, WITHDRAWN, ARCHIVED),
    WITHDRAWN: (DRAFT, ARCHIVED),
    ARCHIVED: (DRAFT,),
}
STATUSES = tuple(MOVES)

# when two copies say different things, the earliest of these words holds until somebody settles it
CAUTION_ORDER = (WITHDRAWN, ARCHIVED, REVIEW_DUE, DRAFT, SURVEYED, SECOND_LOOK, CLOSED, RESTING, APPROVED, ACTIVE)

# words that rest on a review, so that news of the tree turns them into "review due"
REVIEWED = frozenset((APPROVED, ACTIVE, RESTING, CLOSED))
# the move by which a person says: I have looked at all that was new. An approval is none: news that comes between the
# look and the approval must not go under
REVIEWING = frozenset((SECOND_LOOK,))
# words of an anchor or site that stop the lines on it too
HOLDING = frozenset((WITHDRAWN, ARCHIVED, REVIEW_DUE, CLOSED, RESTING))
# moves that need the mark of the group, and of the owner, standing on the day
NEEDS_MARK = {APPROVED: ("group",), ACTIVE: ("group", "owner")}

# log events that force a review; the last two are ours (judgement): a pest or knife is damage until looked at
# what a salvage writes about a thing whose history is not all there: no mark given before it holds any more
ENTRIES_LOST = "entries lost"
FORCES_REVIEW = frozenset(
    ("storm", "damage", "root works", "rule set changed", "disease notice", "vandalism", ENTRIES_LOST)
)
# marks seen after a use that count as damage (judgement: wood or torn bark shows)
DAMAGING_MARKS = frozenset(("torn", "bare wood"))


def most_cautious(statuses: Iterable[str]) -> str:
    """The word that holds among several."""
    return min(statuses, key=CAUTION_ORDER.index)


def refuse_illegal(now: str, to: str, what: str) -> None:
    """Raise unless the table allows the move.

    Raises
    ------
    StoreError : names the moves that are allowed from here.
    """
    if to not in MOVES:
        raise StoreError(worded("rg-no-status", what=what, to=to, words=STATUSES))
    if to not in MOVES[now]:
        raise StoreError(worded("rg-illegal-move", what=what, now=now, to=to, words=MOVES[now]))
