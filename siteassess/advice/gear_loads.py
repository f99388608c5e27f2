"""What each piece of gear carries, and the crew of a line with its pulley system as numbers.

A piece carries the greatest load of its own place in the line, not of the line. A place that was not said is the usual
one of the kind of piece, a piece of which nothing was said carries the hardest tension of all, an end that was not said
is the harder one.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from siteassess.advice.end_loads import BACKUP
from siteassess.advice.results import AnchorResult
from siteassess.errors import UnknownName
from siteassess.mechanics.hauling import FRICTION_GRIP, PULL_RANGES, Range, Stage, StageLoad, stage_loads
from siteassess.mechanics.sling import basket_factor
from siteassess.mechanics.tightening import Pullers
from siteassess.records.line import ENDS, EndName, Gear, HaulStage, Line
from siteassess.records.line import Crew as RecordedCrew
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


def weakest_crew(recorded: RecordedCrew) -> tuple[RecordedCrew, tuple[str, ...]]:
    """A crew as it may be at its weakest where something of it was not said, and what that is.

    Parameters
    ----------
    recorded : with every sheave it names in the table, or not

    Returns
    -------
    Every sheave that nobody named, or that is in no table, as the one that passes on least, a pulley system nobody
    named as none, and a footing nobody said as the one that pulls least; the names of what was not said.
    """
    worst = min(rows("sheaves"), key=lambda row: float(row.value)).sheave
    unsaid = [stage.ratio > 1 and (stage.sheave is None or not _in_table(stage.sheave)) for stage in recorded.stages]
    stages = tuple(stage.model_copy(update={"sheave": worst}) if missing else stage
                   for stage, missing in zip(recorded.stages, unsaid))  # fmt: skip
    with_what = bool(recorded.stages)
    stages = stages or (HaulStage.model_validate({"ratio": 1}),)
    braced = recorded.footing != "unknown" or recorded.pull_each is not None
    footing = recorded.footing if braced else min(PULL_RANGES, key=lambda way: PULL_RANGES[way].likely)
    told = {"with what it is pulled tight": with_what, "what the rope runs over": not any(unsaid),
            "how the crew stands": braced}  # fmt: skip
    names = tuple(name for name, was in told.items() if not was)
    return recorded.model_copy(update={"stages": stages, "footing": footing}), names


def _in_table(sheave: str) -> bool:
    try:
        sheave_range(sheave)
    except UnknownName:
        return False
    return True


def unknown_sheave_of(recorded: RecordedCrew) -> Said | None:
    """The first sheave of a crew that is in no table, with the near names; None where all are."""
    for name in (stage.sheave for stage in recorded.stages if stage.sheave):
        if not _in_table(name):
            return said("no-such-sheave", name=name, names=sheaves_like(name))
    return None


def stages_said(stages: Sequence[Stage]) -> Said:
    """Such as "5:1 pulled by 2:1"."""
    *others, at_the_line = (stage.ideal for stage in stages)
    return said("pulley-system", ratio=at_the_line, pulled=tuple(said("pulled-by", ratio=n) for n in reversed(others)))


RIGGING = "rigging peak"
LEASHED = "fall at an anchor"  # a leash, which holds one person, pulls hardest where the line gives least


@dataclass(frozen=True)
class PlaceLoads:
    """The greatest load of each place of one line [N]; NaN where a place carries nothing or it is not known."""

    at_anchor: dict[EndName, float]  # all that pulls there, with the backup's catch where that may hang there too
    in_line: float  # the main line's tension
    rigging: float  # while it is pulled tight
    leash: float
    backup: float
    stages: tuple[StageLoad, ...]  # for a pull of 1 N on the line, from the hands; none where no system was named
    hardest: float  # of all tensions

    def of(self, piece: Gear) -> tuple[float, Said]:
        """Greatest load of a piece's place [N], and the place in words."""
        place = piece.place if piece.place != "unknown" else usual_place(piece.kind)
        if place is None:
            return self.hardest, said("at-any-place")
        load, words = self._at(place, piece)
        return load, words if piece.place != "unknown" else said("place-not-said", place=words)

    def _at(self, place: str, piece: Gear) -> tuple[float, Said]:
        if place == "at the anchor":
            if piece.end == "unknown":
                return _greatest(self.at_anchor.values()), said("at-harder-anchor")
            return _greatest([self.at_anchor[piece.end]]), said("at-anchor", end=piece.end)
        if place == "redirect":
            angle = piece.strand_angle.si if piece.strand_angle else 0.0
            words = (said("at-redirect", angle=angle) if piece.strand_angle
                     else said("at-redirect-side-by-side"))  # fmt: skip
            return self.in_line * float(basket_factor(angle)), words
        if place in ("hauling", "hauling left in"):
            return self._hauling(place, piece)
        return {
            "in the line": (self.in_line, said("in-the-line")),
            "leash": (self.leash, said("in-the-leash")),
            "backup": (self.backup, said("in-the-backup")),
        }[place]

    def _hauling(self, place: str, piece: Gear) -> tuple[float, Said]:
        pull = self.rigging if place == "hauling" else self.in_line
        when = said("while-tightened" if place == "hauling" else "left-in-the-line")
        if not self.stages:
            shares = StageLoad(1.0, 1.0, 2.0)  # a system nobody described may do no more than turn the rope
            return pull * _share(shares, piece.kind), said("in-unknown-hauling", when=when)
        if piece.stage is not None and piece.stage <= len(self.stages):
            stage = self.stages[piece.stage - 1]
            return pull * _share(stage, piece.kind), said("in-hauling", when=when, number=piece.stage)
        hardest = max(_share(stage, piece.kind) for stage in self.stages)
        return pull * hardest, said("in-hardest-hauling", when=when)


