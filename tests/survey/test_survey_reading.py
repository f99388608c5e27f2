"""Files in every form, with every usual damage: one bad line costs one row, and nothing vanishes."""

import geopandas
import numpy as np
import pytest
import shapely

from siteassess.errors import FaultyInput
from siteassess.survey.importing import read_inventory
from siteassess.survey.notes import Note
from siteassess.survey.reading import open_source

HEADER = "id,latitude,longitude,dbh_cm,species"


def rows(n, start=0):
    return [
        f"t{i},{60 + i * 1e-4:.6f},{24 + i * 1e-4:.6f},{20 + i % 40},Tilia cordata" for i in range(start, start + n)
    ]


def write(folder, text, name="trees.csv", encoding="utf-8"):
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


def counts_add_up(inventory):
    c = inventory.counts
    assert c["rows_read"] == c["rows_kept"] + c["rows_repaired"] + c["rows_set_aside"] == len(inventory.trees)


def test_chunks_give_the_same_rows_whatever_their_size(tmp_path):
    path = write(tmp_path, "\n".join([HEADER, *rows(257)]) + "\n")
    whole = read_inventory(path).trees
    for size in (1, 7, 256, 257):
        part = read_inventory(path, chunk_rows=size).trees
        assert part["line"].tolist() == whole["line"].tolist()
        assert part["id"].tolist() == whole["id"].tolist()
        np.testing.assert_array_equal(part["diameter_m"], whole["diameter_m"])
        np.testing.assert_array_equal(part["flags"], whole["flags"])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(tmp_path, encoding):
    lines = rows(5)
    lines[2] = lines[2].replace("Tilia cordata", "Weißtanne")
    inventory = read_inventory(write(tmp_path, "\r\n".join([HEADER, *lines]), encoding=encoding))
    assert inventory.trees["species"].iloc[2] == "Weißtanne"
    assert inventory.counts["rows_kept"] == 5


def test_a_byte_that_fits_no_encoding_is_noted(tmp_path):
    path = tmp_path / "trees.csv"
    many = "\n".join(rows(30_000)).encode()  # past the first megabyte, where the encoding is looked for
    path.write_bytes(HEADER.encode() + b"\n" + many + b"\nlast,60.50005,24.5,30,Acer \xff\n")
    inventory = read_inventory(path)
    assert inventory.counts == {"rows_read": 30_001, "rows_kept": 30_000, "rows_repaired": 1, "rows_set_aside": 0}
    assert inventory.flags[-1] & Note.ODD_LETTERS


def test_semicolons_and_decimal_commas(tmp_path):
    lines = ["id;latitude;longitude;girth_cm", *(f"t{i};60,{1000 + i};24,{1000 + 7 * i};{94 + i},5" for i in range(40))]
    inventory = read_inventory(write(tmp_path, "\n".join(lines)))
    first = inventory.trees.iloc[0]
    assert (first.lat_deg, first.lon_deg) == (60.1, 24.1)
    assert first.diameter_m == pytest.approx(0.945 / np.pi)


@pytest.mark.parametrize(
    "bad",
    [
        't,60.5,24.5,30,"Tilia', 't,60.5,24.5,30,Ti"lia', "t,60.5,24.5", "t,60.5,24.5,30,Tilia,cordata,x",
        '"t"x,60.5,24.5,30,T', 't,60.5,24.5,30,x","y', 't,60.5,24.5,12",T',
    ],
)  # fmt: skip
@pytest.mark.parametrize("where", [0, 100, 199])
def test_one_bad_line_costs_one_row(tmp_path, bad, where):
    lines = rows(200)
    lines.insert(where, bad)
    inventory = read_inventory(write(tmp_path, "\n".join([HEADER, *lines]) + "\n"), chunk_rows=64)
    counts_add_up(inventory)
    assert inventory.counts["rows_read"] == 201
    good = inventory.good
    assert set(good["id"]) >= {f"t{i}" for i in range(200)}
    aside = inventory.trees[inventory.set_aside]
    if len(aside):
        assert aside["line"].tolist() == [where + 2]
        assert aside["flags"].iloc[0] & Note.TORN


