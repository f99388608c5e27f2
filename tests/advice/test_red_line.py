"""Answers that were kinder than the line deserved: each stays as strict as it was made."""

from __future__ import annotations

import math

import pytest
from applied_remedy import applied
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.boulder_end import _limits
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.quick import boulder_answer
from siteassess.advice.results import Load, Remedy
from siteassess.errors import OutsideModel
from siteassess.records.anchor import Boulder
from siteassess.reference.findings import in_words, said


def judged(edits: dict | None = None):
    return assess(record(edits)).lines[0]


def finding_of(line, about: str):
    return [finding for finding in line.findings if finding.about == about]


# ---- gear


def shackle(kilonewtons: float, meaning: str = "breaking strength"):
    return judged({"L1.gear": [{"kind": "shackle", "rating": f"{kilonewtons} kN", "rating_is": meaning}]})


def test_gear_weaker_than_the_load_is_left():
    line = shackle(3)
    assert line.verdict == "leave it" and "weaker than the load" in finding_of(line, "gear")[0].says


def test_gear_under_the_wanted_factor_suits_only_if_it_is_replaced():
    hardest = max(load.tension_n for end in shackle(50).anchors for load in end.loads) / 1e3
    line = shackle(math.floor(20 * hardest) / 10)
    assert line.verdict == "suits if"
    assert finding_of(line, "gear")[0].condition.startswith("shackle is replaced by stronger gear, or where it sits")
    assert shackle(math.ceil(3.1 * hardest)).verdict == "suits if"  # nobody said that it sits on no redirect
    assert shackle(math.ceil(6.1 * hardest)).verdict == judged().verdict == "suits"


def test_a_working_load_limit_that_is_passed_asks_for_stronger_gear():
    assert shackle(3, "working load limit").verdict == "suits if"
    assert shackle(1, "working load limit").verdict == "leave it"


def test_gear_that_was_not_checked_stays_neutral():
    assert judged({"L1.gear": []}).gear[0].startswith("not checked")


# ---- height and ground


def ground_at(deepest: str):
    return [{"at": "0 m", "height": "0 m"}, {"at": "10 m", "height": deepest}, {"at": "20 m", "height": "0 m"}]


def test_a_low_line_over_a_gorge_is_not_judged_as_low():
    line = judged({"L1.ground": ground_at("-20 m")})
    assert line.verdict == "cannot say"
    assert "judged as a high line" in finding_of(line, "height")[0].says
    assert judged({"L1.ground": ground_at("-1 m")}).verdict == "suits"


@pytest.mark.parametrize("use, tie, says", [
    ("low line", "2.6 m", True), ("low line", "2.4 m", False), ("hammock", "2.1 m", True), ("hammock", "1.9 m", False),
    ("aerial equipment", "2.6 m", False),
])  # fmt: skip
def test_a_high_tie_is_not_judged_as_low(use, tie, says):
    line = judged({"L1.use": use, "L1.a.tie_height": tie, "L1.span.taped": "4 m" if use == "hammock" else "20 m"})
    assert bool(finding_of(line, "height")) == says
    assert line.verdict == "cannot say" or not says


def test_feet_in_the_ground_that_nobody_taped_ask_for_the_tape():
    line = judged({"L1.ground": None, "L1.standing.tension": "0.5 kN"})
    (told,) = finding_of(line, "ground")
    assert line.clearance.touches and told.effect == line.verdict == "suits if" and "is taped" in told.condition
    assert not any("-" in says for says in line.clearance.says if "over the ground" in says)


def test_a_sag_deeper_than_the_ground_cannot_have_been_measured():
    sag = {"L1.standing": {"sag": "1.6 m", "sag_under": "75 kg"}}
    line = judged(sag | {"L1.ground": None})
    assert line.verdict == "cannot say" and "under the ground" in finding_of(line, "standing tension")[0].says
    assert not finding_of(judged(sag), "standing tension")  # over ground that falls 1 m


# ---- no fault of the program


def test_a_sag_that_asks_for_more_than_any_line_is_pulled_to_cannot_say():
    line = judged({"L1.standing": {"sag": "1 cm", "sag_under": "85 kg"}})
    assert line.verdict == "cannot say"
    assert any(finding.code == "sag-asks-too-much" for end in line.anchors for finding in end.findings)


def test_a_tension_no_record_holds_is_outside_the_model_not_a_fault():
    with pytest.raises(OutsideModel, match="93 kN"):
        what = said("standing-no-more", standing=92.6e3)
        applied(record(), "L1", "A", Remedy(what, "standing tension", 92.6e3, "N", "suits", "root plate"))


def test_an_end_outside_every_model_cannot_say_and_the_other_end_is_judged(monkeypatch):
    from siteassess.advice import assess as room

    inner = room.judge_hold

    def refuse(case):
        if case.end == "B":
            raise OutsideModel("no such trunk")
        return inner(case)

    monkeypatch.setattr(room, "judge_hold", refuse)
    line = judged()
    a, b = line.anchors
    assert a.verdict == "suits" and line.verdict == b.verdict == "cannot say"
    assert b.findings[0].says == "T2 lies outside the model: no such trunk"


