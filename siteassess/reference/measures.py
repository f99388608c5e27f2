"""The one writer of numbers with units: SI in, out what a reader of a language and a system of units reads.

Each kind of quantity is written by one function, so that no two papers tell a figure differently. What is English alone
(a hint, a fault of a register) is written by `units.show`, which this file hands its numbers to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeGuard

from siteassess.errors import UnknownName
from siteassess.reference.texts import marked, share, text
from siteassess.units import factor, show, show_bearing

SYSTEMS = ("metric", "us")
# metric unit: (unit beside it, decimals more than of the metric one); None where three figures count, since no sum of
# forces is known to a thousandth
US = {"m": ("ft", -1), "cm": ("in", 0), "mm": ("in", 1), "kg": ("lb", 0), "kPa": ("psi", 0), "m2": ("sq ft", -1),
      "m/s": ("mph", 0), "kN": ("lbf", None), "kN m": ("lbf ft", None), "MPa": ("psi", None)}
SHOWN_IN = {"N": "kN", "N m": "kN m", "Pa": "kPa", "N/m": "kN/m", "N m/m^3": "kN m/m^3"}
SIGN_OF = {" deg": "°", " m2": " m²", " kg/m3": " kg/m³"}  # outside English
GUSTS = ("km/h", "mph", "m/s")
SPELLED = {"half": 1 / 2, "third": 1 / 3, "quarter": 1 / 4, "two": 2, "three": 3, "four": 4}
EXACT, COARSE = 6, 3  # decimals of a place: a tenth of a metre, as well as a tree is known; and a hundred metres


def known(value: float | None) -> TypeGuard[float]:
    """Whether a number is there and finite.

    Parameters
    ----------
    value : or None [any unit]

    Returns
    -------
    Tells a type checker so, too.
    """
    return value is not None and math.isfinite(value)


def lat_long(latitude_deg: float, longitude_deg: float, decimals: int = EXACT) -> str:
    """A place in decimal degrees, with a point in every language: a comma parts the two, and maps take points.

    Parameters
    ----------
    latitude_deg, longitude_deg : [deg]
    decimals : as many as the place is known to
    """
    return f"{latitude_deg:.{decimals}f}, {longitude_deg:.{decimals}f}"


@dataclass(frozen=True)
class Measures:
    """SI numbers in a language and system; with `both`, the other system stands behind in brackets.

    Raises
    ------
    UnknownName : no such system of units.
    """

    language: str = "en"
    system: str = "metric"
    both: bool = False

    def __post_init__(self) -> None:
        if self.system not in SYSTEMS:
            raise UnknownName(f"no system of units {self.system!r}; there is: {', '.join(SYSTEMS)}")

    def told(self, value: float | None, how: str, toward: int = 0) -> str:
        """A number in a metric unit, or in the one beside it; `how` and `toward` as `units.show` takes them, "m 1"."""
        if not known(value):
            return text("not-known", self.language)
        if how.startswith("%"):
            return share(value, int(how[1:]), self.language)
        first, other = (how, in_us(how)) if self.system == "metric" else (in_us(how), how)
        shown = self._shown(value, first, toward)
        return f"{shown} ({self._shown(value, other, toward)})" if self.both and other != first else shown

    def _shown(self, value: float, how: str, toward: int) -> str:
        """In one unit; degrees, areas and densities have their signs outside English."""
        return self.typed(show(value, how, toward))

    def typed(self, quantity: str) -> str:
        """A quantity as a record has it, with the mark and the signs of the language.

        Parameters
        ----------
        quantity : a number with a point and its unit, "1.4 m"
        """
        told = self.marked(quantity)
        plain = "" if self.language == "en" else next(filter(told.endswith, SIGN_OF), "")
        return told.removesuffix(plain) + SIGN_OF[plain] if plain else told

    def marked(self, number: str) -> str:
        """A number written with a point, with the mark of the language."""
        return marked(number, self.language)

    def number(self, value: float | None, decimals: int = 1) -> str:
        return self.told(value, str(decimals))

    def spelled(self, value: float) -> str:
        """A share or count in a word where it is a usual one."""
        word = next((key for key, number in SPELLED.items() if math.isclose(value, number)), None)
        return text(word, self.language) if word else self.told(value, "% 0" if value < 1 else "g")

    def length(self, value: float | None, decimals: int = 1) -> str:
        return self.told(value, f"m {decimals}")

    def width(self, value: float | None) -> str:
        """Widths of slings and pads, thicknesses, and diameters of stems in a schedule."""
        return self.told(value, "mm 0")

    def trunk(self, value: float | None) -> str:
        """What a tape shows of a trunk: girths, and diameters on a drawing."""
        return self.told(value, "cm 0")

    def area(self, value: float | None) -> str:
        return self.told(value, "m2 0")

    def force(self, value: float | None) -> str:
        return self.told(value, "kN 1")

    def pressure(self, value: float | None) -> str:
        return self.told(value, "kPa 0")

    def sum_of(self, value: float | None, unit: str) -> str:
        """A side of a sum whose ratio is told too: demand, capacity, moment; three figures, fewer under one."""
        shown = SHOWN_IN.get(unit, unit)
        size = abs(value) / factor(shown) if shown and known(value) else 0.0
        return self.told(value, f"{shown} {0 if size >= 100 else 1 if size >= 10 else 2}")

    def angle(self, value: float | None) -> str:
        """Degrees without their sign, which the wording brings."""
        return self.told(value, "0")

    def share(self, value: float | None) -> str:
        return self.told(value, "% 0") if known(value) else text("cannot say", self.language)

    def bearing(self, value: float | None) -> str:
        return f"{show_bearing(value)}°" if known(value) else text("not-known", self.language)

    def gust(self, value: float | None, others: bool = True) -> str:
        """A gust in the units of forecasts, the reader's own first; rounded down, so that a line comes down early."""
        if not known(value):
            return text("not-known", self.language)
        own = GUSTS[SYSTEMS.index(self.system)]
        first, *rest = (f"{math.floor(value / factor(unit) + 1e-9)} {unit}"
                        for unit in sorted(GUSTS, key=lambda unit: unit != own))
        return f"{first} ({', '.join(rest)})" if others else first

    def stop(self, value: float | None) -> str:
        """A tension to stop tightening at, rounded down."""
        return self.told(value, "kN 1", -1)

    def sag(self, value: float | None) -> str:
        """How deep a line hangs, rounded up."""
        return self.told(value, "m 1", 1)


def in_us(how: str) -> str:
    """The same in the unit beside it; what has none, and what is no length, force or mass, stays."""
    *units, figures = how.split(" ")
    unit = " ".join(one for one in units if one != "bare")
    if unit not in US:
        return how
    beside, more = US[unit]
    if more is None:
        figures = "3~"
    elif figures == "g":
        figures = "~2"
    elif "~" not in figures:
        figures = str(max(0, int(figures) + more))
    return " ".join([beside, *units[len(unit.split()) :], figures])