def test_a_quoted_cell_may_run_over_lines(tmp_path):
    lines = rows(10)
    lines[4] = 't4,60.0004,24.0004,24,"Tilia\ncordata, old"'
    inventory = read_inventory(write(tmp_path, "\n".join([HEADER, *lines])), chunk_rows=5)
    assert inventory.counts["rows_kept"] == 10
    assert inventory.trees["line"].tolist() == [2, 3, 4, 5, 6, 8, 9, 10, 11, 12]


def test_blank_lines_are_no_rows(tmp_path):
    inventory = read_inventory(write(tmp_path, "\n".join([HEADER, *rows(3), "", "", *rows(3, 3), ""])))
    assert inventory.counts["rows_read"] == 6


@pytest.mark.parametrize("text", ["", "\n\n", HEADER + "\n", HEADER])
def test_empty_files_are_told(tmp_path, text):
    with pytest.raises(FaultyInput):
        read_inventory(write(tmp_path, text))


def test_no_such_file(tmp_path):
    with pytest.raises(FaultyInput) as caught:
        open_source(tmp_path / "none.csv")
    assert caught.value.faults[0].read.said.code == "read-no-file"


def test_a_binary_file_writes_no_control_signs_to_the_terminal(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_bytes(bytes(range(256)) * 8)
    with pytest.raises(FaultyInput) as caught:
        read_inventory(path)
    assert all(sign.isprintable() for line in str(caught.value).splitlines() for sign in line)


def test_a_file_gdal_cannot_read(tmp_path):
    with pytest.raises(FaultyInput):
        read_inventory(write(tmp_path, "nonsense", "trees.geojson"))


@pytest.fixture
def frame():
    n = np.arange(60)
    return geopandas.GeoDataFrame(
        {"tree_id": [f"t{i}" for i in n], "dbh_cm": 20.0 + n, "species": "Tilia cordata"},
        geometry=shapely.points(24 + n * 1e-3, 60 + n * 1e-3), crs="EPSG:4326",
    )  # fmt: skip


@pytest.mark.parametrize("name", ["t.gpkg", "t.geojson", "t.shp", "t.parquet"])
@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3067"])
def test_vector_files_and_grids_agree(tmp_path, frame, name, crs):
    if name.endswith("geojson") and crs != "EPSG:4326":
        pytest.skip("GeoJSON is in degrees by its standard")
    moved = frame.to_crs(crs)
    if name.endswith("parquet"):
        pytest.importorskip("pyarrow")
        moved.to_parquet(tmp_path / name)
    else:
        moved.to_file(tmp_path / name)
    inventory = read_inventory(tmp_path / name, chunk_rows=17)
    assert inventory.counts == {"rows_read": 60, "rows_kept": 60, "rows_repaired": 0, "rows_set_aside": 0}
    np.testing.assert_allclose(inventory.trees["lat_deg"], 60 + np.arange(60) * 1e-3, atol=1e-7)
    np.testing.assert_allclose(inventory.trees["diameter_m"], (20.0 + np.arange(60)) / 100)


def test_openstreetmap_extract_with_packed_tags(tmp_path):
    path = tmp_path / "invented.osm"
    path.write_text(
        """<osm version="0.6" generator="test">
        <node id="1" version="1" lat="60.1" lon="24.9"><tag k="natural" v="tree"/>
        <tag k="circumference" v="2.3"/></node>
        <node id="2" version="1" lat="60.1001" lon="24.9"><tag k="natural" v="tree"/><tag k="genus" v="Tilia"/></node>
        <node id="3" version="1" lat="60.1002" lon="24.9"><tag k="amenity" v="bench"/></node></osm>""",
        encoding="utf-8",
    )
    inventory = read_inventory(path)
    assert inventory.counts == {"rows_read": 3, "rows_kept": 2, "rows_repaired": 0, "rows_set_aside": 1}
    assert inventory.trees.diameter_m[0] == pytest.approx(2.3 / np.pi)
    assert inventory.trees.species.tolist()[1] == "Tilia"
    assert inventory.flags[2] & Note.NOT_A_TREE


def test_outlines_among_the_trees_are_set_aside(tmp_path, frame):
    frame.loc[3, "geometry"] = shapely.box(24, 60, 24.1, 60.1)
    frame.loc[5, "geometry"] = None
    frame.to_file(tmp_path / "t.geojson")
    inventory = read_inventory(tmp_path / "t.geojson")
    counts_add_up(inventory)
    assert inventory.counts["rows_set_aside"] == 2
    assert inventory.flags[3] & Note.NOT_A_POINT