# ---- hammocks and several people

HAMMOCK = {"L1.use": "hammock", "L1.span.taped": "4 m", "L1.compass": None, "L1.ground": None, "L1.standing": None,
           "T2.position.lon": 2.5 + 4.0 / 64_790.0}  # fmt: skip


def pull(line, case: str) -> float:
    return max(load.horizontal_n for end in line.anchors for load in end.loads if load.case == case)


def test_everybody_in_a_hammock_counts():
    one, two = (judged(HAMMOCK | {"L1.walkers.at_once": people}) for people in (1, 2))
    assert pull(two, "lying") == pytest.approx(2 * pull(one, "lying"), rel=0.02)
    assert any("2 people at once" in finding.says for finding in two.anchors[0].findings)


def test_a_low_tie_makes_a_hammock_hang_flat_and_pull_hard():
    # 0.3 m are left under it: 2 x 0.4 / 4 is 11.3 degrees, and 1.2 x 75 x 9.81 / 2 over its tangent is 2.2 kN
    low = judged(HAMMOCK | {"L1.a.tie_height": "0.7 m"})
    assert pull(low, "lying") == pytest.approx(1.2 * 75 * 9.80665 / 2 / 0.2, rel=0.01)
    assert pull(low, "lying") > 2 * pull(judged(HAMMOCK), "lying")
    assert any("11 degrees" in finding.says for finding in low.anchors[0].findings)
    high = judged(HAMMOCK | {"L1.a.tie_height": "1.9 m", "L1.b.tie_height": "1.9 m"})
    assert pull(high, "lying") == pytest.approx(1.2 * 75 * 9.80665 / 2 / math.tan(math.pi / 6), rel=0.01)


@pytest.mark.parametrize("edits", [{"L1.span.taped": "6.5 m", "T2.position.lon": 2.5 + 6.5 / 64_790.0},
                                   {"L1.a.tie_height": "0.3 m"}])  # fmt: skip
def test_what_no_longer_hangs_as_a_hammock_cannot_say(edits):
    line = judged(HAMMOCK | edits)
    assert line.verdict == "cannot say" and not line.anchors[0].loads
    assert any("outside the model" in finding.says for finding in line.anchors[0].findings)


def test_a_hammock_pulled_taut_is_judged_taut_and_never_kinder():
    slack = judged(HAMMOCK)
    for tension in ("0.1 kN", "1 kN", "3 kN"):
        taut = judged(HAMMOCK | {"L1.standing": {"tension": tension}})
        assert all(pull(taut, case) >= pull(slack, case) for case in ("lying", "dropping in"))
    assert pull(taut, "lying") > 1.2 * 3000


def test_the_bounce_and_the_clearance_carry_everybody():
    lines = [judged({"L1.walkers.at_once": people, "L1.ground": ground_at("-1.5 m")}) for people in (1, 2, 3, 5)]
    for fewer, more in zip(lines, lines[1:]):
        assert pull(more, "bounced") >= pull(fewer, "bounced")  # the ground ends it for all of them alike
        assert more.clearance.lowest_m < fewer.clearance.lowest_m or more.clearance.lowest_m == 0
        assert pull(more, "walked") == pytest.approx(pull(fewer, "walked"))
    cases = [{load.case for load in line.anchors[0].loads} for line in lines]
    assert "two walkers" in cases[1] and "all walkers" in cases[2] and "two walkers" not in cases[2]
    open_below = [judged({"L1.walkers.at_once": people, "L1.ground": []}) for people in (1, 2, 3, 5)]
    assert all(pull(more, "bounced") > pull(fewer, "bounced") for fewer, more in zip(open_below, open_below[1:]))
    bounced = next(load for load in open_below[2].anchors[0].loads if load.case == "bounced")
    assert "all walkers" in bounced.basis or "everybody" in bounced.basis


def test_a_fall_with_two_on_a_high_line_is_never_kinder_than_with_one():
    high = {"L1.use": "high line", "L1.walkers.leash": "1.2 m", "L1.backup": "other tree", "L1.ground": []}
    one, two = (judged(high | {"L1.walkers.at_once": people}) for people in (1, 2))
    assert pull(two, "leash fall") > pull(one, "leash fall")


def test_a_high_line_said_to_have_no_backup_cannot_say():
    high = {"L1.use": "high line", "L1.walkers.leash": "1.2 m"}
    without, beside = (judged(high | {"L1.backup": backup}) for backup in ("none", "other tree"))
    assert without.verdict == "cannot say" and beside.verdict == "suits if"
    assert any("no independent backup" in finding.says for finding in without.anchors[0].findings)


# ---- webbing by its width


