"""The published list of deciding things per use: what must have been looked at before a verdict may be "suits".

Each thing is a short name that reports print and the field form counts. A thing that was not looked at ends in
"cannot say" unless it stands in `WORST_CASE_TAKEN`, where the unkind value is taken and told instead.
"""

from __future__ import annotations

from siteassess.mechanics.line_load import LONG_LEASH, UNNAMED_WALKER
from siteassess.units import STANDARD_GRAVITY, show

STOP_SIGNS: dict[str, str] = {
    "dead_tree": "dead tree",
    "soil_heave": "soil heave or cracks at the base",
    "fresh_lean": "fresh lean",
    "bracket_fungus": "bracket fungus at the base",
    "stem_crack": "crack through the stem",
    "undercut_roots": "undercut root plate",
    "wide_opening": "opening over a third of the trunk's round",
    "hanging_limb": "hanging limb over the line",
    "nest_in_use": "nest in use",
    "posted_no": "posted prohibition",
}

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
    """The deciding things of a line's end on a boulder: the boulder's own, and those of the line."""
    return (*BOULDER, *(thing for thing in DECIDING[use] if thing in _OF_THE_LINE))


# Not looked at, but an unkind value stands in: the verdict may still be reached, never "suits" by luck.
WORST_CASE_TAKEN: dict[str, str] = {
    "position": "the pull is taken the way the compass says, or else in its worst direction",
    "walker": f"an unnamed walker weighs {show(UNNAMED_WALKER / STANDARD_GRAVITY, 'kg 0')}",
    "bark form": "bark is taken as thin and smooth",
    "leash": f"the leash is taken as {show(LONG_LEASH, 'm g')} long",
}


def published(use: str) -> tuple[str, ...]:
    """The deciding things of a use in sentences: how many, then each with what follows when it was not looked at.

    Raises
    ------
    KeyError
        For a use that is not in `DECIDING`.
    """
    things = DECIDING[use]
    lines = [f"{use}: {len(things)} deciding things"]
    for thing in things:
        if thing in WORST_CASE_TAKEN:
            lines.append(f"{thing}: not looked at, {WORST_CASE_TAKEN[thing]}")
        elif thing == "soil wetness":
            lines.append(f"{thing}: not looked at, taken as wet, and at best suits if the ground is not soaked")
        elif thing == "span":
            lines.append(f"{thing}: no tape, the distance by positions stands in, and at best suits if a tape agrees")
        else:
            lines.append(f"{thing}: not looked at, cannot say")
    return tuple(lines)
