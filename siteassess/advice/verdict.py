"""The four words of a verdict, in a file of their own: a list of the register asks for them, and no sum."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

Verdict = Literal["suits", "suits if", "cannot say", "leave it"]  # from kind to unkind
VERDICTS: tuple[Verdict, ...] = get_args(Verdict)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The verdict furthest from "suits"; "suits" for none.

    Parameters
    ----------
    verdicts : in any order
    """
    return max(verdicts, key=VERDICTS.index, default="suits")
