"""Slips of unit and size: planted ones are flagged, clean records are let be, and the impossible is refused.

A seeded sample; `python -m tests.bench slips` measures 2,000 of each and tells what is missed by field and by kind.
"""

from __future__ import annotations

import copy

import pytest
from city_trees import raw
from slips import clean_record, doubts, plant, read, uses, uses_in_full

from siteassess.errors import FaultyInput
from siteassess.records.reading import read_record
from siteassess.records.record import Record
from siteassess.records.size_terms import size_names, size_rules, terms_of
from siteassess.records.sizes import meanings_of, size_doubts
from siteassess.reference.locate import shipped
from siteassess.reference.tables import rows

PLANTED, CLEAN = 60, 400
MANY_OF_A_GENUS = 100  # trees, to say how its kind grows


def slips_in(data: dict) -> list[tuple]:
    return [(finding.path[-1], finding.likelier, finding.would_be) for finding in size_doubts(data)]


def test_planted_slips_that_change_a_use_are_flagged():
    every = list(plant(PLANTED, seed=12))
    missed = [(one.slip.field, one.slip.meant, one.slip.typed) for one in every if not one.flagged]
    assert sum(not one.refused for one in every) >= PLANTED / 4  # a measure of refusals alone would prove nothing
    assert len(missed) <= 0.05 * PLANTED, missed


def test_clean_records_of_measured_trees_are_let_be():
    doubted = [seed for seed in range(CLEAN) if slips_in(clean_record(seed))]
    assert len(doubted) <= 0.015 * CLEAN, doubted


@pytest.mark.parametrize("path", ["brindlewick/park.yaml", "new_york_rows/rows_only.yaml"])
def test_the_shipped_parks_are_let_be(path):
    assert slips_in(read_record(shipped("examples") / path).model_dump(exclude_none=True)) == []


TREE = {"kind": "tree", "code": "T1", "trunk": [{"girth": "188 cm", "read_at": "1.3 m"}], "height": "20 m"}


def park(tree: dict | None = None, line: dict | None = None) -> dict:
    """An oak of 60 cm and 20 m, a twin of it, and a low line between the two."""
    end = {"tie_height": "1.4 m", "sling": {"wrap": "basket", "width": "75 mm", "link_distance": "0.9 m"}}
    return copy.deepcopy({
        "siteassess_record": 1, "site": {"name": "Slip Common (invented)"},
        "survey": {"by": "N. Body (invented)", "date": "2026-04-18"},
        "anchors": [TREE | (tree or {}), TREE | {"code": "T2"}],
        "lines": [{"id": "L1", "use": "low line", "span": {"taped": "20 m"}, "a": {"anchor": "T1"} | end,
                   "b": {"anchor": "T2"} | end} | (line or {})],
    })  # fmt: skip


def tie(height: str, link: str = "0.9 m") -> dict:
    return {"a": {"anchor": "T1", "tie_height": height, "sling": {"wrap": "basket", "link_distance": link}}}


@pytest.mark.parametrize("made, told", [
    (park({"height": "60 m", "crown_spread": "12 m"}), ("height", "ft typed as m", "60 ft (18.3 m)")),
    (park({"crown_spread": "120 m"}), ("crown_spread", "the point misplaced", "12 m")),
    (park({"crown_spread": "39 m"}), ("crown_spread", "ft typed as m", "39 ft (11.9 m)")),
    (park({"bark": {"form": "smooth", "thickness": "15 cm"}}), ("thickness", "mm typed as cm", "15 mm")),
    (park(line=tie("1.4 cm")), ("tie_height", "m typed as cm", "1.4 m")),
    (park(line=tie("1.4 ft")), ("tie_height", "m typed as ft", "1.4 m (4.59 ft)")),
    (park(line=tie("14 cm")), ("tie_height", "the point misplaced", "140 cm")),
    (park(line=tie("1.4 m", "0.9 km")), ("link_distance", "m typed as km", "0.9 m")),
    (park(line=tie("1.4 m", "9 m")), ("link_distance", "the point misplaced", "0.9 m")),
    (park(line={"standing": {"tension": "20 kN"}}), ("tension", "the point misplaced", "2 kN")),
    (park(line={"standing": {"tension": "450 kgf"}, "walkers": {"mass": "176 kg"}}),
     ("mass", "lb typed as kg", "176 lb (79.8 kg)")),
    (park(line={"span": {"taped": "200 m"}}), ("taped", "the point misplaced", "20 m")),
    (park(line={"webbing": {"width": "25 cm"}}), ("width", "mm typed as cm", "25 mm")),
])  # fmt: skip
def test_each_slip_is_told_with_the_likely_reading(made, told):
    (found,) = slips_in(made)
    field, likelier, would_be = told
    assert found[:2] == (field, likelier)
    assert would_be in (None, found[2])


