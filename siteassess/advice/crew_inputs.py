"""The crew of a line and its pulley system as numbers, from the record's words and the table of sheaves."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import Final

from siteassess.errors import UnknownName
from siteassess.mechanics.hauling import FRICTION_GRIP, Range, Stage
from siteassess.mechanics.tightening import Pullers
from siteassess.records.line import Crew as RecordedCrew
from siteassess.records.line import HaulStage
from siteassess.reference.findings import Said, said, wording
from siteassess.reference.tables import rows

# between braced feet and slippery ground, where nobody said how they stand (judgement)
FOOTING_NOT_SEEN: Final = "standing"


def sheave_range(name: str) -> Range:
    """Share of the pull that a kind of sheave passes on [-].

    Parameters
    ----------
    name : str
        A row of the table `sheaves` or its plain words; "carabiner" and "karabiner" are one.

    Raises
    ------
    UnknownName
        With the near names.
    """
    wanted = _key(name)
    for row in rows("sheaves"):
        keys = (_key(row.sheave), _key(row.plain_words))
        if wanted in keys or (wanted == "karabiner" and keys[0].endswith("karabiner")):
            return Range(row.low, row.value, row.high)
    values = {"name": name, "names": sheaves_like(name)}
    raise UnknownName(wording("no-such-sheave", values), "no-such-sheave", **values)


def sheaves_like(name: str) -> tuple[str, ...]:
    """Sheaves of the table whose names are near; all where none is."""
    names = [row.sheave for row in rows("sheaves")]
    near = difflib.get_close_matches(_key(name), [_key(one) for one in names], n=3, cutoff=0.5)
    return tuple(one for one in names if _key(one) in near) or tuple(names)


def _key(name: str) -> str:
    return "".join(letter for letter in name.casefold().replace("carabiner", "karabiner") if letter.isalnum())


def unknown_sheave() -> Range:
    """From a bare karabiner to the best pulley, where nobody said what the rope runs over [-]."""
    kinds = [Range(row.low, row.value, row.high) for row in rows("sheaves")]
    likely = sorted(kind.likely for kind in kinds)[len(kinds) // 2]
    return Range(min(kind.low for kind in kinds), likely, max(kind.high for kind in kinds))


def crew_of(recorded: RecordedCrew) -> tuple[Pullers | None, tuple[Said, ...]]:
    """A recorded crew for the sums, None without a pulley system, and what had to be taken for it.

    Raises
    ------
    UnknownName
        For a sheave in no table.
    """
    taken = []
    footing = recorded.footing
    if footing == "unknown" and recorded.pull_each is None:
        taken.append(said("footing-taken-as-standing"))
    if footing == "unknown":
        footing = FOOTING_NOT_SEEN
    if any(stage.sheave is None and stage.ratio > 1 for stage in recorded.stages):
        taken.append(said("sheave-not-named"))
    stages = tuple(_stage(stage) for stage in recorded.stages)
    if not stages:
        return None, (said("no-pulley-system-named"),)
    grip = FRICTION_GRIP if recorded.friction_grip else None
    pull = recorded.pull_each.si if recorded.pull_each else None
    return Pullers(recorded.people, stages, pull, footing, grip), tuple(taken)


def _stage(stage: HaulStage) -> Stage:
    efficiency = sheave_range(stage.sheave) if stage.sheave else unknown_sheave()
    return Stage(stage.ratio, efficiency, bool(stage.redirect))


def unknown_sheave_of(recorded: RecordedCrew) -> Said | None:
    """The first sheave of a crew that is in no table, with the near names; None where all are."""
    for name in (stage.sheave for stage in recorded.stages if stage.sheave):
        try:
            sheave_range(name)
        except UnknownName:
            return said("no-such-sheave", name=name, names=sheaves_like(name))
    return None


def stages_said(stages: Sequence[Stage]) -> Said:
    """Such as "5:1 pulled by 2:1"."""
    *others, at_the_line = (stage.ideal for stage in stages)
    return said("pulley-system", ratio=at_the_line, pulled=tuple(said("pulled-by", ratio=n) for n in reversed(others)))
