"""Log-normal helpers: closed forms against seeded sampling and against what must always hold."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import scatter

medians = st.floats(1e-3, 1e7)
ln_sds = st.floats(0.01, 1.0)


def sampled_exceedance(demand_median, demand_ln_sd, capacity_medians, capacity_ln_sds, count, seed):
    """Share of samples in which one demand exceeds any capacity, and its standard error."""
    draw = np.random.default_rng(seed)
    medians = np.atleast_1d(capacity_medians)
    demand = demand_median * np.exp(demand_ln_sd * draw.standard_normal(count))
    capacity = medians * np.exp(capacity_ln_sds * draw.standard_normal((count, medians.size)))
    share = np.mean((demand[:, None] > capacity).any(axis=1))
    return share, np.sqrt(share * (1.0 - share) / count)


def test_five_percent_value_of_the_root_plate_scatter():
    # exp(-1.6449 x 0.48) by hand.
    assert scatter.five_percent_value(86_400.0, 0.48) == pytest.approx(86_400.0 * math.exp(-1.6448536 * 0.48), rel=1e-7)
    assert scatter.five_percent_value(1.0, 0.48) == pytest.approx(0.454, abs=5e-4)


def test_allowable_refuses_a_divisor_that_would_raise_the_capacity():
    assert np.isnan(scatter.allowable(1.0, 0.4, 0.9))
    assert scatter.allowable(1.0, 0.0, 2.0) == 0.5


@pytest.mark.parametrize("bad", [math.nan, -1.0])
def test_no_silent_number_from_a_bad_input(bad):
    assert np.isnan(scatter.percentile(bad, 0.4, 0.05))
    assert np.isnan(scatter.percentile(1.0, bad, 0.05))
    assert np.isnan(scatter.exceedance_probability(bad, 0.1, 1.0, 0.4))
    assert np.isnan(scatter.exceedance_probability(1.0, 0.1, bad, 0.4))


def test_exceedance_at_the_edges():
    assert scatter.exceedance_probability(0.0, 0.1, 1.0, 0.4) == 0.0
    assert scatter.exceedance_probability(1.0, 0.1, 0.0, 0.4) == 1.0
    assert scatter.exceedance_probability(1.0, 0.1, 1.0, 0.4) == 0.5
    assert scatter.exceedance_probability(2.0, 0.0, 1.0, 0.0) == 1.0
    assert np.isnan(scatter.exceedance_probability(0.0, 0.0, 0.0, 0.0))


@pytest.mark.parametrize("ratio", [0.3, 0.6, 1.0, 1.6])
def test_closed_form_and_sampling_agree(ratio):
    closed = float(scatter.exceedance_probability(ratio, 0.20, 1.0, 0.48))
    sampled, error = sampled_exceedance(ratio, 0.20, 1.0, 0.48, count=200_000, seed=4)
    assert abs(sampled - closed) < 4.0 * error
    assert error < 0.0012


def test_a_pair_under_one_line_lies_between_the_bounds_and_matches_sampling():
    demand, d_sd = 1.0, 0.2
    capacity, c_sd = np.array([1.4, 1.8]), np.array([0.48, 0.40])
    single = scatter.exceedance_probability(demand, d_sd, capacity, c_sd)
    pair = scatter.any_exceeds_shared_demand([demand, demand], d_sd, capacity, c_sd)
    assert single.max() < pair < 1.0 - np.prod(1.0 - single) < single.sum()
    sampled, error = sampled_exceedance(demand, d_sd, capacity, c_sd, count=300_000, seed=2)
    assert abs(sampled - pair) < 4.0 * error


def test_a_pair_with_one_limit_is_the_single_limit():
    # Quadrature against the closed form; 1e-9 is far under anything the reader sees.
    closed = scatter.exceedance_probability(0.7, 0.2, 1.0, 0.4)
    assert scatter.any_exceeds_shared_demand([0.7], 0.2, [1.0], [0.4]) == pytest.approx(float(closed), abs=1e-9)


def test_pairs_are_vectorised_over_leading_axes():
    demand = np.array([[1.0, 1.0], [0.5, 0.7], [np.nan, 1.0]])
    found = scatter.any_exceeds_shared_demand(demand, np.array([0.1, 0.2, 0.2]), [2.0, 2.0], [0.4, 0.5])
    assert found.shape == (3,)
    assert np.isnan(found[2])
    one = scatter.any_exceeds_shared_demand(demand[1], 0.2, [2.0, 2.0], [0.4, 0.5])
    assert found[1] == pytest.approx(float(one), rel=1e-12)


def test_variance_shares_rank_the_diameter_first_in_d_squared_h():
    shares = scatter.variance_shares({"height": (1.0, 0.10), "diameter": (2.0, 0.10), "factor": (1.0, 0.10)})
    assert list(shares) == ["diameter", "factor", "height"]
    assert shares["diameter"] == pytest.approx(4.0 / 6.0)
    assert sum(shares.values()) == pytest.approx(1.0)


def test_variance_shares_match_sampling_of_the_product():
    draw = np.random.default_rng(5)
    d, h = (np.exp(sd * draw.standard_normal(200_000)) for sd in (0.05, 0.20))
    total = np.var(np.log(d**2 * h))
    shares = scatter.variance_shares({"d": (2.0, 0.05), "h": (1.0, 0.20)})
    # 0.2 % relative sampling error of a variance from 200,000 draws is 1/sqrt(100,000) = 0.3 %.
    assert shares["h"] == pytest.approx(np.var(np.log(h)) / total, abs=0.01)


def test_variance_shares_without_scatter_and_with_unknown_scatter():
    assert scatter.variance_shares({"a": (2.0, 0.0)}) == {"a": 0.0}
    assert all(math.isnan(s) for s in scatter.variance_shares({"a": (1.0, math.nan), "b": (1.0, 0.1)}).values())


@settings(max_examples=80, deadline=None)
@given(medians, ln_sds, ln_sds, st.floats(1.0, 3.0))
def test_more_scatter_or_a_larger_divisor_never_raises_the_allowable(median, low, more, divisor):
    base = scatter.allowable(median, low, divisor)
    assert base > 0.0
    assert scatter.allowable(median, low + more, divisor) < base
    assert scatter.allowable(median, low, divisor * 1.1) < base


@settings(max_examples=80, deadline=None)
@given(medians, medians, ln_sds, ln_sds)
def test_exceedance_mirrors_when_demand_and_capacity_change_places(demand, capacity, d_sd, c_sd):
    p = scatter.exceedance_probability(demand, d_sd, capacity, c_sd)
    q = scatter.exceedance_probability(capacity, c_sd, demand, d_sd)
    assert p + q == pytest.approx(1.0, abs=1e-12)


def test_combined_scatter_is_the_root_of_squares():
    assert scatter.combined_ln_sd(0.3, 0.4) == pytest.approx(0.5)
    assert np.isnan(scatter.combined_ln_sd(0.3, np.nan))


def test_guessed_inputs_widen_the_scatter_and_a_guess_never_beats_a_tape():
    exponents = {"diameter": 2.0, "height": 1.0}

    def widened(**how):
        readings = {name: scatter.READING_LN_SD[name, way].value for name, way in how.items()}
        return scatter.combined_ln_sd(0.48, *(exponents[name] * sd for name, sd in readings.items()))

    taped, guessed = widened(diameter="taped", height="measured"), widened(diameter="estimated", height="filled")
    assert 0.48 < taped < guessed
    assert taped == pytest.approx(math.sqrt(0.48**2 + 0.04**2 + 0.08**2))
