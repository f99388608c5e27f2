"""The packing list: what each tie asks for, the fullest day, and what a group owns beside it."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import get_args

import pytest
from any_words import plainly
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import data, record

from siteassess.advice.assess import assess
from siteassess.advice.packing import COUNTED_BY_TIES, PackItem, lines_on, packing_list, packing_notes, totals
from siteassess.advice.stock import held_against, not_counted
from siteassess.errors import FaultyInput
from siteassess.records.line import GearKind
from siteassess.records.owned import Owned, OwnedKind, read_owned
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import rows

quick = settings(max_examples=40, deadline=None)


def two_lines(second_day: str):
    lines = [data()["lines"][0], {**data()["lines"][0], "id": "L2"}]
    return record({"lines": lines, "L2.planned.date": second_day})


def counted(items, kind: str) -> int:
    return sum(item.count for item in items if item.kind == kind)


def test_one_line_brings_its_slings_links_pads_cords_and_signs():
    (line,) = assess(record()).lines
    items = packing_list([line])
    assert counted(items, "sling") == 2 and counted(items, "link") == 2
    slings = [item for item in items if item.kind == "sling"]
    for item, anchor in zip(slings, line.anchors):
        assert anchor.protection.sling_length_m <= item.length_m < anchor.protection.sling_length_m + 0.5
    assert counted(items, "pad") == sum(anchor.protection.pad_pieces for anchor in line.anchors)
    assert counted(items, "tie") == 2 * counted(items, "pad")
    (flags,) = [item for item in items if "flag" in item.what]
    assert flags.count == 4  # one every five metres of twenty
    assert all(item.lines == ("L1",) for item in items if item.kind not in ("measuring", "hygiene"))


def test_lines_of_one_day_add_and_lines_of_other_days_use_it_again():
    same, other = two_lines("2026-04-20"), two_lines("2026-04-21")
    together = packing_list(assess(same).lines, same.lines)
    apart = packing_list(assess(other).lines, other.lines)
    assert counted(together, "sling") == 4 and counted(apart, "sling") == 2
    assert counted(together, "measuring") == counted(apart, "measuring") == 2  # a day needs them once
    assert lines_on(other.lines, datetime.date(2026, 4, 21)) == ("L2",)
    assert not lines_on(other.lines, datetime.date(2026, 4, 22))


def test_wet_ground_brings_mats_and_a_short_line_on_dry_ground_none():
    assert counted(packing_list(assess(record({"T1.ground.wetness": "wet"})).lines), "ground") == 1
    assert counted(packing_list(assess(record({"L1.span.taped": "8 m"})).lines), "ground") == 0


def test_a_line_we_say_to_leave_brings_nothing():
    (line,) = assess(record({"T1.signs.dead_tree": "yes"})).lines
    assert line.verdict == "leave it" and packing_list([line]) == ()


NARROW = {"wrap": "basket", "width": "25 mm", "link_distance": "1 m"}
PULLED = {"L1.standing.tension": "3.5 kN", "T1.bark.form": "smooth", "T1.species.name": "Fagus sylvatica"}


def test_a_sling_the_verdict_calls_too_narrow_is_not_packed_but_the_one_it_asks_for():
    (line,) = assess(record(PULLED | {"L1.a.sling": NARROW})).lines
    end = line.anchors[0]
    assert end.care_use > 1 and any("mm wide" in condition for condition in end.conditions)
    asked = end.protection.asked
    assert asked.pressure_pa <= asked.reference_pa and f"{asked.sling_width_m * 1e3:.0f} mm wide" in end.conditions[0]
    slings = [item for item in packing_list([line]) if item.kind == "sling"]
    assert not any(item.width_m == 0.025 for item in slings)
    (told,) = [item for item in slings if item.instead]
    assert told.width_m == asked.sling_width_m and told.length_m >= asked.sling_length_m
    assert "L1 at T1: instead of the planned 25 mm" in told.told().in_words()
    # planned as asked, nothing is told and the same is packed
    mended = NARROW | {"width": f"{asked.sling_width_m * 1e3:.0f} mm"}
    (again,) = assess(record(PULLED | {"L1.a.sling": mended})).lines
    assert again.anchors[0].protection.instead is None and again.anchors[0].care_use <= 1


def test_slats_that_press_harder_and_a_choker_are_replaced_too():
    slats = {"L1.a.padding": {"material": "carpet", "thickness": "10 mm", "slats": 2, "slat_width": "30 mm",
                              "slat_thickness": "20 mm", "slat_length": "30 cm"}}  # fmt: skip
    (line,) = assess(record(PULLED | slats)).lines
    plan = line.anchors[0].protection
    assert plan.asked.slats != 2 and "2 slats" in plan.asked.instead_of
    (line,) = assess(record({"L1.a.sling": NARROW | {"wrap": "choker", "width": "75 mm"}})).lines
    plan = line.anchors[0].protection
    assert plan.wrap == "choker" and plan.asked.wrap == "basket" and plan.asked.instead_of == "choker"
    assert not any("choker" in item.what for item in packing_list([line]))


def test_a_rule_of_the_place_widens_what_is_packed():
    strap = {"id": "strap", "kind": "strap width", "operator": ">=", "value": 10, "unit": "cm"}
    rules = {"format": "land-managers-rules/1", "id": "wide-straps", "place": "Testing Green (invented)",
             "country": "GB", "status": "allowed with conditions", "uses": ["slackline"], "flag": "judgement",
             "source": {"title": "Invented card"}, "as_of": "2026-03", "check_current_text": "Ask.",
             "clauses": [strap]}  # fmt: skip
    (line,) = assess(record({"site.rules": rules})).lines
    assert line.verdict == "suits"  # rules never touch it
    slings = [item for item in packing_list([line]) if item.kind == "sling"]
    assert all(item.width_m == 0.10 and "the rules of Testing Green" in item.told().in_words() for item in slings)


def test_a_line_of_which_nothing_is_settled_is_listed_and_says_so():
    (line,) = assess(record({"T1.signs.dead_tree": None})).lines
    assert line.verdict == "cannot say" and packing_list([line])
    (told,) = packing_notes([line])
    assert told == Said("pack-unsettled", (("line", "L1"),))
    assert packing_notes(assess(record()).lines) == ()


def test_what_gear_alone_does_not_meet_is_told():
    worst = PULLED | {"L1.standing.tension": "12 kN", "T1.condition": "stressed", "T1.trunk.0.girth": "95 cm",
                      "L1.a.sling": NARROW | {"width": "200 mm", "wrap": "doubled basket", "strands": 2}}  # fmt: skip
    (line,) = assess(record(worst)).lines
    end = replace(line.anchors[0], verdict="suits if")
    assert end.protection.asked.pressure_pa > end.protection.reference_pa
    line = replace(line, verdict="suits if", anchors=(end, line.anchors[1]))
    asks = [finding for finding in end.findings if finding.about == "bark" and finding.condition]
    assert asks and len(packing_notes([line])) == len(asks)


def test_a_rope_counts_its_knots_and_a_high_line_a_second_sling():
    rope = {"kind": "rope", "wrap": "turns", "width": "12 mm", "link_distance": "1 m"}
    (line,) = assess(record({"L1.a.sling": rope})).lines
    (roped,) = [item for item in packing_list([line]) if item.kind == "rope"]
    assert roped.length_m >= line.anchors[0].protection.rope_length_m > line.anchors[0].protection.sling_length_m
    high = replace(line, use="high line", verdict="cannot say")
    seconds = [item for item in packing_list([high]) if "second, independent" in item.what]
    assert sum(item.count for item in seconds) == 2 and all(item.length_m for item in seconds)


def test_totals_add_up():
    items = (PackItem("sling", plainly("a"), 2, 3.0, 0.05), PackItem("pad", plainly("carpet"), 3, 1.0, 0.25, 0.01))
    assert totals(items) == {
        "sling_pieces": 2, "pad_pieces": 3, "sling_total_m": 6.0, "pad_total_m2": pytest.approx(0.75)
    }  # fmt: skip


# ---- what is owned

def owned(*rows) -> Owned:
    return Owned.model_validate({"siteassess_owned": 1, "owned": rows})


def piece(kind: str):
    return said("pack-piece", piece=said("kind-alone", kind=kind))


SHORT, LONG = PackItem("sling", plainly("short"), 1, 2.0, 0.05), PackItem("sling", plainly("long"), 1, 6.0, 0.05)


def test_a_long_sling_is_not_spent_on_a_short_tie():
    mine = owned({"kind": "sling", "length": "8 m", "width": "50 mm"},
                 {"kind": "sling", "length": "3 m", "width": "50 mm"})  # fmt: skip
    assert [row.lacks for row in held_against((SHORT, LONG), mine)] == [0, 0]
    assert [row.lacks for row in held_against((LONG, SHORT), mine)] == [0, 0]


def test_too_narrow_too_thin_or_of_another_kind_is_lacking():
    pad = PackItem("pad", plainly("carpet"), 1, 1.0, 0.25, 0.0065)
    for row in (
        {"kind": "pad", "length": "1 m", "width": "20 cm", "thickness": "1 cm"},
        {"kind": "pad", "length": "1 m", "width": "30 cm", "thickness": "5 mm"},
        {"kind": "sling", "length": "9 m", "width": "50 cm", "thickness": "5 cm"},
    ):
        assert held_against((pad,), owned(row))[0].lacks == 1


def test_a_size_not_written_down_fills_nothing_and_says_so():
    (row,) = held_against((SHORT,), owned({"kind": "sling", "length": "9 m"}))
    assert row.lacks == 1 and "no width written down" in row.notes[0]


def test_an_unrated_sling_is_counted_and_noted():
    (row,) = held_against((SHORT,), owned({"kind": "sling", "length": "9 m", "width": "5 cm"}))
    assert row.has == 1 and "rated strength" in row.notes[0]
    (rated,) = held_against((SHORT,), owned({"kind": "sling", "length": "9 m", "width": "5 cm", "rating": "30 kN"}))
    assert rated.notes == ()


def named(name: str):
    return said("pack-piece", piece=said("name-alone", name=name))


CARPET = said("pad-alone", material="carpet")
NAMED = [
    ("sign", said("pack-flag"), "Flags", True), ("sign", said("pack-flag"), "FAHNE", True),
    ("sign", said("pack-flag"), "twelve flags", False), ("sign", said("pack-notice"), "flags", False),
    ("measuring", said("pack-compass"), "Brujula", True),
    ("measuring", said("pack-compass"), "compass bag, empty", False),
    ("measuring", said("pack-compass"), "compass, broken", False), ("measuring", said("pack-tape"), None, False),
    ("measuring", said("pack-tape"), "cinta", False), ("measuring", said("pack-tape"), "cinta métrica", True),
    ("ground", said("pack-mat"), "tapis", True), ("hygiene", said("pack-brush"), "hand brush", True),
    ("link", said("pack-link"), "soft shackle", True), ("link", said("pack-link"), "Schäkel", True),
    ("link", said("pack-link"), "broken shackle", False), ("link", said("pack-link"), None, True),
    ("pad", CARPET, "carpet", True), ("pad", CARPET, "carpet knives", False), ("pad", CARPET, "towel", False),
    ("pad", CARPET, "tree pads", True), ("pad", said("pad-alone", material="carpet or felt"), "Filz", True),
    ("sling", said("pack-sling", wrap="basket"), "round slings", True),
    ("sling", said("pack-sling", wrap="basket"), "sling bag", False),
    ("rigging", piece("leash"), "leash", True), ("rigging", piece("leash"), "leash ring", False),
    ("rigging", piece("leash ring"), "Leash-Ring", True), ("rigging", piece("leash"), "Leash-Ring", False),
    ("rigging", piece("rope"), "frein de corde", False), ("rigging", piece("webbing grip"), "webbing", False),
    ("rigging", named("blue winch"), "Blue  Winch", True), ("rigging", named("blue winch"), "old blue winch", False),
]  # fmt: skip


@pytest.mark.parametrize("kind, wanted, there, has", NAMED)
def test_a_thing_goes_by_its_whole_name_and_by_no_part_of_it(kind, wanted, there, has):
    (row,) = held_against((PackItem(kind, wanted, 1),), owned({"kind": kind, "what": there}))
    assert bool(row.has) == has


def test_what_bears_the_name_of_no_kind_is_told_as_not_counted():
    mine = owned({"kind": "link", "what": "broken shackle"}, {"kind": "link", "what": "shackle"},
                 {"kind": "sign", "what": "shackle"}, {"kind": "pad"})  # fmt: skip
    assert [(one.code, dict(one.values)["name"]) for one in not_counted(mine)] == [
        ("owned-of-no-kind", "broken shackle"), ("owned-of-no-kind", "shackle")]  # fmt: skip


def test_no_wording_decides_what_is_counted(monkeypatch):
    """Whatever papers call a thing: with every word and wording another one, what is there is the same."""
    monkeypatch.setattr("siteassess.reference.findings.wording", lambda code, *_, **__: f"carpet knives {code}")
    monkeypatch.setattr("siteassess.reference.findings.word", lambda english, *_: f"carpet knives {english}")
    for kind, wanted, there, has in NAMED:
        (row,) = held_against((PackItem(kind, wanted, 1),), owned({"kind": kind, "what": there}))
        assert bool(row.has) == has


def test_every_kind_of_a_list_of_gear_and_every_pad_has_a_name():
    known = {(row["kind"], one) for row in rows("owned_names") for one in row["means"]}
    assert {kind for kind, _ in known} == set(get_args(OwnedKind))
    recorded = set(get_args(GearKind)) - set(COUNTED_BY_TIES)
    assert {one for kind, one in known if kind == "rigging"} == recorded
    assert {row["id"] for row in rows("pads") if row.get("stiffness")} <= {one for kind, one in known if kind == "pad"}


@quick
@given(st.lists(st.integers(1, 9), max_size=6), st.lists(st.integers(1, 9), max_size=6))
def test_as_many_ties_are_filled_as_can_be(wanted, there):
    items = tuple(PackItem("sling", plainly(f"tie {index}"), 1, float(length), 0.05)
                  for index, length in enumerate(wanted))  # fmt: skip
    mine = owned(*({"kind": "sling", "length": f"{length} m", "width": "50 mm"} for length in there))
    filled = sum(row.has for row in held_against(items, mine))
    assert filled == _greatest(wanted, there)


def _greatest(wanted, there) -> int:
    """Shortest ties first, each from the shortest sling that reaches: the greatest dealing on one size."""
    free, filled = sorted(there), 0
    for length in sorted(wanted):
        fit = next((one for one in free if one >= length), None)
        if fit is not None:
            free.remove(fit)
            filled += 1
    return filled


def test_a_faulty_list_names_every_line(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text(
        "siteassess_owned: 1\nowned:\n  - {kind: slings, count: 2}\n  - {kind: sling, length: 3}\n"
        "  - {kind: pad, count: 0, thick: 5 mm}\n", encoding="utf-8",
    )  # fmt: skip
    with pytest.raises(FaultyInput) as caught:
        read_owned(path)
    assert {fault.line for fault in caught.value.faults} == {3, 4, 5} and len(caught.value.faults) == 4
    path.write_text("- sling\n", encoding="utf-8")
    with pytest.raises(FaultyInput, match="siteassess_owned: 1"):
        read_owned(path)


def test_between_planes_a_disinfectant_is_brought_and_for_other_trees_none():
    for species, brought in (("Platanus x hispanica", 1), ("Fraxinus excelsior", 0)):
        lines = assess(record({"site.country": "FR", "T1.species.name": species})).lines
        items = packing_list([replace(line, verdict="suits if") for line in lines])
        assert sum("disinfectant" in item.what for item in items) == brought