@pytest.mark.parametrize("made, field, wanted, mend", [
    (park({"crown_spread": "12 mm"}), "crown_spread", "at least 600 mm beside height 20 m", "m typed as mm, 12 m"),
    (park({"crown_base": "40 m"}), "crown_base", "at most 20 m beside height 20 m", "ft typed as m, 40 ft (12.2 m)"),
    (park({"fork_height": "12 m", "height": "3 m"}), "fork_height", "at most 3 m beside height 3 m", ""),
    (park(line=tie("1.4 m", "0.9 cm")), "link_distance", "at least 26.9 cm beside girth 188 cm",
     "m typed as cm, 0.9 m"),
    (park({"height": "3 m"}, tie("3.5 m")), "tie_height", "at most 3 m beside height 3 m", ""),
    (park({"hard_edges": [{"what": "kerb", "side": "N", "distance": "1.5 cm"}]}), "distance", "at least", "1.5 m"),
])  # fmt: skip
def test_what_cannot_be_beside_girth_and_height_is_refused_with_the_likely_reading(made, field, wanted, mend):
    with pytest.raises(FaultyInput) as refused:
        read(made)
    fault = next(one for one in refused.value.faults if one.field.endswith(field) and wanted in one.wanted)
    assert mend in fault.mend


def test_the_widest_trees_ever_measured_are_not_refused():
    """Rows of the city-tree table at its ends: 2 to 134 diameters high, crowns 3 to 88 diameters wide."""
    rows = (("157 cm", "1.5 m", "1.6 m"), ("57 cm", "24 m", "4.9 m"), ("335 cm", "26 m", "59.3 m"))
    for girth, height, crown in rows:
        tree = {"trunk": [{"girth": girth, "read_at": "1.3 m"}], "height": height, "crown_spread": crown}
        assert not [term for term in terms_of({"anchors": [TREE | tree]}) if term.impossible()]


def test_a_doubt_mends_only_one_reading_where_one_explains_all():
    """A girth ten times too small is at odds with height, crown and sling; one doubt, at the girth."""
    assert slips_in(park({"trunk": [{"girth": "18.8 cm", "read_at": "1.3 m"}], "crown_spread": "12 m"})) == [
        ("girth", "the point misplaced", "girth 188 cm")
    ]


def test_the_only_length_in_feet_is_asked_about_and_several_are_not():
    assert slips_in(park({"crown_base": "6 ft"})) == [("crown_base", "m typed as ft", "6 m (19.7 ft)")]
    assert slips_in(park({"crown_base": "6 ft", "height": "60 ft", "crown_spread": "40 ft"})) == []


US = {"kind": "tree", "code": "T1", "trunk": [{"girth": "74 in", "read_at": "4.5 ft"}], "height": "66 ft"}


def american(line: dict) -> dict:
    end = {"tie_height": "4.5 ft", "sling": {"wrap": "basket", "width": "3 in", "link_distance": "3 ft"}}
    return park(US, {"span": {"taped": "40 ft"}, "a": {"anchor": "T1"} | end, "b": {"anchor": "T2"} | end} | line) | {
        "anchors": [US, US | {"code": "T2"}]}  # fmt: skip


