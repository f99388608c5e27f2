"""What of a card has room on its one A5 page: conditions beyond it are counted there, and stand on the screen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from textwrap import wrap

from siteassess.papers.card_ends import CardEnd, Fitted
from siteassess.papers.handover import Manner
from siteassess.reference.texts import cautions

COLUMN = 45  # characters of a row of one of two columns, in letters as wide as a machine may have (seen in a browser)
PAGE_ROWS, TIGHT_ROWS = 66, 68.5  # rows of the page in its smaller letters; and with less air between them
NOTE_ROWS = 4  # of the count of what is left out, which is bold
# rows of headings, marks to tick and air: of the line's column, of an end's, of its trial load, of what stands below
LINE_HEADS, END_HEADS, TRIAL_HEAD, BELOW_HEAD, FOOT = 3.5, 4.0, 1.5, 2.7, 4.7


def on_paper(
    asked: Fitted, ends: Sequence[CardEnd], beside: tuple[Sequence[str], Sequence[str]], below: Sequence[str],
    how: Manner,
) -> tuple[Fitted, list[CardEnd], bool]:  # fmt: skip
    """The conditions of the line and of its ends, each with how many are printed, the worst first; and whether tight.

    Parameters
    ----------
    asked : of the line
    ends : with theirs
    beside : texts of the line's column without its conditions, and of the one beside it
    below : texts of the whole width under the ends
    how : language and units
    """
    lists = [asked, *(end.asked for end in ends)]
    counts = [len(one.told) for one in lists]
    heads = [_rows(beside[0]) + LINE_HEADS,
             *(_rows(_around(end, how)) + END_HEADS + TRIAL_HEAD * bool(end.trial) for end in ends)]  # fmt: skip
    right, under = _rows(beside[1]), sum(-(-_rows([text]) // 2) for text in below)
    rest = under + BELOW_HEAD * bool(under) + FOOT
    while True:
        notes = [NOTE_ROWS if count < len(one.told) else min(1, one.more) for one, count in zip(lists, counts)]
        columns = [head + _rows(one.told[:count], bullets=True) + note
                   for head, one, count, note in zip(heads, lists, counts, notes, strict=True)]  # fmt: skip
        upper, lower = max(columns[0], right), max(columns[1:], default=0.0)
        tight = upper + lower + rest > PAGE_ROWS
        if upper + lower + rest <= TIGHT_ROWS:
            break
        # only what makes its pair of columns long is worth leaving out
        longest = [number for number, rows in enumerate(columns)
                   if counts[number] > 0 and rows >= (upper if number == 0 else lower)]  # fmt: skip
        if not longest:
            break
        cut = max(longest, key=lambda number: _rows(lists[number].told[: counts[number]]))
        counts[cut] -= 1
    made = [replace(one, printed=count) for one, count in zip(lists, counts, strict=True)]
    return made[0], [replace(end, asked=one) for end, one in zip(ends, made[1:], strict=True)], tight


def beside_the_line(emergency: Iterable[tuple[str, str | None]], how: Manner) -> list[str]:
    """The texts of the column beside the line's."""
    return [*(f"{term}  {value or '_' * 20}" for term, value in emergency),
            *(f"_{says}" for says in cautions(how.words.language))]  # fmt: skip


def _around(end: CardEnd, how: Manner) -> list[str]:
    """The texts of an end's column without its conditions."""
    head = f"{end.code} {end.verdict} {end.species} {end.tag} {how.words('end')} ____"
    return [head, *end.signs, *(f"{term}  {value}" for term, value in end.rows),
            *(f"___{says}" for says in end.trial)]  # fmt: skip


def _rows(texts: Iterable[str], bullets: bool = False) -> float:
    return float(sum(len(wrap(text, COLUMN - 3 * bullets, break_on_hyphens=False)) for text in texts))
