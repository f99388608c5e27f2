"""The three measured lines stand in the docs with their errors as they are (Volery, web article, undated; read)."""

import re
from pathlib import Path

from measured_lines import measured_table

from siteassess.mechanics.calibration import CASES, MEASURED_LINES

DOCS = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


# Tensions of the article in kN, transcribed apart from the program: walked, bounced, leash fall.
ARTICLE = {"63 m": (2.4, 3.6, 4.3), "39 m": (2.1, 3.3, 4.0), "41 m": (3.1, 4.4, 5.3)}


def test_the_printed_table_is_what_the_program_works_out_today():
    """Keeps the page current and proves nothing of its numbers; the next test reads the page against the article."""
    assert measured_table() in DOCS.read_text(encoding="utf-8")


def test_the_page_prints_the_articles_tensions_and_what_is_wrong_beside_them():
    page, seen = DOCS.read_text(encoding="utf-8"), 0
    for span, tensions in ARTICLE.items():
        rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in page.splitlines()
                if line.startswith(f"| {span}, ")]  # fmt: skip
        for (_, _, measured, *ours), tension in zip(rows, tensions, strict=True):
            assert measured == f"{tension:.1f} kN"
            for cell in ours:
                kilonewtons, error = re.fullmatch(r"([\d.]+) kN \(([+-]\d+)%\)", cell).groups()
                # the printed tension is rounded to 0.05 kN, its error to half a percent
                assert abs(float(kilonewtons) / tension - 1 - int(error) / 100) <= 0.05 / tension + 0.005
                seen += 1
    assert seen == 18


def test_every_line_and_case_is_in_it():
    table = measured_table()
    assert all(f"| {line.name} | {case} |" in table for line in MEASURED_LINES for case in CASES)
