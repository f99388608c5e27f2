"""Ten thousand random trees: no negative capacity, no number without a reason for its absence, no surprise."""

import warnings

import numpy as np
import pytest

from siteassess.mechanics import ground, ownweight, rootplate, roots, stem
from siteassess.mechanics.limit import Outside, make_limit

COUNT = 10_000


@pytest.fixture(scope="module")
def trees():
    draw = np.random.default_rng(20240511)
    d = draw.uniform(0.1, 1.8, COUNT)
    return {
        "d": d,
        "h": d * draw.uniform(8.0, 100.0, COUNT),
        "tie": draw.uniform(0.0, 4.0, COUNT),
        "section": draw.uniform(0.0, 2.0, COUNT),
        "pull": draw.uniform(0.0, 30e3, COUNT),
        "mor": draw.uniform(25e6, 110e6, COUNT),
        "bark": d * draw.uniform(0.0, 0.08, COUNT),
        "wall": np.where(draw.random(COUNT) < 0.5, np.inf, d * draw.uniform(0.0, 0.6, COUNT)),
        "opening": np.where(draw.random(COUNT) < 0.7, 0.0, draw.uniform(0.0, 180.0, COUNT)),
        "forked": draw.integers(0, 2, COUNT).astype(float),
        "lost": draw.random((COUNT, 8)) * (draw.random((COUNT, 8)) < 0.3),
        "bearing": draw.uniform(0.0, 360.0, COUNT),
        "lean": draw.uniform(0.0, 15.0, COUNT),
        "slope": draw.uniform(0.0, 40.0, COUNT),
    }


def judged(trees):
    t = trees
    own = ownweight.own_lean_moment(t["d"], t["h"], t["lean"])
    bending = stem.stem_limit(
        t["mor"], t["d"], t["tie"], t["pull"], section_height=t["section"], bark_thickness=t["bark"],
        wall=t["wall"], opening_deg=t["opening"], forked=t["forked"], other_moment=own,
    )  # fmt: skip
    turning = rootplate.root_limit(
        t["d"], t["h"], t["tie"], t["pull"], lean_moment=own, lean_from_pull_deg=t["bearing"],
        share_lost=roots.holding_share_lost(t["lost"], t["bearing"]),
        ground_factor=ground.ground_factor(t["slope"], np.inf, t["d"]),
        extra_outside=ground.ground_outside(t["slope"]),
    )  # fmt: skip
    return bending, turning


def test_every_tree_has_a_positive_capacity_or_a_reason(trees):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        limits = judged(trees)
    for limit in limits:
        told = ~limit.refused
        assert 0.2 < told.mean() < 1.0, "the draw must exercise both sides"
        for field in ("capacity_median", "capacity_p05", "allowable"):
            values = getattr(limit, field)
            assert np.isfinite(values[told]).all() and (values[told] > 0).all()
            assert np.isnan(values[limit.refused]).all()
        assert np.isfinite(limit.use[told]).all() and (limit.use[told] >= 0).all()
        assert np.isnan(limit.use[limit.refused]).all()
        chance = limit.probability(0.2)
        assert ((chance[told] >= 0) & (chance[told] <= 1)).all()


def test_one_by_one_gives_the_same_as_all_at_once(trees):
    bending, turning = judged(trees)
    for i in range(0, COUNT, 997):
        one = judged({name: values[i] for name, values in trees.items()})
        for single, many in zip(one, (bending, turning), strict=True):
            np.testing.assert_allclose(single.use, many.use[i], rtol=1e-12)
            assert int(single.outside) == int(many.outside[i])


def test_an_unknown_in_any_input_is_never_a_number(trees):
    t = {name: values[:50] for name, values in trees.items()} | {"h": trees["d"][:50] * 30, "wall": np.full(50, np.inf)}
    t["lost"] = np.zeros((50, 8))
    t["slope"] = np.zeros(50)
    t["opening"] = np.zeros(50)
    bending, turning = judged(t)
    assert not bending.refused.any() and not turning.refused.any()
    for name in ("d", "tie", "section", "pull", "mor", "bark", "wall", "opening", "forked", "lean"):
        assert np.isnan(judged(t | {name: np.full(50, np.nan)})[0].use).all(), name
    for name in ("d", "h", "tie", "pull", "bearing", "lean", "slope"):
        assert np.isnan(judged(t | {name: np.full(50, np.nan)})[1].use).all(), name
    assert np.isnan(judged(t | {"lost": np.full((50, 8), np.nan)})[1].use).all()


def test_probability_falls_back_to_certainty_at_zero_pull():
    limit = rootplate.root_limit(0.4, 18.0, 1.0, [0.0, 5e3])
    assert limit.probability(0.2)[0] == 0.0
    assert limit.probability(0.2, capacity_extra_ln_sd=0.3)[1] > limit.probability(0.2)[1] > 0


def test_a_limit_missing_its_scatter_says_so():
    limit = make_limit("x", [1.0, 1.0], [0.4, np.nan], 0.1, 1.5, 0)
    assert limit.outside[1] == Outside.MISSING
    assert not limit.refused[0]
