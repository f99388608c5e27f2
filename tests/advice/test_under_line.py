"""The ground under a line as recorded, what is done on the line, and its leash: from the record to the word."""

import pytest
from applied_remedy import applied
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import record
from pydantic import ValidationError

from siteassess.advice.assess import assess
from siteassess.advice.line_inputs import line_inputs, line_loads
from siteassess.advice.verdict import VERDICTS
from siteassess.errors import OutsideModel
from siteassess.mechanics.loadcases import load_cases
from siteassess.records.doubtful import check_readings
from siteassess.reference.findings import Said, said, wording
from siteassess.reference.tables import rows
from siteassess.reference.webbing import leash_stiffness

LEVEL = "level or rising, no dip"
NOBODY_BOUNCES = wording("nobody-bounces", {})
STRETCHY = {"L1.webbing": {"stiffness": "250 kN", "mass": "70 g/m"}, "L1.standing": {"tension": "3 kN"},
            "L1.a.tie_height": "1 m", "L1.b.tie_height": "1 m", "L1.ground": []}  # fmt: skip
SMALL = {f"{tree}.{path}": value for tree in ("T1", "T2") for path, value in
         {"trunk.0.girth": "113 cm", "height": "12 m", "crown_spread": "4 m"}.items()}  # fmt: skip


def edited(edits):
    return record(STRETCHY | edits)


def judged(edits):
    return assess(edited(edits)).lines[0]


def case(edits, name):
    line = edited(edits).lines[0]
    return {one.name: one for one in line_loads(line_inputs(line))[0]}.get(name)


def told(line, about):
    findings = [*line.findings, *(finding for end in line.anchors for finding in end.findings)]
    return [finding for finding in findings if finding.about == about]


def test_one_answer_about_the_ground_lowers_the_bounced_case_and_says_so():
    answers = ("unknown", LEVEL, "dips somewhere")
    unknown, level, dips = (case({"L1.ground_between": answer}, "bounced") for answer in answers)
    assert level.tension < 0.92 * unknown.tension and dips.tension == unknown.tension
    assert level.drop <= 1.0 < unknown.drop and level.ends_on_ground


def test_not_knowing_the_ground_is_told_with_what_the_answer_would_do():
    (finding,) = told(judged({}), "ground between")
    assert finding.effect == "suits" and not finding.looked_at and "instead of" in finding.says
    assert not told(judged({"L1.ground_between": LEVEL}), "ground between")


def test_a_taped_profile_counts_more_than_the_answer_and_an_eye_may_miss_a_dip():
    taped = {"L1.ground": [{"at": "10 m", "height": "0 m"}, {"at": "20 m", "height": "0 m"}]}
    flat, answered = case(taped, "bounced"), case({"L1.ground_between": LEVEL}, "bounced")
    assert flat.tension < answered.tension and flat.drop == answered.drop == pytest.approx(1.0)
    gully = {"L1.ground": [{"at": "10 m", "height": "-4 m"}], "L1.ground_between": LEVEL, "L1.span.slope": "0 deg"}
    assert case(gully, "bounced").drop > 1.5


def test_a_profile_without_rows_at_the_trunks_is_read_from_their_feet():
    """Rows at 8 and 12 m alone: the ground rises to both feet, and the walker's feet touch near them."""
    line = edited({"L1.ground": [{"at": "8 m", "height": "-1.5 m"}, {"at": "12 m", "height": "-1.5 m"}]}).lines[0]
    inputs = line_inputs(line)
    assert inputs.rise == 0  # no row near B: its foot is not 1.5 m down
    seen = judged({"L1.ground": [{"at": "8 m", "height": "-1.5 m"}, {"at": "12 m", "height": "-1.5 m"}]}).clearance
    heights = dict(zip(seen.x_m, seen.ground_m))
    assert heights[seen.x_m[0]] == 0 and heights[seen.x_m[-1]] == 0
    assert heights[min(heights, key=lambda x: abs(x - 4.0))] == pytest.approx(-0.75, abs=0.03)
    assert inputs.under.how == "unknown"  # nobody said where B's foot lies
    known = line_inputs(edited({"L1.ground": [{"at": "8 m", "height": "-1.5 m"}], "L1.span.slope": "0 deg"}).lines[0])
    assert known.under.how == "taped"


