"""Root plates against published winching and root-cutting tests."""

import numpy as np
import pytest
from scipy.stats import binom
from winched_trees import READING, TARGET, pooled, table, together, winched

from siteassess.mechanics import ownweight, rootplate, roots, scatter, tilt
from siteassess.reference.anchorage import anchorage_of
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows

TREES = winched()


class TestByrne2005:
    """Byrne 2005, thesis, University of British Columbia: slopes of turning moment on stem mass 145.6 lodgepole
    pine, 118.6 hybrid spruce, 94.5 redcedar, 77.4 hemlock (read; unit N m/kg inferred)."""

    SLOPES = np.array([145.6, 118.6, 94.5, 77.4])

    @pytest.mark.parametrize(
        ("density", "form", "expected"),
        [(800, 0.42, [38, 31, 25, 20]), (850, 0.45, [44, 36, 28, 23]), (950, 0.50, [54, 44, 35, 29])],
    )
    def test_our_factor_lies_among_the_converted_slopes(self, density, form, expected):
        # Stem mass over d2h is density x form factor x pi/4; density and form factor are assumed.
        per_d2h = self.SLOPES * density * form * np.pi / 4 / 1e3
        np.testing.assert_allclose(per_d2h, expected, atol=0.6)
        assert rootplate.MOMENT_PER_D2H.value / 1e3 <= np.median(per_d2h) * 1.1
        assert rootplate.MOMENT_PER_D2H.low / 1e3 <= per_d2h.min() + 0.5

    def test_every_species_stands_above_our_five_percent_value(self):
        # 850 kg/m3 and 0.45: middle of the three pairs above.
        d, height = 0.30, 20.0
        mass = ownweight.stem_volume(d, height, 0.45) * 850.0
        measured = self.SLOPES * mass
        median = rootplate.root_capacity(d, 15.0, soil_factor=1.0)
        assert (scatter.five_percent_value(median, rootplate.ROOT_LN_SD.value) < measured).all()


class TestDetter2023:
    """Detter, Rust and Krisans 2023, Forests 14(3):533, doi 10.3390/f14030533, tables A1 and A2 (read): sums of
    squares of ln moment over 283 trees: residual 29.51 (267 df), species by size 1.14, species 22.38, total
    153.93; with rotational stiffness 14.3 of 154.0. Sequential sums, so the last is an upper bound."""

    def test_scatter_of_the_copied_points_is_that_of_the_sums_of_squares(self):
        # The points were read off a figure by others; the tables were worked out by the authors from all 283 trees.
        known = np.sqrt(29.51 / 267)
        unknown = np.sqrt((29.51 + 1.14 + 22.38) / 281)
        assert rootplate.ROOT_LN_SD.value == pytest.approx(unknown, rel=0.05)
        own = np.concatenate([values - values.mean() for values in TREES.values()])
        # by genus instead of their eight groups, and without their slope of size: a tenth either way
        assert np.sqrt(np.sum(own**2) / (own.size - len(TREES))) == pytest.approx(known, rel=0.12)

    def test_size_explains_eight_tenths_and_a_trial_load_more(self):
        assert pytest.approx(0.81, abs=0.005) == 1 - 29.51 / 153.93
        assert tilt.TRIAL_LN_SD.low == pytest.approx(np.sqrt(14.3 / 267), abs=0.005)
        assert tilt.TRIAL_LN_SD.value < rootplate.ROOT_LN_SD.value

    def test_share_at_the_start_of_tilt_beside_the_estimate_that_was_tested_on_283_trees(self):
        """Pins an input: 0.40 at a quarter degree is recalled from Wessolly and Erb; table A3's title (read) tests the
        greatest moment as 2.5 times what brings a quarter degree. The numbers that could break it are the scatter of
        that estimate (0.23, derived above): ours lies within it, and so would 0.35 or 0.45."""
        assert abs(np.log(2.5 * tilt.TILT_START_SHARE.value)) < np.sqrt(14.3 / 267)


