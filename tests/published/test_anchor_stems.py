"""Green wood and whole trunks against published tests."""

import numpy as np
import pytest

from siteassess.mechanics import scatter, stem
from siteassess.reference.tables import rows


def green(row_id_or_name, column, flag=None):
    found = [r for r in rows("wood_green") if r.scientific_name == row_id_or_name and getattr(r, column) is not None]
    found = [r for r in found if flag is None or r.flag == flag]
    return [getattr(r, column) for r in found]


def test_wood_handbook_rows_and_their_worked_trunk():
    # Wood Handbook, FPL-GTR-190 (2010), Table 5-3a page 5-8, green, metric (read): pond 51, red 40, sugar pine 34 MPa.
    for name, strength in (("Pinus serotina", 51.0), ("Pinus resinosa", 40.0), ("Pinus lambertiana", 34.0)):
        assert green(name, "mor_mpa") == [strength]
        limit = stem.stem_limit(strength * 1e6, 0.40, 1.0, 5_000.0)
        assert limit.capacity_median == pytest.approx(0.8 * strength * 1e6 * np.pi * 0.4**3 / 32)


def test_two_read_sources_agree_on_slash_pine():
    # Wood Handbook page 5-8 gives 60 MPa rounded to whole MPa; ASTM D2555 gives 59.93 from psi: within rounding.
    handbook, astm = sorted(green("Pinus elliottii", "mor_mpa", "read"), reverse=True)
    assert handbook == pytest.approx(astm, abs=0.5)


# Greatest crushing stress of green small clear pieces, Record 1914, The Mechanical Properties of Wood, endwise
# compression table, kPa from psi (public domain, read; header cut off in the copy).
RECORD_1914 = {
    "Betula alleghaniensis": 23_442, "Celtis occidentalis": 22_822, "Gleditsia triacanthos": 34_267,
    "Acer saccharum": 25_304, "Quercus stellata": 22_960, "Quercus rubra": 22_132, "Quercus bicolor": 30_061,
    "Quercus alba": 24_270, "Platanus occidentalis": 19_236, "Taxodium distichum": 27_303,
    "Abies lasiocarpa": 14_203, "Pseudotsuga menziesii": 20_133, "Pinus palustris": 29_510,
    "Pinus resinosa": 17_030, "Pinus lambertiana": 17_926, "Pinus ponderosa": 16_685,
    "Fagus grandifolia": 23_994, "Tilia americana": 12_548, "Fraxinus americana": 29_096,
}  # fmt: skip


def test_crushing_strength_of_a_century_ago():
    ratios = []
    for name, kpa in RECORD_1914.items():
        found = green(name, "crushing_mpa")
        if found:
            ratios.append(np.log(np.median(found) * 1e3 / kpa))
    assert len(ratios) >= 12
    # Other trees and testing a century apart; within-species spread alone is 0.16 (ASTM D2555), so the mean of
    # a dozen or more must lie within 0.1 and single species within about two spreads.
    assert abs(np.mean(ratios)) < 0.10
    assert np.std(ratios) < 0.20


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

    def test_fork_factor_is_the_ratio_of_the_intercepts(self):
        assert stem.FORK_FACTOR.value == pytest.approx(27.241 / 64.419, abs=0.005)

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
