"""The shipped rule sets keep to the schema, keep their wording's facts, and faults come all at once."""

import copy
import json

import pytest
from pydantic import TypeAdapter
from schema_head import SCHEMA_DRAFT

from siteassess.errors import FaultyInput, UnknownName
from siteassess.reference.languages import load_yaml
from siteassess.reference.locate import data_folder
from siteassess.reference.rules import RuleSet, read_rule_set, rule_ids, rule_set


def plain(rule_id):
    return load_yaml(data_folder() / "rules" / f"{rule_id}.yaml")


def test_there_are_39_sets():
    assert len(rule_ids()) == 39


@pytest.mark.parametrize("rule_id", rule_ids())
def test_set_is_whole_dated_and_says_to_check_the_text(rule_id):
    rules = rule_set(rule_id)
    assert rules.id == rule_id
    assert "heck the land manager's current text" in rules.check_current_text
    assert rules.as_of == "2026-11"
    assert rules.flag == "read"
    ids = [clause.id for clause in rules.clauses]
    assert len(ids) == len(set(ids))
    assert rules.clauses or rules.status == "allowed with conditions"
    for clause in rules.clauses:
        assert set(clause.uses) <= set(rules.uses)
    if rules.status in ("prohibited", "posts only"):
        assert any(clause.kind == "trees" and clause.asks == "barred" for clause in rules.clauses)


@pytest.mark.parametrize("rule_id", rule_ids())
def test_set_passes_the_published_schema(rule_id):
    jsonschema = pytest.importorskip("jsonschema")
    published = json.loads((data_folder() / "rules" / "schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(published)
    jsonschema.Draft202012Validator(published).validate(plain(rule_id))


def test_published_schema_is_the_one_the_program_checks_by():
    published = json.loads((data_folder() / "rules" / "schema.json").read_text(encoding="utf-8"))
    made = TypeAdapter(RuleSet).json_schema() | {"$schema": SCHEMA_DRAFT,
                                                 "title": "Land managers' rules for lines on trees"}  # fmt: skip
    assert published == json.loads(json.dumps(made))


def test_sizes_become_metres_and_keep_what_was_printed():
    clauses = {clause.id: clause for clause in rule_set("fort_collins_co_us").clauses}
    assert clauses["trunk-diameter"].value == 18 and clauses["trunk-diameter"].unit == "in"
    assert clauses["trunk-diameter"].value_m == pytest.approx(0.4572)
    assert clauses["trunk-diameter"].measured_at_m == pytest.approx(1.2192)
    assert clauses["conifers"].uses == ("slackline",)
    pad = next(clause for clause in rule_set("assoc_cologne_club").clauses if clause.kind == "pad width")
    assert pad.unit == "sling widths" and pad.value_m is None


def test_numbers_that_were_not_read_are_no_clauses():
    rules = rule_set("san_luis_obispo_ca_us")
    assert not any(clause.kind == "trunk diameter" for clause in rules.clauses)
    assert "recalled" in rules.excerpt_note


def test_second_hand_stays_second_hand():
    assert rule_set("lyon_fr").second_hand and not rule_set("basel_ch").second_hand
    attended = next(clause for clause in rule_set("fort_collins_co_us").clauses if clause.id == "attended")
    assert attended.second_hand


def test_faults_come_all_at_once():
    faulty = copy.deepcopy(plain("basel_ch"))
    faulty["clauses"][0]["unit"] = "furlong"
    faulty["clauses"][1]["value"] = -120
    faulty["status"] = "maybe"
    faulty["colour"] = "green"
    del faulty["place"]
    with pytest.raises(FaultyInput) as refusal:
        read_rule_set(faulty, "my rules")
    assert len(refusal.value.faults) == 5
    assert "my rules: 5 faults" in str(refusal.value)
    with pytest.raises(FaultyInput):
        read_rule_set(["not", "a", "set"], "my rules")


def test_unknown_set_tells_where_the_others_are_listed():
    with pytest.raises(UnknownName, match="siteassess rules list"):
        rule_set("atlantis")
