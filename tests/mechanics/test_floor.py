"""The ground ends every drop."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from line_checks import leash_fall
from scipy.optimize import brentq, minimize_scalar

from siteassess.errors import OutsideModel
from siteassess.mechanics import dynamics, held
from siteassess.mechanics.cable import solve
from siteassess.mechanics.cable_many import solve_loads
from siteassess.mechanics.floor import NEAREST, pressed, swept
from siteassess.mechanics.line_load import BOUNCED, FIGURES, LOADED_AT, QUICK_STIFFNESS, WALKED, Floor, LoadedLine
from siteassess.mechanics.loadcases import USES, load_cases
from siteassess.mechanics.profile import Profile, plain_slope, taped_profile
from siteassess.mechanics.stretch_table import StretchTable

DYNAMIC = ("walked", "bounced", "stumbled", "leash fall", "two walkers", "backup catch", "dropping in")


def named(*args, **more):
    return {case.name: case for case in load_cases(*args, **more)}


def test_the_pressed_line_is_the_exact_one_under_the_load_that_brings_it_there():
    line = LoadedLine(30.0, 1.0, 3000.0, 100e3, 0.7, 800.0)
    at, depth = np.array([0.2, 0.5, 0.7]), np.array([1.2, 1.0, 1.5])
    figures = pressed(line, at, depth)
    for i in range(3):
        low, high = 0.0, 1e5
        for _ in range(60):
            load = 0.5 * (low + high)
            state = solve(30.0, 1.0, 3000.0, QUICK_STIFFNESS * 100e3, 0.7, load, at[i])
            low, high = (load, high) if state.drop < depth[i] else (low, load)
        for name in FIGURES:
            assert figures[name][i] == pytest.approx(float(getattr(state, name)), rel=2e-3)


def test_a_table_of_one_slope_is_pressed_like_one_stiffness():
    table = StretchTable([1e3, 1e4, 4e4], np.array([1e3, 1e4, 4e4]) / 100e3)
    plain, tabled = (pressed(LoadedLine(30.0, 0.0, 3000.0, ea, 0.7, 800.0), [0.3, 0.5], [1.0, 1.0])
                     for ea in (100e3, table))  # fmt: skip
    assert tabled["tension_a"] == pytest.approx(plain["tension_a"], rel=1e-3)


@settings(max_examples=60, deadline=None)
@given(
    use=st.sampled_from(sorted(USES)), span=st.floats(3.5, 120), standing=st.floats(1500, 8000),
    stiffness=st.floats(40e3, 500e3), load=st.floats(400, 1400), tie=st.floats(0.7, 6),
    heights=st.lists(st.floats(-3, 0.5), min_size=1, max_size=4), rise=st.floats(-0.3, 0.3),
    walk_only=st.booleans(), unseen=st.sampled_from([0.0, 0.1]),
)  # fmt: skip
def test_no_case_drops_the_line_under_the_ground_or_asks_more_than_without_it(
    use, span, standing, stiffness, load, tie, heights, rise, walk_only, unseen
):
    if use == "hammock":
        span, standing = min(span, 6.0), None
    ground = taped_profile(span, rise, np.linspace(0, span, len(heights) + 2)[1:-1], heights)
    more = {"walk_only": walk_only, "backup_extra_length": 1.0, "backup_stiffness": 200e3, "second_load": 700.0}
    args = use, span, rise, standing, stiffness, 0.5, load
    free, held = named(*args, **more), named(*args, floor=Floor(ground, tie, unseen), **more)
    deepest = float(np.max(tie - np.append(ground.height, ground.at(span * LOADED_AT))))
    assert set(free) == set(held)
    for name, case in held.items():
        if name in DYNAMIC:
            assert not case.drop > max(deepest, free["lying" if use == "hammock" else "standing"].drop) + 1e-6
        for figure in FIGURES:
            assert not getattr(case, figure) > getattr(free[name], figure) * (1 + 1e-9) + 1e-6
            assert np.isfinite(getattr(case, figure)) == np.isfinite(getattr(free[name], figure))


@settings(max_examples=40, deadline=None)
@given(st.floats(10, 60), st.floats(1500, 6000), st.floats(50e3, 500e3), st.floats(400, 1100), st.floats(0.4, 2))
@example(10.0, 2349.0, 92907.0, 400.0, 1.25)  # the factor on the walked case goes past what the ground allows
@example(26.4, 5963.0, 478e3, 445.0, 1.99)
@example(54.65, 5609.0, 171.1e3, 998.0, 0.42)  # the place next to the trunk
def test_a_lower_tie_a_lighter_walker_and_a_known_ground_are_never_harder(span, standing, stiffness, load, tie):
    def bounced(load, tie):
        floor = Floor(plain_slope(span), tie)
        return named("low line", span, 0.0, standing, stiffness, 0.7, load, floor=floor)["bounced"]

    here = bounced(load, tie)
    assert bounced(load, 0.8 * tie).tension <= here.tension * (1 + 1e-6)
    # the line is pressed down to within a millimetre: some 4e-5 of the tension
    assert bounced(1.2 * load, tie).tension >= here.tension * (1 - 1e-3)
    walked = named("low line", span, 0.0, standing, stiffness, 0.7, load, floor=Floor(plain_slope(span), tie))["walked"]
    assert walked.tension <= here.tension


@settings(max_examples=25, deadline=None)
@given(st.floats(8, 60), st.floats(1000, 6000), st.floats(50e3, 500e3), st.floats(400, 1000), st.floats(0.4, 2))
@example(26.1, 1495.0, 122721.0, 941.0, 0.73)  # the ground cut a jump 2 m off the trunk, not a stumble 1 m off it
def test_a_line_that_is_only_walked_asks_no_more_than_one_that_is_jumped_on(span, standing, stiffness, load, tie):
    args = "low line", span, 0.0, standing, stiffness, 0.7, load
    floor = Floor(plain_slope(span), tie)
    jumped, walked = named(*args, floor=floor)["bounced"], named(*args, floor=floor, walk_only=True)["stumbled"]
    for figure in FIGURES:
        assert getattr(walked, figure) <= getattr(jumped, figure) * (1 + 1e-9)


@pytest.mark.parametrize("tie", [None, 2.0, 30.0])
def test_a_stumble_half_as_far_from_the_trunk_pulls_it_down_no_harder_than_the_bounced_case_says(tie):
    floor = None if tie is None else Floor(plain_slope(9.2), tie)
    args = "high line", 9.2, 0.0, 4400.0, 250e3, 0.6, 980.0  # on a high line nobody jumps
    bounced, walked = named(*args, floor=floor)["bounced"], named(*args, floor=floor, walk_only=True)["stumbled"]
    for figure in FIGURES:
        assert getattr(walked, figure) <= getattr(bounced, figure) * (1 + 1e-9)


def test_where_the_ground_ends_it_the_basis_says_so_and_the_worst_place_lies_off_the_middle():
    level = Floor(plain_slope(60.0), 1.0)
    free, held = (named("low line", 60.0, 0.0, 5000.0, 250e3, 0.7, 800.0, floor=f)["bounced"] for f in (None, level))
    assert not free.ends_on_ground and held.ends_on_ground and held.tension < 0.75 * free.tension
    assert held.basis.code == "pressed-down-to-the-ground"
    line = LoadedLine(60.0, 0.0, 5000.0, 250e3, 0.7, 800.0)
    middle = pressed(line, [0.5], [1.0])["tension_a"][0]
    assert middle < held.tension  # nearer to a trunk the same depth asks more


def test_deep_ground_changes_nothing_but_is_known():
    deep = Floor(plain_slope(40.0), 30.0)
    for use in ("low line", "trick line", "high line"):
        free, held = (named(use, 40.0, 0.0, 3000.0, 100e3, 0.7, 800.0, floor=f) for f in (None, deep))
        for name in free:
            for figure in ("tension", "drop", "reach"):  # as deep as before, at the webbing's slow stiffness
                assert getattr(held[name], figure) == pytest.approx(getattr(free[name], figure), rel=2e-3, nan_ok=True)
            assert not held[name].ends_on_ground


@pytest.mark.parametrize("stiffness", [10e3, 40e3, 200e3])
def test_whoever_hangs_at_the_lowest_point_of_a_fall_hangs_on_a_stretched_leash(stiffness):
    """Feet a metre under the tie-in, which hangs the leash and its stretch under the line."""
    more = {"leash": 1.2, "leash_stiffness": stiffness}
    fall = named("high line", 40.0, 0.0, 3000.0, 100e3, 0.0, 800.0, **more)["leash fall"]
    force = leash_fall(40.0, 3000.0, QUICK_STIFFNESS * 100e3, 800.0, 2.2, stiffness).force
    assert fall.reach - fall.drop == pytest.approx(1.2 + force / stiffness + 1.0, rel=0.01)


def test_energy_along_the_line_is_the_landing_at_each_place():
    line = LoadedLine(40.0, 0.0, 3000.0, 100e3, 0.7, 800.0)
    found = swept(line, 0.4)
    quick = line.quick_stiffness
    for at in (0.1, 0.25, 0.5):
        lengths = dynamics.taut_length(40.0, np.array([3000.0, 0.0]), quick)
        harder = held.landing(40.0, lengths, quick, 800.0, 0.4, at=at).tension.max()
        got = np.interp(at, found.places, np.maximum(found.figures["tension_a"], found.figures["tension_b"]))
        assert got == pytest.approx(harder, rel=1e-2)
    assert found.places[0] * 40.0 == pytest.approx(NEAREST)


@pytest.mark.parametrize(("span", "rise", "standing", "stiffness", "load", "height"), [
    (19.3, 0.0, 5800.0, 21650.0, 1060.0, 1.0), (49.8, 0.0, 1500.0, 25e3, 900.0, 0.4),
    (90.0, 0.0, 2600.0, 95e3, 1000.0, 1.0),
    (6.8, 0.44, 11900.0, 37500.0, 470.0, 0.4), (6.8, -0.44, 11900.0, 37500.0, 470.0, 0.4),
])  # fmt: skip
def test_a_landing_beside_a_trunk_pulls_that_trunk_down_by_what_its_short_leg_carries(
    span, rise, standing, stiffness, load, height
):
    """Two springs from trunk to foot to trunk, the foot where they hold least energy, and all of it spent in them."""
    quick, at = QUICK_STIFFNESS * stiffness, min(NEAREST, 0.2 * span)
    length = np.hypot(span, rise) / (1 + standing / quick)
    rests = length * at / span, length * (1 - at / span)
    end = "vertical_b" if rise > 0 else "vertical_a"  # beside the higher trunk, seen from it
    over = abs(rise)

    def legs(foot, below):
        down = over * at / span + below
        return np.hypot(foot, down), np.hypot(span - foot, over - down)

    def energy(foot, below):
        return sum(0.5 * quick * max(leg / rest - 1, 0.0) ** 2 * rest for leg, rest in zip(legs(foot, below), rests))

    def settled(below):
        return minimize_scalar(energy, args=(below,), bounds=(0.0, span), method="bounded", options={"xatol": 1e-9})

    stored = settled(0.0).fun
    below = brentq(lambda deep: settled(deep).fun - stored - load * (height + deep), 0.0, span)
    foot, down = settled(below).x, over * at / span + below
    near = legs(foot, below)[0]
    asked = quick * max(near / rests[0] - 1, 0.0) * down / near
    use = {0.4: "low line", 1.0: "trick line"}[height]
    for floor in (None, Floor(plain_slope(span), 30.0)):
        found = named(use, span, rise, standing, stiffness, 0.7, load, floor=floor)["bounced"]
        assert getattr(found, end) >= 0.99 * asked


def test_the_peak_where_energy_and_ground_meet_is_not_lost_between_two_places():
    """Worked out thirty times finer, the hardest place asks the same, give or take the crossing's straight line.

    What is asked is the larger of the landing's energy and the factor on the walker standing still there.
    """
    span, tie = 60.0, 2.0
    line = LoadedLine(span, 0.0, 5000.0, 250e3, 0.7, 800.0, Floor(plain_slope(span), tie))
    fine = np.linspace(NEAREST / span, 0.5, 1500)
    lengths = dynamics.taut_length(span, np.array([[5000.0], [0.0]]), line.quick_stiffness)
    energy = held.landing(span, lengths, line.quick_stiffness, 800.0, 0.4, at=fine).tension.max(axis=0)
    asked = np.maximum(energy, BOUNCED * WALKED * line.at_tension(5000.0, 800.0, fine).tension_a)
    given = pressed(line, fine, np.full(fine.shape, tie))["tension_a"]
    peak = np.minimum(asked, given).max()
    ours = named("low line", span, 0.0, 5000.0, 250e3, 0.7, 800.0, floor=line.floor)["bounced"].tension
    assert peak * 0.99 < ours < peak * 1.05


def test_feet_of_the_trunks_are_points_of_a_profile():
    """A row at 20 m alone: the ground falls evenly from A's foot to it, and is not down there from the first step."""
    ground = taped_profile(50.0, -1.0, [20.0, 30.0], [-1.5, -1.5])
    assert ground.at([0.0, 10.0, 20.0, 30.0, 40.0, 50.0]) == pytest.approx([0, -0.75, -1.5, -1.5, -1.25, -1.0])
    whole = taped_profile(50.0, 7.0, [0.0, 20.0, 50.0], [0.0, -1.5, -1.0])
    assert whole.distance.tolist() == [0.0, 20.0, 50.0] and whole.height[-1] == -1.0
    with pytest.raises(OutsideModel):
        taped_profile(50.0, 0.0, [20.0, 20.0], [1.0, 1.0])
    with pytest.raises(OutsideModel):
        Profile(np.array([0.0, np.nan]), np.array([0.0, 0.0]))


