"""Greatest pull by tie height: what it answers, asked back, uses exactly what was allowed."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import greatest, ownweight, rootplate, stem

TIES = np.array([0.3, 0.5, 1.0, 1.5, 2.0, 2.5])


@settings(max_examples=60, deadline=None)
@given(
    d=st.floats(0.2, 0.9),
    slim=st.floats(15.0, 79.0),
    lean=st.floats(0.0, 6.0),
    turn=st.floats(0.0, 180.0),
    wall=st.floats(0.31, 1.0),
    share=st.sampled_from([0.6, 1.0]),
)
def test_asked_back_the_use_is_the_share_and_never_more(d, slim, lean, turn, wall, share):
    height = slim * d
    own = ownweight.own_lean_moment(d, height, lean)
    roots = {"lean_moment": own, "lean_from_pull_deg": turn}
    trunk = {"wall": wall * d / 2, "other_moment": own}
    root_allowable = rootplate.root_limit(d, height, 1.0, 0.0, **roots).allowable
    stem_allowable = stem.stem_limit(50e6, d, 1.0, 0.0, **trunk).allowable
    table = greatest.greatest_pull(
        TIES, root_allowable, stem_allowable, d, stem_other_moment=own, share=share, **roots
    )
    assert (np.diff(table.pull) <= 1e-9).all() and (table.pull >= 0).all()
    turning = rootplate.root_limit(d, height, TIES, table.pull, **roots).use
    bending = stem.stem_limit(50e6, d, TIES, table.pull, **trunk).use
    able = table.pull > 0
    np.testing.assert_allclose(np.maximum(turning, bending)[able], share, rtol=1e-9)
    assert (np.where(table.stem_governs, bending, turning)[able] >= share * (1 - 1e-9)).all()


def test_one_unknown_limit_leaves_the_pull_unknown():
    assert np.isnan(greatest.greatest_pull(TIES, np.nan, 1e4, 0.4).pull).all()
    assert np.isnan(greatest.greatest_pull(TIES, 1e4, np.nan, 0.4).pull).all()


def test_the_worked_tree_by_hand():
    allowed = 0.4540 * 86_400.0 / 1.5
    table = greatest.greatest_pull([1.0], allowed, 99e3, 0.40)
    assert abs(table.pull[0] - allowed / 1.8) < 1.0 and not table.stem_governs[0]
