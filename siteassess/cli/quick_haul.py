"""`quick haul` and `quick tight`: what a crew pulls into a line, and whether that makes it clear the ground."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from siteassess.cli.answers import answers_sum, number, webbing_for_a_shell
from siteassess.cli.every_fault import EveryFault
from siteassess.cli.shared import WordsOf, measured, read_wanted

if TYPE_CHECKING:
    from siteassess.advice.tightness import TightPlan, Ways
    from siteassess.mechanics.hauling import Range, Stage

class RatiosType(click.ParamType):  # type: ignore[type-arg] # before click 8.4 it has none
    """Ratios of stages in series, "3,3"."""

    name = "ratios"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, ...]:
        if isinstance(value, tuple):
            return value
        try:
            ratios = tuple(int(part) for part in value.split(","))
            if min(ratios) < 1 or max(ratios) > 20:
                raise ValueError
        except ValueError:
            from siteassess.reference.findings import worded

            self.fail(read_wanted(value, worded("want-stages")), param, ctx)
        return ratios


people_option = click.option("--people", type=click.IntRange(1, 20), required=True, help="People pulling.")
stages_option = click.option("--stages", required=True, type=RatiosType(), metavar="N[,N...]",
                             help="Stages in series from the hands to the line: 3,3 is 3:1 on 3:1.")
efficiency_option = click.option("--efficiency", type=click.FloatRange(0, 1, min_open=True),
                                 help="Share of the pull that each sheave passes on; or give --sheave.")
sheave_option = click.option("--sheave", metavar="KIND[,KIND...]",
                             help="Kind of sheave instead of --efficiency, one for all stages or one each; see: "
                             "siteassess tables sheaves.")
footing_option = click.option("--footing", default="feet braced", show_default=True,
                              type=WordsOf("records.line.Footing", but=("unknown",)),
                              help="How the people stand, where --pull-each is not given.")
pull_option = measured("--pull-each", "force", "Pull of one person; by default a range by --footing.", low=0,
                       above_low=True, high=2000)
grip_option = click.option("--friction-grip", is_flag=True, help="A friction grip holds the line while pulling.")


@click.command("haul", cls=EveryFault)
@people_option
@stages_option
@efficiency_option
@sheave_option
@footing_option
@pull_option
@grip_option
@click.option("--webbing-class", shell_complete=webbing_for_a_shell,
              help="Also tell what is left once the webbing has settled.")
@answers_sum
def haul(
    people: int, stages: Sequence[int], efficiency: float | None, sheave: str | None, footing: str,
    pull_each: float | None, friction_grip: bool, webbing_class: str | None,
) -> dict[str, Any]:
    """Tension a crew can pull into a line by hand: a range, not a point.

    One of --efficiency and --sheave is needed.
    """
    from siteassess.advice.gear_inputs import settles_of_class
    from siteassess.mechanics.hauling import FRICTION_GRIP, settled
    from siteassess.mechanics.hauling import haul as hauled
    from siteassess.reference.findings import said

    grip = FRICTION_GRIP if friction_grip else None
    found = hauled(people, _stages(stages, efficiency, sheave), pull_each, footing, grip)
    values = {
        "advantage": found.advantage, "ideal_advantage": found.ideal_advantage, "tension_low_n": found.reached.low,
        "tension_n": found.reached.likely, "tension_high_n": found.reached.high,
        "tension_locked_n": found.locked.likely, "tension_locked_low_n": found.locked.low,
        "tension_locked_high_n": found.locked.high,
    }
    notes = [said("quick-while-pulling")]
    if found.grip_slips:
        notes.append(said("grip-gives-way"))
    elif found.reached.high > FRICTION_GRIP.low:
        notes.append(said("quick-grip-may-slip", pull=FRICTION_GRIP.low))
    if webbing_class:
        left = settled(found.locked, settles_of_class(webbing_class))
        values["tension_settled_n"] = left.likely
        values |= {"tension_settled_low_n": left.low, "tension_settled_high_n": left.high}
    return {**values, "notes": notes}


def _stages(ratios: Sequence[int], efficiency: float | None, sheave: str | None) -> tuple[Stage, ...]:
    """Stages of some ratios, and what their sheaves pass on."""
    from siteassess.advice.gear_loads import sheave_range
    from siteassess.mechanics.hauling import Stage
    from siteassess.reference.findings import worded

    if (efficiency is None) == (sheave is None):
        raise click.UsageError(worded("option-efficiency-or-sheave"))
    kinds: list[Range | float] = [] if efficiency is None else [efficiency]
    kinds += [] if sheave is None else [sheave_range(kind.strip()) for kind in sheave.split(",")]
    if len(kinds) not in (1, len(ratios)):
        raise click.UsageError(worded("option-kinds-of-sheave", kinds=len(kinds), stages=len(ratios)))
    return tuple(Stage(ratio, kind) for ratio, kind in zip(ratios, kinds * len(ratios)))


@click.command("tight", cls=EveryFault)
@measured("--span", "length", "Horizontal distance between the anchors.", required=True, low=0, above_low=True,
          high=1000)
@measured("--tie-a", "length", "Height of the tie at A over the ground there.", required=True, low=0, above_low=True,
          high=50)
@measured("--tie-b", "length", "The same at B; as at A if not given.", low=0, above_low=True, high=50)
@measured("--ground-rise", "length", "Height of the ground at B over that at A, a plain slope between.",
          default="0 m", show_default=True)
@click.option("--webbing-class", required=True, shell_complete=webbing_for_a_shell,
              help="Class of webbing, see: siteassess tables webbing.")
@measured("--walker", "mass", "Mass of the walker with gear.", default="100 kg", show_default=True, low=10, high=400)
@measured("--standing", "force", "Standing tension it is to have, to ask for the ties that go with it.", low=0,
          above_low=True, high=60e3)
@measured("--margin", "length", "Height the feet are to keep over the ground.", usual_unit="cm", default="30 cm", low=0,
          show_default=True)
@people_option
@stages_option
@efficiency_option
@sheave_option
@footing_option
@pull_option
@grip_option
@click.option("--re-tensioned", type=click.IntRange(0, 10), default=0, show_default=True,
              help="Times it is pulled up again after a walk.")
@answers_sum
def tight(
    span: float, tie_a: float, tie_b: float | None, ground_rise: float, webbing_class: str, walker: float,
    standing: float | None, margin: float, people: int, stages: Sequence[int], efficiency: float | None,
    sheave: str | None, footing: str, pull_each: float | None, friction_grip: bool, re_tensioned: int,
) -> dict[str, Any]:
    """Can these people with this kit make the line clear the ground, and which ties, tension or change would?

    A "yes" holds with the webbing at its soft end and the crew at its low end.
    One of --efficiency and --sheave is needed.
    """
    from siteassess.advice.finding import whys
    from siteassess.advice.gear_inputs import settles_of_class, stiffness_ends_of_class, stiffness_of_class
    from siteassess.advice.tightness import TightPlan, tightness, ways_to_clear
    from siteassess.errors import OutsideModel
    from siteassess.mechanics.hauling import FRICTION_GRIP
    from siteassess.mechanics.line_load import LoadedLine
    from siteassess.mechanics.profile import plain_slope
    from siteassess.mechanics.tightening import Pullers
    from siteassess.reference.findings import said, worded
    from siteassess.reference.webbing import webbing_class as class_row
    from siteassess.units import STANDARD_GRAVITY

    tie_b = tie_a if tie_b is None else tie_b
    rise = ground_rise + tie_b - tie_a
    if abs(rise) > span:
        raise click.UsageError(worded("option-too-steep", rise=rise, span=span))
    stiffness, basis = stiffness_of_class(webbing_class)
    line = LoadedLine(span, rise, math.nan if standing is None else standing, stiffness,
                      class_row(webbing_class).mass_g_per_m / 1e3 * STANDARD_GRAVITY,
                      walker * STANDARD_GRAVITY)
    grip = FRICTION_GRIP if friction_grip else None
    crew = Pullers(people, _stages(stages, efficiency, sheave), pull_each, footing, grip)
    ground, settles = plain_slope(span, ground_rise), settles_of_class(webbing_class)
    plan = TightPlan(line, *stiffness_ends_of_class(webbing_class), tie_a, tie_b, ground, margin, crew, settles,
                     re_tensioned)
    try:
        found = tightness(line, tie_a, ground, margin, crew, settles, re_tensioned, tell_needed=False)
        ways = ways_to_clear(plan)
    except OutsideModel as error:
        why = said("in-a-row", told=whys(error))
        return {"answer": "cannot say", "needed_n": None, "reason": why}
    values = found.as_dict() | {"answer": ways.answer}
    del values["says"], values["says_codes"]
    notes = [*found.told, *ways.told]
    reached = values.pop("planned_answer")
    planned = {"standing_reached": reached} if standing else {}
    shown = {"helps": values.pop("helps"), "works": [way.as_dict() for way in ways.works]}
    solved = _ways(ways, plan, standing)
    return {"webbing": basis, **_spread(values), **solved, **planned, **shown, "notes": notes}


def _ways(ways: Ways, plan: TightPlan, standing: float | None) -> dict[str, float | None]:
    """The least tension and ties as flat keys."""
    from siteassess.advice.tightness import least_ties
    from siteassess.mechanics.hauling import Range

    bands = {"tie_a_to_clear": ways.tie_a}
    if standing:
        bands["tie_a_at_standing"] = least_ties(plan, Range(standing, standing, standing))
    flat = {"needed_low_n": number(ways.needed.low), "needed_high_n": number(ways.needed.high)}
    for key, band in bands.items():
        flat |= {f"{key}_low_m": number(band.low), f"{key}_m": number(band.likely), f"{key}_high_m": number(band.high)}
    return flat


def _spread(values: Mapping[str, Any]) -> dict[str, Any]:
    """The bands of tensions as flat keys."""
    flat: dict[str, Any] = {}
    for key, value in values.items():
        if isinstance(value, dict):
            flat |= {f"{key}_{name}": number(one) for name, one in value.items()}
        elif not (key == "rounds" and value is None):
            flat[key] = value
    return flat