@pytest.mark.parametrize(("span", "standing", "stiffness"), [(122.7, 2272.0, 133.1e3), (64.9, 1474.0, 455.7e3)])
def test_next_to_a_trunk_of_a_long_line_the_ground_is_met_as_near_as_anybody_jumps(span, standing, stiffness):
    """Two per cent of 123 m is more than the 2 m kept off a trunk: the place that asks most lies between."""
    line = LoadedLine(span, 0.0, standing, stiffness, 0.05, 1000.0, Floor(plain_slope(span), 1.5))
    for found, nearest in ((swept(line, 0.4), NEAREST), (swept(line, 0.25, from_loaded=True), 1.0)):
        assert found.places[[0, -1]] * span == pytest.approx([nearest, span - nearest])


def test_a_ditch_between_two_even_places_is_met():
    span, at = 150.0, 75.0 + 1.5
    level, ditch = (taped_profile(span, 0.0, [at - 1, at, at + 1], [0.0, low, 0.0]) for low in (0.0, -2.0))
    walked, over = (named("long line", span, 0.0, 6000.0, 250e3, 0.5, 900.0, floor=Floor(ground, 0.8))
                    for ground in (level, ditch))  # fmt: skip
    assert over["walked"].drop > walked["walked"].drop + 0.5 and over["bounced"].drop == pytest.approx(2.8)


