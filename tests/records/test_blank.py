"""The blank record: every question of the form, nothing made up, and plain about what is still to fill in."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput
from siteassess.records.anchor import Boulder, Other, Signs, Tree
from siteassess.records.blank import blank_record, filled_record
from siteassess.records.line import Line
from siteassess.records.reading import read_text
from siteassess.records.record import Record
from siteassess.records.schema import fields, members
from siteassess.records.site import Site, Survey
from siteassess.records.writing import write_text

TODAY = datetime.date(2026, 6, 1)


def filled(blank: str) -> str:
    needed = {"  name:": "Otter Mead", "  by:": "Ada Example", "  date:": "2026-05-01", "    use:": "hammock"}
    for key, value in needed.items():
        found = next(line for line in blank.splitlines() if line.startswith(key + " ") or line == key)
        blank = blank.replace(found, f"{key} {value}", 1)
    return blank


@pytest.mark.parametrize("full", [False, True])
def test_an_untouched_blank_names_every_line_still_to_fill_in_and_nothing_else(full):
    blank = blank_record(full)
    with pytest.raises(FaultyInput) as caught:
        read_text(blank, today=TODAY)
    faults = caught.value.faults
    assert [fault.field for fault in faults] == ["site.name", "survey.by", "survey.date", "lines[L1].use"]
    for fault in faults:
        assert fault.read == "nothing"
        assert blank.splitlines()[fault.line - 1].strip().startswith(fault.field.split(".")[-1] + ":")


@pytest.mark.parametrize("full", [False, True])
def test_a_blank_with_its_needed_lines_filled_in_reads_and_holds_nothing_made_up(full):
    record = read_text(filled(blank_record(full)), today=TODAY)
    assert [anchor.code for anchor in record.anchors] == ["T1", "T2"]
    tree = record.anchor("T1")
    assert tree.model_fields_set == {"kind", "code", "signs"}
    assert tree.signs == Signs()
    line = record.lines[0]
    assert line.model_fields_set == {"id", "use", "a", "b"}
    assert (line.a.anchor, line.b.anchor) == ("T1", "T2")
    assert read_text(write_text(record), today=TODAY) == record


@pytest.mark.parametrize("full", [False, True])
def test_every_question_of_the_form_stands_in_the_blank(full):
    text = " ".join(blank_record(full).replace("#", " ").split())
    models = (Site, Survey, Tree, Line)
    for asked in (asked for model in models for asked in fields(model, quick=not full)):
        if asked.name in ("kind", "anchor", "signs", "fixes"):
            continue
        assert f"{asked.name}:" in text
        assert asked.question in text, asked.question


def test_every_stop_sign_is_asked_by_itself_and_stands_as_not_looked():
    for blank in (blank_record(), blank_record(full=True)):
        for sign in members(Signs):
            assert blank.count(f"      {sign.name}: not looked") == 2


def test_the_full_blank_names_every_field_of_every_kind_of_anchor():
    text = blank_record(full=True)
    for model in (Record, Tree, Boulder, Other, Line):
        for asked in fields(model):
            assert f"{asked.name}:" in text, asked.path


def test_lines_stay_within_the_page():
    for full in (False, True):
        assert max(map(len, blank_record(full).splitlines())) <= 120


READABLE = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp"))


@settings(max_examples=100, deadline=None)
@given(st.text(READABLE, min_size=1, max_size=60))
def test_any_text_that_is_filled_in_reads_back_as_it_was(text):
    text = text.strip() or "x"
    trunk = [{"girth": "1 m", "read_at": "1 m"}] * 2
    tree = {"kind": "tree", "code": "T1", "name": text, "notes": text, "trunk": trunk}
    whole = {"site": {"name": text}, "survey": {"by": text, "date": "2026-05-01"}, "anchors": [tree], "note": text}
    try:
        record = read_text(filled_record(whole), "filled")
    except FaultyInput as refusal:  # a sign that no record takes, or a blank that YAML folds
        assert "character" in str(refusal) or not text.isprintable()
        return
    anchor = record.anchors[0]
    assert {record.site.name, record.survey.by, record.note, anchor.name, anchor.notes} == {text}
    assert len(anchor.trunk) == 2 and record.lines == ()
