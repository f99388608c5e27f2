"""The field list: every field of the record is described, and its example is itself a good answer."""

from __future__ import annotations

import subprocess
import sys

import pytest

from siteassess.records.anchor import Boulder, Other, Signs, Tree
from siteassess.records.fields import Diameter, TreeHeight, accepted
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.records.schema import Asked, asked_at, fields, members, models_at
from siteassess.survey import against_all, sheets
from siteassess.units import parse

MODELS = (Record, Tree, Boulder, Other, Line)
EVERY = [
    pytest.param(asked, id=f"{model.__name__}.{'.'.join(asked.path)}") for model in MODELS for asked in fields(model)
]


@pytest.mark.parametrize("asked", EVERY)
def test_every_field_has_its_question_kind_and_wanted(asked: Asked):
    assert asked.question and asked.question[0].isupper() and not asked.question.endswith((".", "?", ":"))
    assert asked.wanted()
    assert asked.required or asked.default is not ...
    if asked.kind == "quantity":
        low, high = parse(asked.low, asked.quantity).si, parse(asked.high, asked.quantity).si
        assert low <= parse(asked.example, asked.quantity).si <= high
        assert asked.unit and asked.unit in asked.units
    if asked.kind == "choice":
        assert asked.required or asked.default in (None, *asked.choices)
    if asked.kind in ("number", "whole number"):
        assert asked.low < asked.high


def test_the_quick_form_asks_about_a_dozen_things_a_tree_and_every_stop_sign_by_itself():
    asked = [asked for asked in members(Tree) if asked.quick and asked.name not in ("kind", "code", "signs")]
    assert 8 <= len(asked) <= 16
    signs = list(fields(Signs, quick=True))
    assert len(signs) == len(Signs.model_fields) == 10
    assert all(sign.choices == ("yes", "no", "not looked") and sign.default == "not looked" for sign in signs)


def test_the_quick_walk_is_part_of_the_whole_walk_in_the_same_order():
    for model in MODELS:
        whole = [asked.path for asked in fields(model)]
        quick = [asked.path for asked in fields(model, quick=True)]
        assert quick == [path for path in whole if path in set(quick)]


def test_a_field_is_found_by_its_place():
    assert asked_at(("anchors", 3, "tree", "trunk", 0, "girth")).high == "15 m"
    assert asked_at(("anchors", 3, "boulder", "slope")).quantity == "slope"
    assert asked_at(("anchors", 3, "boulder", "girth")) is None
    assert asked_at(("nowhere",)) is None
    assert models_at(("anchors", 0, "tree")) == (Tree,)
    assert models_at(()) == (Record,)


def test_the_shape_of_the_record_is_light_to_import():
    code = "import sys, siteassess.records.record; print(*sorted(sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert not {"pint", "yaml", "numpy", "scipy", "shapely", "geopandas", "matplotlib", "pyproj"} & set(loaded)


def test_a_share_of_the_round_in_percent_is_refused_where_it_would_be_read_as_a_slope():
    assert "%" not in asked_at(("anchors", 0, "tree", "hollow", "opening")).units
    assert "%" in asked_at(("anchors", 0, "tree", "ground", "slope")).units


def test_what_a_record_accepts_is_told_once():
    """A desk survey wrote the same bounds by hand, twice."""
    assert accepted(Diameter) == (0.03, 4.8) == (sheets.LEAST_DIAMETER_M, against_all.LARGEST_DIAMETER_M)
    assert accepted(TreeHeight) == (1.5, 100.0) == (sheets.LEAST_HEIGHT_M, sheets.MOST_HEIGHT_M)
