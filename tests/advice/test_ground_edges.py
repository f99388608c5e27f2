"""What the ground under a line decides, at the edge of each rule."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from parks import own_rules, record

from siteassess.advice import ground
from siteassess.advice.ground import HeightLimit, clearance_of, too_high
from siteassess.advice.line_inputs import LineInputs, line_inputs
from siteassess.advice.rules import rule_set_of
from siteassess.mechanics.profile import Profile

LEVEL = Profile(np.array([0.0, 20.0]), np.array([0.0, 0.0]))


def hung(edits: dict | None = None, distance: float = 20.0, seek: bool = False, **limits):
    """The line over its ground, and the codes of what is found."""
    line = record(edits or {}).lines[0]
    answer, told = clearance_of(line, line_inputs(line, distance), seek, **limits)
    return answer, {one.code: one for one in told}


def below(how: str, high: bool = False, use: str = "low line", **more) -> LineInputs:
    return SimpleNamespace(under=SimpleNamespace(how=how), high=high, use=use, hung=use == "hammock",
                           tie_a=1.2, tie_b=1.0, deepest=0.0, keep_clear=None, **more)  # fmt: skip


def measured(sag: float, rise: float = 0.0) -> tuple:
    line = SimpleNamespace(standing=SimpleNamespace(sag=SimpleNamespace(si=sag, text=f"{sag} m")))
    return line, SimpleNamespace(rise=rise, span=20.0)


def test_a_sag_is_held_against_the_ground_under_the_middle_of_the_line():
    """By hand: A tied at 1.2 m, B 40 cm higher, the ground down by a metre at B: the middle of the straight line lies
    1.4 m over A's foot and 1.9 m over the ground, and two tapes may differ by 15 cm."""
    falling = Profile(np.array([0.0, 20.0]), np.array([0.0, -1.0]))
    assert ground._sag_too_deep(*measured(2.04, 0.4), 1.2, falling) == []
    (told,) = ground._sag_too_deep(*measured(2.06, 0.4), 1.2, falling)
    assert (told.code, told.effect) == ("sag-under-the-ground", "cannot say")
    assert dict(told.values)["depth"] == pytest.approx(0.16)


def test_what_tapes_may_differ_by_is_half_of_what_feet_are_to_keep():
    """30 cm (data/constants.csv, judgement)."""
    assert ground._sag_too_deep(*measured(ground.TAPES_APART), 0.0, LEVEL) == []
    assert ground._sag_too_deep(*measured(0.16), 0.0, LEVEL) and not ground._sag_too_deep(*measured(0.14), 0.0, LEVEL)
    unmeasured = SimpleNamespace(standing=SimpleNamespace(sag=None))
    assert ground._sag_too_deep(unmeasured, None, 0.0, LEVEL) == []


def test_two_tapes_of_one_ground_that_differ_are_a_thing_to_look_at(monkeypatch):
    rows = [{"at": f"{at} m", "height": "0 m"} for at in (0, 10, 20)]

    def told(down: float) -> dict:
        return hung({"L1.ground": rows, "L1.ground_below": [{"at": "10 m", "down": f"{down} m"}]})[1]

    assert told(1.4)["ground-tapes-apart"].looked_at is False and "ground-tapes-apart" not in told(1.3)
    monkeypatch.setattr(ground, "tapes_apart", lambda *of: float(ground.TAPES_APART))
    assert "ground-tapes-apart" not in told(1.2)


def test_of_a_places_rules_the_greatest_heights_of_the_empty_line_count():
    clauses = [{"id": f"c{number}", "kind": kind, "operator": operator, "value": value, "unit": "m", **more}
               for number, (kind, operator, value, more) in enumerate((
                   ("attach height", "<=", 2.5, {}), ("line height", "<", 1.5, {}), ("attach height", ">=", 0.5, {}),
                   ("line height", "<=", 1.0, {"measured_at": {"place": "mid-span", "loaded": True}}),
                   ("line length", "<=", 30, {}), ("attach height", "<=", 1.8, {"uses": ["hammock"]})))]  # fmt: skip
    rules = rule_set_of(record({"site.rules": own_rules(*clauses)}))
    assert ground.height_limits(rules, ("slackline",)) == (
        HeightLimit("attach height", 2.5), HeightLimit("line height", 1.5))  # fmt: skip
    assert ground.height_limits(None, ("slackline",)) == ()


def test_what_clears_is_told_but_where_more_was_wished_for():
    assert "clears" in hung()[1]
    wished = hung({"L1.keep_clear": "1 m"})[1]
    assert "wished-height-not-kept" in wished and not {"clears", "clears-by-less"} & set(wished)


