"""The four words of a verdict, and the published list of deciding things per use.

What must have been looked at before a verdict may be "suits" is a short name that reports print and the field form
counts. A thing that was not looked at ends in "cannot say" unless it stands in `WORST_CASE_TAKEN`, where the unkind
value is taken and told instead. In a file of their own, since a list of the register asks for them, and for no sum.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from siteassess.mechanics.line_load import LONG_LEASH, UNNAMED_WALKER
from siteassess.reference.findings import Said
from siteassess.reference.tables import rows
from siteassess.units import STANDARD_GRAVITY

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


STOP_SIGNS: dict[str, str] = {row["id"]: row["plain"] for row in rows("warning_signs") if row["kind"] == "stop"}

# the deciding thing that each sign is, and the other way round
THING_OF_SIGN: dict[str, str] = {sign: f"stop sign: {name}" for sign, name in STOP_SIGNS.items()}
SIGN_OF_THING: dict[str, str] = {thing: sign for sign, thing in THING_OF_SIGN.items()}

_TREE = (
    "position", "species or leaf type", "trunk size", "tie height", "tree height", "stems and forks", "lean",
    "slope", "soil wetness", "roots by sector", "kerbs and digging near", "bark form",
)
_WALKED_LINE = ("span", "webbing", "standing tension", "walker")
_OF_THE_LINE = ("span", "webbing", "standing tension", "walker", "leash", "backup")
_SIGNS = tuple(THING_OF_SIGN.values())

DECIDING: dict[str, tuple[str, ...]] = {
    "hammock": (*_TREE, "span", "walker", *_SIGNS),
    "low line": (*_TREE, *_WALKED_LINE, *_SIGNS),
    "trick line": (*_TREE, *_WALKED_LINE, *_SIGNS),
    "long line": (*_TREE, *_WALKED_LINE, *_SIGNS),
    "high line": (*_TREE, *_WALKED_LINE, "leash", "backup", *_SIGNS),
    "aerial equipment": (*_TREE, *_WALKED_LINE, *_SIGNS),
}
BOULDER = (
    "position", "three sizes", "rock", "bed", "slope", "downhill direction", "distance to an edge", "embedding",
    "moves when pushed", "cracks", "tie height", THING_OF_SIGN["posted_no"],
)


def boulder_deciding(use: str) -> tuple[str, ...]:
    """The deciding things of a line's end on a boulder: the boulder's own, and those of the line.

    Parameters
    ----------
    use : of the line, a key of `DECIDING`
    """
    return (*BOULDER, *(thing for thing in DECIDING[use] if thing in _OF_THE_LINE))


# Not looked at, but an unkind value stands in: the verdict may still be reached, never "suits" by luck.
WORST_CASE_TAKEN: dict[str, Said] = {
    "position": Said("pull-by-compass-or-worst"),
    "walker": Said("unnamed-walker-weighs", (("mass", UNNAMED_WALKER / STANDARD_GRAVITY),)),
    "bark form": Said("bark-taken-thin"),
    "leash": Said("leash-taken-long", (("length", LONG_LEASH),)),
}