@pytest.mark.parametrize("made, told", [
    (american({"standing": {"tension": "560 N"}}), [("tension", "lbf typed as N", "560 lbf (2490 N)")]),
    (american({"standing": {"tension": "560 lbf"}}), []),
    (american({"standing": {"tension": "2.5 kN"}}), []),  # as a load cell shows it anywhere
    (park(line={"standing": {"tension": "2500 N"}}), []),
    (park(line={"walkers": {"mass": "165 lb"}}), []),  # 165 kg would be odder still
    (park(line={"standing": {"tension": "250 kN"}}), [("tension", "daN typed as kN", "250 daN")]),
    (park(line={"webbing": {"strength": "6000 lbf"}}), []),  # as it is printed on what is sold
])  # fmt: skip
def test_the_only_force_in_units_of_the_other_country_is_asked_about(made, told):
    assert slips_in(made) == told


@pytest.mark.parametrize("rating, told", [
    ("4 kN", [("rating", "the point misplaced", "40 kN")]), ("5 kN", []), ("10 kN", []), ("40 kN", []),
    ("22 daN", [("rating", "kN typed as daN", "22 kN")]),
])  # fmt: skip
def test_no_sling_is_marked_with_less_than_half_a_tonne(rating, told):
    assert slips_in(park(line={"a": tie("1.4 m")["a"] | {"sling": {"wrap": "basket", "rating": rating}}})) == told


@pytest.mark.parametrize("girth, height, crown", [
    ("250 cm", "5 m", "6 m"), ("300 cm", "4 m", "3 m"), ("180 cm", "4.5 m", "2.5 m"),  # cut back for generations
    ("120 cm", "24 m", "2.5 m"), ("160 cm", "30 m", "3 m"), ("90 cm", "20 m", "2 m"),  # grown as a column
])  # fmt: skip
def test_a_pollard_or_a_poplar_is_given_no_size_it_could_not_have(girth, height, crown):
    tree = {"trunk": [{"girth": girth, "read_at": "1.3 m"}], "height": height, "crown_spread": crown}
    assert {would_be for _, _, would_be in slips_in(park(tree))} <= {""}


@pytest.mark.parametrize("mass", ["12 kg", "15 kg", "20 kg", "30 kg", "45 kg", "110 kg"])
def test_a_child_on_a_low_line_is_no_slip(mass):
    line = {"walkers": {"mass": mass}, "standing": {"sag": "0.3 m", "sag_under": mass}}
    assert slips_in(park(line=line)) == []


@pytest.mark.parametrize("mass, likelier", [("7.5 kg", "the point misplaced"), ("750 kg", "the point misplaced"),
                                            ("176 kg", "lb typed as kg"), ("75 lb", "kg typed as lb")])  # fmt: skip
def test_a_mass_nobody_has_is_still_asked_about(mass, likelier):
    ((_, told, _),) = slips_in(park(line={"walkers": {"mass": mass}}))
    assert told == likelier


def test_a_child_of_an_american_family_is_no_slip():
    assert slips_in(american({"walkers": {"mass": "66 lb"}})) == []


@pytest.mark.parametrize("lean, slope", [("12 deg", "25 deg"), ("15 deg", "10 deg"), ("3 deg", "25 deg")])
def test_a_leaning_tree_on_a_bank_is_no_slip_and_a_lean_is_never_read_in_percent(lean, slope):
    assert slips_in(park({"lean": lean, "ground": {"slope": slope}})) == []
    ((_, likelier, would_be),) = slips_in(park({"lean": "30 deg", "ground": {"slope": slope}}))
    assert (likelier, would_be) == ("the point misplaced", "3 deg")


def test_a_tie_in_the_thin_wood_of_a_high_line_says_beside_which_height():
    far = {"use": "high line", "span": {"taped": "60 m"}}
    (found,) = size_doubts(park(line=far | tie("15 m")))
    assert found.says == "tie height 15 m does not go with height 20 m"
    assert "1.5 m" in found.or_else or "1.5 m" in found.would_be
    assert slips_in(park(line=far | tie("6 m"))) == []