def test_a_backup_catches_off_the_middle_where_the_ground_lies_under_the_slack():
    """At mid-span the ground is met before the slack is out, which read 0 kN; beside a trunk the line is short."""
    span, extra, ea, tie, load = 40.0, 1.42, 80e3, 4.37, 785.0
    more = {"backup_extra_length": extra, "backup_stiffness": ea, "leash": 1.2, "leash_stiffness": 30e3}
    over = named("high line", span, 0.0, 2700.0, 100e3, 0.5, load, floor=Floor(plain_slope(span), tie), **more)
    at = np.linspace(NEAREST / span, 0.5, 200)
    down = dynamics.held_at(span, span + extra, QUICK_STIFFNESS * ea, tie, at).tension
    start = solve(span, 0.0, 2700.0, 100e3, 0.5, load, at).drop
    asked = dynamics.catch(span, span + extra, QUICK_STIFFNESS * ea, load, 2.2, start, 30e3, at).tension
    assert over["backup catch"].tension == pytest.approx(np.minimum(down, asked).max(), rel=0.03)
    assert down[-1] == 0 and over["backup catch"].tension > 3e3
    free = named("high line", span, 0.0, 2700.0, 100e3, 0.5, load, **more)["backup catch"]
    for unseen in (0.0, 0.1, 3.0):
        floor = Floor(plain_slope(span), tie, unseen)
        over = named("high line", span, 0.0, 2700.0, 100e3, 0.5, load, floor=floor, **more)["backup catch"]
        assert over.tension <= free.tension + 1e-6
        # the ground that was not seen lets nobody fall deeper than without any
        down = dynamics.held_at(span, span + extra, QUICK_STIFFNESS * ea, tie + unseen, at).tension
        assert over.tension == pytest.approx(min(np.minimum(down, asked).max(), free.tension), rel=0.03)


