"""`siteassess quick`: one sum without a record. The line here, the anchor in `quick_anchor`."""

from __future__ import annotations

import datetime
import math
from typing import TYPE_CHECKING, Any

import click

from siteassess.cli.answers import answers_sum, number, trunk_size, webbing_for_a_shell
from siteassess.cli.every_fault import EveryFault
from siteassess.cli.quick_anchor import bark, boulder, root, stem
from siteassess.cli.quick_haul import haul, tight
from siteassess.cli.shared import FloatType, day, measured, read_wanted
from siteassess.mechanics.bark import WRAPS
from siteassess.mechanics.sling import WIDEST_ANGLE
from siteassess.units import STANDARD_GRAVITY

if TYPE_CHECKING:
    from siteassess.mechanics.cable import Solution
    from siteassess.mechanics.stretch_table import StretchTable
    from siteassess.reference.findings import Said


class DegreesType(FloatType):
    """A latitude or longitude in decimal degrees within a limit."""

    name = "degrees"

    def __init__(self, limit: int):
        self.limit = limit

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        from siteassess.reference.findings import worded

        try:
            degrees = float(value)
        except ValueError:
            degrees = math.nan
        if not abs(degrees) <= self.limit:
            wanted = worded("want-decimal-degrees", limit=self.limit)
            self.fail(read_wanted(value, wanted, worded("mend-swapped-degrees")), param, ctx)
        return degrees


@click.group("quick")
def quick() -> None:
    """One sum without a record. Quantities are text with a unit; --json answers in SI units.

    An outcome outside the model is an answer too: the figure is then null, a reason stands beside it, and the exit
    code stays 0.
    """


@quick.command("load", cls=EveryFault)
@measured("--span", "length", "Horizontal distance between the anchors.", required=True, low=0, above_low=True,
          high=1000)
@measured("--rise", "length", "Height of tie B over tie A; negative where B is lower.", default="0 m",
          show_default=True)
@measured("--standing", "force", "Tension at A with nobody on the line.", low=0, above_low=True)
@measured("--sag", "length", "Instead of --standing: sag measured under the load, below A.", low=0, above_low=True)
@measured("--stiffness", "force", "EA of the webbing: pull over stretch.", low=0, above_low=True)
@measured("--mass", "mass per length", "Mass a metre of the webbing.", low=0)
@click.option("--webbing-class", shell_complete=webbing_for_a_shell,
              help="Class of webbing instead of stiffness and mass, see: siteassess tables webbing.")
@measured("--load", "force", "Weight of the walker, or their mass.", required=True, low=0, weighed=True,
          usual_unit="kg")
@click.option("--at", type=click.FloatRange(0, 1, min_open=True, max_open=True), default=0.5, show_default=True,
              help="Place of the load, as a fraction of the span from A.")
@measured("--strength", "force", "Rated strength of the webbing, to compare with.", low=0, above_low=True)
@answers_sum
def load(
    span: float, rise: float, standing: float | None, sag: float | None, stiffness: float | None, mass: float | None,
    webbing_class: str | None, load: float, at: float, strength: float | None,
) -> dict[str, Any]:
    """One static state of a line with one load on it, no case factor."""
    from siteassess.reference.findings import said, worded

    if (standing is None) == (sag is None):
        raise click.UsageError(worded("option-standing-or-sag"))
    if abs(rise) > span:
        raise click.UsageError(worded("option-too-steep", rise=rise, span=span))
    stretch, weight, basis = _webbing(stiffness, mass, webbing_class)
    state = _state(span, rise, standing, sag, stretch, weight, load, at)
    a, b = (
        {"tension_n": number(tension), "horizontal_n": number(state.horizontal), "vertical_n": number(vertical)}
        for tension, vertical in ((state.tension_a, state.vertical_a), (state.tension_b, state.vertical_b))
    )
    values = {
        "anchor_a": a, "anchor_b": b, "drop_m": number(state.drop), "unstretched_m": number(state.unstretched),
        "stiffness_n": stretch if isinstance(stretch, float) else None,
        "mass_per_length_kg_m": weight / STANDARD_GRAVITY, "webbing": basis,
    }
    if not bool(state.converged):
        why = tuple(said(reason.code) for reason in state.reasons)
        return {**values, "reason": said("in-a-row", told=why)}
    return {**values, **_warnings(float(state.tension), stretch, strength)}


def _state(
    span: float, rise: float, standing: float | None, sag: float | None, stiffness: float | StretchTable,
    weight: float, load: float, at: float,
) -> Solution:
    """The static state, from the standing tension or from a sag; by a stiffness or by a stretch table."""
    from siteassess.mechanics.cable import solve
    from siteassess.mechanics.cable_many import solve_table
    from siteassess.mechanics.cable_sag import solve_from_sag, standing_from_sag

    given = float("nan") if standing is None else standing
    if not isinstance(stiffness, float):
        if sag is not None:
            given = float(standing_from_sag(span, rise, sag, stiffness, weight, load, at))
        return solve_table(span, rise, given, stiffness, weight, load, at)
    if sag is not None:
        return solve_from_sag(span, rise, sag, stiffness, weight, load, at)
    return solve(span, rise, given, stiffness, weight, load, at)


def _warnings(tension: float, stiffness: float | StretchTable, strength: float | None) -> dict[str, Any]:
    """Shares of strength and stretch, and a warning where one is passed."""
    from siteassess.mechanics.gear import BREAKING_FACTOR, NOT_CHECKED, webbing_warning
    from siteassess.mechanics.line_load import MOST_STRETCH
    from siteassess.mechanics.series import strain_at
    from siteassess.reference.findings import said

    stretch = float(strain_at(stiffness, tension))
    values: dict[str, Any] = {"stretch": stretch}
    told = []
    if strength:
        values["strength_share"] = tension / strength
        if code := webbing_warning(tension, strength):
            told.append(said(code, factor=BREAKING_FACTOR.value, times=tension / strength))
    if stretch > MOST_STRETCH:
        told.append(said("quick-stretched", stretch=stretch))
    if told:
        values["warning"] = said("in-a-row", told=tuple(told))
    return values if strength else {**values, "gear": NOT_CHECKED}