def place_loads(line: Line, ends: tuple[AnchorResult, ...]) -> PlaceLoads:
    """The loads of every place of a line, from the load cases of its two ends."""
    cases = [(end.end, load.case, load.tension_n) for end in ends for load in end.loads]
    falls = [load.vertical_n for end in ends for load in end.loads if load.case == LEASHED]
    apart = line.backup == "other tree"
    return PlaceLoads(
        at_anchor={code: _greatest(tension for end, case, tension in cases
                                   if end == code and not (apart and case == BACKUP)) for code in ENDS},
        in_line=_greatest(tension for _, case, tension in cases if case != BACKUP),
        rigging=_greatest(tension for _, case, tension in cases if case == RIGGING),
        leash=_greatest(falls), backup=_greatest(tension for _, case, tension in cases if case == BACKUP),
        stages=_stages(line), hardest=_greatest(tension for *_, tension in cases),
    )  # fmt: skip


def _stages(line: Line) -> tuple[StageLoad, ...]:
    try:
        crew = crew_of(line.crew)[0] if line.crew else None
    except UnknownName:  # told where the crew is
        return ()
    return stage_loads(1.0, crew.stages) if crew else ()


def _share(stage: StageLoad, kind: str) -> float:
    """Which of a stage's loads a kind of piece carries."""
    if kind in ("rope", "brake"):
        return stage.rope
    if kind == "pulley":
        return stage.pulley
    return max(stage) if kind in ("other", "unknown") else stage.whole


def _greatest(tensions: Iterable[float]) -> float:
    return max((tension for tension in tensions if math.isfinite(tension)), default=math.nan)


def gear_row(kind: str) -> Any:
    """The table's row of a kind of piece; None where it has none."""
    return next((row for row in rows("gear") if row.kind == kind), None)


def usual_place(kind: str) -> str | None:
    """Where a kind of piece mostly sits; None where that cannot be told."""
    row = gear_row(kind)
    return row.usual_place if row else None


def left_by(name: str) -> float:
    """Share of the strength that a knot or lock leaves, at the low end [-]; NaN where it is in no table.

    Parameters
    ----------
    name : as typed
    """
    return next((row.strength_low_share for row in rows("knots") if _plain(row.knot) == _plain(name)), math.nan)


def knot_named(name: str) -> str:
    """A knot or lock as the table calls it, which every language has a word for; else as it was written."""
    return next((row.knot for row in rows("knots") if _plain(row.knot) == _plain(name)), name)


def knots_like(name: str) -> tuple[str, ...]:
    """Names of the table of knots and locks that are near to a name; all of them where none is."""
    known = [row.knot for row in rows("knots")]
    return tuple(difflib.get_close_matches(name.strip().casefold(), known, n=3, cutoff=0.5) or known)


def _plain(name: str) -> str:
    return "".join(letter for letter in name.casefold().replace(" of ", " ") if letter.isalnum())
