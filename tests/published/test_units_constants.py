"""Unit constants against NIST.

NIST Special Publication 811 (A. Thompson and B. N. Taylor, 2008 edition), appendix B.8 and B.9. The exact ones are
definitions: international yard and pound (1959) and standard gravity 9.806 65 m/s2 (1901). The values were typed from
memory of the tables, not from the page; each derived one is also worked out here from the definitions it rests on, so
that a slip in either shows. Tolerance: exact values to the last bits of a double (1e-14); rounded table values to half
a unit of their last printed digit.
"""

from __future__ import annotations

import pytest

from siteassess.units import si_factor

FOOT, POUND, GRAVITY = 0.3048, 0.45359237, 9.80665

EXACT = [
    ("length", "ft", 0.3048),
    ("length", "in", 0.0254),
    ("length", "yd", 0.9144),
    ("mass", "lb", 0.45359237),
    ("force", "kgf", 9.80665),
    ("force", "lbf", POUND * GRAVITY),
    ("force", "lbf", 4.4482216152605),
    ("force", "tf", 9806.65),
    ("pressure", "psi", POUND * GRAVITY / 0.0254**2),
    ("moment", "lbf ft", POUND * GRAVITY * FOOT),
    ("stiffness", "lbf/ft", POUND * GRAVITY / FOOT),
    ("mass per length", "lb/ft", POUND / FOOT),
    ("mass per length", "oz/yd", POUND / 16 / 0.9144),
    ("density", "lb/ft3", POUND / FOOT**3),
    ("speed", "mph", 1609.344 / 3600),
    ("speed", "kn", 1852 / 3600),
    ("duration", "d", 86400.0),
]

# as printed in B.8, to seven significant digits
PRINTED = [
    ("force", "lbf", 4.448222),
    ("pressure", "psi", 6894.757),
    ("moment", "lbf ft", 1.355818),
    ("stiffness", "lbf/ft", 14.59390),
    ("mass per length", "lb/ft", 1.488164),
    ("density", "lb/ft3", 16.01846),
    ("speed", "mph", 0.44704),
    ("speed", "kn", 0.5144444),
]


@pytest.mark.parametrize("kind, unit, value", EXACT)
def test_exact_conversions(kind, unit, value):
    assert si_factor(kind, unit) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize("kind, unit, value", PRINTED)
def test_printed_conversions(kind, unit, value):
    assert si_factor(kind, unit) == pytest.approx(value, rel=5e-7)


def test_our_short_list_of_units_agrees_with_the_library_own_long_one():
    """pint's shipped definitions (2 000 units, CODATA and NIST) are the outside reference; rounding only."""
    import pint

    from siteassess.units import PINT_SI, UNITS, si_factor

    full = pint.UnitRegistry(cache_folder=None)
    for kind, target in PINT_SI.items():
        for unit, name in UNITS[kind].items():
            expected = full.Quantity(1.0, name).to(target).magnitude
            assert abs(si_factor(kind, unit) / expected - 1) < 1e-14, (kind, unit)