def webbing(kind: str, width: str | None = None):
    line = record({"L1.webbing": {"kind": kind} | ({"width": width} if width else {})}).lines[0]
    return line_inputs(line)


def test_a_webbing_as_wide_as_another_class_of_its_fibre_is_that_class():
    wide, named = webbing("polyester", "50 mm"), webbing("polyester 50 mm")
    assert wide.secant == named.secant and wide.weight == named.weight
    assert wide.class_strength == named.class_strength
    assert any("polyester 50 mm" in finding.says for finding in wide.told)
    assert webbing("polyester", "26 mm").told == ()


def test_a_width_no_class_has_scales_its_class_and_is_told():
    wide, plain = webbing("nylon", "50 mm"), webbing("nylon")
    assert wide.secant == pytest.approx(2 * plain.secant) and wide.weight == pytest.approx(2 * plain.weight)
    assert any("2.00 times, by width" in finding.says for finding in wide.told)


# ---- boulders

BOULDER = {
    "kind": "boulder", "code": "T2", "position": {"lat": 54.5, "lon": 2.5 + 20.0 / 64_790.0}, "along_pull": "2.4 m",
    "across_pull": "2 m", "upright": "1.8 m", "rock": "granite", "bed": "rock", "slope": "0 deg", "embedded": "no",
    "edge_distance": "20 m", "rocks_when_pushed": "no", "cracked": "no", "posted_no": "no",
}  # fmt: skip


def load(case: str, level: float, down: float) -> Load:
    return Load(case, math.hypot(level, down), level, down, 90.0, level, 0.0, 0.1, True, "")


def test_a_lesser_pull_that_lifts_a_boulder_decides_where_it_asks_more():
    boulder = Boulder.model_validate(BOULDER)
    inputs = line_inputs(record().lines[0])
    level, lifting = load("level", 10e3, 0.0), load("lifting", 9.5e3, -6e3)
    for limit in _limits(boulder, inputs, (level, lifting), 0.8, 90.0):
        alone = [next(one for one in _limits(boulder, inputs, (each,), 0.8, 90.0) if one.name == limit.name)
                 for each in (level, lifting)]  # fmt: skip
        assert limit.use == max(one.use for one in alone)
        assert limit.case == max(alone, key=lambda one: one.use).case
    sliding = _limits(boulder, inputs, (level, lifting), 0.8, 90.0)[0]
    assert sliding.case == "lifting" and sliding.demand == pytest.approx(math.hypot(9.5e3, 6e3))


def test_the_quick_boulder_says_what_rock_friction_and_edge_it_took():
    answer = boulder_answer((2.4, 2.0, 1.8), 0.8, 5e3, 0.0, 0.0, None, "sandstone", "grass", False, "ground")
    told = " | ".join(in_words(answer["reasons"]))
    assert "2100 kg/m3" in told and "0.4" in told and "no edge was given" in told
    edged = boulder_answer((2.4, 2.0, 1.8), 0.8, 5e3, 0.0, 0.0, 20.0, "sandstone", "grass", False, "ground")
    assert "no edge" not in " | ".join(in_words(edged["reasons"]))


def test_a_width_far_from_every_class_cannot_say():
    assert {finding.effect for finding in webbing("nylon", "200 mm").told} == {"cannot say"}


@pytest.mark.parametrize("other", ["0 m", "20 m"])
def test_a_joined_piece_of_no_length_is_outside_the_model_not_a_fault(other):
    pieces = [{"kind": "nylon", "length": "0 m"}, {"kind": "nylon", "length": other}]
    line = judged({"L1.webbing": None, "L1.sections": pieces})
    assert line.verdict == "cannot say"


WEAK = {"length": "10 m", "stiffness": "60 kN", "mass": "70 g/m"}
STOUT = [{"girth": "280 cm", "read_at": "1.3 m", "how": "taped"}]


@pytest.mark.parametrize("weak, pull, code, effect", [
    ({"kind": "nylon"}, "16 kN", "webbing-over-class", "suits if"),
    ({"strength": "6 kN"}, "8 kN", "webbing-over-strength", "leave it"),
])  # fmt: skip
@pytest.mark.parametrize("beside", [{"kind": "polyester", "strength": "60 kN"}, {"strength": "60 kN"}, {}])
def test_what_is_known_of_a_weak_section_counts_whatever_is_unsaid_of_another(weak, pull, code, effect, beside):
    """Two webbings joined, the weaker known by its class or rating, the other rated, or of no class and no rating."""
    for pieces in ([WEAK | weak, WEAK | beside], [WEAK | beside, WEAK | weak]):
        line = judged({"T1.trunk": STOUT, "T2.trunk": STOUT, "L1.webbing": None, "L1.sections": pieces,
                       "L1.standing.tension": pull})  # fmt: skip
        told = {finding.code: finding.effect for end in line.anchors for finding in end.findings}
        assert told.get(code) == effect, told
