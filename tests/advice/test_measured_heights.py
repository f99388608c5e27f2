"""Heights over the ground that were measured, or wished for, beside those worked out."""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess

WALKED = {"L1.ground": None, "L1.ground_between": "level or rising, no dip", "L1.standing.tension": "4.5 kN",
          "L1.webbing": {"kind": "polyester"}, "L1.a.tie_height": "1 m", "L1.b.tie_height": "1 m"}  # fmt: skip


@pytest.mark.parametrize(("below", "word"), [(0.0, "suits"), (0.05, "suits"), (0.15, "suits if"), (None, "suits if")])
def test_a_height_measured_lower_than_worked_out_is_the_one_that_counts(below, word):
    """0.1 m where 0.25 m was worked out read "agrees", and 0 m "suits"; None is on the ground."""
    plain = assess(record(WALKED)).lines[0]
    feet = plain.clearance.mid_height_loaded_m
    assert plain.verdict == "suits" and 0.2 < feet < 0.3
    read = 0.0 if below is None else feet - below
    line_ = assess(record(WALKED | {"L1.mid_height": f"{read:.4f} m"})).lines[0]
    assert line_.verdict == word and line_.clearance.mid_height_loaded_m == pytest.approx(read, abs=1e-3)
    assert line_.clearance.touches == (below is None)


@pytest.mark.parametrize(("wish", "word"), [("20 cm", "suits"), ("1 m", "suits if")])
def test_a_wished_height_that_is_not_kept_is_a_condition(wish, word):
    line_ = assess(record(WALKED | {"L1.keep_clear": wish})).lines[0]
    assert line_.verdict == word
    assert any("keep 1 m" in one.condition for one in line_.findings) == (word == "suits if")
