"""What a trial load does to a verdict: it mends nothing it was not made for, and a base that moved ends it."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import record

from siteassess.advice.assess import assess
from siteassess.mechanics.tilt import capacity_from_trial, moment_share_at_tilt

# between 60 and 100 %: a trial load is asked for
WATCHED = {"T1.trunk.0.girth": "126 cm", "T1.height": "14 m", "T1.crown_spread": "4 m", "L1.a.tie_height": "2.1 m",
           "L1.b.tie_height": "2.1 m"}  # fmt: skip
TRIAL = {"date": "2026-04-19", "pull": "14 kN", "tie_height": "2.1 m", "toward": "90 deg", "wetness": "moist",
         "moved": "no", "tilt": "0.05 deg", "finest": "0.02 deg"}  # fmt: skip

EASY = {"T1.trunk.0.girth": "188.5 cm", "T1.height": "18 m", "L1.a.tie_height": "1.2 m", "L1.b.tie_height": "1.2 m"}


def end_a(trial: dict | None = None, edits: dict | None = None):
    tried = {"T1.trial": TRIAL | trial} if trial is not None else {}
    return assess(record(WATCHED | (edits or {}) | tried)).lines[0].anchors[0]


def root(end):
    return next(limit for limit in end.limits if limit.name == "root plate")


def test_without_a_trial_the_base_is_to_be_watched_and_the_steps_are_told():
    end = end_a()
    assert 0.6 < end.hold_use <= 1 and any("trial load" in condition for condition in end.conditions)
    assert any("40% of the moment" in step for step in end.trial_load)
    assert any("after rain" in step for step in end.trial_load) and any("`trial`" in step for step in end.trial_load)


def test_a_small_tilt_under_a_hard_pull_lowers_the_use_by_the_weighed_median():
    plain, tried = root(end_a()), root(end_a({}))
    # 14 kN x (2.1 + 0.802) m = 40.6 kN m; 0.05 degrees would point to 194 kN m, and no more than 2.5 moments are
    # credited: 101.6 kN m, beside 67.6 by size; weighed 0.66 to 0.34
    assert float(capacity_from_trial(14000 * 2.902, 0.05)) > 2.5 * 14000 * 2.902
    read = 2.5 * 14000 * 2.902
    own, other = plain.ln_sd_capacity**-2, 0.35**-2
    wanted = (plain.capacity_median**own * read**other) ** (1 / (own + other))
    assert tried.capacity_median == pytest.approx(wanted, rel=1e-3)
    assert tried.use < plain.use and tried.ln_sd_capacity == pytest.approx(0.35)


@pytest.mark.parametrize("trial", [
    {"toward": "180 deg"}, {"toward": None}, {"wetness": "unknown"}, {"date": "2024-04-19"}, {"date": "2026-12-01"},
])  # fmt: skip
def test_good_news_does_not_count_another_way_on_other_ground_or_after_a_year(trial):
    assert root(end_a(trial)).use == pytest.approx(root(end_a()).use)
    assert any("earns no credit" in says for says in end_a(trial).reasons)


@pytest.mark.parametrize("trial", [{}, {"toward": "180 deg"}, {"date": "2024-04-19"}])
def test_a_foot_that_nobody_looked_at_is_to_be_looked_at_whatever_the_trial_earns(trial):
    """Seen to move it ends it in any direction and at any age, so that not looking must not pass as if it stood."""
    unseen, seen = (end_a(trial | {"moved": moved}, EASY) for moved in ("not looked", "no"))
    assert (unseen.verdict, seen.verdict) == ("suits if", "suits")
    assert any("trunk's foot" in condition for condition in unseen.conditions)
    assert end_a(trial | {"moved": "yes"}, EASY).verdict == "leave it"


@pytest.mark.parametrize("trial", [{}, {"toward": "180 deg"}, {"date": "2024-04-19"}, {"moved": "not looked"}])
@pytest.mark.parametrize("tilt", ["0.3 deg", "0.6 deg"])
def test_a_tilt_nobody_read_is_to_be_read_whatever_the_trial_earns(trial, tilt):
    assert end_a(trial | {"tilt": tilt}, EASY).verdict == "leave it"
    unread = end_a(trial | {"tilt": None, "finest": None}, EASY)
    assert unread.verdict == "suits if" and any("tilt of the foot" in condition for condition in unread.conditions)


def test_a_trial_on_dry_ground_does_not_count_for_wet_but_one_on_wet_ground_does_for_dry():
    wet = {"T1.ground.wetness": "wet"}
    assert root(end_a({}, wet)).use == pytest.approx(root(end_a(None, wet)).use)
    assert root(end_a({"wetness": "wet"})).use < root(end_a()).use


def test_a_trial_on_frozen_ground_counts_for_frozen_ground_only():
    """Fresh eyes: frost holds roots that the thawed ground lets go."""
    for wetness in ("moist", "wet", "standing water"):
        ground = {"T1.ground.wetness": wetness}
        assert root(end_a({"wetness": "frozen"}, ground)).use == pytest.approx(root(end_a(None, ground)).use)
    frozen = {"T1.ground.wetness": "frozen"}
    assert root(end_a({"wetness": "frozen"}, frozen)).use < root(end_a(None, frozen)).use


@pytest.mark.parametrize("tilt", ["0.1 deg", "0.2 deg", "0.3 deg", "0.5 deg"])
@pytest.mark.parametrize("vaguer", [None, {"name": "unknown", "leaf_type": "broadleaf"},
                                    {"name": "Quercus robur", "certainty": "guess"}])
def test_a_trial_earns_no_more_where_the_kind_is_vaguer(tilt, vaguer):
    """Seed 700133 of the search: with the oak's name left out, a trial that spoke against it spoke for the tree."""
    trial = {"pull": "8 kN", "tie_height": "1.2 m", "tilt": tilt, "finest": "0.05 deg"}
    assert root(end_a(trial, {"T1.species": vaguer})).use > 0.98 * root(end_a(trial)).use


