"""Slings round a trunk: forces in legs and strands, contact, lengths, and what a link off the middle does.

Angles in degrees, the included angle being the one between the two legs at the link.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, Flags, as_array, broadcast
from siteassess.reference.constants import constant

WIDEST_ANGLE = constant("widest sling angle")
KNOT_DIAMETERS = constant("knot rope")
TAIL_DIAMETERS = constant("knot tail")
UNEVEN_LEGS = constant("uneven legs")

# Share of the choker rating by the angle of choke [deg]: at each angle the lower of a web sling sheet (read) and of a
# round sling sheet (read by others), since what is tied to a tree may be either.
CHOKE_ANGLES = ((120.0, 1.00), (105.0, 0.82), (90.0, 0.71), (60.0, 0.58), (30.0, 0.50), (0.0, 0.49))
CHOKER_OF_VERTICAL = constant("choker of vertical")


def leg_force(pull: ArrayLike, included_deg: ArrayLike) -> Array:
    """Force in each of two equal legs [N].

    Parameters
    ----------
    pull : along the line between the legs [N]
    included_deg : angle between the legs, 0 to under 180 [deg]

    Examples
    --------
    Half-inch chain rated 12 000 lb on one leg lifts 20 800, 17 000 and 12 000 lb on two at 60, 45 and 30 degrees from
    the horizontal (US OSHA, guidance on slings, table 1, read), rounded there to the hundred:

    >>> [round(float(leg), -2) for leg in leg_force([20_800, 17_000, 12_000], [60, 90, 120])]
    [12000.0, 12000.0, 12000.0]
    """
    return as_array(as_array(pull) / (2 * np.cos(np.radians(included_deg) / 2)))


@dataclass(frozen=True)
class TwoLegs:
    """How two legs or strands share one pull."""

    leg_1: Array  # the leg or strand the pull leans towards where the offset is positive [N]
    leg_2: Array  # [N]
    slack: Flags  # true where one of them goes slack; the other then carries the whole pull

    @property
    def share_1(self) -> Array:
        """Of the sum of both [-]."""
        return as_array(self.leg_1 / (self.leg_1 + self.leg_2))


def two_legs(pull: ArrayLike, included_deg: ArrayLike, offset_deg: ArrayLike) -> TwoLegs:
    """Legs of a sling whose pull does not run along the middle between them.

    Parameters
    ----------
    pull : [N]
    included_deg : angle between the legs, above 0 and below 180 [deg]
    offset_deg : angle of the pull from the middle, positive towards leg 1 [deg]

    Notes
    -----
    A link that can slide settles in the middle; this is for legs that cannot. At half the included angle the far
    leg goes slack (`slack_angle`), and past it the sling turns until the near leg lies along the pull.

    Examples
    --------
    600 N at 30 degrees on one side and 500 N at 36.87 on the other make 919.61 N (Hibbeler, Statics, 13th SI ed.,
    problem 2-23, with a worked solution; read). Back again:

    >>> legs = two_legs(919.61, 66.87, 3.435)
    >>> round(float(legs.leg_1)), round(float(legs.leg_2))
    (600, 500)
    """
    pull, half, offset = broadcast(pull, np.radians(included_deg) / 2, np.radians(offset_deg))
    half = np.where(half > 0, half, np.nan)
    leg_1 = pull * np.sin(half + offset) / np.sin(2 * half)
    leg_2 = pull * np.sin(half - offset) / np.sin(2 * half)
    slack = np.abs(offset) >= half
    leg_1 = np.where(slack, np.where(offset > 0, pull, 0.0), leg_1)
    return TwoLegs(leg_1, np.where(slack, pull - leg_1, leg_2), np.asarray(slack))


def uneven_factor(included_deg: float, offset_deg: float) -> float:
    """By how much the harder of two legs carries more than it would of a pull along their middle [-].

    The most that it carries at this offset or at any smaller one: legs over 90 degrees pass it before one goes slack.

    Parameters
    ----------
    included_deg : angle between the legs, above 0 and below 180 [deg]
    offset_deg : angle of the pull from the middle [deg]

    Examples
    --------
    Legs at 90 degrees, the pull along one of them: it carries all, even legs 1 / (2 cos 45) each, by hand.

    >>> round(uneven_factor(90.0, 45.0), 3)
    1.414
    """
    worst = min(included_deg / 2, 90.0 - included_deg / 2)
    legs = two_legs(1.0, included_deg, min(abs(offset_deg), worst))
    return float(legs.leg_1 * basket_factor(included_deg))


def slack_angle(included_deg: ArrayLike) -> Array:
    """Angle of the pull from the middle at which the far leg goes slack [deg].

    Parameters
    ----------
    included_deg : angle between the legs [deg]
    """
    return as_array(as_array(included_deg) / 2)


@dataclass(frozen=True)
class Basket:
    """A sling laid round a trunk with both ends at one link."""

    included_deg: float
    contact_deg: float
    leg: float  # force in each leg [N]
    length: float  # from link round the trunk to link [m]
    wide: bool  # true where the included angle passes 120 degrees: the link sits too near the trunk


def basket(pull: float, diameter: float, link: float | None = None, leg: float = 0.5) -> Basket:
    """Forces and length of a basket.

    Parameters
    ----------
    pull : [N]
    diameter : of trunk and padding together [m]
    link : distance of the link from the trunk's centre [m]; legs taken as parallel if not given
    leg : length of each parallel leg, used without `link` [m]

    Raises
    ------
    OutsideModel : where the link would lie inside the trunk

    Examples
    --------
    Half a metre of trunk, the link 0.75 m from its centre; by hand 2 asin(1/3), 10 kN / (2 cos 19.47 degrees):

    >>> laid = basket(10e3, 0.5, 0.75)
    >>> f"{laid.included_deg:.2f} deg, {laid.leg:.0f} N, {laid.length:.2f} m"
    '38.94 deg, 5303 N, 2.37 m'

    A link a whole diameter from the centre brings the legs to 60 degrees from each other, so from the horizontal too,
    where the trade's table of sling angles (read) has 1.155 of the straight pull in each:

    >>> f"{basket(2.0, 0.5, 0.5).leg:.3f}"
    '1.155'
    """
    radius = diameter / 2
    if link is None:
        return Basket(0.0, 180.0, pull / 2, 2 * leg + np.pi * radius, False)
    if not link > radius:
        raise OutsideModel("the link would lie inside the trunk: its distance counts from the trunk's centre",
                           "link-inside-the-trunk")
    included = 2 * np.arcsin(radius / link)
    return Basket(
        included_deg=float(np.degrees(included)), contact_deg=float(np.degrees(np.pi + included)),
        leg=float(leg_force(pull, np.degrees(included))),
        length=float(2 * np.sqrt(link**2 - radius**2) + radius * (np.pi + included)),
        wide=bool(np.degrees(included) > WIDEST_ANGLE),
    )


def nearest_link(diameter: float) -> float:
    """Least distance of the link from the trunk's centre that keeps the legs within 120 degrees [m].

    Parameters
    ----------
    diameter : of trunk and padding together [m]

    Examples
    --------
    Radius over sin 60 degrees, by hand:

    >>> f"{nearest_link(2.0):.3f}"
    '1.155'
    """
    return float(diameter / 2 / np.sin(np.radians(WIDEST_ANGLE / 2)))


def sling_length(diameter: float, link: float, wrap: str = "basket", turns: int = 1) -> float:
    """Length of sling, link to link or end to end, that a wrap takes up [m].

    Parameters
    ----------
    diameter : of trunk and padding together [m]
    link : distance of the link from the trunk's centre [m]
    wrap : "basket": once behind the trunk. "doubled": the same with the sling folded in two, four strands at the link.
        "choker": once round and through itself at the face of the trunk. "turns" or "friction": so many turns round the
        trunk, both ends at the link.
    turns : for "turns" and "friction"; 1 is a basket

    Raises
    ------
    OutsideModel : on a wrap not listed, or less than one turn

    Notes
    -----
    The length of a round sling is half its loop. Knots and tails come on top (`knots_length`).
    """
    once = basket(0.0, diameter, link).length
    round_trunk = np.pi * diameter
    if wrap == "basket":
        return once
    if wrap == "doubled":
        return 2 * once
    if wrap == "choker":
        return float(round_trunk + link - diameter / 2)
    if wrap in ("turns", "friction") and turns >= 1:
        return float(once + (turns - 1) * round_trunk)
    raise OutsideModel(f"no length for the wrap {wrap!r} with {turns} turns", "no-length-for-the-wrap", wrap=wrap,
                       turns=turns)


def knots_length(rope_diameter: float, knots: int = 2) -> float:
    """Rope to add for knots and their tails, taken at the upper end [m].

    Parameters
    ----------
    rope_diameter : [m]
    knots : how many
    """
    return knots * rope_diameter * (KNOT_DIAMETERS + TAIL_DIAMETERS)


def choke_factor(angle_deg: float) -> float:
    """Share of the choker rating left at an angle of choke, 0 to 180 degrees [-].

    Parameters
    ----------
    angle_deg : 180 for a straight pull through, less where the choke bends it [deg]

    Raises
    ------
    OutsideModel : outside 0 to 180 degrees

    Examples
    --------
    100 % from 120 degrees up, 49 % under 30, the same in three makers' sheets of web slings (read):

    >>> choke_factor(120.0), choke_factor(29.9)
    (1.0, 0.49)
    """
    if not 0 <= angle_deg <= 180:
        raise OutsideModel("an angle of choke lies between 0 and 180 degrees", "choke-angle-outside")
    return next(factor for least, factor in CHOKE_ANGLES if angle_deg >= least)


def basket_factor(included_deg: ArrayLike) -> Array:
    """Rating of a basket over that of the sling straight, 2 cos(half the angle) [-].

    Parameters
    ----------
    included_deg : angle between the legs [deg]

    Examples
    --------
    A maker's sheet of AS 1353 (read): 2.00, 1.73, 1.41 and 1.00 at 0, 60, 90 and 120 degrees.

    >>> [round(float(factor), 2) for factor in basket_factor([0, 60, 90, 120])]
    [2.0, 1.73, 1.41, 1.0]
    """
    return as_array(2 * np.cos(np.radians(included_deg) / 2))


def held_by_turns(turns: ArrayLike, friction: ArrayLike) -> Array:
    """Share of the pull left at the tail after turns round a trunk (capstan) [-].

    Parameters
    ----------
    turns : round the trunk [-]
    friction : between rope and bark [-]

    Examples
    --------
    A hawser of two turns with which 80 lbf hold 5,000 lbf has a friction of 0.329 (Vector Mechanics for Engineers:
    Statics, 10th edition, problem 8.104; the problem and its solution second hand, in copies, read).

    >>> round(float(held_by_turns(2, 0.329)), 4), 80 / 5_000
    (0.016, 0.016)
    """
    return as_array(np.exp(-as_array(friction) * 2 * np.pi * as_array(turns)))


def unevenness(shares: TwoLegs) -> str:
    """How unevenly legs share a pull, as a code of the table `findings` that says what to do about it.

    Parameters
    ----------
    shares : of one pull
    """
    if np.any(shares.slack):
        return "leg-slack"
    return "legs-uneven" if float(np.max(np.abs(shares.share_1 - 0.5))) > UNEVEN_LEGS else "legs-even"
