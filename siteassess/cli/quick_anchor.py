"""The quick sums of an anchor: stem, root plate, bark, boulder."""

from __future__ import annotations

import math
from typing import Any

import click

from siteassess.cli.answers import answers_sum, trunk_size
from siteassess.cli.every_fault import EveryFault
from siteassess.cli.shared import FloatType, WordsOf, measured, read_wanted
from siteassess.mechanics.bark import WRAPS

FOR = click.option("--for", "purpose", type=click.Choice(["walked", "high"]), default="walked", show_default=True,
                   help="Walked line, or high line and aerial equipment with the larger divisor.")


class Share(FloatType):
    """A share between 0 and 1, or a percentage."""

    name = "share"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        text = value.strip()
        try:
            share = float(text.removesuffix("%")) / (100 if text.endswith("%") else 1)
        except ValueError:
            share = math.nan
        if not 0 <= share <= 1:
            from siteassess.reference.findings import worded

            self.fail(read_wanted(value, worded("want-a-share")), param, ctx)
        return share


@click.command("root", cls=EveryFault)
@measured("--height", "length", "Height of the tree.", required=True, low=1, high=120)
@measured("--tie", "length", "Height of the tie above ground.", required=True, low=0, high=30)
@measured("--pull", "force", "Horizontal pull.", required=True, low=0)
@click.option(
    "--soil", type=click.Choice(["firm", "wet", "saturated"]), help="State of the soil; not given counts as wet."
)
@measured("--lean", "slope", "Lean of the trunk along the pull.", default="0 deg", show_default=True, low=0, high=60,
          called="lean")
@click.option("--root-loss", type=Share(), default=0.0, show_default=True, help="Share of the holding roots lost.")
@click.option("--species", help="Species, genus or 'unknown broadleaf'; not given: a tree of any kind.")
@FOR
@answers_sum
@trunk_size("over the bark")
def root(
    diameter: float, height: float, tie: float, pull: float, soil: str | None, lean: float, root_loss: float,
    species: str | None, purpose: str,
) -> dict[str, Any]:
    """Does the root plate hold? Moment at the ground beside what we allow."""
    from siteassess.advice.quick import root_answer

    return root_answer(diameter, height, tie, pull, soil or "unknown", lean, root_loss, purpose, species)


@click.command("stem", cls=EveryFault)
@click.option("--species", required=True, help="Species, genus, or 'unknown broadleaf', 'unknown conifer', 'unknown'.")
@measured("--tie", "length", "Height of the tie above ground.", required=True, low=0, high=30)
@measured("--pull", "force", "Horizontal pull.", required=True, low=0)
@measured("--section", "length", "Height of the section looked at.", default="0.3 m", show_default=True, low=0, high=30)
@measured("--wall", "length", "Thickness of sound wood, for a hollow trunk.", usual_unit="cm", low=0)
@measured(
    "--opening", "angle", "Opening of the hollow, as degrees of the trunk's round.", default="0 deg", low=0, high=359
)
@click.option("--fork", is_flag=True, help="A fork below or near the tie.")
@measured("--bark-thickness", "length", "Bark thickness; from the tables if not given.",
          usual_unit="mm", low=0, high=0.5)
@FOR
@answers_sum
@trunk_size("over the bark at the section")
def stem(
    species: str, diameter: float, tie: float, pull: float, section: float, wall: float | None, opening: float,
    fork: bool, bark_thickness: float | None, purpose: str,
) -> dict[str, Any]:
    """Does the stem hold? Bending moment at a section beside what we allow."""
    from siteassess.advice.quick import stem_answer

    return stem_answer(species, diameter, tie, pull, section, wall, opening, fork, bark_thickness, purpose)


@click.command("bark", cls=EveryFault)
@measured("--pull", "force", "Pull of the line on the trunk.", required=True, low=0)
@measured("--width", "length", "Bearing width of one strand; a rope's diameter.",
          usual_unit="mm", required=True, low=0.002, high=1)
@measured("--link", "length", "Distance of the link from the trunk's centre; parallel legs if not given.", low=0,
          above_low=True)
@click.option("--wrap", type=click.Choice(WRAPS), default="basket",
              show_default=True, help="How the sling goes round the trunk.")
@click.option("--strands", type=click.IntRange(1, 12), help="Strands that all run to the link.")
@click.option("--species", help="Species or genus; not given counts as thin and smooth bark.")
@click.option("--month", type=click.IntRange(1, 12), help="Month; not given counts as growing.")
@click.option("--hemisphere", type=click.Choice(["north", "south"]), help="Not given: whichever is worse.")
@click.option("--condition", type=click.Choice(["sound", "stressed"]), default="sound", show_default=True,
              help="Condition of the tree.")
@click.option("--repeat", type=click.Choice(["occasional", "weekly"]), default="occasional", show_default=True,
              help="How often lines hang on it.")
@answers_sum
@trunk_size("at the sling")
def bark(
    pull: float, diameter: float, width: float, link: float | None, wrap: str, strands: int | None,
    species: str | None, month: int | None, hemisphere: str | None, condition: str, repeat: str,
) -> dict[str, Any]:
    """How hard the sling presses, beside our reference pressure. A judgement: no harm threshold was ever measured."""
    from siteassess.advice.quick import bark_answer

    return bark_answer(pull, diameter, width, link, wrap, strands, species, month, hemisphere, condition, repeat)


@click.command("boulder", cls=EveryFault)
@measured("--along", "length", "Size along the pull.", required=True, low=0, above_low=True)
@measured("--across", "length", "Size across the pull.", required=True, low=0, above_low=True)
@measured("--upright", "length", "Height above its bed.", required=True, low=0, above_low=True)
@measured("--tie", "length", "Height of the tie above its bed.", required=True, low=0)
@measured("--pull", "force", "Horizontal pull.", required=True, low=0)
@measured("--slope", "slope", "Slope of its bed.", default="0 deg", show_default=True, low=0, high=60)
@measured("--from-downhill", "angle", "Angle of the pull from straight downhill.", default="0 deg", show_default=True)
@measured("--edge", "length", "Distance to an edge it could slide over; none if not given.", low=0)
@click.option("--rock", type=WordsOf("records.anchor.Rock"), default="unknown", show_default=True,
              help="Kind of rock; not known counts as light.")
@click.option("--bed", type=WordsOf("records.anchor.Bed"), default="unknown", show_default=True,
              help="What it lies on; not known counts as slippery.")
@click.option("--embedded", is_flag=True, help="Sunk deeply into the ground.")
@FOR
@answers_sum
def boulder(
    along: float, across: float, upright: float, tie: float, pull: float, slope: float, from_downhill: float,
    edge: float | None, rock: str, bed: str, embedded: bool, purpose: str,
) -> dict[str, Any]:
    """Does a boulder slide or tip? It is checked as a rigid block on its slope."""
    from siteassess.advice.quick import boulder_answer

    sizes = (along, across, upright)
    return boulder_answer(sizes, tie, pull, slope, from_downhill, edge, rock, bed, embedded, purpose)