def test_bad_news_counts_whatever_the_direction():
    weak = {"tilt": "0.24 deg", "pull": "2 kN", "toward": "270 deg"}
    assert root(end_a(weak)).use > root(end_a()).use


@pytest.mark.parametrize("trial", [{"moved": "yes"}, {"tilt": "0.25 deg"}, {"tilt": "3 deg", "toward": "180 deg"}])
def test_a_base_that_moved_is_left(trial):
    assert end_a(trial).verdict == "leave it"


def test_no_movement_under_the_full_moment_leaves_only_the_watching():
    still = end_a({"tilt": None, "finest": None})
    assert root(still).use == pytest.approx(root(end_a()).use)
    assert still.verdict == "suits if" and not any("trial load" in condition for condition in still.conditions)
    assert any("after hard bouncing and after rain" in condition for condition in still.conditions)
    gentle = end_a({"tilt": None, "finest": None, "pull": "3 kN"})
    assert any("trial load" in condition for condition in gentle.conditions)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.01, 0.24), st.floats(1.0, 1.9))
def test_more_tilt_is_never_kinder(tilt, more):
    one, two = (root(end_a({"tilt": f"{t:.4f} deg", "finest": None})).use for t in (tilt, min(tilt * more, 0.249)))
    assert two >= one * (1 - 1e-6)


@pytest.mark.parametrize("tilt, word", [("0.05 deg", "leave it"), ("0 deg", "suits"), (None, "suits if")])
def test_a_foot_that_tilted_under_no_pull_is_no_tree_that_nobody_tried(tilt, word):
    """Half a kilonewton for the same tilt is more than the tree has; what nothing tilted tells nothing."""
    assert end_a({"tilt": "0.05 deg", "pull": "0.5 kN"}, EASY).hold_use > 1
    end = end_a({"tilt": tilt, "finest": None, "pull": "0 N"}, EASY)
    codes = {one.code for one in end.findings}
    assert end.verdict == word and ("trial-of-no-pull" in codes) == (word == "leave it")
    assert "trial-counts" not in codes, "of a pull of nothing no credit is told"


def test_a_tilt_finer_than_the_reading_counts_as_the_finest():
    fine, coarse = end_a({"tilt": "0.001 deg", "finest": "0.1 deg"}), end_a({"tilt": "0.1 deg"})
    assert root(fine).use == pytest.approx(root(coarse).use)


def test_the_tilt_where_movement_shows_is_forty_percent_of_the_greatest_moment():
    # Wessolly and Erb 1998, from memory: 0.25 degrees at 40 %
    assert float(moment_share_at_tilt(0.25)) == pytest.approx(0.40)
    assert datetime.date.fromisoformat(TRIAL["date"]) < datetime.date(2026, 4, 20)
