"""Rows against themselves and against all others: kept, repaired or set aside, and the three always add up."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput
from siteassess.survey import against_all
from siteassess.survey.importing import read_inventory
from siteassess.survey.mapping import Mapping
from siteassess.survey.notes import REPAIRS, SET_ASIDE, Note

BASE = {
    "siteassess_mapping": 1, "name": "own", "title": "invented", "source": "test", "licence": "none",
    "position": {"latitude": "lat", "longitude": "lon"}, "id": {"column": "id"}, "species": {"column": "species"},
    "size": {"column": "size", "kind": "diameter", "unit": "cm"},
}  # fmt: skip


def inventory_of(tmp_path, rows, header="id,lat,lon,size,species", **more):
    path = tmp_path / "trees.csv"
    path.write_text("\n".join([header, *rows]), encoding="utf-8")
    return read_inventory(path, Mapping.model_validate({**BASE, **more}))


def row(i, lat=None, lon=None, size="35", species="Quercus robur"):
    lat = f"{52.5 + i * 2e-4:.6f}" if lat is None else lat
    lon = f"{13.4 + i * 2e-4:.6f}" if lon is None else lon
    return f"t{i},{lat},{lon},{size},{species}"


def many(n=50, **odd):
    return [row(i, **{**{"size": str(20 + (i * 7) % 40)}, **odd.get(f"r{i}", {})}) for i in range(n)]


def test_zero_missing_and_impossible_positions(tmp_path):
    inv = inventory_of(tmp_path, many(r1={"lat": "0", "lon": "0"}, r2={"lat": ""}, r3={"lat": "200", "lon": "300"}))
    assert inv.flags[1] & Note.ZERO_POSITION and inv.flags[2] & Note.NO_POSITION and inv.flags[3] & Note.OFF_GLOBE
    assert inv.counts["rows_set_aside"] == 3 and inv.counts["rows_kept"] == 47


def test_swapped_row_is_put_right_by_the_bounds(tmp_path):
    bounds = {"south": 52, "west": 13, "north": 53, "east": 14}
    inv = inventory_of(
        tmp_path, many(r4={"lat": "13.41", "lon": "52.51"}, r5={"lat": "10", "lon": "10"}), bounds=bounds
    )
    assert (inv.trees.lat_deg[4], inv.trees.lon_deg[4]) == (52.51, 13.41)
    assert inv.flags[4] & Note.SWAPPED and inv.flags[5] & Note.OUT_OF_BOUNDS
    assert inv.counts == {"rows_read": 50, "rows_kept": 48, "rows_repaired": 1, "rows_set_aside": 1}


def test_swapped_row_is_put_right_by_all_the_others(tmp_path):
    inv = inventory_of(tmp_path, many(r4={"lat": "13.41", "lon": "52.51"}, r5={"lat": "-52.5"}))
    assert (inv.trees.lat_deg[4], inv.trees.lon_deg[4]) == (52.51, 13.41)
    assert inv.flags[5] & Note.FAR_FROM_ALL


def test_a_wholly_swapped_file_off_the_globe_is_put_right(tmp_path):
    rows = [f"t{i},{-120 - i * 1e-4:.5f},{37 + i * 1e-4:.5f},30,Quercus" for i in range(40)]
    inv = inventory_of(tmp_path, rows)
    assert inv.counts["rows_repaired"] == 40 and inv.trees.lat_deg.between(36.9, 37.1).all()


def test_all_coordinates_zero_is_one_clear_fault(tmp_path):
    with pytest.raises(FaultyInput) as caught:
        inventory_of(tmp_path, [row(i, lat="0", lon="0") for i in range(40)])
    assert [fault.read.said.code for fault in caught.value.faults] == ["read-no-usable-position"]


def test_unbelievable_trunk_is_set_aside_not_believed(tmp_path):
    inv = inventory_of(
        tmp_path, many(r9={"size": "1079.5"}, r10={"size": "0"}, r11={"size": "thick"}, r12={"size": "-4"})
    )
    assert inv.flags[9] & Note.SIZE_BEYOND
    assert (
        inv.flags[10] & Note.SIZE_ZERO and inv.flags[11] & Note.SIZE_UNREADABLE and inv.flags[12] & Note.SIZE_UNREADABLE
    )
    assert np.isnan(inv.trees.diameter_m[10:13]).all()
    assert inv.counts == {"rows_read": 50, "rows_kept": 46, "rows_repaired": 3, "rows_set_aside": 1}


def test_units_in_cells_are_taken_and_told(tmp_path):
    inv = inventory_of(tmp_path, many(r1={"size": "12 in"}, r2={"size": "0.41 m"}))
    assert inv.trees.diameter_m[1] == pytest.approx(0.3048) and inv.trees.diameter_m[2] == pytest.approx(0.41)
    assert inv.counts["rows_repaired"] == 2


def test_mixed_units_without_a_word_are_set_aside(tmp_path):
    odd = {f"r{i}": {"size": "350"} for i in range(0, 50, 10)}  # millimetres among centimetres
    inv = inventory_of(tmp_path, many(**odd))
    assert [bool(f & Note.SIZE_BEYOND) for f in inv.flags[::10]] == [True] * 5
    assert inv.counts["rows_kept"] == 45
    assert "ds-mixed-units" in [remark.code for remark in inv.remarks]


@pytest.mark.parametrize(
    ("kind", "unit", "passes"), [("diameter", "m", ("diameter", "cm")), ("girth", "mm", ("diameter", "cm"))]
)
def test_a_column_in_the_wrong_unit_is_refused_with_what_would_pass(tmp_path, kind, unit, passes):
    with pytest.raises(FaultyInput) as caught:
        inventory_of(tmp_path, many(), size={"column": "size", "kind": kind, "unit": unit})
    assert passes in would_pass(caught.value)


def would_pass(error):
    """What the numbers would pass as: kinds and units."""
    sizes = dict(error.faults[0].mend.said.values)["sizes"]
    return [tuple(value for _, value in one.values) for one in sizes]


def test_girth_is_never_taken_for_a_diameter_where_heights_tell(tmp_path):
    # 1 m of girth and 16 m of height: as a diameter the trees would be 16 diameters high, as inches of girth 5
    rows = [f"t{i},{52.5 + i * 2e-4:.5f},13.4,{95 + i % 9},Tilia,16" for i in range(40)]
    more = {"height": {"column": "h", "unit": "m"}, "size": {"column": "size", "kind": "girth", "unit": "cm"}}
    inv = inventory_of(tmp_path, rows, header="id,lat,lon,size,species,h", **more)
    assert inv.trees.diameter_m.iloc[0] == pytest.approx(0.95 / np.pi)
    with pytest.raises(FaultyInput) as caught:
        inventory_of(
            tmp_path,
            rows,
            header="id,lat,lon,size,species,h",
            height=more["height"],
            size={"column": "size", "kind": "diameter", "unit": "in"},
        )
    assert ("girth", "cm") in would_pass(caught.value)


def test_size_and_height_that_contradict(tmp_path):
    rows = [
        f"t{i},{52.5 + i * 2e-4:.5f},13.4,40,Tilia,{'0.9' if i == 3 else '90' if i == 4 else '15'}" for i in range(40)
    ]
    rows[5] = rows[5].replace(",40,", ",5,").replace(",15", ",20")
    inv = inventory_of(tmp_path, rows, header="id,lat,lon,size,species,h", height={"column": "h", "unit": "m"})
    assert inv.flags[3] & Note.HEIGHT_DROPPED and np.isnan(inv.trees.height_m[3])
    assert inv.flags[5] & Note.SIZE_AGAINST_HEIGHT


def test_same_spot_and_addresses(tmp_path):
    same = {"lat": "52.50105", "lon": "13.401"}
    heap = {"lat": "52.50205", "lon": "13.402"}
    inv = inventory_of(tmp_path, many(r1=same, r2=same, r20=heap, r21=heap, r22=heap))
    assert not inv.flags[1] & SET_ASIDE and inv.flags[2] & Note.DUPLICATE and inv.trees.same_as[2] == inv.trees.line[1]
    assert all(f & Note.SHARED_POINT for f in inv.flags[20:23])


def test_status_words_and_bulk_dates(tmp_path):
    rows = [
        f"t{i},{52.5 + i * 2e-4:.5f},13.4,30,Tilia,{['alive', 'Dead', 'STUMP'][i if i < 3 else 0]},"
        f"{'10/12/1998' if i < 80 else '1700-01-01' if i < 90 else '2003'}"
        for i in range(200)
    ]
    inv = inventory_of(
        tmp_path,
        rows,
        header="id,lat,lon,size,species,state,day",
        status={"column": "state", "dead": ["dead"], "stump": ["stump"]},
        planted={"column": "day"},
    )
    assert inv.flags[1] & Note.DEAD and inv.flags[2] & Note.STUMP
    assert (inv.trees.planted[:90] == "").all() and (inv.trees.planted[90:] == "2003").all()
    assert inv.counts == {"rows_read": 200, "rows_kept": 110, "rows_repaired": 88, "rows_set_aside": 2}


def test_the_second_position_is_held_against_the_first(tmp_path):
    from pyproj import Transformer

    to_grid = Transformer.from_crs("EPSG:4326", "EPSG:25833", always_xy=True)
    rows = []
    for i in range(40):
        x, y = to_grid.transform(13.4, 52.5 + i * 2e-4)
        rows.append(f"t{i},{52.5 + i * 2e-4:.6f},13.4,30,Tilia,{x + (40 if i == 7 else 0):.2f},{y:.2f}")
    check = {"x": "e", "y": "n", "crs": "EPSG:25833", "tolerance_m": 2}
    inv = inventory_of(tmp_path, rows, header="id,lat,lon,size,species,e,n", check_position=check)
    assert [i for i in range(40) if inv.flags[i] & Note.POSITIONS_DISAGREE] == [7]
    wrong = inventory_of(
        tmp_path, rows, header="id,lat,lon,size,species,e,n", check_position={**check, "crs": "EPSG:25832"}
    )
    assert not wrong.set_aside.any() and "ds-second-doubtful" in [remark.code for remark in wrong.remarks]
    grid_only = {"x": "e", "y": "n", "crs": "EPSG:25833"}
    inv = inventory_of(tmp_path, rows, header="id,lat,lon,size,species,e,n", position=grid_only)
    assert inv.trees.lat_deg[3] == pytest.approx(52.5006, abs=1e-7)


def test_unknown_grid_is_a_fault(tmp_path):
    with pytest.raises(FaultyInput) as caught:
        inventory_of(tmp_path, many(), position={"x": "lon", "y": "lat", "crs": "EPSG:999999"})
    assert [fault.wanted.said.code for fault in caught.value.faults] == ["want-epsg-code"]


CELLS = st.one_of(
    st.sampled_from(["", "0", "30", "425", "30 cm", '12"', "1,5", "1,500", "x", "-3", "nan", "1e9", "☃"]),
    st.text(alphabet=st.characters(blacklist_characters='",\r\n\x00', blacklist_categories=("Cs",)), max_size=6),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=12))
def test_nothing_vanishes_whatever_the_cells_hold(tmp_path_factory, odd):
    rows = many(40) + [f"o{i},{a},{b},{c},Acer" for i, (a, b, c) in enumerate(odd)]
    inv = inventory_of(tmp_path_factory.mktemp("inv"), rows)
    c = inv.counts
    assert c["rows_read"] == len(rows) == c["rows_kept"] + c["rows_repaired"] + c["rows_set_aside"]
    assert sorted(inv.trees["line"]) == list(range(2, len(rows) + 2))
    kept = inv.good
    assert kept["lat_deg"].between(-90, 90).all() and kept["lon_deg"].between(-180, 180).all()
    assert not (kept["diameter_m"] <= 0).any()


def test_flags_fall_into_three_kinds():
    for note in Note:
        assert bool(note & SET_ASIDE) + bool(note & REPAIRS) <= 1


def test_a_point_on_thousands_of_rows_is_counted_not_paired(tmp_path, monkeypatch):
    """A city's filler on 40,000 rows made 800 million pairs."""
    looked = []

    class Counted(against_all.cKDTree):
        def __init__(self, xy):
            looked.append(len(xy))
            super().__init__(xy)

    monkeypatch.setattr(against_all, "cKDTree", Counted)
    rows = ["id,lat,lon", *(f"{i},48.1,9.2" for i in range(500)), "a,48.2,9.2", "b,48.2000001,9.2"]
    (tmp_path / "t.csv").write_text("\n".join(rows), encoding="utf-8")
    inventory = read_inventory(tmp_path / "t.csv")
    assert looked == [2] and inventory.counts["rows_set_aside"] == 501
