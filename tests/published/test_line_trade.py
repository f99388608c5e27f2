"""Hauling tables and facts of the trade. "Common practice, no source" means just that."""

import pytest

from siteassess.mechanics import hauling as h

PULLEY, CARABINER = h.SHEAVES["good pulley"], h.SHEAVES["carabiner"]


@pytest.mark.parametrize(
    ("efficiency", "three", "five", "nine"),
    [
        (0.50, 1.75, 1.94, 3.06), (0.66, 2.10, 2.57, 4.39), (0.80, 2.44, 3.36, 5.95), (0.85, 2.57, 3.71, 6.62),
        (0.90, 2.71, 4.10, 7.34), (0.95, 2.85, 4.52, 8.14), (0.97, 2.91, 4.71, 8.47),
    ],
)  # fmt: skip
def test_advantage_table(efficiency, three, five, nine):
    """Sum over the strands (T-method; derived, two decimals)."""
    gains = [float(h.advantage(n, efficiency)) for n in (3, 5)]
    assert [*gains, gains[0] ** 2] == pytest.approx([three, five, nine], abs=0.0051)


def test_three_to_one_at_085():
    """2.5725 (T-method; the 0.85 read in a rope-rescue article)."""
    assert float(h.advantage(3, 0.85)) == pytest.approx(2.5725, rel=1e-12)


# Common practice, no source: one person braced, some 70 to 80 m of stretchy nylon.
@pytest.mark.parametrize(
    ("stages", "low", "high"),
    [
        ([h.Stage(3, PULLEY)], 1000.0, 1000.0),
        ([h.Stage(5, PULLEY)], 2500.0, 3000.0),
        ([h.Stage(5, PULLEY), h.Stage(2, CARABINER)], 3500.0, 3500.0),
    ],
)
def test_what_hands_reach_by_common_practice_lies_in_the_range(stages, low, high):
    hauled = h.haul(1, stages, footing="feet braced")
    assert hauled.reached.low < low and high < hauled.reached.high
    # A range that holds everything tells nothing: it stays within a factor of five.
    assert hauled.reached.high < 5 * hauled.reached.low


def test_a_braced_pull_reaches_750_newtons():
    """MIL-STD-1472, back braced, 750 N (memory)."""
    assert h.PULLS["feet braced"].high == 750.0


def test_a_fresh_nylon_line_settles_by_10_to_20_percent_and_less_each_time():
    """Common practice, no source."""
    locked = h.Range(2000.0, 2000.0, 2000.0)
    first = h.settled(locked, "nylon", 0)
    assert 1 - first.low / 2000 == pytest.approx(0.20) and 1 - first.high / 2000 == pytest.approx(0.10)
    likely = [h.settled(locked, "nylon", n).likely for n in range(4)]
    assert likely == sorted(likely) and likely[0] < likely[-1] < 2000.0


def test_one_hand_pull_lies_under_the_standing_range():
    """Occasional one-hand horizontal pull about 15 kgf = 147 N (Mital et al., guide, abstract; read)."""
    assert h.PULLS["slippery ground"].low < 15 * 9.80665 <= h.PULLS["standing"].low
