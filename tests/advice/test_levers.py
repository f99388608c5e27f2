"""What may be changed of a line: each kind of change goes from the nearest to the largest told, and no further."""

from __future__ import annotations

import numpy as np
import pytest
from parks import record

from siteassess.advice import changes
from siteassess.advice.changes import BoulderEnd, TreeEnd
from siteassess.mechanics.cable import solve
from siteassess.records.anchor import Boulder

HAMMOCK = {"L1.use": "hammock", "L1.span.taped": "4 m", "L1.standing": None, "L1.ground": []}


def setting(edits: dict | None = None, distance: float | None = 20.0) -> TreeEnd:
    made = record(edits or {})
    line = made.lines[0]
    return TreeEnd(line, "A", made.anchor("T1"), distance, 90.0, 54.5, line.planned.date)


def values(tries: list[changes.Try]) -> list[float]:
    return [one.value for one in tries]


def hung(tie_a: str | None, tie_b: str | None, **more) -> TreeEnd:
    return setting(HAMMOCK | {"L1.a.tie_height": tie_a, "L1.b.tie_height": tie_b} | more, 4.0)


def test_ties_of_a_hammock_go_up_until_it_hangs_at_thirty_degrees_over_a_hands_breadth_of_air():
    """30 degrees is how hammocks are commonly hung (common practice, no source), 30 cm over the ground (judgement).

    By hand: 0.3 + 2 tan 30 = 1.455 m for ties 4 m apart. From the lower one in steps that a tape can follow.
    """
    for tie_a, tie_b in (("1 m", "1.4 m"), ("1.4 m", "1 m"), ("1 m", "1 m")):
        told = values(changes._steeper(hung(tie_a, tie_b)))
        assert told[0] == pytest.approx(1.05) and 1.455 < told[-1] < 1.455 + 0.15
        assert all(0 < after - before < 0.16 for before, after in zip(told, told[1:]))
        assert [round(tie * 20, 6) % 1 for tie in told] == [0.0] * len(told)
    assert values(changes._steeper(hung("1.6 m", "1.6 m"))) == []  # it hangs steeper than that already


def test_only_a_hammock_hung_by_its_ties_is_hung_steeper():
    assert changes._steeper(hung(None, "1 m")) == changes._steeper(hung("1 m", None)) == []
    assert changes._steeper(setting(HAMMOCK | {"L1.span": None}, None)) == []
    assert changes._steeper(hung("1 m", "1 m", **{"L1.standing": {"tension": "0.3 kN", "how": "load cell"}})) == []
    assert changes._steeper(setting({"L1.standing": None, "L1.span.taped": "4 m"}, 4.0)) == []


def test_a_line_is_slackened_by_steps_of_ten_kilograms_to_half_and_to_no_less_than_a_line_is_walked_with():
    """Half, and 500 N (data/constants.csv, judgements)."""
    def pulls(tension: str) -> list[float]:
        return values(changes._tensions(setting({"L1.standing.tension": tension})))

    assert pulls("2 kN") == [1900.0 - 100 * step for step in range(10)]
    assert pulls("0.65 kN") == [600.0, 500.0] and pulls("0.5 kN") == []
    assert changes._tensions(setting({"L1.standing": None})) == []


@pytest.mark.parametrize("now, fewer", [(1, []), (2, [1.0]), (4, [3.0, 2.0, 1.0])])
def test_fewer_people_at_a_time_down_to_one(now, fewer):
    assert values(changes._people(setting({"L1.walkers.at_once": now}))) == fewer


def test_a_tie_nobody_read_is_not_lowered():
    assert changes.lower_ties(setting({"L1.a.tie_height": None})) == []


def test_a_shorter_line_sags_as_deep_in_its_middle_and_stands_with_the_least_that_does():
    """Told to ten newtons: with so much the walker hangs no deeper than planned, with ten less they do."""
    end = setting({"L1.standing.tension": "4 kN"})
    line = end.inputs

    def drop(span: float, pull: float) -> float:
        return float(solve(span, line.rise, pull, line.secant, line.weight, line.walker, 0.5).require().drop)

    tries = changes._spans(end)
    assert values(tries) == [19.0 - step for step in range(10)]  # to half of it, nearer anchors are another line
    for one in tries:
        assert one.standing % 10 == 0
        assert drop(one.value, one.standing) <= drop(20.0, 4e3) < drop(one.value, one.standing - 10)


def test_no_line_is_shortened_under_five_metres():
    """5 m (data/constants.csv, judgement), though half of 8 m is less."""
    short = setting({"L1.span.taped": "8 m", "L1.standing.tension": "4 kN"}, 8.0)
    assert values(changes._spans(short)) == [7.0, 6.0, 5.0]


def test_a_shorter_line_stands_with_less_and_with_what_a_line_is_walked_with(monkeypatch):
    """500 N (data/constants.csv, judgement)."""
    pulls = np.array([2e3, 1990.0, 1e3, 500.0, 490.0, 400.0, 300.0, 200.0, 100.0, 0.0])
    monkeypatch.setattr(changes, "standing_from_sag", lambda spans, *of: pulls)
    assert values(changes._spans(setting())) == [18.0, 17.0, 16.0]


@pytest.mark.parametrize("unknown", ["L1.webbing", "L1.standing", "L1.span"])
def test_nobody_is_told_to_shorten_what_is_not_known(unknown):
    assert changes._spans(setting({unknown: None}, None if unknown == "L1.span" else 20.0)) == []


@pytest.mark.parametrize("ground, asked", [
    ({"wetness": "wet"}, True), ({"wetness": "unknown"}, True), ({"wetness": "moist"}, False),
    ({"wetness": "standing water"}, False), ({"wetness": "wet", "texture": "peat"}, False),
    ({"wetness": "wet", "texture": "clay"}, True),
])  # fmt: skip
def test_soil_that_dries_is_waited_for(ground, asked):
    """Peat, and what water stands on, does not dry between two days (common practice, no source)."""
    edits = {f"T1.ground.{name}": value for name, value in ground.items()}
    assert bool(changes._drier(setting(edits))) is asked


def test_a_guy_takes_half_of_the_pull_and_a_boulder_has_none():
    """Half (data/constants.csv, judgement)."""
    (guy,) = changes._guyed(setting())
    told = guy.what.in_words()
    assert guy.value == 0.5 and "half" in told
    planned = setting()
    boulder = Boulder(kind="boulder", code="B1")
    assert changes._guyed(BoulderEnd(planned.line, "A", boulder, 20.0, 90.0, 54.5, planned.on)) == []
