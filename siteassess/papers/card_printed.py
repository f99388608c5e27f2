"""How large the letters of a card are on its A5 page: as large as one page holds them, and on two pages large ones.

Nothing that the card asks for is left out on paper. Its parts run through two columns, so that the emptier of two parts
side by side leaves no blank, and letters are estimated to be as wide as a machine may have them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from textwrap import wrap

from siteassess.papers.card_ends import CardEnd, Fitted
from siteassess.papers.handover import Manner
from siteassess.reference.texts import cautions

# the sizes of letters [pt] in card.css by their class, the largest first, and the rows that a column of a page holds of
# each; `tight` has the letters of the smallest with less air between them (seen in a browser)
PRINTED_LETTERS = (("huge", 10.2, 49.0), ("large", 9.3, 55.0), ("roomy", 8.5, 61.0), ("usual", 8.0, 65.0),
                   ("", 7.6, 70.0), ("tight", 7.6, 73.0))  # fmt: skip
# larger ones with no part broken, so that the second holds more than two rows, while there is room for that
TWO_PAGES = (("two roomy", 8.5, 104.0), ("two usual", 8.0, 126.0), ("two", 7.6, 140.0))
COLUMN, SMALLEST = 45, 7.6  # characters of a row of a column in letters of that size [pt], as wide as they may be
PART_HEAD, LIST_HEAD, UNEVEN = 1.5, 1.5, 2.5  # rows: of a part, of a list in it, and by how much two columns may differ


@dataclass(frozen=True)
class PrintedPart:
    """A part of the card on paper: its texts, its lists, each with marks to tick, and the rows of its heads."""

    texts: Sequence[str]
    lists: Sequence[Sequence[str]] = ()

    def rows(self, column: int) -> float:
        """How many it fills of a column of so many characters."""
        listed = [one for one in self.lists if one]
        return (PART_HEAD + _rows(self.texts, column) + LIST_HEAD * len(listed)
                + sum(_rows(one, column - 3) for one in listed))  # fmt: skip


def letters(parts: Sequence[PrintedPart], foot: Sequence[str]) -> str:
    """The class of the largest letters in which a card is one page; those of two pages where it is none.

    Parameters
    ----------
    parts : that run through both columns
    foot : texts of the whole width below them
    """
    for name, size, rows in (*PRINTED_LETTERS, *TWO_PAGES):
        column = int(COLUMN * SMALLEST / size)
        run = sum(part.rows(column) for part in parts) / 2 + UNEVEN
        if run + _rows(foot, 2 * column) <= rows:
            return name
    return TWO_PAGES[-1][0]


def printed_parts(
    line: Sequence[str], asked: Fitted, ends: Sequence[CardEnd], emergency: Iterable[tuple[str, str | None]],
    below: Sequence[str], how: Manner,
) -> list[PrintedPart]:  # fmt: skip
    """The parts of a card as paper has them.

    Parameters
    ----------
    line : texts of the line's part
    asked : of the line
    ends : with what is asked there
    emergency : terms and what is known of each
    below : texts under the ends
    how : language and units
    """
    told = [f"{term}  {value or '_' * 20}" for term, value in emergency]
    rests = [PrintedPart((), (one.rest,)) for one in (*(end.asked for end in ends), asked) if one.rest]
    return [PrintedPart(line, (asked.told,)), PrintedPart(told, (cautions(how.words.language),)),
            *(PrintedPart(_around(end, how), (end.asked.told, end.trial)) for end in ends), *rests,
            PrintedPart(below)]  # fmt: skip


def _around(end: CardEnd, how: Manner) -> list[str]:
    """The texts of an end's part without its lists."""
    t = how.words
    head = f"{end.code} {end.verdict} {end.species} {end.tag} {t('end')} ____"
    bark = f"{t('card-bark-check')} __{t('card-bark-before')} __{t('card-bark-after')}"
    last = bark if end.rows else end.settled
    return [head, *end.signs, *(f"{term}  {value}" for term, value in end.rows), last]


def _rows(texts: Iterable[str], column: int) -> float:
    return float(sum(len(wrap(text, column, break_on_hyphens=False)) for text in texts))