def _webbing(stiffness: float | None, mass: float | None, name: str | None) -> tuple[float | StretchTable, float, Said]:
    """Stiffness [N] or stretch table, weight a metre [N/m], and where they come from."""
    from siteassess.reference.findings import said, worded

    if name is not None:
        from siteassess.advice.gear_inputs import stiffness_of_class
        from siteassess.reference.webbing import webbing_class

        own, basis = stiffness_of_class(name)
        kilograms = mass if mass is not None else webbing_class(name).mass_g_per_m / 1e3
        return (stiffness if stiffness is not None else own), kilograms * STANDARD_GRAVITY, basis
    if stiffness is None or mass is None:
        raise click.UsageError(worded("option-stiffness-or-class"))
    return stiffness, mass * STANDARD_GRAVITY, said("webbing-as-given")


@quick.command("bearing", cls=EveryFault, context_settings={"ignore_unknown_options": True})
@click.argument("lat1", type=DegreesType(90))
@click.argument("lon1", type=DegreesType(180))
@click.argument("lat2", type=DegreesType(90))
@click.argument("lon2", type=DegreesType(180))
@click.option("--date", "on", type=day, help="Day of the compass reading; today if not given.")
@answers_sum
def bearing(lat1: float, lon1: float, lat2: float, lon2: float, on: datetime.date | None) -> dict[str, Any]:
    """Distance and bearings between two points in decimal degrees, true and magnetic."""
    from siteassess.advice.finding import whys
    from siteassess.errors import OutsideModel
    from siteassess.places.geodesy import bearing_distance
    from siteassess.places.magnetics import declination
    from siteassess.reference.findings import said

    course = bearing_distance(lat1, lon1, lat2, lon2)
    values: dict[str, Any] = {
        "distance_m": float(course.distance_m), "bearing_true_deg": number(course.bearing_true_deg),
        "back_bearing_true_deg": number(course.back_bearing_true_deg), "declination_deg": None,
        "bearing_magnetic_deg": None,
    }
    if values["distance_m"] == 0:
        values.update(bearing_true_deg=None, back_bearing_true_deg=None, reason=said("quick-one-point"))
        return values
    try:
        turned = declination(lat1, lon1, on or datetime.date.today())
        values["declination_deg"] = turned.declination_deg
        values["bearing_magnetic_deg"] = turned.magnetic_from_true(values["bearing_true_deg"]) % 360
        values["declination_sigma_deg"] = turned.sigma_deg
        values["model"] = turned.model
    except OutsideModel as error:
        values["reason"] = said("in-a-row", told=whys(error))
    return values


@quick.command("sling", cls=EveryFault)
@measured("--pull", "force", "Pull of the line.", required=True, low=0)
@measured("--link", "length", "Distance of the link from the trunk's centre.", required=True, low=0, above_low=True)
@click.option("--wrap", type=click.Choice(WRAPS), default="basket",
              show_default=True, help="How it goes round the trunk.")
@click.option("--turns", type=click.IntRange(1, 10), default=2, show_default=True,
              help="Turns, for --wrap turns or friction.")
@measured("--padding", "length", "Thickness of the padding under it.",
          usual_unit="mm", default="0 mm", show_default=True, low=0, high=0.3)
@measured("--off-middle", "angle", "Angle of the pull off the middle between the legs.", default="0 deg",
          show_default=True)
@measured("--rope", "length", "Rope diameter, to add length for two knots and tails.",
          usual_unit="mm", low=0.004, high=0.05)
@answers_sum
@trunk_size("at the tie")
def sling(
    pull: float, diameter: float, link: float, wrap: str, turns: int, padding: float, off_middle: float,
    rope: float | None,
) -> dict[str, Any]:
    """Length of a sling or rope round a trunk, leg angle, and how both legs share the pull."""
    from siteassess.advice.finding import whys
    from siteassess.errors import OutsideModel
    from siteassess.mechanics.sling import (
        basket,
        knots_length,
        nearest_link,
        slack_angle,
        sling_length,
        two_legs,
        unevenness,
    )
    from siteassess.reference.findings import said

    outer = diameter + 2 * padding
    values: dict[str, Any] = {"length_m": None, "included_deg": None, "contact_deg": None, "leg_n": None}
    try:
        laid = basket(pull, outer, link)
        knots = knots_length(rope) if rope else 0.0
        values.update(length_m=sling_length(outer, link, wrap, turns) + knots, included_deg=laid.included_deg,
                      contact_deg=laid.contact_deg, leg_n=laid.leg)
        legs = two_legs(pull, laid.included_deg, off_middle)
        values.update(leg_1_n=float(legs.leg_1), leg_2_n=float(legs.leg_2), share_1=float(legs.share_1),
                      slack_at_deg=float(slack_angle(laid.included_deg)), one_leg_slack=bool(legs.slack))
        notes = [said(unevenness(legs))]
        if laid.wide:
            notes.append(said("quick-legs-open", widest=float(WIDEST_ANGLE), least=float(nearest_link(outer))))
        if bool(legs.slack):
            notes.append(said("quick-one-leg"))
        if wrap == "choker":
            notes.append(said("tie-choker"))
        values["notes"] = notes
    except OutsideModel as error:
        values["reason"] = said("in-a-row", told=whys(error))
    return values


for command in (haul, tight, stem, root, bark, boulder):
    quick.add_command(command)
