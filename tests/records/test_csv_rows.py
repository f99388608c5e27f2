"""The spreadsheet form: the same record and the same faults as YAML, by row and column."""

from __future__ import annotations

import csv
import datetime
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import trees

from siteassess.errors import FaultyInput
from siteassess.records.anchor import Signs
from siteassess.records.csv_rows import blank_csv, columns, csv_record, read_csv_with_lines
from siteassess.records.doubtful import check_readings
from siteassess.records.loading import load_with_lines
from siteassess.records.reading import read_text
from siteassess.records.schema import members
from siteassess.records.writing import as_plain

TODAY = datetime.date(2026, 6, 1)
HEADER = "code,tag,position.lat,position.lon,trunk.girth,trunk.read_at,signs.dead_tree,site.name,survey.by,survey.date"
FIRST = "T1,12,51.50123,-1.25321,142 cm,1.3 m,no,Otter Mead,Ada Example,2026-05-01"

YAML = """\
siteassess_record: 1
site: {name: Otter Mead}
survey: {by: Ada Example, date: 2026-05-01}
anchors:
  - kind: tree
    code: T1
    tag: "12"
    position: {lat: 51.50123, lon: -1.25321}
    trunk: [{girth: 142 cm, read_at: 1.3 m}]
    signs: {dead_tree: no}
"""


def faults_of(text: str):
    with pytest.raises(FaultyInput) as caught:
        csv_record(text, "trees.csv", TODAY)
    return {(fault.line, fault.field): fault for fault in caught.value.faults}


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_row_is_the_same_tree_as_in_yaml(tmp_path, delimiter):
    path = tmp_path / "trees.csv"
    path.write_text("\ufeff" + f"{HEADER}\r\n{FIRST}\r\n".replace(",", delimiter), encoding="utf-8", newline="")
    assert read_csv_with_lines(path, TODAY).record == read_text(YAML, today=TODAY)


def test_columns_may_stand_in_any_order_and_blank_rows_between():
    rows = [line.split(",")[::-1] for line in (HEADER, FIRST)]
    text = "\n".join([",".join(rows[0]), ",,,", ",".join(rows[1]), "", ","])
    assert csv_record(text, today=TODAY).record == read_text(YAML, today=TODAY)


FAULTY = f"""\
{HEADER},girht,code
{FIRST}
T2,13,"51,5",-1.25,"1,425 mm",,nope,Otter Mead,,
,14,51.5,-1.2,142,1.3 m,no,Otter Park,,
T1,15,NaN,370,4 kg,1.3 m,no,,,
T5,16,.inf,-1,1 m,1 m,no,,,,,,beyond
"""


def test_every_fault_is_named_by_row_and_column():
    found = faults_of(FAULTY)
    assert set(found) == {
        (1, "column girht"), (1, "column code"),
        (3, "column position.lat"), (3, "column trunk.girth"), (3, "column trunk.read_at"),
        (3, "column signs.dead_tree"),
        (4, "column code"), (4, "column trunk.girth"), (4, "column site.name"),
        (5, "column code"), (5, "column position.lat"), (5, "column position.lon"), (5, "column trunk.girth"),
        (6, "column position.lat"), (6, "beyond the last column"),
    }  # fmt: skip
    assert "Did you mean trunk.girth?" in found[1, "column girht"].mend or "template" in found[1, "column girht"].wanted
    assert "line 2" in found[5, "column code"].wanted
    assert "as in row 2" in found[4, "column site.name"].wanted


def test_what_is_needed_of_site_and_survey_is_asked_for():
    found = faults_of("code\nT1\n")
    assert {field for _, field in found} == {"column site.name", "column survey.by", "column survey.date"}


def test_the_template_holds_every_quick_question_and_every_stop_sign():
    rows = list(csv.reader(io.StringIO(blank_csv())))
    assert rows[0] == list(columns(full=False))
    for sign in members(Signs):
        index = rows[0].index(f"signs.{sign.name}")
        assert all(row[index] == "not looked" for row in rows[1:])
    filled = blank_csv().replace(",,,,,,T1", "Otter Mead,,,Ada Example,2026-05-01,,T1", 1)
    record = csv_record(filled, today=TODAY).record
    assert [tree.code for tree in record.anchors] == ["T1", "T2", "T3"]
    assert record.anchors[0].signs == Signs()


def test_an_untouched_template_says_what_is_still_to_fill_in():
    found = faults_of(blank_csv())
    assert {field for _, field in found} == {"column site.name", "column survey.by", "column survey.date"}


def test_warnings_name_the_row(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text(f"{HEADER}\n{FIRST}\nT2,12,51.6,-1.25321,142 cm,1.3 m,no,,,\n", encoding="utf-8")
    read = load_with_lines(path)
    assert (3, "anchors[T2].tag") in {(warning.line, warning.field) for warning in check_readings(read.record, read)}


def _cells(tree) -> dict[str, str] | None:
    """One tree as cells, or None where it holds more than a row can."""
    cells = {}
    for header, column in columns().items():
        value = as_plain(tree) if column.is_of_the_tree else None
        for step in column.path:
            if isinstance(value, list):
                if len(value) > 1:
                    return None
                value = value[step] if value else None
            elif isinstance(value, dict) and step in value:
                value = value[step]
            else:
                value = None
        if value is not None:
            cells[header] = str(value)
    return cells


@settings(max_examples=80, deadline=None)
@given(trees())
def test_a_tree_put_into_cells_comes_back(tree):
    plain = {**as_plain(tree), "position": {"lat": 51.50123, "lon": -1.25321}}
    plain = {key: value[:1] if isinstance(value, list) else value for key, value in plain.items()}
    plain["code"] = "T1"
    yaml_tree = type(tree).model_validate(plain)
    cells = _cells(yaml_tree)
    cells |= {"site.name": "Otter Mead", "survey.by": "Ada Example", "survey.date": "2026-05-01"}
    cells |= {"position.lat": "51.50123", "position.lon": "-1.25321"}
    file = io.StringIO()
    csv.writer(file).writerows([list(cells), list(cells.values())])
    again = csv_record(file.getvalue(), today=TODAY).record.anchors[0]
    assert again == type(tree).model_validate(_stripped(plain))


def _stripped(value):
    if isinstance(value, dict):
        kept = {key: left for key, inner in value.items() if (left := _stripped(inner)) is not None}
        return kept or None
    if isinstance(value, list):
        return [_stripped(inner) for inner in value if inner]
    return value.strip() if isinstance(value, str) else value


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=200) | st.text('",;\n\rcode.trunkT1 \0', max_size=200))
def test_no_text_ends_in_anything_but_faults(text):
    for given_text in (text, HEADER + "\n" + text):
        with pytest.raises(FaultyInput):
            csv_record(given_text, today=TODAY)
