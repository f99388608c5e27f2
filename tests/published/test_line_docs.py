"""The three measured lines stand in the docs with their errors as they are (Volery, web article, undated; read)."""

from pathlib import Path

from siteassess.advice.measured_lines import measured_table
from siteassess.mechanics.calibration import CASES, MEASURED_LINES

DOCS = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


def test_the_printed_table_is_what_the_program_works_out_today():
    assert measured_table() in DOCS.read_text(encoding="utf-8")


def test_every_line_and_case_is_in_it():
    table = measured_table()
    assert all(f"| {line.name} | {case} |" in table for line in MEASURED_LINES for case in CASES)
