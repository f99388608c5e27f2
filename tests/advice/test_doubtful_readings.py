"""A clause whose reading is doubtful is left open; and each says which text it is of, and whose account that is."""

from __future__ import annotations

import pytest
from rule_cases import answer_of, held, use_for

from siteassess.advice.rules import check_end
from siteassess.reference.rules import RuleSet, rule_ids, rule_set


def answers(rule_id: str, clause_id: str, *cases: dict) -> list[str]:
    return [answer_of(rule_set(rule_id), clause_id, edits).answer for edits in cases]


def test_a_strap_laid_double_is_not_known_to_be_as_wide_as_its_strands_together():
    strands = [{"L1.a.sling": {"wrap": "basket", "width": width, "strands": number}}
               for width, number in (("5 cm", 1), ("4 cm", 2), ("5 cm", 2), ("10 cm", 2))]  # fmt: skip
    assert answers("basel_ch", "strap-width", *strands) == ["not met", "not met", "cannot tell", "met"]


def test_thick_scaly_bark_is_for_a_person_to_see():
    forms = [{"T1.bark.form": form} for form in ("fine fissured", "plated", "smooth")]
    assert answers("basel_ch", "bark", *forms) == ["cannot tell"] * 3


def test_a_limit_that_a_permit_may_lift_is_left_open_past_it():
    short, long = ({"L1.span.taped": span} for span in ("18 m", "19 m"))  # of 60 ft
    permit = {"site.permission": {"basis": "permit", "expires": "2026-04-20"}}
    assert answers("fort_collins_co_us", "span", short, long, long | permit) == ["met", "cannot tell", "cannot tell"]
    spoken = {"site.permission": {"basis": "spoken word"}}
    assert answers("fort_collins_co_us", "permit", long | spoken, long | permit) == ["not met", "met"]


def test_a_stop_sign_answers_whether_a_tree_is_alive():
    signs = [{"T1.signs.dead_tree": answer} for answer in ("no", "yes", "not looked")]
    assert answers("wisconsin_state_parks_us", "alive", *signs) == ["met", "not met", "cannot tell"]


@pytest.mark.parametrize("rule_id", ["madison_wi_us", "wisconsin_state_parks_us", "carleton_college_mn_us"])
def test_whether_a_line_of_several_days_comes_down_each_evening_is_left_open(rule_id):
    days = [{}, {"L1.planned.until": "2026-04-20"}, {"L1.planned.until": "2026-04-21"}, {"L1.planned.date": None}]
    assert answers(rule_id, "take-down-daily", *days) == ["met", "met", "cannot tell", "cannot tell"]


@pytest.mark.parametrize(("asks", "names", "material", "told"), [
    ("barred", "carpet", "carpet", "not met"), ("barred", "car", "carpet", "met"),
    ("barred", "Carpets (worn)", "carpet", "not met"), ("barred", "carpet", "no carpet", "cannot tell"),
    ("barred", "substantial carpet", "carpet", "cannot tell"), ("barred", "felt", "straw", "cannot tell"),
    ("only", "carpet", "carpet", "met"), ("only", "substantial carpet", "carpet", "cannot tell"),
    ("preferred", "carpet", "carpet", "met"), ("preferred", "carpet", "felt", "cannot tell"),
])  # fmt: skip
def test_a_name_is_matched_whole_and_what_is_part_of_it_is_left_open(asks, names, material, told):
    clause = {"id": "own", "kind": "pad materials", "asks": asks, "names": [names]}
    rules = RuleSet.model_validate({**rule_set("basel_ch").model_dump(), "clauses": [clause]})
    assert check_end(rules, held({"L1.a.padding.material": material})).clauses[-1].answer == told


@pytest.mark.parametrize(("named", "what", "told"), [
    ("fences", "fence", "not met"), ("light poles", "pole", "cannot tell"), ("art", "cart", "cannot tell"),
])  # fmt: skip
def test_an_object_is_listed_by_whole_words(named, what, told):
    clause = {"id": "own", "kind": "objects", "asks": "barred", "names": [named]}
    rules = RuleSet.model_validate({**rule_set("basel_ch").model_dump(), "clauses": [clause]})
    post = {"anchors.0": {"kind": "other", "code": "T1", "what": what}}
    assert check_end(rules, held(post)).clauses[-1].answer == told


def test_a_place_is_named_whole_and_a_part_of_a_name_is_left_open():
    names = ("Pembroke Park", "Pembroke Park (invented)", "Pembroke", "Pembroke Park East", "Pembrokeshire")
    told = answers("queenstown_lakes_nz", "places-signed-out", *({"site.name": name} for name in names))
    assert told == ["not met", "not met", *["cannot tell"] * 3]


# ---- the date of the text and whose account it is


def test_every_clause_says_which_text_it_is_of_and_whether_it_was_seen_at_second_hand():
    for rule_id in rule_ids():
        rules = rule_set(rule_id)
        checked = check_end(rules, held(use_for(rules, rules.clauses[0])))
        dated = rules.source.dated
        told = f"text of {dated}" if dated else "text without a date"
        hands = {clause.id: clause.second_hand or rules.second_hand for clause in rules.clauses}
        for one in checked.clauses:
            assert told in one.source, rule_id
            named = one.source.split(", clause ")
            if len(named) == 2:
                assert one.source.endswith(", second hand") == hands[named[1].split(",")[0]], rule_id
    assert {bool(rule_set(name).source.dated) for name in rule_ids()} == {True, False}
