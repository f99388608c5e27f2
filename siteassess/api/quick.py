"""One sum without a record, as `siteassess quick` answers it.

Sizes are texts with a unit, or numbers in SI. What each may be, and what stands in where one is left out, is said once,
by the options of the command: None here is an option not given there.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import click

from siteassess.errors import Fault, FaultyInput
from siteassess.reference.findings import Worded, worded
from siteassess.units import SI_UNIT

Amount: TypeAlias = str | float | None


@dataclass(frozen=True, repr=False)
class QuickAnswer(Mapping[str, Any]):
    """What a sum answers, by name as its `--json` has it: SI units, None for what cannot be said, and the cautions."""

    kind: str
    answered: Mapping[str, Any]
    told: Mapping[str, Any]  # before it was put in words

    def __getitem__(self, name: str) -> Any:
        return self.answered[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.answered)

    def __len__(self) -> int:
        return len(self.answered)

    def in_words(self, language: str = "en") -> str:
        """As the command tells it.

        Parameters
        ----------
        language : to tell it in
        """
        from siteassess.cli.answers import sum_as_text

        return "\n".join(sum_as_text(self.told, language))

    def __repr__(self) -> str:
        shown = {name: one for name, one in self.answered.items()
                 if isinstance(one, (int, float, str)) and len(str(one)) < 40}  # fmt: skip
        return f"<quick {self.kind}: {', '.join(f'{name}={_short(one)}' for name, one in list(shown.items())[:6])}>"


def _short(value: Any) -> str:
    return f"{value:.4g}" if isinstance(value, float) else repr(value)


def _sum(kind: str, asked: Mapping[str, Any]) -> QuickAnswer:
    """The answer of a command of `quick`, its options taken from the arguments of a function of the same name."""
    from siteassess.cli.answers import sum_as_json
    from siteassess.cli.quick import quick
    from siteassess.cli.shared import json_ready

    command = quick.commands[kind]
    context, given, faults = click.Context(command), dict[str, Any](), list[Fault]()
    for option in command.params:
        if (name := option.name or "") == "as_json" or not option.expose_value:
            continue
        value = asked[name]
        try:
            given[name] = option.process_value(context, _typed(option, value))
        except click.UsageError as error:
            faults.append(_fault(option, value, error.message))
    if faults:
        raise FaultyInput(f"quick.{kind}", faults)
    sum_of: Any = command.callback
    try:
        found = sum_of.__wrapped__(**given)
    except click.UsageError as error:  # of options that do not go together
        raise FaultyInput(f"quick.{kind}", [Fault(0, kind, "these together", error.message)]) from None
    return QuickAnswer(kind, json_ready(sum_as_json(found)), found)


def _fault(option: click.Parameter, value: Any, message: str) -> Fault:
    """One argument's fault; a message of ours knows its parts, that of the options' library is one text."""
    told = dict(message.said.values) if isinstance(message, Worded) else {}
    words = getattr(option.type, "choices", ())
    wanted = worded("want-one-of", choices=tuple(words)) if words else told.get("wanted", message)
    mend = " ".join(dict(one.values)["mend"] for one in told.get("mend", ()))
    return Fault(0, option.name or "", repr(value), wanted, mend)


def _typed(option: click.Parameter, value: Any) -> Any:
    """What would have been typed: a number where a size is wanted is one in SI."""
    if value is None:
        default = option.get_default(click.Context(click.Command("quick")))
        return default if isinstance(default, (str, int, float)) else None  # click has a mark of its own for none
    kind = getattr(option.type, "kind", "")
    number = value.item() if hasattr(value, "item") else value
    if kind and isinstance(number, (int, float)) and not isinstance(number, bool):
        return f"{number!r} {SI_UNIT[kind]}"
    return number


def load(
    span: Amount, load: Amount, *, standing: Amount = None, sag: Amount = None, stiffness: Amount = None,
    mass: Amount = None, webbing_class: str | None = None, rise: Amount = None, at: float | None = None,
    strength: Amount = None,
) -> QuickAnswer:  # fmt: skip
    """One static state of a line with one load on it, no case factor.

    Parameters
    ----------
    span : horizontal distance between the anchors [m]
    load : weight of the walker [N]; as a text it may be their mass
    standing, sag : tension at A with nobody on the line [N], or instead sag under the load, below A [m]
    stiffness, mass : EA of the webbing [N] and mass a metre [kg/m], or instead
    webbing_class : of the table `webbing`
    rise : height of tie B over tie A [m]; level if not given
    at : place of the load, as a share of the span from A [-]; the middle if not given
    strength : rated, of the webbing [N], to compare with

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    UnknownName : no such class of webbing.

    Examples
    --------
    >>> round(load("75 m", "800 N", standing="3 kN", webbing_class="nylon")["drop_m"], 2)
    4.52
    """
    return _sum("load", locals())


def root(
    diameter: Amount, height: Amount, tie: Amount, pull: Amount, *, girth: Amount = None, soil: str | None = None,
    lean: Amount = None, root_loss: float | str | None = None, species: str | None = None, purpose: str | None = None,
) -> QuickAnswer:  # fmt: skip
    """Does the root plate hold? Moment at the ground beside what we allow.

    Parameters
    ----------
    diameter, height : of the trunk over the bark at breast height, and of the tree [m]
    tie : height of the tie above ground [m]
    pull : horizontal [N]
    girth : instead of the diameter, which is then None [m]
    soil : "firm", "wet" or "saturated"; not given counts as wet
    lean : along the pull [deg]
    root_loss : share of the holding roots lost [-]
    species : by any name; a tree of any kind if not given
    purpose : kind of line, which sets the divisor

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    UnknownName : no such species.

    Examples
    --------
    >>> round(root("40 cm", "18 m", "1 m", "5 kN", soil="firm")["use"], 2)
    0.37
    """
    return _sum("root", locals())


def stem(
    species: str, diameter: Amount, tie: Amount, pull: Amount, *, girth: Amount = None, section: Amount = None,
    wall: Amount = None, opening: Amount = None, fork: bool = False, bark_thickness: Amount = None,
    purpose: str | None = None,
) -> QuickAnswer:  # fmt: skip
    """Does the stem hold? Bending moment at a section beside what we allow.

    Parameters
    ----------
    species : by any name, or "unknown broadleaf", "unknown conifer", "unknown"
    diameter : over the bark at the section [m]
    tie, section : height of the tie above ground, and of the section looked at [m]
    pull : horizontal [N]
    girth : instead of the diameter, which is then None [m]
    wall, opening : sound wood of a hollow trunk [m], and how much of its round is open [deg]
    fork : whether one lies below or near the tie
    bark_thickness : [m]; from the tables if not given
    purpose : kind of line, which sets the divisor

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    UnknownName : no such species.

    Examples
    --------
    >>> stem("oak", "40 cm", "1 m", "5 kN")["species"]
    'Quercus spp.'
    """
    return _sum("stem", locals())


def bark(
    pull: Amount, diameter: Amount, width: Amount, *, girth: Amount = None, link: Amount = None,
    wrap: str | None = None, strands: int | None = None, species: str | None = None, month: int | None = None,
    hemisphere: str | None = None, condition: str | None = None, repeat: str | None = None,
) -> QuickAnswer:  # fmt: skip
    """How hard the sling presses, beside our reference pressure: a judgement, no harm threshold was ever measured.

    Parameters
    ----------
    pull : of the line on the trunk [N]
    diameter : of the trunk at the sling [m]
    width : bearing width of one strand [m]
    girth : instead of the diameter, which is then None [m]
    link : distance of the link from the trunk's centre [m]; parallel legs if not given
    wrap, strands : how the sling goes round the trunk, and how many strands run to the link
    species : by any name; not given counts as thin and smooth bark
    month, hemisphere : 1 to 12, "north" or "south"; not given counts as growing
    condition, repeat : "sound" or "stressed", "occasional" or "weekly"

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    UnknownName : no such species.

    Examples
    --------
    >>> round(bark("5 kN", "45 cm", "50 mm")["pressure_pa"] / 1e3)
    222
    """
    return _sum("bark", locals())


def boulder(
    along: Amount, across: Amount, upright: Amount, tie: Amount, pull: Amount, *, slope: Amount = None,
    from_downhill: Amount = None, edge: Amount = None, rock: str | None = None, bed: str | None = None,
    embedded: bool = False, purpose: str | None = None,
) -> QuickAnswer:  # fmt: skip
    """Does a boulder slide or tip? It is checked as a rigid block on its slope.

    Parameters
    ----------
    along, across, upright : size along and across the pull, and height above its bed [m]
    tie : height of the tie above its bed [m]
    pull : horizontal [N]
    slope, from_downhill : of its bed, and of the pull from straight downhill [deg]
    edge : distance to an edge it could slide over [m]; none if not given
    rock, bed : kind of rock and of bed; not given counts as light and slippery
    embedded : whether it is sunk deeply into the ground
    purpose : kind of line, which sets the divisor

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    """
    return _sum("boulder", locals())


def haul(
    people: int, stages: str, *, efficiency: float | None = None, sheave: str | None = None,
    footing: str | None = None, pull_each: Amount = None, friction_grip: bool = False,
    webbing_class: str | None = None,
) -> QuickAnswer:  # fmt: skip
    """Tension a crew can pull into a line by hand: a range, not a point.

    Parameters
    ----------
    people : pulling
    stages : in series from the hands to the line: "3,3" is 3:1 on 3:1
    efficiency, sheave : share of the pull that each sheave passes on [-], or instead its kind, of the table `sheaves`
    footing : how they stand, where `pull_each` is not given
    pull_each : of one person [N]
    friction_grip : whether such a grip holds the line while pulling
    webbing_class : also tell what is left once it has settled

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    UnknownName : no such sheave or class of webbing.

    Examples
    --------
    >>> round(haul(1, "3", efficiency=1.0, pull_each="300 N")["tension_n"])
    900
    """
    return _sum("haul", locals())


def tight(
    span: Amount, tie_a: Amount, webbing_class: str, people: int, stages: str, *, tie_b: Amount = None,
    ground_rise: Amount = None, walker: Amount = None, standing: Amount = None, margin: Amount = None,
    efficiency: float | None = None, sheave: str | None = None, footing: str | None = None, pull_each: Amount = None,
    friction_grip: bool = False, re_tensioned: int | None = None,
) -> QuickAnswer:  # fmt: skip
    """Can these people with this kit make the line clear the ground, and which ties, tension or change would?

    Parameters
    ----------
    span : horizontal distance between the anchors [m]
    tie_a, tie_b : height of the ties over the ground there [m]; at B as at A if not given
    webbing_class : of the table `webbing`
    people, stages, efficiency, sheave, footing, pull_each, friction_grip : as in `haul`
    ground_rise : height of the ground at B over that at A [m]
    walker : mass with gear [kg]; 100 kg if not given
    standing : tension it is to have [N], to ask for the ties that go with it
    margin : height the feet are to keep over the ground [m]
    re_tensioned : times it is pulled up again after a walk

    Raises
    ------
    FaultyInput : with every fault of the arguments.
    UnknownName : no such sheave or class of webbing.
    """
    return _sum("tight", locals())


def bearing(
    lat1: float, lon1: float, lat2: float, lon2: float, *, on: str | datetime.date | None = None
) -> QuickAnswer:
    """Distance and bearings between two points, true and magnetic.

    Parameters
    ----------
    lat1, lon1, lat2, lon2 : latitude and longitude of each [deg]
    on : day of the compass reading; today if not given

    Raises
    ------
    FaultyInput : with every fault of the arguments.

    Examples
    --------
    >>> round(bearing(54.500006, 2.499995, 54.500194, 2.500582, on="2026-04-18")["distance_m"], 1)
    43.4
    """
    return _sum("bearing", locals())


def sling(
    pull: Amount, diameter: Amount, link: Amount, *, girth: Amount = None, wrap: str | None = None,
    turns: int | None = None, padding: Amount = None, off_middle: Amount = None, rope: Amount = None,
) -> QuickAnswer:  # fmt: skip
    """Length of a sling or rope round a trunk, leg angle, and how both legs share the pull.

    Parameters
    ----------
    pull : of the line [N]
    diameter : of the trunk at the tie [m]
    link : distance of the link from the trunk's centre [m]
    girth : instead of the diameter, which is then None [m]
    wrap, turns : how it goes round the trunk, and how often
    padding : thickness of the padding under it [m]
    off_middle : angle of the pull off the middle between the legs [deg]
    rope : diameter [m], to add length for two knots and tails

    Raises
    ------
    FaultyInput : with every fault of the arguments.

    Examples
    --------
    >>> round(sling("5 kN", "45 cm", "60 cm")["included_deg"])
    44
    """
    return _sum("sling", locals())
