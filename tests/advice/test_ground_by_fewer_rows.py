"""Fewer rows, a row past the end, a height measured beside them: none of it makes ground kinder than what was taped."""

from __future__ import annotations

import math

import numpy as np
import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.under_line import foot_of_b
from siteassess.mechanics.roots import SECTOR_BEARINGS_DEG, digging_behind, share_cut_off

WEAK = {"T1.trunk.0.girth": "118 cm", "T2.trunk.0.girth": "118 cm", "L1.standing.tension": "6 kN"}
ORDER = ("leave it", "cannot say", "suits if", "suits")


def rows(*pairs):
    return [{"at": f"{at} m", "height": f"{height} m"} for at, height in pairs]


def judged(edits):
    line = assess(record(edits), remedies=False).lines[0]
    return line, {one.code for one in line.findings}


@pytest.mark.parametrize("degrees", [15, 30])
@pytest.mark.parametrize("at", [(6, 12, 20), (5.5, 11, 16, 20), (0.9, 6, 12, 20), (12, 20)])
def test_a_hillside_taped_by_fewer_rows_is_as_steep(degrees, at):
    steep = math.tan(math.radians(degrees))
    close, far = (judged(WEAK | {"L1.ground": rows(*((x, round(-steep * x, 3)) for x in taped))})[0]
                  for taped in ((2, 4, 8, 12, 16, 20), at))  # fmt: skip
    for one, other in zip(close.anchors, far.anchors):
        assert other.hold_use == pytest.approx(one.hold_use, rel=2e-3)  # heights to a millimetre


@pytest.mark.parametrize("taped", [rows((10, -1.2)), rows((6, -1.2)), rows((2, -1.5), (18, -1.5))])
def test_the_word_level_says_nothing_against_a_row_that_dips(taped):
    """Said level and taped to dip is as strict as not said, and is told; a row no deeper than an eye misses is not."""
    said = {"L1.ground": taped, "L1.ground_between": "level or rising, no dip"}
    line, told = judged(WEAK | said)
    silent, _ = judged(WEAK | {"L1.ground": taped, "L1.ground_between": "unknown"})
    assert "ground-dips-otherwise" in told
    assert [end.hold_use for end in line.anchors] == [end.hold_use for end in silent.anchors]
    _, told = judged(WEAK | said | {"L1.ground": rows((10, -0.05))})
    assert "ground-dips-otherwise" not in told


BASE_ROWS = ((0, 0), (5, -0.5), (10, -1), (15, -0.5))


@pytest.mark.parametrize("rows_past, foot", [
    (((20, 0), (21, -1)), 0), (((20, 0), (25, -5)), 0), (((20, 0.4),), 0.4), (((19.9, 0.3), (20.3, -3)), 0.3),
    (((22, -1),), -0.5 - 0.5 * 5 / 7), (((19, -0.2), (24, 1)), -0.2),
    ((), None),
])  # fmt: skip
def test_the_foot_of_b_is_the_row_nearest_to_it(rows_past, foot):
    """20 m span: a row past B tells of the ground behind it. With none near before B, it lies between two, by hand."""
    line = record({"L1.ground": rows(*BASE_ROWS, *rows_past)}).lines[0]
    assert foot_of_b(line) == (foot if foot is None else pytest.approx(foot))


def test_a_row_past_b_changes_no_use():
    for weak in ("T1", "T2"):
        trunk = {f"{weak}.trunk.0.girth": "103 cm", "L1.standing.tension": "6 kN"}
        plain, past = (judged(trunk | {"L1.ground": rows(*BASE_ROWS, (20, 0), *more)})[0] for more in ((), ((21, -3),)))
        assert [end.hold_use for end in past.anchors] == [end.hold_use for end in plain.anchors]


@pytest.mark.parametrize("ground, told", [
    ({"L1.ground": rows((0, -1), (10, -1), (20, -1))}, True), ({"L1.ground": rows((0, 0.1), (10, 0), (20, 0))}, False),
    ({"L1.ground": [], "L1.ground_below": [{"at": f"{at} m", "down": "2.2 m"} for at in (5, 10, 15, 20)]}, True),
    ({"L1.ground": [], "L1.ground_below": [{"at": f"{at} m", "down": "1.2 m"} for at in (5, 10, 15, 20)]}, False),
])  # fmt: skip
def test_a_foot_taped_off_itself_is_a_contradiction(ground, told):
    line, codes = judged(ground)
    assert ("ground-foot-apart" in codes) is told and (not told or line.verdict == "cannot say")


@pytest.mark.parametrize("height, code, verdict", [
    ("0.5 m", "measured-higher", "suits if"), ("2.4 m", "measured-over-the-ties", "cannot say"),
    ("4 m", "high-as-a-high-line", "cannot say"),
])
def test_a_height_measured_over_what_was_worked_out_is_never_only_told(height, code, verdict):
    """The base's walker stands some 0.1 m over level ground between ties at 1.2 m: no line lies 2.4 m over it."""
    ground = {"L1.ground": rows((0, 0), (5, 0), (10, 0), (15, 0), (20, 0))}
    line, codes = judged(ground | {"L1.mid_height": height})
    assert code in codes and ORDER.index(line.verdict) <= ORDER.index(verdict)
    taut = ground | {"L1.standing.tension": "6 kN"}
    at_mid = judged(taut)[0].clearance.mid_height_loaded_m
    _, codes = judged(taut | {"L1.mid_height": f"{at_mid:.2f} m"})
    assert not codes & {"measured-higher", "measured-over-the-ties", "high-as-a-high-line"}


@pytest.mark.parametrize("off", [-22.4, -5.0, -1e-6, 0.0, 1e-6, 5.0, 22.4])
def test_an_edge_square_to_the_pull_runs_on_behind_it(off):
    """A trench listed south may lie anywhere from south-east to south-west: part of it is behind a pull to the east.

    A whole sector off, it is not.
    """
    south = np.where(SECTOR_BEARINGS_DEG == 180.0, 1.0, np.inf)
    assert float(digging_behind(south, 90.0 + off, 0.6)) == float(digging_behind(south, 270.0 - off, 0.6)) == 1.0
    whole = np.zeros(8)
    assert share_cut_off(whole, south, 90.0 + off, 0.6) > 0
    assert float(digging_behind(south, 112.6, 0.6)) == 0.0 and share_cut_off(whole, south, 112.6, 0.6) == 0


def test_a_line_written_from_its_other_end_gets_the_same_word():
    trench = {"T1.hard_edge_near": "yes", "T1.hard_edges": [{"what": "trench", "side": "S", "distance": "1 m"}],
              "L1.compass": None}  # fmt: skip
    turned = trench | {"L1.a.anchor": "T2", "L1.b.anchor": "T1"}
    assert judged(trench)[0].verdict == judged(turned)[0].verdict == "cannot say"
