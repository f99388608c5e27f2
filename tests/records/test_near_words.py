"""What people type for a word of a record is told as a hint, yes and true are one, and all faults come in one run."""

import pytest

from siteassess.errors import FaultyInput, UnknownName
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.loading import load_record
from siteassess.records.reading import read_text
from siteassess.records.record import Record
from siteassess.records.schema import fields
from siteassess.records.sentences import near_names
from siteassess.reference.near_words import meant_by
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows

RECORD = """\
siteassess_record: 1
site: {name: Testing Green (invented), invented: INVENTED}
survey: {by: N. Body (invented), date: 2026-04-18}
anchors:
  - kind: tree
    code: T1
    species: {name: oak}
    MORE
  - {kind: tree, code: T2, species: {name: oak}}
lines:
  - {id: L1, use: USE, a: {anchor: T1, sling: {wrap: WRAP}}, b: {anchor: T2}}
"""


def text(**edits):
    told = RECORD
    for word, put in {"INVENTED": "true", "MORE": "tag: a", "USE": "low line", "WRAP": "basket", **edits}.items():
        told = told.replace(word, put)
    return told


def hint(**edits) -> str:
    with pytest.raises(FaultyInput) as caught:
        read_text(text(**edits))
    (fault,) = caught.value.faults
    return fault.mend


@pytest.mark.parametrize("edits, wanted", [
    ({"USE": "slackline"}, "low line, trick line, long line, high line"),
    ({"USE": "highline"}, "high line"),
    ({"USE": "Hängematte"}, "hammock"),
    ({"WRAP": "doubled"}, "doubled basket"),
    ({"WRAP": "baskett"}, "basket"),
    ({"MORE": "girth: 142 cm"}, "`girth` stands below `trunk:`"),
    ({"MORE": "umfang: 142 cm"}, "`girth` stands below `trunk:`"),
    ({"MORE": "lat: 54.5"}, "`lat` stands below `position.fixes:`"),
    ({"MORE": "dead_tree: yes"}, "`dead_tree` stands below `signs:`"),
    ({"MORE": "heigth: 12 m"}, "height"),
    ({"MORE": "baumhöhe: 12 m"}, "height"),
    ({"MORE": "qqqq: 12 m"}, "Delete it"),
    ({"MORE": "x: 12 m"}, "Delete it"),
])  # fmt: skip
def test_what_was_meant_is_told(edits, wanted):
    assert wanted in hint(**edits)


def test_an_id_is_told_to_be_a_code():
    with pytest.raises(FaultyInput) as caught:
        read_text(text().replace("code: T1", "id: T1", 1))
    assert any(fault.field.endswith(".id") and "code" in fault.mend for fault in caught.value.faults)


@pytest.mark.parametrize("typed, kept", [("yes", True), ("true", True), ("no", False), ("false", False),
                                         ("'yes'", True)])
def test_yes_is_true(typed, kept):
    assert read_text(text(INVENTED=typed)).site.invented is kept


@pytest.mark.parametrize("typed, kept", [("true", "yes"), ("yes", "yes"), ("false", "no"), ("not looked", "not looked"),
                                         ("'true'", "yes")])
def test_true_is_yes(typed, kept):
    """And nothing else becomes a "no": what was not looked at never counts as one."""
    assert read_text(text(MORE=f"signs: {{dead_tree: {typed}}}")).anchor("T1").signs.dead_tree == kept


@pytest.mark.parametrize("typed", ["1", "0", "maybe", "nope", "''", "[]", "none"])
def test_what_is_neither_is_refused(typed):
    with pytest.raises(FaultyInput):
        read_text(text(MORE=f"signs: {{dead_tree: {typed}}}"))
    with pytest.raises(FaultyInput):
        read_text(text(INVENTED=typed))


def test_faults_of_form_fields_and_rules_come_in_one_run(tmp_path):
    path = tmp_path / "park.yaml"
    path.write_text(text(USE="slackline").replace("site: {", "site: {rules: {id: Nobody, clauses: [{kind: spam}]}, "))
    with pytest.raises(FaultyInput) as caught:
        load_record(path)
    fields_told = {fault.field.split(".")[0] for fault in caught.value.faults}
    assert fields_told >= {"site", "lines[L1]"}
    assert any(fault.field.startswith("site.rules") for fault in caught.value.faults)
    path.write_text(text(USE="slackline").replace("site: {", "site: {rule_set: nowhere_at_all, "))
    with pytest.raises(FaultyInput) as caught:
        load_record(path)
    assert {fault.field for fault in caught.value.faults} == {"site.rule_set", "lines[L1].use"}


def test_the_table_means_words_of_a_record():
    known = {asked.name for part in (Record, *ANCHOR_KINDS.values()) for asked in fields(part)}
    known |= {str(one) for part in (Record, *ANCHOR_KINDS.values()) for asked in fields(part) for one in asked.choices}
    for row in rows("near_words"):
        assert row["typed"] and set(row["means"]) <= known, row


def test_a_word_of_another_language_is_that_of_its_answer():
    assert meant_by("Hängematte") == ("hammock",) and meant_by("nothing of the sort") == ()
    assert near_names("Doubled", ["basket", "doubled basket"]) == ("doubled basket",)


@pytest.mark.parametrize("typed, near", [("oka", "oak"), ("bech", "beech"), ("elmm", "elm")])
def test_a_short_name_with_a_slip_is_told_its_tree(typed, near):
    with pytest.raises(UnknownName, match=near):
        find_species(typed)
