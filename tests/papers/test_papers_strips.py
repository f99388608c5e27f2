"""The fall strip and the error ellipses on map and plan."""

from __future__ import annotations

import math
import re

import pytest
import shapely
from parks import record

from siteassess.advice.assess import assess
from siteassess.papers.language import words_in
from siteassess.papers.map_data import MAP_LAYERS, site_data
from siteassess.papers.plan import draw_plan
from siteassess.papers.scene import build
from siteassess.reference.look import look

ERROR_COLOUR = "#cc79a7"  # as it stands in the SVG


@pytest.fixture(scope="module")
def plain():
    return assess(record())


def test_the_strip_is_three_metres_to_each_side_and_past_both_ends(plain):
    stretch = build(plain).stretches[0]
    length = math.hypot(stretch.b.east_m - stretch.a.east_m, stretch.b.north_m - stretch.a.north_m)
    assert shapely.Polygon(stretch.strip_m()).area == pytest.approx(6 * length + math.pi * 9, rel=0.01)


def test_the_map_carries_the_strip_as_a_layer_that_can_be_switched(plain):
    line = site_data(plain, build(plain))["lines"][0]
    assert len(line["strip"]) > 10 and "fall strips" in MAP_LAYERS
    west, east = (pick(place[1] for place in line["strip"]) for pick in (min, max))
    assert west < line["a_place"][1] < line["b_place"][1] < east


def test_the_plan_draws_how_far_off_an_anchor_may_stand_only_when_asked(plain):
    without, with_errors = (draw_plan(plain, errors=errors).sheets[0].svg().lower() for errors in (False, True))
    assert ERROR_COLOUR not in without
    assert with_errors.count(ERROR_COLOUR) >= 3  # two anchors and the legend


def test_the_ellipse_holds_the_true_place_95_times_of_100():
    loose, tight = (build(assess(record({"T1.position.accuracy": a, "T2.position.accuracy": a, "L1.span": None,
                                         "L1.compass": None}))).spots[0].ellipse for a in ("10 m", "1 m"))  # fmt: skip
    # 68 of 100 within 10 m, so 95 of 100 within sqrt(ln 0.05 / ln 0.32) times as far
    assert loose.semi_major_m == pytest.approx(10 * math.sqrt(math.log(0.05) / math.log(0.32)), rel=1e-3)
    assert tight.semi_major_m == pytest.approx(loose.semi_major_m / 10, rel=1e-3)


def test_a_path_and_water_are_told_apart_in_grey():
    grey = []
    for kind in ("path", "water"):
        red, green, blue = (int(look().features[kind]["fill"][at : at + 2], 16) / 255 for at in (1, 3, 5))
        grey.append(0.30 * red + 0.59 * green + 0.11 * blue)  # as a printer turns colours to grey, common practice
    assert abs(grey[0] - grey[1]) > 0.12


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_the_key_of_the_year_names_no_colour_that_a_grey_print_lacks(language):
    told = words_in(language)("px-season-key")
    assert not re.search("orange|naranja|blue|blau|bleu|azul", told)
