"""Two hundred of the ten thousand damages that `tests/bench/damage_register.py` does."""

from __future__ import annotations

import pytest
from bench.damage_register import run


@pytest.mark.parametrize("seed", range(101, 105))
def test_no_damage_makes_a_register_fail_lie_or_lose_what_it_left_alone(seed, tmp_path):
    tally = run(50, seed, tmp_path)
    assert tally.cases == 50
    assert tally.internal == []
    assert tally.wrong_yes == []
    assert tally.back >= 0.99 * tally.intact
    # the damage must have been some: else nothing was asked
    assert sum(count for what, count in tally.said.items() if "refused in words" in what) > 20
    assert tally.intact > 1000