@settings(max_examples=15, deadline=None)
@given(st.floats(0.4, 3.0), st.floats(2, 6), st.sampled_from(["60 kN", "250 kN", "500 kN"]), st.integers(1, 3),
       st.sampled_from(["low line", "long line", "trick line", "high line"]),
       st.sampled_from(["unknown", LEVEL]))  # fmt: skip
def test_no_answer_puts_the_line_under_the_ground(tie, tension, stiffness, people, use, answer):
    edits = {"L1.use": use, "L1.a.tie_height": f"{tie:.2f} m", "L1.b.tie_height": f"{tie:.2f} m",
             "L1.standing.tension": f"{tension:.1f} kN", "L1.webbing.stiffness": stiffness,
             "L1.walkers.at_once": people, "L1.ground_between": answer}  # fmt: skip
    line = assess(edited(edits)).lines[0]
    if answer == LEVEL:
        assert all(load.drop_m <= round(tie, 2) + 1e-6 for end in line.anchors for load in end.loads)
    seen = line.clearance
    assert seen.lowest_m >= 0 and seen.mid_height_loaded_m >= 0
    assert all(feet >= ground - 1e-9 for feet, ground in zip(seen.walker_m, seen.ground_m))
    assert all(height >= 0 for sweep in line.sweeps for height in sweep.height_m or ())


def test_walk_only_is_a_remedy_that_is_judged_again_and_a_condition_once_recorded():
    tight = SMALL | {"L1.standing.tension": "3 kN", "L1.a.tie_height": "1.4 m", "L1.b.tie_height": "1.4 m"}
    line = judged(tight)
    remedies = [remedy for end in line.anchors for remedy in end.remedies if remedy.field == "movement"]
    assert remedies and all(remedy.what == Said("nobody-bounces") for remedy in remedies)
    made = applied(edited(tight), "L1", "A", remedies[0])
    assert made.lines[0].walkers.movement == "walk only, no bouncing"
    again = assess(made).lines[0]
    assert again.anchors[0].verdict == remedies[0].reaches == "suits if"
    assert NOBODY_BOUNCES in again.anchors[0].conditions
    assert not any(remedy.field == "movement" for end in again.anchors for remedy in end.remedies)


def test_saying_walk_only_never_makes_the_word_worse():
    """Where bouncing would do as well, it is no condition."""
    easy, said = judged({}), judged({"L1.walkers.movement": "walk only, no bouncing"})
    assert VERDICTS.index(said.verdict) <= VERDICTS.index(easy.verdict)
    assert all(NOBODY_BOUNCES not in end.conditions for end in said.anchors)
    assert {load.case for load in said.anchors[0].loads} >= {"walked", "stumbled"}


def movement_of(edits) -> tuple[list, list]:
    """What is told of the movement, bounced and walked only, beside the hold's own condition."""
    return tuple([finding.condition for finding in judged(edits | {"L1.walkers.movement": movement}).findings
                  if finding.about == "movement"]
                 for movement in ("bounced or jumped on", "walk only, no bouncing"))  # fmt: skip