class TestWinchedTrees:
    """267 trees of Detter et al. 2023 as copied by Hill et al. 2024 (`data/winched_trees.csv`): one tree in twenty
    should fall under the 5 % value worked out from the others."""

    def test_the_table_is_what_the_fit_writes(self):
        assert TARGET.read_text(encoding="utf-8") == table()

    @pytest.mark.parametrize("genus", [genus for genus, values in TREES.items() if values.size >= 10])
    def test_a_tree_left_out_falls_under_the_five_percent_value_of_the_rest_one_time_in_twenty(self, genus):
        values, under = TREES[genus], 0
        for left_out in range(values.size):
            rest = TREES | {genus: np.delete(values, left_out)}
            under += np.exp(values[left_out]) < pooled(rest)[genus].five_percent()
        # 3 to 7 %, or what chance makes of 5 % with so few trees (95 of 100 times)
        low, high = binom.interval(0.95, values.size, 0.05)
        assert low <= under <= high or 0.03 <= under / values.size <= 0.07

    def test_a_whole_genus_left_out_stands_above_the_five_percent_value_of_any_tree(self):
        # what happens with a kind that nobody winched; two genera of conifers say nothing of a third, so all trees
        under = {genus: np.sum(np.exp(values) < together({g: v for g, v in TREES.items() if g != genus}).five_percent())
                 for genus, values in TREES.items()}  # fmt: skip
        assert 0.03 <= sum(under.values()) / sum(values.size for values in TREES.values()) <= 0.07
        # the weakest kind of all is the one to mind: a spruce taken for any tree fails one time in eight
        assert max(under, key=under.get) == "Picea" and under["Picea"] / TREES["Picea"].size < 0.15

    def test_a_broadleaf_genus_left_out_stands_above_that_of_the_other_broadleaves(self):
        leaf = {row.genus: row.leaf_type for row in rows("anchorage")}
        broad = {genus: values for genus, values in TREES.items() if leaf[genus] == "broadleaf"}
        under = sum(np.sum(np.exp(v) < together({g: w for g, w in broad.items() if g != genus}).five_percent())
                    for genus, v in broad.items())  # fmt: skip
        assert 0.03 <= under / sum(values.size for values in broad.values()) <= 0.07

    def test_the_careful_reading_is_a_quarter_turn_of_the_plain_one_and_lies_under_other_winching_tests(self):
        assert pytest.approx(np.pi / 4) == READING
        # Turning coefficients of a published stand wind-risk model, middle over soils and depths, with stem volume
        # taken as 0.42 of a cylinder (read second hand, derived) [kN m/m^3]: independent tests, mostly British. Ours
        # lie under every one of them; the plain reading would come nearer.
        other = {"Pinus sylvestris": 40.3, "Picea abies": 36.2, "Betula pendula": 39.2, "Fagus sylvatica": 77.7}
        for name, value in other.items():
            ours = anchorage_of(find_species(name)).moment_per_d2h / 1e3
            assert 0.5 * value <= ours <= value
            assert abs(np.log(ours / READING / value)) < abs(np.log(ours / value))

    def test_some_kinds_rise_and_spruce_falls(self):
        any_tree = anchorage_of(find_species("Quercus robur"))
        for name in ("Fagus sylvatica", "Platanus x hispanica", "Acer pseudoplatanus"):
            assert anchorage_of(find_species(name)).five_percent > 1.5 * any_tree.five_percent
        assert anchorage_of(find_species("Picea abies")).five_percent < 0.9 * any_tree.five_percent


def test_soaked_soil_holds_what_winching_and_archimedes_leave():
    """Two ways that know nothing of each other. Camphor trees lost 35 to 50 % of their greatest moment in highly
    saturated soil (Kaohsiung, Forests 2022 13(11):1875; abstract read). A plate that holds by its soil's weight and
    friction loses what water lifts: grains of 2.65 t/m3, dry 1.2 to 1.6 t/m3, half the pores filled when moist
    (common soil mechanics, from memory). The one study of wetted trees that found the contrary, two southern pines
    that held more (a field station's report; read), is not followed."""
    dry = np.array([1.2, 1.4, 1.6])
    pores = 1 - dry / 2.65
    left_by_water = (dry + pores - 1) / (dry + pores / 2)
    soaked = rootplate.SOIL_FACTORS["saturated"].value
    assert soaked <= min(1 - 0.50, left_by_water.min())
    assert soaked >= 0.9 * left_by_water.min()
    # half way there when wet or not known, and never kinder than the kindest camphor
    for state in ("wet", "unknown", "frozen"):
        assert soaked < rootplate.SOIL_FACTORS[state].value < 1.0


def test_tilt_at_the_greatest_moment():
    """2.5 degrees is recalled from Wessolly and Erb. An independent field: 1.6 to 2.9 over 21 trees of many species
    (Dundee, Forests 2025 16(12):1780; abstract read). Pulls on standing trees stop at a quarter degree, from where
    plates come back unharmed (a group of consultants, web page; read): the curve must be far from its top there."""
    assert 1.6 <= tilt.TILT_AT_PEAK_DEG.value <= 2.9
    assert tilt.moment_share_at_tilt(2.9) == 1.0
    assert tilt.moment_share_at_tilt(1.59) < 1.0 and tilt.moment_share_at_tilt(0.25) < 0.5
    # a plate softens: each further quarter degree brings less
    steps = np.diff(tilt.moment_share_at_tilt(np.arange(0.0, 1.76, 0.25)))
    assert (steps > 0).all() and (np.diff(steps) < 0).all()