@settings(max_examples=40, deadline=None)
@given(st.floats(8, 60), st.floats(1500, 6000), st.floats(50e3, 400e3), st.floats(0.5, 2), st.floats(-0.3, 0.3))
@example(15.0, 2551.0, 212859.0, 1.0, 0.0)  # what both bring at one place off the middle is less
def test_two_who_hold_the_line_down_beside_both_trunks_ask_no_more_than_we_say(span, standing, stiffness, tie, rise):
    """Exact statics of the line with a load 2 m off each trunk, each as heavy as it takes to reach the ground."""
    line = LoadedLine(span, rise, standing, QUICK_STIFFNESS * stiffness, 0.7, 800.0)
    length = float(line.at_tension(standing, 0.0, 0.5).unstretched)
    places, down = np.array([NEAREST / span, 1 - NEAREST / span]), np.array([tie, tie + rise])
    floor = Floor(taped_profile(span, 0.0, [], []), tie)
    loads = np.array([2000.0, 2000.0])
    for _ in range(60):  # each load on its own grows or shrinks until its place lies on the ground
        state = solve_loads(span, rise, length, line.stiffness, 0.7, loads, places)
        loads = loads * np.clip((tie - 0.02) / np.maximum(state.drop, 1e-3), 0.5, 2.0)
    assert state.drop == pytest.approx(tie - 0.02, abs=0.02) and down.min() > 0
    cases = named("low line", span, rise, standing, stiffness, 0.7, 800.0, second_load=800.0, people=2, floor=floor)
    free = named("low line", span, rise, standing, stiffness, 0.7, 800.0, second_load=800.0, people=2)
    asked = min(float(np.maximum(state.tension_a, state.tension_b)), free["bounced"].tension)
    assert cases["bounced"].tension >= asked * 0.98


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("rise", [-10.0, -5.0])
def test_a_line_down_a_hillside_whose_lower_end_is_not_pulled_down_is_still_plain_numbers(rise):
    ground = Floor(taped_profile(95.0, rise, [47.5], [rise / 2 - 2]), 1.5, 0.1)
    args = "long line", 95.0, rise, 3500.0, 120e3, 0.6, 750.0
    free, held = named(*args), named(*args, floor=ground)
    for name in DYNAMIC[:2]:
        assert all(0 <= getattr(held[name], one) <= getattr(free[name], one) * (1 + 1e-9) for one in FIGURES)