def test_gear_and_bark_that_do_only_for_walking_ask_that_nobody_bounces():
    def shackle(kilonewtons):
        return {"L1.gear": [{"kind": "shackle", "place": "at the anchor", "rating": f"{kilonewtons:.2f} kN",
                             "rating_is": "breaking strength"}]}  # fmt: skip

    bounced, walked = (max(load.tension_n for end in judged({"L1.walkers.movement": movement}).anchors
                           for load in end.loads) / 1e3
                       for movement in ("bounced or jumped on", "walk only, no bouncing"))  # fmt: skip
    assert walked < 0.9 * bounced
    assert movement_of(shackle(3 * (walked + bounced) / 2)) == ([], [NOBODY_BOUNCES])
    assert movement_of(shackle(3.01 * bounced)) == movement_of(shackle(2.9 * walked)) == ([], [])
    # a thin rope on a stout trunk: its peak passes what any bark is asked for only where somebody bounces
    short = [{"at": f"{at} m", "height": f"{height} m"} for at, height in ((0, 0), (1, -2), (7, -2), (8, 0))]
    thin = {"L1.planned.date": "2026-01-15", "L1.standing.tension": "1 kN", "L1.walkers.mass": "100 kg",
            "L1.a.sling": {"kind": "rope", "wrap": "basket", "width": "12 mm", "link_distance": "1.5 m"},
            "L1.a.padding": None, "L1.a.tie_height": "1.5 m", "L1.b.tie_height": "1.5 m", "L1.span.taped": "8 m",
            "T2.position.lon": 2.5 + 8 / 64_790.0, "L1.webbing": {"kind": "polyester"}, "L1.ground": short}  # fmt: skip
    thin |= {f"{tree}.{key}": value for tree in ("T1", "T2") for key, value in
             (("trunk.0.girth", "251 cm"), ("height", "22 m"))}  # fmt: skip
    assert movement_of(thin) == ([], [NOBODY_BOUNCES])
    assert movement_of(thin | {"L1.a.sling.width": "30 mm"}) == ([], [])
    # one so thin that its peak passes that for a walker already: not bouncing would not mend it
    assert movement_of(thin | {"L1.a.sling.width": "6 mm"}) == ([], [])


@pytest.mark.parametrize(("places", "how"), [
    ((0, 20), "unknown"), ((0, 18.5), "unknown"), ((19,), "unknown"), ((10, 20), "taped"),
])  # fmt: skip
def test_rows_at_the_feet_alone_say_nothing_of_the_ground_between(places, how):
    rows_of = [{"at": f"{place} m", "height": "0 m"} for place in places]
    assert line_inputs(edited({"L1.ground": rows_of}).lines[0]).under.how == how


@pytest.mark.parametrize(("deep", "unseen"), [("0.3 m", 0.1), ("0.5 m", 0.1), ("5 m", 1.0)])
def test_ground_told_by_eye_may_lie_a_tenth_of_a_metre_lower_or_a_fifth(deep, unseen):
    """Our judgement (DEVELOPERS.md); no source found."""
    assert line_inputs(edited({"L1.open_below": deep}).lines[0]).under.unseen == pytest.approx(unseen)


def test_a_backup_that_lies_on_the_ground_before_it_is_tight_catches_nobody_and_drags_no_sling():
    """It read "uses inf% of the friction", and a sentence without an end."""
    high = {"L1.use": "high line", "L1.backup": "other tree", "L1.walkers.leash": "1.2 m",
            "L1.a.tie_height": "1.5 m", "L1.b.tie_height": "1.5 m",
            "L1.ground": [{"at": "10 m", "height": "0 m"}, {"at": "20 m", "height": "0 m"}]}  # fmt: skip
    short, long = (judged(high | {"L1.backup_line": {"extra_length": extra, "stiffness": "200 kN"}})
                   for extra in ("0.2 m", "3 m"))  # fmt: skip
    fine, slack = told(short, "backup")[0], told(long, "backup")[0]
    assert "works out at" in fine.says
    assert "catches nobody" in slack.says and slack.effect == "suits if" and "shorter" in slack.condition
    assert all(0 < end.protection.slide_use < 10 for end in long.anchors)


def test_how_deep_it_must_be_open_is_told_alike_from_either_end_of_a_slanting_line():
    high = {"L1.use": "high line", "L1.backup": "other tree", "L1.walkers.leash": "1.2 m"}
    up, down = ({"L1.a.tie_height": f"{a} m", "L1.b.tie_height": f"{b} m"} for a, b in ((1.0, 2.4), (2.4, 1.0)))
    (one,), (other,) = ({finding.says for finding in told(judged(high | ties), "open below")} for ties in (up, down))
    assert one == other and "under the line" in one