def centre_of_rotation(height, depth, layers=4000):
    """Depth at which a stiff post in even ground stands still when pulled at a height, by both balances [m]."""
    z = (np.arange(layers) + 0.5) / layers * depth
    ground = np.array([[z.size, -z.sum()], [z.sum(), -(z**2).sum()]])  # of (shift, turn), per unit of the ground's push
    shift, turn = np.linalg.solve(ground, np.array([1.0, -height]))
    return shift / turn


def test_lever_arm_of_a_low_pull_is_that_of_a_stiff_post_in_even_ground():
    """Two ways. Okada 2019, doi 10.1080/13416979.2019.1617098 (abstract read): sugi pulled at 1.1 m turned about two
    diameters down; that is where our two diameters come from. Statics of a stiff post, which knows no sugi: roots
    hold 0.8 to 1.4 m deep (common knowledge, no source), trunks of 0.25 to 0.35 m."""
    for diameter in (0.25, 0.30, 0.35):
        ours = rootplate.lever_arm(1.1, diameter) - 1.1
        assert centre_of_rotation(1.1, 0.8) < ours < centre_of_rotation(1.1, 1.4)
    # a high pull turns it higher up; ours does not follow that, and is the longer for it
    assert centre_of_rotation(6.0, 1.2) < centre_of_rotation(1.1, 1.2) <= 1.0
    # thick trunks: our most of 1 m lies under the base of the deepest plates only
    assert rootplate.lever_arm(1.1, 2.0) - 1.1 == pytest.approx(centre_of_rotation(1.1, 1.8), rel=0.06)


class TestRootCutting:
    """Losses of holding force at one degree of tilt. Smiley 2008, AUF 34(2):123, willow oak: one buttress root
    12 %, half of the exposed buttress roots 30 %, trench along a tangent at the trunk 35 %. Smiley et al. 2014,
    AUF 40(4):230, red maple with 6 to 10 buttress roots: nearly one to one up to half. Pallafray et al. 2024,
    Forests 15(6):1041, maple and lime: no effect found. All read; the side of the cuts against the pull was not
    in the text read, so each is held against the kindest pull that its words allow."""

    def test_one_root_on_average_over_all_directions(self):
        lost = np.zeros(8)
        lost[3] = 1.0
        mean = roots.holding_share_lost(lost, np.arange(0.0, 360.0, 5.0)).mean()
        # One of eight is 12.5 %; 12 % measured as a mean over trees of about that many roots.
        assert mean == pytest.approx(0.12, abs=0.01)

    def test_half_of_the_roots_spread_around(self):
        every_other = np.array([1.0, 0.0] * 4)
        loss = roots.holding_share_lost(every_other, np.arange(0.0, 360.0, 5.0))
        np.testing.assert_allclose(loss, 0.5, atol=1e-12)
        assert loss.min() >= 0.30

    def test_red_maple_one_to_one_when_cut_behind_the_pull(self):
        for count in range(1, 5):
            behind = np.zeros(8)
            behind[[4, 3, 5, 2][:count]] = 1.0
            assert roots.holding_share_lost(behind, 0.0) >= count / 8

    def test_trench_at_the_trunk_behind_the_pull(self):
        # South-east to west cut: the four sectors facing a tangent when the pull runs between sectors.
        trench = np.array([0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 0.0])
        assert roots.holding_share_lost(trench, 22.5) == pytest.approx(0.663, abs=0.002)
        assert roots.holding_share_lost(trench, 22.5) > 0.35
        assert rootplate.root_limit(
            0.4, 18.0, 1.0, 5e3, share_lost=roots.holding_share_lost(trench, 22.5)
        ).refused

    def test_roots_behind_the_pull_weigh_more_but_not_all(self):
        """Pins a judgement within what one table allows. AUF table of root attributes (markup 4105, read): the number
        of roots in the half opposite the winch correlates 0.51 with the trunk stress at ten degrees, in the half
        towards it 0.36, in both together 0.45. The halves go together (the sum would else reach 0.62), so no share
        follows from these; but the order does, and that a root behind is worth at least as the correlations stand."""
        apart = (0.51 + 0.36) / np.sqrt(2.0)
        assert apart > 0.45 + 0.1
        weights = roots.sector_weights(22.5)
        behind = np.cos(np.deg2rad(roots.SECTOR_BEARINGS_DEG - 22.5)) < 0
        assert 0.51 / (0.51 + 0.36) < weights[behind].sum() < 0.51**2 / (0.51**2 + 0.36**2) + 0.01

    def test_trench_distance(self):
        """Pins an input: three diameters is where Smiley 2008 stopped finding a loss (abstract read)."""
        near, far = np.full(8, np.inf), np.full(8, np.inf)
        near[4], far[4] = 2.9 * 0.35, 3.1 * 0.35
        assert roots.digging_behind([near, far], 0.0, 0.35).tolist() == [1.0, 0.0]
