"""Tables of a desk survey hold no cell that a spreadsheet would run."""

import csv
import io

import pytest

from siteassess.survey.files import table


@pytest.mark.parametrize("text", ["=1+1", "+1+1", "-1+1", "@SUM(1)", "|x", " =1", "＝1+1", "－1+1", "\t=1", "\rx"])
def test_a_cell_starts_no_formula(text):
    # marks: a public guide on formula injection (memory); the wide forms: common practice, no source
    rows = list(csv.reader(io.StringIO(table([{"note": text, "id": "T1"}]), newline="")))
    assert rows[1] == [f"'{text}", "T1"]



@pytest.mark.parametrize("value", [-12.5, "+3", "-1e-05", "Oak", "x=1", None])
def test_numbers_and_words_stay_as_they_are(value):
    rows = list(csv.reader(io.StringIO(table([{"note": value, "id": "T1"}]), newline="")))
    assert rows[1] == ["" if value is None else str(value), "T1"]