def test_the_stiffness_of_a_leash_comes_from_its_kind_and_length():
    assert leash_stiffness("not known") == max(row.ea_kn for row in rows("leashes")) * 1e3
    high = {"L1.use": "high line", "L1.open_below": "30 m", "L1.backup": "other tree"}
    made_of = ("dynamic rope", "webbing", "unknown")
    kinds = ({"L1.walkers.leash": "1.2 m", "L1.walkers.leash_kind": kind} for kind in made_of)
    rope, webbing, unsaid = (case(high | kind, "fall at an anchor") for kind in kinds)
    assert rope.vertical_a < 0.8 * webbing.vertical_a and unsaid == webbing
    assert any("stiffest" in finding.says for finding in told(judged(high), "leash"))


def test_a_leash_needs_a_length_and_one_that_was_not_told_is_a_long_one():
    """A leash of no length once ended in a traceback; leaving out a long one once lowered the load."""
    high = {"L1.use": "high line", "L1.open_below": "30 m", "L1.backup": "other tree", "L1.walkers.leash": None}
    for length in ("0 m", "1 mm"):
        with pytest.raises(ValidationError, match="between 20 cm and 3 m"):
            record(high | {"L1.walkers.leash": length})
    with pytest.raises(OutsideModel, match="leash"):
        load_cases("high line", 30.0, 0.0, 3000.0, 100e3, 0.7, 800.0, leash=0.0)
    for name in ("leash fall", "fall at an anchor"):
        untold, long, short = (case(high | {"L1.walkers.leash": length}, name) for length in (None, "1.8 m", "1.2 m"))
        assert untold == long and long.tension > short.tension and long.vertical_a > short.vertical_a


def test_a_fall_that_would_end_on_the_ground_is_said():
    high = {"L1.use": "high line", "L1.walkers.leash": "1.2 m", "L1.backup": "other tree"}
    unsaid, shallow, deep = (told(judged(high | more), "open below") for more in
                             ({}, {"L1.open_below": "4 m"}, {"L1.open_below": "40 m"}))  # fmt: skip
    assert {f.effect for f in unsaid} == {f.effect for f in shallow} == {"suits if"} and not deep
    assert "ends on the ground" in shallow[0].says and not unsaid[0].looked_at


def test_open_ground_is_cleared_at_the_depth_that_was_told():
    """A gorge is no level lawn: the walker's feet are not said to stand on it. An eye may miss a fifth of the depth."""
    high = {"L1.use": "high line", "L1.walkers.leash": "1.2 m", "L1.backup": "other tree", "L1.ground": None}
    level, deep = (judged(high | {"L1.open_below": depth}) for depth in ("0.8 m", "30 m"))
    assert [finding.effect for finding in told(level, "ground")] == ["suits if"]
    assert [finding.effect for finding in told(deep, "ground")] == ["suits"] and "taped" in deep.clearance.says[-1]
    assert 0.8 * 30 - 2 < deep.clearance.lowest_m < 0.8 * 30


@pytest.mark.parametrize("use", ["low line", "long line", "trick line", "hammock"])
def test_what_is_no_high_line_is_not_judged_over_open_ground(use):
    over = {"L1.use": use, "L1.ground": None, "L1.standing.tension": "6 kN"} | (
        {"L1.standing": None, "L1.webbing": None, "T2.position.lon": 2.5 + 4 / 64_790.0, "L1.span.taped": "4 m"}
        if use == "hammock" else {})  # fmt: skip
    assert judged(over).verdict in ("suits", "suits if")
    assert judged(over | {"L1.open_below": "12 m"}).verdict == "cannot say"


def test_a_ground_with_two_heights_at_one_place_is_doubted_and_earns_nothing():
    both = {"L1.ground": [{"at": "10 m", "height": "0 m"}, {"at": "10 m", "height": "-1 m"}]}
    (ground,) = told(judged(both), "ground")
    assert ground.effect == "suits if" and not ground.looked_at and "taped again" in ground.condition
    assert any("two heights at 10 m" in doubt.sentence() for doubt in check_readings(edited(both)))


