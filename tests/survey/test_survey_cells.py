"""Cells of inventories: numbers with either decimal sign, units in the cell, positions in every usual form."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.survey import cells


@pytest.mark.parametrize(
    ("text", "decimal", "value", "odd"),
    [
        ("12", ".", 12.0, False), ("1.85", ".", 1.85, False), ("1,85", ".", 1.85, True), ("1,85", ",", 1.85, False),
        ("1.85", ",", 1.85, True), ("1.234,5", ",", 1234.5, False), ("1,027,431.148", ".", 1027431.148, False),
        ("1 234,5", ",", 1234.5, False),
    ],
)  # fmt: skip
def test_plain_number_reads_either_sign(text, decimal, value, odd):
    assert cells.plain_number(text, decimal) == (value, odd)


@pytest.mark.parametrize(
    ("text", "decimal"),
    [("1,850", "."), ("1.850", ","), ("1,2,3", "."), ("1.2.3", ","), ("1e999", "."), ("1_000", "."), ("x", ".")],
)
def test_what_could_mean_two_numbers_is_refused(text, decimal):
    assert math.isnan(cells.plain_number(text, decimal)[0])


@pytest.mark.parametrize(
    ("text", "metres", "from_cell"),
    [
        ("12", 0.3048, False), ('26"', 26 * 0.0254, True), ("85 cm", 0.85, True), ("2.3 m", 2.3, True),
        ("2,3 m", 2.3, True),
        ("5'6\"", 5 * 0.3048 + 6 * 0.0254, True), ("7 ft", 7 * 0.3048, True), ("300mm", 0.3, True),
    ],
)  # fmt: skip
def test_length_takes_the_unit_of_the_cell_over_the_column(text, metres, from_cell):
    value, in_cell, _ = cells.length_m(text, "in", ".")
    assert value == pytest.approx(metres, rel=1e-12)
    assert in_cell == from_cell


def test_lengths_tell_blank_from_unreadable():
    column = cells.tidy(np.array(["12", "", "n/a", "big", "3 parsecs", "-"], dtype=object))
    value, unreadable, _, _ = cells.lengths_m(column, "cm", ".")
    assert value[0] == pytest.approx(0.12) and np.isnan(value[1:]).all()
    assert unreadable.tolist() == [False, False, False, True, True, False]


def test_a_point_under_a_decimal_comma_is_never_read_as_thousands():
    value, unreadable, _, other = cells.lengths_m(np.array(["1,85", "1.85", "1.850"], dtype=object), "m", ",")
    assert value[:2].tolist() == [1.85, 1.85] and np.isnan(value[2])
    assert unreadable.tolist() == [False, False, True] and other.tolist() == [False, True, False]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("40.7128", 40.7128), ("-73,9654", -73.9654), ("40,712", 40.712), ("40°42'46\"N", 40 + 42 / 60 + 46 / 3600),
        ("73° 57' 55.4\" W", -(73 + 57 / 60 + 55.4 / 3600)), ("S 37 48 49", -(37 + 48 / 60 + 49 / 3600)),
        ("37 48 49 S", -(37 + 48 / 60 + 49 / 3600)), ("144° 58' 49\" E", 144 + 58 / 60 + 49 / 3600),
        ("40.5N", 40.5), ("73.9 W", -73.9), ("40:42:46", 40 + 42 / 60 + 46 / 3600), ("37°48.5'S", -(37 + 48.5 / 60)),
    ],
)  # fmt: skip
def test_degrees(text, value):
    assert cells.degrees(text) == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize("text", ["40°72'N", "40°10'75\"N", "2° 20' O", "north", ""])
def test_degrees_refuses_what_cannot_be(text):
    assert math.isnan(cells.degrees(text))


@pytest.mark.parametrize(
    "text",
    [
        "48.8566, 2.3522", "(48.8566, 2.3522)", "POINT (2.3522 48.8566)", "SRID=4326;POINT(2.3522 48.8566)",
        '{"type": "Point", "coordinates": [2.3522, 48.8566]}', "{'lat': 48.8566, 'lon': 2.3522}", "48.8566;2.3522",
    ],
)  # fmt: skip
def test_one_cell_positions(text):
    assert cells.one_cell(text, "lat, lon") == pytest.approx((48.8566, 2.3522))


def test_one_cell_order_and_nonsense():
    assert cells.one_cell("2.3522, 48.8566", "lon, lat") == pytest.approx((48.8566, 2.3522))
    assert np.isnan(cells.one_cell("somewhere", "lat, lon")).all()
    assert np.isnan(cells.one_cell("1, 2, 3", "lat, lon")).all()


@settings(max_examples=60, deadline=None)
@given(st.floats(0.001, 5000), st.sampled_from([".", ","]))
def test_a_written_number_reads_back(value, decimal):
    text = f"{value:.2f}".replace(".", decimal)
    assert cells.plain_number(text, decimal)[0] == pytest.approx(float(f"{value:.2f}"))


def test_packed_tags():
    column = np.array(['"natural"=>"tree","circumference"=>"2.3"', '"natural"=>"tree"', ""], dtype=object)
    assert cells.hstore_value(column, "circumference").tolist() == ["2.3", "", ""]


@pytest.mark.parametrize("text", ["9,2 E", "9.2 E", "E 9,2", "9°12' E"])
def test_a_decimal_comma_before_a_letter_is_one(text):
    """East of the list that said O before: with E it is read."""
    assert cells.degrees(text, ",") == cells.degrees(text) == pytest.approx(9.2)


def test_an_o_of_a_position_is_told_and_a_name_with_one_is_not():
    found = cells.east_or_west(np.array(["9,2 O", "O 9.2", "9° 12' O", "48 N, 9 O", "9.2 E", "oak", "", "Ost", "9.2"]))
    assert found.tolist() == [True] * 4 + [False] * 5
