"""Text to SI and back; the only importer of pint.

A quantity in a record is text with its unit ("142 cm", "630 lbf"). It becomes an SI float once, here. What was
typed is kept beside the float, so that a record is written back as its author wrote it.

pint alone is too trusting for numbers that decide: "1,85 m" parses as 185 m and "25 mPa" as millipascal. So a
text must match one plain number and one unit of the short list of its kind. A comma is a decimal mark, unless three
figures behind it may be thousands.

References
----------
[1] NIST Special Publication 811 (2008), appendix B.8: 1 ft = 0.3048 m, 1 in = 0.0254 m, 1 lb = 0.45359237 kg,
    1 lbf = 4.4482216152605 N, 1 kgf = 9.80665 N (read on secondary pages). pint carries the same constants.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context
from functools import cache
from typing import Any

FOOT_M = 0.3048  # international foot, exact
STANDARD_GRAVITY = 9.80665  # [m/s2] exact by definition
DEGREE_M = 111_195.0  # of latitude on a sphere of 6,371 km (derived): for what lies near; all else is a geodesic

# What pint is told. Its own list of two thousand units takes a third of a second to read; a test holds these to it.
DEFINITIONS = (
    "milli- = 1e-3 = m-", "centi- = 1e-2 = c-", "deca- = 10 = da-", "kilo- = 1e3 = k-", "mega- = 1e6 = M-",
    "meter = [length] = m", "second = [time] = s", "gram = [mass] = g",
    "inch = 0.0254 * meter", f"foot = {FOOT_M} * meter", "yard = 0.9144 * meter", "mile = 1609.344 * meter",
    "nautical_mile = 1852 * meter",
    "minute = 60 * second", "hour = 3600 * second", "day = 86400 * second",
    "metric_ton = 1e6 * gram", "pound = 453.59237 * gram", "ounce = 28.349523125 * gram",
    "newton = kilogram * meter / second ** 2", f"standard_gravity = {STANDARD_GRAVITY} * meter / second ** 2",
    "kilogram_force = kilogram * standard_gravity", "pound_force = pound * standard_gravity",
    "pascal = newton / meter ** 2", "psi = pound_force / inch ** 2",
    "percent = 0.01",
)

# unit texts a person may write, by kind of quantity; the value is what pint calls it
UNITS: dict[str, dict[str, str]] = {
    "length": {
        "m": "meter", "cm": "centimeter", "mm": "millimeter", "km": "kilometer",
        "ft": "foot", "feet": "foot", "foot": "foot", "in": "inch", "inch": "inch", "inches": "inch",
        "yd": "yard",
    },
    "force": {
        "N": "newton", "daN": "decanewton", "kN": "kilonewton", "lbf": "pound_force", "kgf": "kilogram_force",
        "tf": "metric_ton * standard_gravity",
    },
    "mass": {"kg": "kilogram", "g": "gram", "t": "metric_ton", "lb": "pound", "lbs": "pound"},
    "mass per length": {"g/m": "gram/meter", "kg/m": "kilogram/meter", "lb/ft": "pound/foot", "oz/yd": "ounce/yard"},
    "pressure": {"Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal", "psi": "psi", "N/mm2": "megapascal"},
    # kept in degrees; a share of a circle in percent would be read as a slope, so only a slope takes "%"
    "angle": {"deg": "", "°": ""},
    "slope": {"deg": "", "°": "", "%": "percent_slope_"},
    "bearing": {"deg": "", "°": ""},
    "speed": {"m/s": "meter/second", "km/h": "kilometer/hour", "mph": "mile/hour", "kn": "nautical_mile/hour"},
    "duration": {"s": "second", "min": "minute", "h": "hour", "d": "day"},
    "stiffness": {"N/m": "newton/meter", "kN/m": "kilonewton/meter", "lbf/ft": "pound_force/foot"},
    "moment": {"N m": "newton*meter", "kN m": "kilonewton*meter", "lbf ft": "pound_force*foot"},
    "stretch": {"%": "percent", "m/m": "meter/meter"},
    "density": {"kg/m3": "kilogram/meter**3", "g/cm3": "gram/centimeter**3", "lb/ft3": "pound/foot**3"},
}
PINT_SI = {
    "length": "meter", "force": "newton", "mass": "kilogram", "mass per length": "kilogram/meter", "pressure": "pascal",
    "speed": "meter/second", "duration": "second", "stiffness": "newton/meter", "moment": "newton*meter",
    "density": "kilogram/meter**3", "stretch": "dimensionless",
}
SI_UNIT = {
    "length": "m", "force": "N", "mass": "kg", "mass per length": "kg/m", "pressure": "Pa", "angle": "deg",
    "slope": "deg", "bearing": "deg", "speed": "m/s", "duration": "s", "stiffness": "N/m", "moment": "N m",
    "density": "kg/m3", "stretch": "m/m",
}
ONLY_SHOWN = {"m2": 1.0, "sq ft": FOOT_M**2, "MB": 1e6, "kN h": 1.0, "degrees": 1.0,
              "kN m/m^3": 1e3}  # nobody writes these in a record
_NUMBER_AND_UNIT = re.compile(r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))\s*([^\d\s.,+-].*?)?\s*")
# one space, plain, thin or unbreakable, before each three figures is how French and the SI part thousands; of other
# groups nobody knows whether a figure is missing
_THOUSANDS = re.compile("^\\s*[+-]?[1-9][0-9]{0,2}([ \u00a0\u2009\u202f])[0-9]{3}(?:\\1[0-9]{3})*(?![0-9])")
_DECIMAL_COMMA = re.compile(r"^(\s*[+-]?(?:0|[0-9]+(?!,[0-9]{3}(?![0-9])))),([0-9]+)(?![0-9.,])")
_FEET_AND_INCHES = re.compile(r"\s*([0-9]+)\s*(?:ft|')\s*([0-9]+(?:\.[0-9]+)?)\s*(?:in|\")\s*")
_MARKS = str.maketrans("\u2032\u2019\u2033\u201d\u201c", "''\"\"\"")  # as phones set them of themselves
_MARK_BEHIND = re.compile(r"([0-9]\s*)(['\"])\s*$")
_CONTROLS = re.compile("[\\x1c-\\x1f\\x85]")
_SMALLEST_WRITTEN = 1e-12
_LONGEST_TEXT = 60  # a longer text is no quantity, and is cut where a message repeats it


class UnitText(ValueError):
    """A text that is not a quantity of its kind; how to mend it is a code of the table `findings`, empty for none.

    `reference/faults.of_unit` tells what is wanted and how to mend it.
    """

    def __init__(self, read: str, kind: str, mend: str = "", **values: Any):
        self.read, self.kind, self.mend, self.values = read, kind, mend, values
        super().__init__(f"{read!r} is no quantity of the kind {kind}")


@dataclass(frozen=True)
class Quantity:
    """A number in SI (angles and bearings in degrees) and the text it was typed as."""

    si: float
    text: str
    kind: str

    def __str__(self) -> str:
        return self.text


@cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(None)
    for definition in DEFINITIONS:
        registry.define(definition)
    return registry


@cache
def si_factor(kind: str, unit: str) -> float:
    """SI value of one `unit` of a kind [SI unit of the kind].

    Parameters
    ----------
    kind : of quantity, a key of `UNITS`
    unit : as people type it

    Raises
    ------
    KeyError : the unit is not on the list of its kind, or is no multiple of the SI unit (a slope in percent)
    """
    name = UNITS[kind][unit]
    if name == "percent_slope_":
        raise KeyError("a slope in percent is no multiple of a degree")
    if not name:
        return 1.0
    return float(_registry().Quantity(1.0, name).to(PINT_SI[kind]).magnitude)


def parse(text: str, kind: str, usual_unit: str = "") -> Quantity:
    """Read one quantity.

    Parameters
    ----------
    text : A plain number and a unit of the kind, "1.85 m", "1,85 m" or "1 850 mm"; feet and inches may stand together,
        "5 ft 7 in", or bear their marks, 5'7" and 56"
    kind : one of the keys of `UNITS`
    usual_unit : unit a message suggests for a bare number; the SI unit if not given

    Raises
    ------
    UnitText : the text holds a comma that may part thousands, no unit, a look-alike unit, or no finite plain number
    """
    if not isinstance(text, str) or len(text) > _LONGEST_TEXT:
        raise _without_unit(_short(text), text, kind, usual_unit)
    if _CONTROLS.search(text):  # Python takes these for spaces
        raise UnitText(text, kind, "mend-number-then-unit")
    told = text.translate(_MARKS) if kind == "length" else text
    if kind == "length" and (both := _FEET_AND_INCHES.fullmatch(told)):
        return _feet_and_inches(text, both[1], both[2])
    if kind == "length":
        told = _MARK_BEHIND.sub(lambda found: f"{found[1]} {'ft' if found[2] == chr(39) else 'in'}", told)
    told = _THOUSANDS.sub(lambda found: re.sub(r"\s", "", found[0]), told)
    plain = _DECIMAL_COMMA.sub(r"\1.\2", told)
    if "," in plain:
        raise UnitText(text, kind, "mend-decimal-point")
    match = _NUMBER_AND_UNIT.fullmatch(plain)
    if not match:
        raise UnitText(text, kind, "mend-number-then-unit")
    number, unit = float(match[1]), match[2]
    if unit is None:
        raise _without_unit(text, number, kind, usual_unit)
    if unit not in UNITS[kind]:
        raise _other_unit(text, unit, kind)
    if unit == "%" and kind == "slope":
        return Quantity(math.degrees(math.atan(number / 100)), text, kind)
    return Quantity(number * si_factor(kind, unit), text, kind)


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) <= _LONGEST_TEXT else text[:_LONGEST_TEXT] + "..."


def _without_unit(read: str, value: object, kind: str, usual_unit: str) -> UnitText:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        return UnitText(read, kind, "mend-number-then-unit")
    return UnitText(read, kind, "mend-bare-number", number=f"{value:.12g}", unit=usual_unit or SI_UNIT[kind])


def _feet_and_inches(text: str, feet: str, inches: str) -> Quantity:
    if float(inches) >= 12:
        raise UnitText(text, "length", "mend-inches-under-12")
    return Quantity(float(feet) * si_factor("length", "ft") + float(inches) * si_factor("length", "in"), text, "length")


def _other_unit(text: str, unit: str, kind: str) -> UnitText:
    if kind == "force" and unit in UNITS["mass"]:
        return UnitText(text, kind, "mend-mass-for-force", unit=unit)
    same_but_for_case = [known for known in UNITS[kind] if known.lower() == unit.lower()]
    if same_but_for_case:
        return UnitText(text, kind, "mend-unit-case", unit=same_but_for_case[0])
    for other, table in UNITS.items():
        if unit in table:
            return UnitText(text, kind, "mend-unit-of-another", unit=unit, other=other)
    near = difflib.get_close_matches(unit, UNITS[kind], n=2, cutoff=0.5)
    if len(near) == 2:
        return UnitText(text, kind, "mend-did-you-mean-either", one=near[0], other=near[1])
    return UnitText(text, kind, "mend-did-you-mean", near=near[0]) if near else UnitText(text, kind)


def quantity(si: float, unit: str, kind: str, digits: int = 4) -> Quantity:
    """A quantity written out of an SI number, as text in `unit`.

    Parameters
    ----------
    si : value [SI unit of the kind]
    unit, kind : A unit of the kind
    digits : significant digits of the text [-]
    """
    number = 100 * math.tan(math.radians(si)) if kind == "slope" and unit == "%" else si / si_factor(kind, unit)
    if abs(number) < _SMALLEST_WRITTEN:
        number = 0.0
    # through Decimal, since a text with an exponent is not read back, and fixed point loses small numbers; half a step
    # is rounded up, as the field form does
    rounded = Context(prec=digits, rounding=ROUND_HALF_UP).create_decimal_from_float(number)
    text = f"{rounded.normalize():f}"
    return Quantity(si, f"{text} {unit}", kind)


@cache
def factor(unit: str) -> float:
    """SI value of one `unit`, whatever it is a unit of.

    Parameters
    ----------
    unit : of any kind, or one that is only shown

    Returns
    -------
    [SI unit of its kind]
    """
    if unit in ONLY_SHOWN:
        return ONLY_SHOWN[unit]
    return si_factor(next(kind for kind, table in UNITS.items() if unit in table), unit)


def show(si: float | None, how: str, toward: int = 0) -> str:
    """Text of an SI number, "5.3 kN"; "not known" for nothing or not-a-number. The point is English (`Measures`).

    Parameters
    ----------
    si : float
        Value [SI unit of its kind].
    how : str
        The unit, and how many figures: "kN 1" with so many decimals, "kN ~2" with so many that count, "lbf 3~" the
        same with the rest rounded away, "m g" with no more than it has, "g2" with two figures and an exponent where it
        is very small. "bare" between leaves the unit away.
    toward : int
        1 for a least, never rounded down; -1 for a most, never rounded up; 0 for the nearest.
    """
    if si is None or not math.isfinite(si):
        return "not known"
    *units, figures = how.split(" ")
    unit = " ".join(one for one in units if one != "bare")
    number = _figures(si / factor(unit) if unit else si, figures, toward)
    return f"{number} {unit}" if unit and "bare" not in units else number


def _figures(number: float, how: str, toward: int) -> str:
    if how.startswith("g"):
        return f"{number:.{how[1:] or 6}g}"
    decimals = int(how.strip("~"))
    if "~" in how:
        decimals -= 1 + (math.floor(math.log10(abs(number))) if number else 0)
    at = decimals if how.endswith("~") else max(0, decimals)
    if toward:  # what differs by the last digits of a float is that number
        number = toward * math.ceil(toward * number * 10.0**at - 1e-9) / 10.0**at
    return f"{round(number, at):z.{max(0, decimals)}f}"


def show_bearing(deg: float) -> str:
    """A bearing in whole degrees with three figures, so that 5 is not read as 50.

    Parameters
    ----------
    deg : any; brought into 0 to 359 [deg]
    """
    return f"{round(deg) % 360:03d}"
