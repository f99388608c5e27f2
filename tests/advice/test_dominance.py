"""A record made worse in one way never gets a better answer: five hundred pairs; twenty thousand in the bench."""

from __future__ import annotations

import pytest
from never_better import EXCUSED, better_by, pair_of, searched

EACH = 10
TAKEN = (
    ("unsettled", 42, "withheld: lean"), ("a height filled in is lower", 3, "withheld: height"),
    ("a use that rests on stand-ins", 7, "withheld: sling"), ("a copied trunk", 18, "trunk not taped"),
    ("an unnamed walker", 66, "withheld: walkers' mass"), ("wetness not looked at", 85, "withheld: ground wetness"),
    ("the distance by positions", 5, "withheld: span of the line"), ("no sling was planned", 31, "withheld: sling"),
    ("one tie higher", 78, "higher tie"), ("a hammock tied higher", 21, "higher tie"),
    ("a height filled in goes by the trunk", 38, "thinner trunk"), ("a lower tree", 51, "lower tree"),
)  # fmt: skip
"""Each excuse, and a pair that takes it."""


@pytest.mark.parametrize("seed", range(50))
def test_nothing_improves_by_getting_worse(seed):
    count, better, _ = searched(seed, EACH)
    assert count == EACH and not better, "\n".join(map(str, better))


@pytest.mark.parametrize("reason, seed, worse", TAKEN, ids=[reason for reason, *_ in TAKEN])
def test_each_excuse_is_taken_by_a_pair(reason, seed, worse):
    taken = [excuse for *_, excuse in better_by(pair_of(seed, worse))]
    assert all(taken) and any(excuse.reason.startswith(reason) for excuse in taken)


def test_no_excuse_is_there_that_nothing_takes():
    assert not [one.reason for one in EXCUSED if not any(one.reason.startswith(reason) for reason, *_ in TAKEN)]
