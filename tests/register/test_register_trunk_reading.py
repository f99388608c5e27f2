"""By which reading the register knows a trunk that was read several times, or has several stems."""

from __future__ import annotations

import math

import pytest

from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.trunk import trunk_at
from siteassess.register.reading_records import girth, trunk_known

LOW, BREAST, HIGH = ({"girth": size, "read_at": at} for size, at in (
    ("170 cm", "0.3 m"), ("150 cm", "1.2 m"), ("120 cm", "4 m")))  # fmt: skip
TREE = {"kind": "tree", "code": "T1", "species": {"name": "Quercus robur"}}


@pytest.mark.parametrize("readings", [(LOW, BREAST, HIGH), (HIGH, LOW, BREAST), (BREAST, HIGH)])
def test_the_reading_nearest_breast_height_stands_in_whatever_order_they_were_taken(readings):
    assert girth({"trunk": list(readings)}) == (1.5, 1.2)
    assert trunk_known({"trunk": list(readings)}).reading == TrunkReading.model_validate(BREAST)


def test_of_two_as_near_the_thinner_and_of_one_the_only_one():
    near = [{"girth": "160 cm", "read_at": "1.4 m"}, {"diameter": "45 cm", "read_at": "1.2 m"}]
    assert girth({"trunk": near}) == (pytest.approx(math.pi * 0.45), 1.2)
    assert girth({"trunk": [HIGH]}) == (1.2, 4.0) and girth({"trunk": []}) is None is girth({})
    assert girth({"trunk": [{"read_at": "1.3 m"}, LOW]}) == (1.7, 0.3)
    assert girth({"trunk": [{"girth": "many", "read_at": "1.3 m"}]}) is None


def test_several_stems_go_by_the_thinnest_as_they_are_judged():
    stems = {"stems": "several", "each_stem": [{"girth": "90 cm"}, {"girth": "60 cm"}]}
    assert girth(stems | {"trunk": [BREAST]}) == (0.6, None)
    judged = trunk_at(Tree.model_validate(TREE | stems), 1.3)
    assert girth(stems)[0] == pytest.approx(math.pi * judged.diameter)


@pytest.mark.parametrize("more", [
    {"trunk": [BREAST | {"how": "taped"}, {"girth": "130 cm", "read_at": "1.3 m", "how": "copied"}]},
    {"trunk": [{"girth": "80 cm", "read_at": "1.3 m", "how": "taped"}], "stems": "several",
     "each_stem": [{"girth": "90 cm"}, {"girth": "110 cm"}]},
    {"trunk": [LOW | {"girth": "100 cm", "how": "estimated"}, BREAST]},
    {"trunk": [BREAST], "each_stem": [{"girth": "90 cm"}]},
])
def test_the_register_knows_a_trunk_by_the_reading_every_paper_tells(more):
    """Fresh eyes: it listed a copied number beside a tape, and of several stems none but their own girths."""
    known = trunk_at(Tree.model_validate(TREE | more), None)
    assert girth(more)[0] == pytest.approx(math.pi * known.diameter)
    assert trunk_known(more).reading == known.reading and len(trunk_known(more).stems) == len(known.stems)


def test_what_cannot_be_read_of_a_record_edited_by_hand_is_left_out():
    assert girth({"trunk": [{"girth": "many", "read_at": "1.3 m"}, BREAST]}) == (1.5, 1.2)
    assert girth({"trunk": None, "each_stem": [{"girth": "?"}], "stems": "several"}) is None