@pytest.mark.parametrize("at, doubted", [("20 m", False), ("10 m", False), ("9.9 m", True), ("20 cm", True)])
def test_a_ground_profile_that_comes_back_towards_its_beginning_is_asked_about(at, doubted):
    ground = [{"at": "0 m", "height": "0 m"}, {"at": "10 m", "height": "-0.4 m"}, {"at": at, "height": "0 m"}]
    record = Record.model_validate(park(line={"ground": ground}))
    assert (("lines", 0, "ground", 2, "at") in doubts(record)) is doubted


def test_a_point_of_the_ground_at_the_very_tree_is_asked_about():
    ground = [{"at": "0 m", "height": "0 m"}, {"at": "10 cm", "height": "-0.4 m"}, {"at": "20 m", "height": "0 m"}]
    assert slips_in(park(line={"ground": ground})) == [("at", "m typed as cm", "10 m")]
    ground[1]["at"] = "1 m"
    assert slips_in(park(line={"ground": ground})) == []


@pytest.mark.parametrize("use, depth, doubted", [
    ("high line", "48 m", False), ("high line", "95 m", False), ("high line", "4800 m", True),
    ("long line", "48 m", True),
])  # fmt: skip
@pytest.mark.parametrize("taped_down", [False, True], ids=["heights", "down from a string"])
def test_a_gorge_under_a_high_line_is_no_slip(use, depth, doubted, taped_down):
    far = {"use": use, "span": {"taped": "95 m"}}
    across = ({"ground_below": [{"at": "45 m", "down": depth}]} if taped_down
              else {"ground": [{"at": "0 m", "height": "0 m"}, {"at": "45 m", "height": f"-{depth}"}]})  # fmt: skip
    found = slips_in(park(line=far | across))
    assert bool(found) is doubted and {field for field, _, _ in found} <= {"height", "down"}


def test_every_rule_names_a_field_that_is_there():
    """Each size has its kind of quantity from the record's schema, and each rule its band in order."""
    assert set(size_names().values()) <= {"length", "force", "mass", "slope", "angle", "mass per length"}
    for rule in size_rules():
        for low, high in ((rule.usual_low, rule.usual_high), (rule.possible_low, rule.possible_high)):
            assert low is None or high is None or 0 < low <= high
        assert rule.ln_sd is None or rule.ln_sd > 0


def test_no_meaning_is_what_was_typed():
    for term in terms_of(park()):
        for meaning in meanings_of(term.size):
            assert abs(meaning.size / term.size.size - 1) > 0.3, (term.size.typed, meaning)


# ---- what else is in the record: the other end, the other tree, the kind of tree, the decimals


def both(end: dict, other: dict) -> dict:
    """Ends with like rigging but for what is given."""
    like = {"tie_height": "1.4 m", "sling": {"wrap": "basket", "width": "50 mm", "link_distance": "0.9 m"}}
    return {name: {"anchor": code} | like | own for name, code, own in (("a", "T1", end), ("b", "T2", other))}


def sling(width: str) -> dict:
    return {"sling": {"wrap": "basket", "width": width, "link_distance": "0.9 m"}}


def pad(thickness: str) -> dict:
    return {"padding": {"material": "carpet", "thickness": thickness, "goes_round": "whole trunk"}}