def test_ties_may_rise_as_far_as_the_strictest_rule_leaves():
    """By hand: a line that lies at most 0.4 m over its tie may rise by 0.9 m under 2.5 m, its tie at 1.2 m by 1.3 m."""
    line, tie = HeightLimit("line height", 2.5), HeightLimit("attach height", 2.5)
    assert ground._room((line,), 1.2, -1.6) == pytest.approx(0.9)
    assert ground._room((tie,), 1.2, -1.6) == pytest.approx(1.3)
    assert ground._room((line, tie), 1.2, -1.6) == pytest.approx(0.9) and ground._room((), 1.2, -1.6) is None


def test_the_higher_tie_is_the_one_a_rule_limits():
    answer, _ = hung({"L1.b.tie_height": "1.6 m"}, limits=(HeightLimit("attach height", 2.0),))
    assert answer.ties_may_rise_m == pytest.approx(0.4)


def test_a_rule_on_the_lines_height_goes_by_the_empty_line_where_it_hangs_highest():
    answer, _ = hung(limits=(HeightLimit("line height", 2.5),))
    highest = max(up - down for up, down in zip(answer.unloaded_m, answer.ground_m))
    assert answer.ties_may_rise_m == pytest.approx(2.5 - highest, abs=1e-3) and 2.0 < highest < 2.2  # over a dip


def test_ties_are_lifted_only_where_the_feet_come_too_near():
    assert hung()[0].lift_to_clear_m is None
    low, _ = hung({"L1.a.tie_height": "0.7 m", "L1.b.tie_height": "0.7 m"}, seek=True)
    tighter, _ = hung({"L1.a.tie_height": "0.7 m", "L1.b.tie_height": "0.7 m",
                       "L1.standing.tension": f"{low.standing_to_clear_n + 10} N"})  # fmt: skip
    assert tighter.lowest_m >= low.margin_m and hung(seek=True)[0].standing_to_clear_n is None
    lifted, _ = hung({f"L1.{end}.tie_height": f"{0.7 + low.lift_to_clear_m} m" for end in "ab"})
    assert low.lowest_m < low.margin_m and lifted.lowest_m == pytest.approx(low.margin_m, abs=0.01)


def test_neither_a_hammock_nor_a_line_of_no_known_tension_is_held_over_its_ground():
    hammock = {"L1.use": "hammock", "L1.span.taped": "4 m", "L1.ground": []}
    assert hung(hammock, 4.0)[0] is None and hung({"L1.standing": None})[0] is None


def test_feet_over_a_hollow_are_as_high_as_where_it_is_deepest():
    """2.5 m (data/constants.csv, judgement): four metres deep in its middle, level beside the trunks."""
    rows = [{"at": f"{at} m", "height": f"{height} m"} for at, height in ((0, 0), (5, 0), (10, -4), (15, 0), (20, 0))]
    _, told = hung({"L1.ground": rows})
    assert told["high-as-a-high-line"].effect == "cannot say" and not told["high-as-a-high-line"].looked_at
    assert "feet" in dict(told["high-as-a-high-line"].values)["what"].code
    assert "high-as-a-high-line" not in hung()[1]


@pytest.mark.parametrize("how, feet, deepest, code", [
    ("taped", -math.inf, 3.0, "so-deep-below"),  # nothing was worked out over it
    ("open below", 1.0, 3.0, "so-deep-below"), ("open below", -math.inf, 3.0, "so-deep-below"),
    ("taped", 1.0, 3.0, None), ("taped", 2.6, 3.0, "feet-so-high"), ("taped", 2.5, 0.0, None),
])  # fmt: skip
def test_a_depth_that_was_only_told_counts_and_over_taped_ground_the_feet(how, feet, deepest, code):
    inputs = below(how)
    inputs.deepest = deepest
    told = [dict(one.values)["what"].code for one in too_high(inputs, feet)]
    assert told == ([code] if code else [])


@pytest.mark.parametrize("use, tie, code", [
    ("low line", 2.51, "high-as-a-high-line"), ("low line", 2.5, None), ("hammock", 2.01, "hammock-too-high"),
    ("hammock", 2.0, None),
])  # fmt: skip
def test_the_higher_tie_makes_a_low_line_a_high_one(use, tie, code):
    """2.5 m, and 2 m of a hammock, where people fall lying (data/constants.csv, judgements)."""
    for ties in ({"tie_a": tie}, {"tie_b": tie}, {"tie_a": tie, "tie_b": None}):
        inputs = below("taped", use=use)
        vars(inputs).update(ties)
        told = too_high(inputs)
        assert [(one.code, dict(one.values)["what"].code) for one in told] == ([(code, "tie-so-high")] if code else [])
    assert too_high(SimpleNamespace(**vars(inputs) | {"use": "high line"})) == []


