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


class Brief:
    """A result that prints short: whole, that of a park had 357,000 characters."""

    def __repr__(self) -> str:
        shown = (f"{name}={vars(self)[name]!r}" for name in ("id", "code", "verdict", "record") if name in vars(self))
        return f"<{type(self).__name__} {', '.join(shown)}>"
