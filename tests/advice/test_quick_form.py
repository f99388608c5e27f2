"""The quick form can reach a verdict, and a row copied from an inventory cannot."""

from __future__ import annotations

from typing import get_args

import pytest
from deciding_page import TARGET, page
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import SIGNS, data, record

from siteassess.advice.assess import assess
from siteassess.advice.verdict import DECIDING, STOP_SIGNS, WORST_CASE_TAKEN, boulder_deciding
from siteassess.mechanics.linkmove import SIDE_PUSH
from siteassess.mechanics.loadcases import USES
from siteassess.records.line import FROM_HEIGHT, ON_FOOT, Use
from siteassess.records.record import Record
from siteassess.records.schema import members


def quick_only(model, value):
    """A plain record with every field taken out that the quick form does not ask."""
    kept = {}
    for asked in members(model):
        if asked.name in value and (asked.quick or asked.required):
            inner = value[asked.name]
            models = asked.models
            if asked.kind == "part" and models and isinstance(inner, dict):
                inner = quick_only(models[0], inner)
            elif asked.kind == "parts" and isinstance(inner, list):
                inner = [quick_only(_model_for(models, one), one) for one in inner]
            kept[asked.name] = inner
    return kept


def _model_for(models, one):
    if len(models) == 1:
        return models[0]
    return next(model for model in models if one.get("kind") in str(model.model_fields["kind"].annotation))


def quick_record(edits: dict) -> Record:
    plain = data({"L1.webbing": {"kind": "polyester"}} | edits)
    for anchor in plain["anchors"]:
        position = anchor["position"]
        anchor["position"] = {"fixes": [position]}
    return Record.model_validate(quick_only(Record, plain))


STRONG = {f"{tree}.{path}": value for tree in ("T1", "T2")
          for path, value in (("trunk.0.girth", "280 cm"), ("height", "26 m"),
                              ("species.name", "Tilia cordata"))}  # fmt: skip


def test_a_quick_form_record_leaves_nothing_deciding_open():
    for end in assess(quick_record({})).lines[0].anchors:
        assert end.evidence.missing == ()


EASY = STRONG | {"L1.standing.tension": "1 kN", "L1.use": "low line"}


def test_quick_form_records_reach_every_verdict_but_the_best():
    """Softer signs and the lowest branch are beyond the quick form: to look for them is all that is asked then."""
    (best,) = {assess(quick_record(EASY)).lines[0].anchors[0].conditions}
    assert best == ("the lowest branch is above the tie",
                    "somebody has looked all round and up the tree for softer signs, and saw none")  # fmt: skip
    verdicts = {
        "suits": record(EASY),
        "suits if": quick_record({"T1.trunk.0.girth": "126 cm", "T1.height": "16 m",
                                  "T1.species.name": "Tilia cordata"}),
        "cannot say": quick_record({"T1.roots.W": "not looked"}),
        "leave it": quick_record({"T1.signs.stem_crack": "yes"}),
    }
    assert {wanted: assess(made).lines[0].anchors[0].verdict for wanted, made in verdicts.items()} == {
        wanted: wanted for wanted in verdicts}  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(st.integers(3, 250), st.sampled_from(["Quercus robur", "Platanus x hispanica", "unknown", "no such tree"]),
       st.none() | st.integers(3, 40), st.sampled_from(["hammock", "low line", "high line"]))  # fmt: skip
def test_a_row_copied_from_an_inventory_always_ends_in_cannot_say(diameter, name, height, use):
    row = {
        "kind": "tree", "code": "T1", "position": {"lat": 54.5, "lon": 2.5, "how": "inventory"},
        "species": {"name": name, "certainty": "think so"},
        "trunk": [{"diameter": f"{diameter} cm", "read_at": "1.3 m", "how": "copied"}], "source": "an invented list",
    }  # fmt: skip
    if height:
        row |= {"height": f"{height} m", "height_how": "copied"}
    end = assess(record({"anchors.0": row, "L1.use": use})).lines[0].anchors[0]
    assert end.verdict == "cannot say"


@pytest.mark.parametrize("use", DECIDING)
def test_every_stop_sign_decides_and_what_is_taken_at_its_worst_is_a_deciding_thing(use):
    assert {f"stop sign: {sign}" for sign in STOP_SIGNS.values()} <= set(DECIDING[use])
    assert set(WORST_CASE_TAKEN) <= set().union(*map(set, DECIDING.values()))


def test_every_kind_of_line_has_its_loads_its_deciding_things_and_its_side_push():
    assert set(get_args(Use)) == set(USES) == set(DECIDING) == set(SIDE_PUSH)
    assert set(get_args(Use)) == {"hammock", *ON_FOOT, *FROM_HEIGHT}, "who walks on it, or falls from it?"


def test_the_counts_are_those_told():
    assert {use: len(things) for use, things in DECIDING.items()} == {
        "hammock": 24, "low line": 26, "trick line": 26, "long line": 26, "high line": 28, "aerial equipment": 26,
    }  # fmt: skip
    assert len(boulder_deciding("low line")) == 16
    assert len(SIGNS) == len(STOP_SIGNS) == 10


def test_the_published_page_is_what_the_program_writes_today():
    """Keeps the page current and proves nothing of what it lists; the counts above are typed by hand."""
    assert TARGET.read_text(encoding="utf-8") == page()