@pytest.mark.parametrize("line, told", [
    (both(sling("2 in"), sling("5.08 in")), [("width", "cm typed as in", "5.08 cm (2 in)")]),
    (both(sling("5.08 in"), sling("2 in")), [("width", "cm typed as in", "5.08 cm (2 in)")]),
    (both(sling("4 in"), sling("2 in")), []),  # two kinds brought
    (both(sling("75 mm"), sling("30 mm")), []),
    (both(sling("75 cm"), sling("30 mm")), [("width", "mm typed as cm", "75 mm")]),  # and still two kinds
    (both(pad("6 mm"), pad("6 cm")), [("thickness", "mm typed as cm", "6 mm")]),
    (both(pad("40 mm"), pad("6 mm")), []),
    ({"use": "long line", "span": {"taped": "60 m"}} | both({}, {"tie_height": "4.6 m"}),
     [("tie_height", "ft typed as m", "4.6 ft (1.4 m)")]),
    ({"use": "long line", "span": {"taped": "60 m"}} | both({"tie_height": "3.9 m"}, {"tie_height": "3.7 m"}), []),
    ({"use": "high line", "span": {"taped": "60 m"}} | both({}, {"tie_height": "4.6 m"}), []),  # up a bank
])  # fmt: skip
def test_what_the_other_end_says_is_heard_and_unlike_ends_are_no_slip(line, told):
    assert slips_in(park(line=line)) == told


def second(tree: dict, first: dict | None = None) -> dict:
    made = park(first)
    made["anchors"][1] |= tree
    return made


def test_a_trunk_read_three_times_higher_than_the_other_is_asked_about():
    at = {"trunk": [{"girth": "188 cm", "read_at": "4.3 m"}]}
    assert slips_in(second(at)) == [("read_at", "ft typed as m", "4.3 ft (1.31 m)")]
    assert slips_in(second({"trunk": [{"girth": "188 cm", "read_at": "3 m"}]})) == []


@pytest.mark.parametrize("lean, slope, told", [
    ("0.5 deg", "5 %", [("lean", "the point misplaced", "5 deg")]),
    ("0.8 deg", "5 %", [("lean", "the point misplaced", "8 deg")]),
    ("0.61 deg", "2.3 deg", [("lean", "the point misplaced", "6.1 deg")]),
    ("0.5 deg", "2.3 deg", []), ("0.2 deg", "0.3 deg", []),  # as a phone shows them
    ("1.5 deg", "5 %", []),  # a half, and nothing unusual
    ("0.5 deg", None, []),  # nothing beside it
])  # fmt: skip
def test_the_only_lean_with_decimals_is_asked_about_and_a_phone_s_are_not(lean, slope, told):
    assert slips_in(park({"lean": lean} | ({"ground": {"slope": slope}} if slope else {}))) == told


@pytest.mark.parametrize("slope, doubted", [("25 deg", False), ("40 %", False), ("50 %", True), ("30 deg", True)])
def test_a_slope_of_one_in_two_is_asked_about(slope, doubted):
    assert bool(slips_in(park({"ground": {"slope": slope}}))) is doubted


def test_of_two_trunks_in_two_units_the_unlikely_one_is_asked_about():
    """Feet everywhere but for a tape in centimetres: neither unit is the only one of its kind."""
    tape = {"trunk": [{"girth": "188 cm", "read_at": "4.5 ft"}]}
    made = american({})
    made["anchors"] = [US | {"trunk": [{"girth": "188 in", "read_at": "4.5 ft"}]}, US | {"code": "T2"} | tape]
    assert slips_in(made) == [("girth", "cm typed as in", "girth 188 cm (74 in)")]
    made["anchors"][0] = US | tape
    assert slips_in(made) == []


def test_of_two_trunks_in_two_units_either_of_which_may_be_right_one_is_asked_about():
    trees = [{"kind": "tree", "code": code, "trunk": [{"girth": girth, "read_at": "4.5 ft"}]}
             for code, girth in (("T1", "60 in"), ("T2", "100 cm"))]  # fmt: skip
    made = american({}) | {"anchors": trees}
    assert len(slips_in(made)) == 1


def test_a_poplar_s_height_in_the_only_feet_is_asked_about_though_its_crown_is_narrow():
    tree = {"trunk": [{"girth": "140 cm", "read_at": "1.3 m"}], "height": "28 ft", "crown_spread": "4 m",
            "species": {"name": "Populus nigra"}}  # fmt: skip
    assert slips_in(park(tree)) == [("height", "m typed as ft", "28 m (91.9 ft)")]
    assert slips_in(park(tree | {"height": "28 m"})) == []