def test_ground_under_a_hammock_is_asked_for_where_nobody_spoke_of_it():
    (told,) = ground._under_a_hammock(below("unknown", use="hammock"))
    assert (told.effect, told.looked_at) == ("suits if", False)
    assert ground._under_a_hammock(below("taped", use="hammock")) == ground._under_a_hammock(below("unknown")) == []


def feet(lowest: float, touches: bool = False, margin: float = 0.3):
    return SimpleNamespace(touches=touches, lowest_m=lowest, lowest_at_m=10.0, margin_m=margin,
                           touching_m=((9.0, 11.0),), lift_to_clear_m=0.2, ties_may_rise_m=None,
                           standing_to_clear_n=None)  # fmt: skip


@pytest.mark.parametrize("answer, taped, inputs, code", [
    (feet(0.5), False, below("unknown"), "clears-if-level"),
    (feet(0.5), False, below("unknown", True, "aerial equipment"), "clears-equipment-if-level"),
    (feet(0.5), False, below("unknown", True, "high line"), "clears"),  # its fall asks for the ground
    (feet(0.5), True, below("taped"), "clears"), (feet(0.2), True, below("taped"), "clears-by-less"),
    (feet(0.3), True, below("taped"), "clears"), (feet(0.2), False, below("open below"), "clears"),
    (feet(0.0, True), False, below("unknown"), "touches-if-level"),
    (feet(0.0, True), True, below("taped"), "touches-higher"),
])  # fmt: skip
def test_what_the_height_over_the_ground_means(answer, taped, inputs, code):
    (told,) = ground._findings(answer, taped, inputs)
    assert told.code == code and told.looked_at is not (code.startswith("clears") and code.endswith("if-level"))


@pytest.mark.parametrize("wish, lowest, touches, asked", [
    (None, 0.1, False, False), (0.5, 0.4, False, True), (0.5, 0.5, False, False), (0.5, 0.0, True, False),
])  # fmt: skip
def test_a_wished_height_is_asked_for_where_the_feet_clear_and_come_nearer(wish, lowest, touches, asked):
    inputs = SimpleNamespace(keep_clear=wish)
    assert bool(ground._wish_unmet(inputs, feet(lowest, touches))) is asked


@pytest.mark.parametrize("off, lower, words", [
    (-0.11, True, []), (-float(ground.HEIGHTS_DIFFER_M), False, ["measured-agrees"]), (0.0, False, ["measured-agrees"]),
    (float(ground.HEIGHTS_DIFFER_M), False, ["measured-agrees"]), (0.11, False, []),
])  # fmt: skip
def test_a_height_at_mid_span_agrees_within_ten_centimetres(off, lower, words):
    """10 cm (data/constants.csv, judgement)."""
    line = SimpleNamespace(mid_height=SimpleNamespace(text="0.6 m"))
    assert [one.code for one in ground._measured(line, off)] == words
    for short, effect in ((True, "suits if"), (False, "suits")):
        assert [one.effect for one in ground._measured_lower(line, off, short)] == [effect] * lower
    line.mid_height.si = 0.6
    higher = [one.effect for one in ground._measured_higher(line, off, 1.0)]
    assert higher == ["suits"] * (off == 0.11)
    assert [one.effect for one in ground._measured_higher(line, 0.31, 1.0)] == ["suits if"]
    assert [one.effect for one in ground._measured_higher(line, 0.31, 0.49)] == ["cannot say"]
    unread = SimpleNamespace(mid_height=None)
    assert ground._measured(unread, off) == () and ground._measured_lower(unread, off, True) == []


def test_a_line_measured_lower_counts_as_ground_that_much_nearer_in_its_middle_and_as_ever_at_the_trunks():
    """By hand: a parabola of 20 cm over 20 m stands at three quarters of it a quarter of the way along."""
    nearer = ground._nearer(LEVEL, 20.0, 0.2)
    up = [float(nearer.at(at)) for at in (0.0, 5.0, 10.0, 15.0, 20.0)]
    assert up == pytest.approx([0.0, 0.15, 0.2, 0.15, 0.0], abs=1e-4)
    lower, _ = hung({"L1.mid_height": "0.5 m"})
    higher, _ = hung({"L1.mid_height": "1.1 m"})
    plain, _ = hung()
    assert lower.mid_height_loaded_m == pytest.approx(0.5, abs=0.01) and lower.lowest_m < plain.lowest_m
    assert higher.lowest_m == plain.lowest_m  # a line measured higher earns nothing
