"""The published decay rules beside the section modulus."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import decay


def test_rules_disagree_over_a_hole_of_seven_tenths():
    rules = decay.compare_decay_rules(1.0, 0.15, 0.0)
    assert rules.passes["sound wall"]
    assert not rules.passes["Wagener 1963"]
    assert rules.disagree
    assert rules.section_modulus_loss == pytest.approx(float(rules.coder_1989_loss))
    assert rules.wagener_1963_loss - rules.coder_1989_loss == pytest.approx(0.7**3 - 0.7**4)


def test_a_sound_trunk_loses_nothing_by_any_rule():
    rules = decay.compare_decay_rules(0.5, np.inf, 0.0)
    assert rules.section_modulus_loss == pytest.approx(0.0, abs=1e-12)
    assert not rules.disagree and all(rules.passes.values())


def test_an_opening_counts_for_smiley_and_fraedrich_and_for_the_section_only():
    closed, opened = (decay.compare_decay_rules(1.0, 0.2, opening_deg=o) for o in (0.0, 60.0))
    assert opened.smiley_fraedrich_1992_loss > closed.smiley_fraedrich_1992_loss
    assert opened.section_modulus_loss > closed.section_modulus_loss
    assert opened.wagener_1963_loss == closed.wagener_1963_loss


def test_unknown_wall_passes_no_rule():
    rules = decay.compare_decay_rules(1.0, np.nan, 0.0)
    assert not any(rules.passes.values())
    assert np.isnan(rules.section_modulus_loss)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.2, 1.5), st.floats(0.0, 0.99))
def test_rules_keep_their_order(d, hole):
    coder, wagener = decay.hole_loss(hole * d, d, 4), decay.hole_loss(hole * d, d, 3)
    opened = decay.smiley_fraedrich_1992_loss(hole * d, d, 0.2)
    assert 0.0 <= coder <= wagener <= opened <= 1.0


def test_an_opening_of_sixty_degrees_is_a_sixth_of_the_girth():
    rules = decay.compare_decay_rules(1.0, 0.2, opening_deg=60.0)
    # Hole 0.6: 0.216 + (1 - 0.216) / 6 by hand.
    assert rules.smiley_fraedrich_1992_loss == pytest.approx(0.216 + 0.784 / 6)
