"""Green wood and whole trunks against published tests."""

import numpy as np
import pytest

from siteassess.mechanics import scatter, stem
from siteassess.reference.tables import rows


def green(row_id_or_name, column, flag=None):
    found = [r for r in rows("wood_green") if r.scientific_name == row_id_or_name and getattr(r, column) is not None]
    found = [r for r in found if flag is None or r.flag == flag]
    return [getattr(r, column) for r in found]


def test_wood_handbook_rows():
    """Pins transcribed inputs: Wood Handbook, FPL-GTR-190 (2010), Table 5-3a page 5-8, green, metric (read)."""
    for name, strength in (("Pinus serotina", 51.0), ("Pinus resinosa", 40.0), ("Pinus lambertiana", 34.0)):
        assert green(name, "mor_mpa") == [strength]


def moment_of_fibres(diameter, strength, fibres=1200):
    """Moment of a round trunk whose outermost fibre just reaches its strength, each fibre pulling at its own lever."""
    edges = np.linspace(-diameter / 2, diameter / 2, fibres + 1)
    x, y = np.meshgrid((edges[1:] + edges[:-1]) / 2, (edges[1:] + edges[:-1]) / 2)
    inside = np.hypot(x, y) <= diameter / 2
    stress = strength * y / (diameter / 2)
    return float(np.sum((stress * y)[inside]) * (edges[1] - edges[0]) ** 2)


@pytest.mark.parametrize("diameter", [0.25, 0.40, 0.70])
def test_a_sound_trunk_bears_what_its_fibres_add_up_to(diameter):
    # a grid of 1200 by 1200 fibres misses the round edge by less than 1e-3
    limit = stem.stem_limit(40e6, diameter, 1.0, 5_000.0)
    share = float(limit.capacity_median) / moment_of_fibres(diameter, 40e6)
    assert share == pytest.approx(0.8, rel=1e-3)


def test_the_share_of_clear_wood_that_a_whole_trunk_keeps_is_that_of_winched_maples():
    """0.8 is recalled from conifers in a forest. Kane and Clouston 2008, Table 4 (read): shade maples failed at
    48.8 MPa with forks and all, 64.4 without; green clear maple has 65 (sugar, read) and 53 (red, memory), so they
    kept 0.83 and 1.09 of it."""
    clear = (65.0 + 53.0) / 2
    limit = stem.stem_limit(clear * 1e6, 0.40, 1.0, 5_000.0)
    stress = float(limit.capacity_median) / (np.pi * 0.40**3 / 32) / 1e6
    assert stress == pytest.approx(48.83, rel=0.05) and stress < 64.42


def test_two_read_sources_agree_on_slash_pine():
    # Wood Handbook page 5-8 gives 60 MPa rounded to whole MPa; ASTM D2555 gives 59.93 from psi: within rounding.
    handbook, astm = sorted(green("Pinus elliottii", "mor_mpa", "read"), reverse=True)
    assert handbook == pytest.approx(astm, abs=0.5)


def test_our_scatter_is_wider_than_clear_wood_and_whole_logs():
    # ASTM D2555 as laid out in the copy read: coefficient of variation of bending strength 0.12 to 0.19, mean 0.15.
    # Nanko et al. 2019, doi 10.1007/s00226-019-01078-z: whole green black pine logs, 5-95 % 28.7-41.8 MPa.
    logs = np.log(41.8 / 28.7) / (2 * 1.6448536)
    assert logs == pytest.approx(0.114, abs=0.001)
    assert stem.STEM_LN_SD.value > 2 * max(0.19, logs)


def test_green_black_pine_logs_stand_above_our_five_percent_value():
    # Nanko et al. 2019: the logs' own median 35.0 MPa is a whole-stem strength, so no further factor of ours.
    low = scatter.five_percent_value(35.0, stem.STEM_LN_SD.value)
    assert low < 28.7
    # With our factor on the median as well, none of the middle 90 % of logs would fall under the allowable.
    assert scatter.allowable(0.8 * 35.0, stem.STEM_LN_SD.value, 1.5) < 0.4 * 28.7


class TestWinchedShadeTrees:
    """Kane and Clouston 2008, AUF 34(2):101-109, doi 10.48044/jauf.2008.013, Table 4 page 105 (read; the authors'
    names and the genus Acer from memory): failure stress against trunk diameter cubed, intercepts and root mean
    square errors in MPa: all 48.8 and 20.8 (24 trees), stem failures 64.4 and 18.9 (11), codominant 27.2 and
    16.4 (13)."""

    def test_a_forked_maple_lies_under_unions_broken_off_in_another_study(self):
        """The factor is Kane and Clouston's 27.2 over 64.4 MPa, so that pair proves nothing. Another study: unions of
        silver and Norway maples broken by a pull at 29.7 and 24.5 MPa (AUF table, markup 6373; read), of trees whose
        clear wood bears 40 (silver, from memory) and, by its density of 0.62 against 0.52, more. Another still: 26
        branches broke at 0.72 of their own clear wood inside the bark (markup 4826; read). A fork as we take it must
        lie under all of these, and over a third of them, or no forked tree would stand."""
        forked = float(stem.stem_limit(40e6, 0.40, 1.0, 5_000.0, forked=1.0).capacity_median)
        stress = forked / (np.pi * 0.40**3 / 32) / 1e6
        assert 29.7 / 3 < stress < 24.5
        assert 0.72 / 3 < stress / 40.0 < 0.72
        # and sound stems would not: the factor is needed
        assert 0.8 * 40.0 > 29.7

    def test_scatter_covers_the_winched_trees(self):
        assert stem.STEM_LN_SD.low <= 18.949 / 64.419 <= stem.STEM_LN_SD.high
        assert stem.STEM_LN_SD.low <= 20.799 / 48.830 <= stem.STEM_LN_SD.high
        # The codominant trees scatter by 0.60 of their intercept, that is 0.55 in logarithms: our 0.50 is a
        # little under it, its stated range is not.
        forked = np.sqrt(np.log1p((16.368 / 27.241) ** 2))
        assert stem.FORKED_LN_SD.value < forked <= stem.FORKED_LN_SD.high

    def test_median_of_a_maple_lies_under_the_single_stems(self):
        # Wood Handbook green: sugar maple 65 (read), red maple 53 (memory) MPa.
        for strength in (65.0, 53.0):
            ours = 0.8 * strength
            assert ours < 64.419
            assert 0.42 * ours <= 27.241 * 1.01
            # The allowable stays under the mean less two errors of all trees pooled only with scatter and divisor.
            assert scatter.allowable(ours, 0.40, 1.5) < 48.830 - 20.799


def test_uprooting_before_breaking_is_usual():
    # Norway spruce, Forests 2020 11(3):357: all but 2 of 19 uprooted (read); Nanko: black pine on sand uprooted.
    from siteassess.mechanics import rootplate

    d = np.linspace(0.2, 0.6, 30)
    for slim in (40.0, 60.0, 79.0):
        trunk = stem.stem_limit(36e6, d, 6.0, 5e3).capacity_median
        roots = rootplate.root_limit(d, slim * d, 6.0, 5e3, soil_factor=1.0).capacity_median
        # At one pull the plate reaches its median first: its arm is longer by two diameters, up to 1 m.
        assert (trunk / 6.0 > roots / rootplate.lever_arm(6.0, d)).all()
