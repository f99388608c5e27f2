"""A record made worse in one way never gets a better answer: five hundred pairs; twenty thousand in the bench."""

from __future__ import annotations

import pytest
from never_better import searched

EACH = 10


@pytest.mark.parametrize("seed", range(50))
def test_nothing_improves_by_getting_worse(seed):
    count, better, _ = searched(seed, EACH)
    assert count == EACH and not better, "\n".join(map(str, better))
