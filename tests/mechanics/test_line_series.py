"""Webbings joined end to end, taken as one, beside the exact joined line."""

import itertools

import numpy as np
import pytest

from siteassess.errors import OutsideModel
from siteassess.mechanics.cable import solve
from siteassess.mechanics.cable_many import Section, solve_joined, solve_table
from siteassess.mechanics.series import in_series, shares_of
from siteassess.mechanics.stretch_table import StretchTable

NYLON, POLYESTER, POLYETHYLENE = (55.6e3, 0.57), (250e3, 0.69), (1000e3, 0.37)  # EA [N], weight [N/m]


def test_two_springs_in_series():
    """1/k = a/k1 + b/k2 (textbook)."""
    assert in_series([0.25, 0.75], [100e3, 300e3]) == pytest.approx(1 / (0.25 / 100e3 + 0.75 / 300e3))


def test_a_table_with_itself_is_itself():
    table = StretchTable([2e3, 5e3, 10e3], [0.05, 0.10, 0.16])
    both = in_series([0.4, 0.6], [table, table])
    tension = np.linspace(100, 10e3, 50)
    assert both.strain(tension) == pytest.approx(table.strain(tension), rel=0.01)


@pytest.mark.parametrize(("first", "second"), list(itertools.permutations((NYLON, POLYESTER, POLYETHYLENE), 2)))
def test_as_one_the_tensions_miss_the_exact_joined_line_by_under_0_7_percent(first, second):
    """30 to 150 m, 1.5 to 10 kN, 400 to 1000 N: as the module's first lines say."""
    shares, worst = (0.3, 0.7), 0.0
    one = in_series(shares, [first[0], second[0]])
    weight = sum(s * w for s, (_, w) in zip(shares, (first, second)))
    sections = [Section(s, ea, w) for s, (ea, w) in zip(shares, (first, second))]
    for span, standing, load in itertools.product((30.0, 75.0, 150.0), (1500.0, 3000.0, 10e3), (400.0, 1000.0)):
        at = np.array([0.1, 0.5, 0.9])
        exact = solve_joined(span, 0.0, standing, sections, np.full((3, 1), load), at[:, None]).require()
        taken = solve(span, 0.0, standing, one, weight, load, at).require()
        worst = max(worst, float(np.max(np.abs(taken.tension_a / exact.tension_a - 1))))
    assert 0 < worst < 0.007


def test_tables_and_stiffnesses_mix():
    table = StretchTable([2e3, 5e3, 10e3], [0.05, 0.10, 0.16])
    one = in_series([0.5, 0.5], [table, 250e3])
    sections = [Section(0.5, table, 0.57), Section(0.5, 250e3, 0.69)]
    exact = solve_joined(60.0, 0.0, 3000.0, sections, np.array([[800.0]]), np.array([[0.5]])).require()
    taken = solve_table(60.0, 0.0, 3000.0, one, 0.63, 800.0, 0.5).require()
    assert float(taken.tension_a) == pytest.approx(float(exact.tension_a[0]), rel=0.005)


def test_the_piece_without_a_length_is_the_rest_of_the_unstretched_line():
    shares = shares_of(60.0, 3000.0, [20.0, None], [55.6e3, 250e3])
    assert sum(shares) == pytest.approx(1)
    whole = 20.0 / shares[0]
    assert whole * (1 + shares[0] * 3000 / 55.6e3 + shares[1] * 3000 / 250e3) == pytest.approx(60.0, rel=1e-4)


def test_listed_lengths_are_taken_by_their_shares():
    assert shares_of(60.0, 0.0, [20.0, 60.0], [1e5, 1e5]) == pytest.approx((0.25, 0.75))


@pytest.mark.parametrize("lengths", [[None, None], [70.0, None]])
def test_lengths_that_cannot_be_are_refused(lengths):
    with pytest.raises(OutsideModel):
        shares_of(60.0, 0.0, lengths, [1e5, 1e5])


@pytest.mark.parametrize("shares", [[0.5, 0.6], [1.0, 0.0], [1.0]])
def test_shares_that_cannot_be_are_refused(shares):
    with pytest.raises(OutsideModel):
        in_series(shares, [1e5, 2e5])
