"""Windows of the year, and what is taken where something is not known."""

import pytest

from siteassess.reference.seasons import HEMISPHERES, disease_windows, hemisphere_of, is_growing, season_bar, windows
from siteassess.reference.tables import rows

MONTHS = range(1, 13)


def growing(**known):
    return [month for month in MONTHS if is_growing(month, **known)]


def test_default_windows():
    assert growing(genus="Fagus") == [4, 5, 6, 7, 8]
    assert growing(genus="Quercus") == [3, 4, 5, 6, 7, 8]
    assert growing(genus="Fagus", region="mild") == [3, 4, 5, 6, 7, 8]
    assert growing(genus="Fagus", hemisphere="south") == [1, 2, 10, 11, 12]


def test_not_known_is_taken_at_its_worst():
    assert is_growing(None)
    assert growing(hemisphere="tropics") == list(MONTHS)
    for known in ({"genus": "Fagus"}, {"genus": "Fagus", "hemisphere": "south"}):
        assert set(growing(**known)) <= set(growing(genus=None, hemisphere=known.get("hemisphere", "north")))
        assert set(growing(**known)) <= set(growing(genus="Fagus", hemisphere=None))


def test_days_sharpen_the_edges():
    spruce = windows("growing", "Picea", ("central European hills",))[0]
    assert not spruce.holds(3, 14) and spruce.holds(3, 15) and spruce.holds(3)
    assert not is_growing(9, "Fagus", day=1) and is_growing(8, "Fagus", day=31)


def test_southern_windows_run_over_the_new_year():
    south = windows("growing", "Fagus", hemisphere="south")[0]
    assert south.start == (10, 1) and south.end == (2, 29)
    assert south.holds(12, 31) and south.holds(1, 1) and not south.holds(3, 1) and not south.holds(9)


@pytest.mark.parametrize("hemisphere", HEMISPHERES)
def test_half_a_year_twice_is_a_year(hemisphere):
    for month in MONTHS:
        other = "south" if hemisphere == "north" else "north"
        assert is_growing(month, "Fagus", hemisphere) == is_growing((month + 5) % 12 + 1, "Fagus", other)


def test_disease_windows_are_the_genus_own():
    assert {w.id for w in disease_windows("Platanus")} == {"plane-canker"}
    assert {w.region for w in disease_windows("Quercus")} == {"Wisconsin", "Michigan", "Texas"}
    assert disease_windows("Tilia") == ()


def test_season_bar_has_twelve_months():
    bar = season_bar("Quercus", regions=("Wisconsin", "Germany"))
    assert len(bar) == 12
    assert [m + 1 for m, month in enumerate(bar) if month["disease"]] == [4, 5, 6, 7]
    assert bar[8]["nesting"] and not bar[9]["nesting"]  # the German law runs to 30 September
    assert not any(month["disease"] for month in season_bar("Tilia"))


def test_hemisphere_by_latitude():
    assert [hemisphere_of(lat) for lat in (47.0, -33.9, 1.3)] == ["north", "south", "tropics"]


def test_every_window_has_dates_that_exist():
    for row in rows("seasons"):
        for date in (row["start"], row["end"]):
            month, day = map(int, date.split("-"))
            assert 1 <= month <= 12 and 1 <= day <= 31
