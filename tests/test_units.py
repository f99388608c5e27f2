"""Text to SI and back: what is read, what is refused, and what the refusal says."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.records.finding import number_and_unit
from siteassess.reference.faults import of_unit
from siteassess.units import SI_UNIT, UNITS, UnitText, parse, quantity, show, show_bearing, si_factor

KINDS_AND_UNITS = [(kind, unit) for kind, table in UNITS.items() for unit in table]


@pytest.mark.parametrize(
    "text, kind, si",
    [
        ("142 cm", "length", 1.42),
        ("142cm", "length", 1.42),
        (" 142 cm ", "length", 1.42),
        ("56 in", "length", 1.4224),
        ("5 ft 7 in", "length", 1.7018),
        ("5' 7\"", "length", 1.7018),
        ("5\u2019 7\u201d", "length", 1.7018),
        ('56"', "length", 1.4224),
        ("56.5\u2033", "length", 1.4351),
        ("3'", "length", 0.9144),
        (".5 m", "length", 0.5),
        ("-0.4 m", "length", -0.4),
        ("2.8 kN", "force", 2800.0),
        ("1,18 m", "length", 1.18),
        ("3,5kN", "force", 3500.0),
        ("-0,125 m", "length", -0.125),
        ("1,2345 m", "length", 1.2345),
        ("1 420 mm", "length", 1.42),
        ("1\u202f420\u00a0mm", "length", 1.42),
        ("1\u00a0420,5 mm", "length", 1.4205),
        ("-1\u2009420.5mm", "length", -1.4205),
        ("12 000 N", "force", 12e3),
        ("1 012 000 N", "force", 1.012e6),
        ("+3 deg", "slope", 3.0),
        ("100 %", "slope", 45.0),
        ("135 °", "bearing", 135.0),
        ("70 g/m", "mass per length", 0.07),
        ("1 t", "mass", 1000.0),
        ("2 h", "duration", 7200.0),
        ("1 d", "duration", 86400.0),
    ],
)
def test_what_is_read(text, kind, si):
    read = parse(text, kind)
    assert read.si == pytest.approx(si, rel=1e-12)
    assert (read.text, read.kind) == (text, kind)


@pytest.mark.parametrize(
    "text, kind, clue",
    [
        ("1,850 m", "length", "Use a point"),  # thousands, or a long decimal
        ("1,234.5 m", "length", "Use a point"),
        ("1,85,2 m", "length", "Use a point"),
        (",5 m", "length", "Use a point"),
        ("5 ft 7,5 in", "length", "Use a point"),
        ("18 50 mm", "length", "one plain number"),
        ("0 850 mm", "length", "one plain number"),
        ("1850 420 mm", "length", "one plain number"),
        ("1  420 mm", "length", "one plain number"),
        ("1 420\u202f500 mm", "length", "one plain number"),
        ("1 420,500 mm", "length", "Use a point"),
        ("1.85", "length", "1.85 m"),
        (1.85, "length", "1.85 m"),
        (math.nan, "length", "one plain number"),
        (math.inf, "length", "one plain number"),
        (True, "length", "one plain number"),
        (None, "length", "one plain number"),
        ("25 mPa", "pressure", "Did you mean MPa? Capitals matter."),
        ("3 kn", "force", "Did you mean kN? Capitals matter."),
        ("3 KN", "force", "Did you mean kN? Capitals matter."),
        ("5 kg", "force", "is a mass"),
        ("80 kN", "mass", "a unit of force"),
        ("10 %", "angle", "a unit of slope"),
        ("nan m", "length", "one plain number"),
        ("inf m", "length", "one plain number"),
        ("1e3 m", "length", ""),
        ("１２ m", "length", "one plain number"),
        ("3 m 20", "length", ""),
        ('56 cm"', "length", ""),
        ('12"', "angle", ""),
        ("5 ft 13 in", "length", "under 12"),
        ("12 cmm", "length", "Did you mean"),
        ("", "length", "one plain number"),
        ("m", "length", "one plain number"),
        ("9" * 5000 + " m", "length", "one plain number"),
        ("1.2.3 m", "length", "one plain number"),
        ("1--2 m", "length", "one plain number"),
    ],
)
def test_what_is_refused_and_what_it_says(text, kind, clue):
    with pytest.raises(UnitText) as caught:
        parse(text, kind)
    told = " ".join(of_unit(caught.value))
    assert clue in told and kind in told
    assert len(told) < 400 and len(str(caught.value)) < 400


@pytest.mark.parametrize("kind, unit", KINDS_AND_UNITS)
@settings(max_examples=20, deadline=None)
@given(value=st.floats(0.01, 99999))
def test_a_number_written_in_any_unit_reads_back(kind, unit, value):
    value = min(value, 80.0) if unit == "%" else value
    written = quantity(value, unit, kind, digits=12)
    assert parse(written.text, kind).si == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_every_kind_has_its_si_unit_on_its_own_list_and_it_counts_one():
    assert set(UNITS) == set(SI_UNIT)
    for kind, unit in SI_UNIT.items():
        assert si_factor(kind, unit) == 1.0


def test_no_two_units_of_a_kind_differ_only_in_case_and_every_unit_has_a_positive_factor():
    for kind, table in UNITS.items():
        assert len({unit.lower() for unit in table}) == len(table)
        assert all(unit == "%" or si_factor(kind, unit) > 0 for unit in table)


def test_a_slope_in_percent_is_no_multiple_of_a_degree():
    with pytest.raises(KeyError):
        si_factor("slope", "%")
    assert quantity(45.0, "%", "slope").text == "100 %"


@pytest.mark.parametrize(
    "si, how, text",
    [
        (5300.0, "kN ~3", "5.30 kN"), (5300.0, "kN 2", "5.30 kN"), (5300.0, "kN g", "5.3 kN"), (0.0, "kN ~2", "0.0 kN"),
        (None, "kN 1", "not known"), (math.nan, "m 1", "not known"), (math.inf, "m g", "not known"),
        (123456.0, "N ~3", "123456 N"), (123456.0, "N 3~", "123000 N"), (0.012345, "m ~3", "0.0123 m"),
        (0.012345, "m 3~", "0.0123 m"), (-2.0, "m ~3", "-2.00 m"), (-0.001, "m 1", "0.0 m"), (0.25, "mm bare 0", "250"),
        (12.34, "1", "12.3"), (4000.0, "kN m 1", "4.0 kN m"), (2e6, "MB 0", "2 MB"),
    ],
)  # fmt: skip
def test_how_numbers_are_shown(si, how, text):
    assert show(si, how) == text


def test_bearings_have_three_figures():
    assert [show_bearing(deg) for deg in (5.2, 359.7, 90, 360)] == ["005", "000", "090", "000"]


@pytest.mark.parametrize("si, unit, kind, digits, text", [
    (1.905, "cm", "length", 3, "191 cm"), (3.175, "cm", "length", 3, "318 cm"), (-1.905, "cm", "length", 3, "-191 cm"),
    (0.125, "m", "length", 2, "0.13 m"), (1.9, "m", "length", 3, "1.9 m"), (200.0, "m", "length", 2, "200 m"),
    (0.0, "m", "length", 3, "0 m"), (1234567.0, "m", "length", 3, "1230000 m"),
])  # fmt: skip
def test_half_a_step_is_rounded_up_as_the_field_form_does(si, unit, kind, digits, text):
    """75 in is 190.5 cm, which the form's own number writes as 191."""
    assert quantity(si, unit, kind, digits).text == text


def test_the_halves_of_a_text_with_a_decimal_comma_are_those_with_a_point():
    assert number_and_unit("1,18 m") == number_and_unit("1.18 m") == ("1.18", "m")
