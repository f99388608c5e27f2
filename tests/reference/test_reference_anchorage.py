"""Which winched trees stand for a tree: leaving out, guessing or blurring its name never helps."""

import math

import pytest

from siteassess.mechanics.rootplate import MOMENT_PER_D2H, ROOT_LN_SD
from siteassess.reference.anchorage import FIVE_PERCENT, anchorage_of, anchorage_of_any
from siteassess.reference.species import find_species, species_names
from siteassess.reference.tables import rows

READING_LN_SDS = (0.0, 0.1, 0.3, 0.6)


def allowed(kind, reading_ln_sd: float) -> float:
    """5 % value once the scatter of a tree's own readings is added."""
    return kind.moment_per_d2h * math.exp(-FIVE_PERCENT * math.hypot(kind.ln_sd, reading_ln_sd))


@pytest.mark.parametrize("reading_ln_sd", READING_LN_SDS)
def test_a_name_left_out_or_guessed_never_earns_more(reading_ln_sd):
    for name in species_names():
        match = find_species(name)
        if match.leaf_type == "palm":
            continue
        sure, guessed = (allowed(anchorage_of(match, guess), reading_ln_sd) for guess in (False, True))
        genus = allowed(anchorage_of(find_species(match.genus)), reading_ln_sd)
        leaf = allowed(anchorage_of(find_species(f"unknown {match.leaf_type}")), reading_ln_sd)
        nothing = allowed(anchorage_of(find_species("unknown")), reading_ln_sd)
        assert guessed <= sure * (1 + 1e-9), name
        assert genus <= sure * (1 + 1e-9), name
        assert nothing <= leaf * (1 + 1e-9) and leaf <= min(guessed, genus) * (1 + 1e-9), name


def test_a_tree_of_any_kind_is_the_default_of_the_sums():
    kind = anchorage_of_any()
    assert kind.moment_per_d2h == pytest.approx(MOMENT_PER_D2H.value) and kind.ln_sd == pytest.approx(ROOT_LN_SD.value)
    medians = [1e3 * row.median_knm_m3 for row in rows("anchorage")]
    assert (MOMENT_PER_D2H.low, MOMENT_PER_D2H.high) == pytest.approx((min(medians), max(medians)))


def test_a_winched_species_takes_its_genus_and_its_kin_scatter_more():
    scots, black = (anchorage_of(find_species(f"Pinus {name}")) for name in ("sylvestris", "nigra"))
    assert scots.moment_per_d2h == black.moment_per_d2h and scots.ln_sd < black.ln_sd
    assert scots.basis.in_words() == "42 winched trees (Pinus sylvestris)"
    assert anchorage_of(find_species("Populus nigra")).ln_sd == anchorage_of(find_species("Populus tremula")).ln_sd
    assert anchorage_of(find_species("Quercus robur")).trees == 160
