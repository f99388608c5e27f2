"""Filled heights and crowns against the raw city trees they rest on, each region left out in turn."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from city_trees import QUANTITIES, between_regions, fits, misses, raw
from scipy.special import ndtr, ndtri

from siteassess.advice.filled import crown_width_of, filled_height_of
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows


@pytest.fixture(scope="module")
def missed() -> dict[str, pd.DataFrame]:
    return {quantity: misses(column, quantity) for quantity, column in QUANTITIES.items()}


def test_the_raw_trees_are_those_of_the_source():
    # Urban tree database, table TS3 (read): 17 regions; Norway maple, Acer platanoides, in six of them
    trees = raw()
    assert len(trees) == 13_296 and trees.region.nunique() == 17
    assert trees[trees.species == "Acer platanoides"].region.nunique() == 6


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_the_table_is_what_the_fits_give(quantity):
    listed = {(row.rank, row.name): row for row in rows("allometry") if row.quantity == quantity}
    found = fits(raw(), QUANTITIES[quantity])
    assert set(found) == set(listed)
    for key, (coefficient, exponent, ln_sd, *_) in found.items():
        row = listed[key]
        assert (row.coefficient_value, row.exponent, row.ln_sd_value) == pytest.approx(
            (coefficient, exponent, ln_sd), rel=2e-3)  # fmt: skip


@pytest.mark.parametrize("quantity, side", [("height", "low"), ("height", "high"), ("crown", "high")])
def test_one_tree_in_ten_of_every_size_misses_with_its_region_left_out(missed, quantity, side):
    """Where 10 % is meant, 8 to 12 %, over all regions left out in turn; noise of the smallest class is 0.7 %."""
    share = missed[quantity].groupby("size", observed=True)[side].agg(["mean", "size"])
    assert len(share) == 5 and share["size"].min() > 1_500
    assert share["mean"].between(0.08, 0.12).all(), share


@pytest.mark.parametrize("quantity, side", [("height", "low"), ("height", "high"), ("crown", "high")])
def test_a_region_left_out_misses_as_one_draw_from_the_scatter_between_regions(missed, quantity, side):
    """No fill that does not know its region can miss 8 to 12 % in each: trees of a region stand low or high together
    (dry and tropical ones low, the Pacific north-west and the Piedmont high), by four tenths of a height's whole
    scatter. Whatever fractile is asked, at most a quarter of such regions then lie within 8 to 12 %; their rain and
    warmth (means recalled), tried as two slopes with each region left out, foretell next to nothing. What holds is that
    the mean over regions is what was meant, and that the worst is no worse than the worst of so many draws."""
    share = missed[quantity].groupby("region")[side].mean()
    assert share.mean() == pytest.approx(0.10, abs=0.02)
    # the scatter between regions comes from trees of one species in several of them, not from these misses
    table = fits(raw(), QUANTITIES[quantity])
    scatter = np.mean([row[2] for (rank, _), row in table.items() if rank == "species"])
    between = np.sqrt(between_regions(raw(), QUANTITIES[quantity])) / scatter
    draws = np.random.default_rng(17).normal(0.0, between, (20_000, share.size))
    worst = ndtr((ndtri(0.10) + draws) / np.sqrt(1 - between**2)).max(axis=1)
    assert share.max() < min(np.quantile(worst, 0.75), 0.25)
    within = 2 * ndtr((ndtri(0.12) - ndtri(0.08)) / 2 * np.sqrt(1 - between**2) / between) - 1
    assert within < 0.30


def test_the_fills_of_the_program_are_the_fits_at_their_fractiles():
    """The whole way by name, over every raw tree with a name of its own: in sample, so under the 10 % of a region left
    out, and not by far, or the fill would be careless of what can be used."""
    trees = raw()[raw().kind != ""]
    low = high = wide = 0
    for name, own in trees.groupby("kind"):
        match = find_species(name)
        one, other = (filled_height_of(match, d) for d in (0.2, 0.6))
        assert 0 < one.height < one.high and one.height < other.height and one.high < other.high
        for row in own.itertuples():
            filled = filled_height_of(match, row.d)
            low += row.height_m < filled.height
            high += row.height_m > filled.high
            wide += row.crown_m > crown_width_of(match, row.d)[0]
    assert all(0.05 < missed / len(trees) < 0.10 for missed in (low, high, wide))