def test_ground_nobody_spoke_of_is_a_condition_that_it_is_not_deep():
    """A line tied low over a gully is a high line; whoever saw the ground said so."""
    high = {"L1.ground": [], "L1.standing.tension": "6 kN", "L1.a.tie_height": "2 m", "L1.b.tie_height": "2 m"}
    unseen, said, deep = (assess(record(high | edit)).lines[0] for edit in (
        {}, {"L1.ground_between": "level or rising, no dip"}, {"L1.open_below": "6 m"}))  # fmt: skip
    nowhere = "the ground lies nowhere more than 2.5 m below the line"
    asked = [nowhere in {one.condition for one in line.findings} for line in (unseen, said, deep)]
    assert asked == [True, False, False]
    assert unseen.verdict == "suits if" and deep.verdict == "cannot say"


HAMMOCK = {"L1.use": "hammock", "L1.standing": None, "L1.webbing": None, "T2.position.lon": 2.5 + 4 / 64_790.0,
           "L1.span.taped": "4 m", "L1.a.tie_height": "1.6 m", "L1.b.tie_height": "1.6 m", "L1.ground": None,
           "L1.walkers.mass": "75 kg"}  # fmt: skip
DITCH = [{"at": "0 m", "height": "0 m"}, {"at": "2 m", "height": "-6 m"}, {"at": "4 m", "height": "0 m"}]


@pytest.mark.parametrize(("edits", "word"), [
    ({"L1.ground": DITCH}, "cannot say"), ({"L1.ground": DITCH[1:2]}, "cannot say"),  # B's foot was not read
    ({"L1.ground_below": [{"at": "2 m", "down": "7 m"}, {"at": "4 m", "down": "1.6 m"}]}, "cannot say"),
    ({"L1.ground_between": "dips somewhere"}, "suits if"), ({}, "suits if"),
    ({"L1.ground_between": LEVEL}, "suits"), ({"L1.ground": [{"at": "2 m", "height": "-0.3 m"}, DITCH[2]]}, "suits"),
    ({"L1.open_below": "1.8 m"}, "suits"), ({"L1.open_below": "6 m"}, "cannot say"),
])  # fmt: skip
def test_a_hammock_is_judged_over_the_ground_that_was_taped_or_told(edits, word):
    """A taped ravine of 6 m under a hammock read "suits", and so did one that nobody spoke of."""
    line = judged(HAMMOCK | edits)
    assert line.verdict == word
    asked = "the ground lies nowhere more than 2 m below the ties" in {one.condition for one in line.findings}
    assert asked == (word == "suits if") or "L1.ground" in edits
    assert ("hammock-too-high" in {one.code for one in line.findings}) == (word == "cannot say")


@pytest.mark.parametrize("tension, dip, high", [
    ("1 kN", 2.0, True), ("1 kN", 0.8, False), ("8 kN", 0.8, False), (None, 0.8, True)])
def test_over_a_taped_dip_a_line_is_as_high_as_its_feet_and_where_nobody_knows_them_as_the_dip_is_deep(
        tension, dip, high):
    """Tied at 1.9 m, a dip of 0.8 m lies 2.7 m below the line; its walker's feet sag to under 2.5 m over it."""
    tied = {"L1.a.tie_height": "1.9 m", "L1.b.tie_height": "1.9 m"}
    tied |= {"L1.standing.tension": tension} if tension else {"L1.standing": None}
    over = judged(tied | {"L1.ground": [{"at": "10 m", "height": f"-{dip} m"}, {"at": "20 m", "height": "0 m"}]})
    assert ("high-as-a-high-line" in {one.code for one in over.findings}) == high


@pytest.mark.parametrize("margin, told", [(0.3, "0,3 m"), (0.25, "0,25 m"), (1.0, "1 m")])
def test_a_wished_height_is_told_as_it_was_wished(margin, told):
    feet = said("feet-stay", height=0.1, at=12.0)
    assert wording("clears-by-less", {"feet": feet, "margin": margin}, language="de").endswith(f"gewünschten {told}")


def test_a_row_at_the_foot_of_b_takes_no_word_back_of_the_depth_between():
    told = {"L1.open_below": "5 m", "L1.ground": [{"at": "20 m", "height": "0 m"}]}
    for edits in (told, {"L1.open_below": "5 m"}):
        assert line_inputs(record(edits).line("L1")).deepest == 5.0
