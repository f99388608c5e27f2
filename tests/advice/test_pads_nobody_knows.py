"""A pad that is none, or in no table, bears nothing and earns no answer of a rule; and bark nobody looked at."""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.gear_inputs import pad_planned
from siteassess.advice.results import LineResult
from siteassess.records.line import End
from siteassess.reference.names import is_nothing

NO_PADS = ("none", "None seen", "kein", "Kein Polster", "no pad", "aucun", "néant", "ninguna", "sin protección")


def judged(material: str | None) -> LineResult:
    padding = None if material is None else {"material": material, "thickness": "10 mm", "goes_round": "whole trunk"}
    (line,) = assess(record({"site.rule_set": "leipzig_de", "L1.a.padding": padding, "L1.b.padding": padding})).lines
    return line


@pytest.mark.parametrize("material, planned", [("none", False), ("sponge", False), ("carpet", True), (None, True)])
def test_the_size_of_what_is_no_pad_answers_no_rule(material, planned):
    end = End.model_validate({"anchor": "T1", "padding": {"material": material, "thickness": "10 mm"}})
    assert (pad_planned(end) is not None) == planned


def test_one_list_tells_what_is_nothing_in_four_languages():
    assert all(is_nothing(name) for name in NO_PADS) and not is_nothing("carpet") and not is_nothing("no carpet")


@pytest.mark.parametrize("material", ["none", "Kein Polster", "sponge", "no carpet"])
def test_what_is_no_known_pad_is_judged_as_no_pad_and_meets_no_rule(material):
    bare, line = judged(None), judged(material)
    clauses = [clause for end in line.anchors for clause in end.rules.clauses]
    answers = {clause.answer for clause in clauses if clause.clause in ("padding", "pad materials")}
    assert answers == {"cannot tell"}
    assert line.verdict == bare.verdict
    for told, without in zip(line.anchors, bare.anchors):
        assert told.protection.pressure_pa == pytest.approx(without.protection.pressure_pa)
        assert told.protection.movement.rubs == without.protection.movement.rubs
        assert {finding.code for finding in without.findings} <= {finding.code for finding in told.findings}


SLATS = {"slat_width": "30 mm", "slat_length": "25 cm", "slat_thickness": "20 mm"}


def end_a(padding: dict | None):
    (line,) = assess(record({"L1.a.padding": padding})).lines
    return line.anchors[0]


@pytest.mark.parametrize("padding", [
    None, {"slats": 1}, {"slats": 1, **SLATS}, {"slats": 3}, {"material": "carpet", "thickness": "0 mm"},
    {"material": "felt", "width": "0 cm"}, {"material": "felt", "width": "1 cm"},
    {"material": "felt", "width": "14.9 cm"},
])  # fmt: skip
def test_one_slat_slats_of_no_size_and_a_pad_of_none_lie_under_no_sling(padding):
    end = end_a(padding)
    assert end.verdict == "suits if" and "rubs-without-pads" in {one.code for one in end.findings}


def test_one_slat_presses_no_less_than_two():
    one, two = (end_a({"slats": count, **SLATS}) for count in (1, 2))
    assert one.care_use > two.care_use > 1


def test_slats_taken_out_that_were_all_that_lay_there_ask_for_pads():
    """The remedy done: what it brings is what it says it brings."""
    (taken, *_) = (one for one in end_a({"slats": 2, **SLATS}).remedies if one.what.code == "slats-taken-out")
    done = end_a(None)
    assert taken.reaches == done.verdict == "suits if"
    assert {one.code for one in taken.still} == {one.met_by.code for one in done.findings if one.met_by}
    (padded, *_) = (one for one in end_a({"slats": 2, "material": "carpet", **SLATS}).remedies
                    if one.what.code == "slats-taken-out")
    assert padded.reaches == "suits" and not padded.still


@pytest.mark.parametrize("edits", [{"T1.bark": None}, {"T1.bark.form": "unknown"}])
def test_a_form_of_bark_that_nobody_looked_at_is_said_to_be_unseen(edits):
    """The kind's usual bark is ridged and clears no trunk: it gives neither the reason nor advice to pad less."""
    (line,) = assess(record({"T1.species.name": "Quercus robur", **edits}), remedies=False).lines
    found = line.anchors[0].protection
    assert found.pad_scope == "whole trunk"
    assert "pad-all-round-unseen" in {says.code for says in found.told}
    assert not any("where the sling rubs" in says for says in found.advice)


def test_a_pad_narrower_than_the_sling_is_no_pad_and_a_wider_sling_asks_for_a_wider_one():
    """A doubled basket of 75 mm lies 15 cm wide; of a sling nobody measured the narrowest that is asked for counts."""
    wide = {"material": "felt", "thickness": "10 mm", "goes_round": "whole trunk"}
    just, nobody = end_a(wide | {"width": "15 cm"}), {"L1.a.sling": {"wrap": "basket"}, "site.rule_set": "leipzig_de"}
    assert just.verdict == "suits"
    for width, counts in (("4.9 cm", False), ("5 cm", True)):
        (line,) = assess(record(nobody | {"L1.a.padding": wide | {"width": width}})).lines
        answers = {clause.answer for clause in line.anchors[0].rules.clauses if clause.clause == "padding"}
        assert answers == {"met" if counts else "cannot tell"}
        assert ("rubs-without-pads" in {one.code for one in line.anchors[0].findings}) != counts