@pytest.mark.parametrize("thickness, doubted", [("1.5 cm", True), ("15 mm", False)])
def test_a_pad_in_centimetres_among_inches_is_odd_and_one_in_millimetres_is_as_sold(thickness, doubted):
    end = {"anchor": "T1", "tie_height": "4.5 ft"} | pad(thickness)
    assert bool(slips_in(american({"a": end}))) is doubted


@pytest.mark.parametrize("name, told", [
    ("Liquidambar styraciflua", [("girth", "in typed as cm", "girth 74 in (188 cm)")]),
    ("no such tree", []), ("constructor", []), ("", []),
])  # fmt: skip
def test_a_genus_tells_more_of_girth_and_height(name, told):
    tree = {"trunk": [{"girth": "74 cm", "read_at": "1.3 m"}], "height": "22 m", "species": {"name": name}}
    assert slips_in(park(tree | {"crown_spread": "10 m"})) == told


def test_a_child_of_36_pounds_is_no_slip():
    assert slips_in(american({"walkers": {"mass": "36 lb"}})) == []


def test_factors_of_genera_are_medians_of_the_trees_not_drawn_for_the_bench():
    """McPherson, van Doorn and Peper 2016, table TS3: from 0.15 m, height and crown over the fits of size_rules."""
    trees = raw()[lambda all_: ~all_.by_lot & (all_.d >= 0.15) & (all_.height_m > 0) & (all_.crown_m > 0)]
    over = {"height": trees.height_m / (22 * trees.d**0.66), "crown": trees.crown_m / (18.5 * trees.d**0.70)}
    counts = trees.genus.value_counts()
    assert {row.genus for row in rows("size_by_genus")} == set(counts[counts >= MANY_OF_A_GENUS].index)
    for row in rows("size_by_genus"):
        of = trees.genus == row.genus
        assert int(row.trees) == of.sum()
        assert over["height"][of].median() == pytest.approx(row.height_factor, abs=0.0051)
        assert over["crown"][of].median() == pytest.approx(row.crown_factor, abs=0.0051)


def test_uses_without_remedies_are_those_with_them():
    for seed in (3, 17):
        assert uses(read(clean_record(seed))) == uses_in_full(read(clean_record(seed)))


@pytest.mark.parametrize("made, field, mend", [
    (park({"trunk": [{"girth": "1.88 cm", "read_at": "1.3 m"}]}), "girth", "Likelier m typed as cm, girth 1.88 m."),
    (park({"trunk": [{"girth": "188 cm", "read_at": "13 m"}]}), "read_at", "Likelier the point misplaced, 1.3 m."),
    (park(line={"walkers": {"mass": "800 kg"}}), "mass", "Likelier the point misplaced, 80 kg."),
    (park(line={"standing": {"tension": "250 kN"}}), "tension",
     "Likelier daN typed as kN, 250 daN. Or: lbf typed as kN, 250 lbf (1.11 kN)."),
])  # fmt: skip
def test_what_no_field_takes_is_refused_with_the_likely_reading(made, field, mend):
    with pytest.raises(FaultyInput) as refused:
        read(made)
    assert mend in [one.mend for one in refused.value.faults if one.field.endswith(field)]


def test_a_refused_size_that_may_be_two_things_tells_both():
    long_link = {"wrap": "basket", "width": "75 mm", "length": "4 m", "link_distance": "7 m"}
    with pytest.raises(FaultyInput) as refused:
        read(park(line={"a": {"anchor": "T1", "tie_height": "1.4 m", "sling": long_link}}))
    (mend,) = [fault.mend for fault in refused.value.faults if fault.field.endswith("link_distance")]
    assert mend == "Likelier ft typed as m, 7 ft (2.13 m). Or: the point misplaced, 0.7 m."
