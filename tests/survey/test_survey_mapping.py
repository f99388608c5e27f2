"""Mapping files: the shipped ones hold together, wrong columns are named, and a guess gives its reasons."""

import numpy as np
import pytest
import yaml

from siteassess.errors import FaultyInput, UnknownName
from siteassess.survey import mapping
from siteassess.survey.importing import read_inventory

CITIES = {
    "new_york_2015",
    "san_francisco",
    "paris",
    "melbourne",
    "london",
    "berlin",
    "vancouver",
    "zurich",
    "openstreetmap",
    "darwin_core",
}


def header_of(one):
    """A header that holds every column a mapping knows, by its first name."""
    specs = [getattr(one, name) for name in mapping.FIELDS]
    specs += [getattr(one.position, name) for name in ("latitude", "longitude", "x", "y", "cell")]
    names = [
        name for spec in specs if spec for name in (spec.column if getattr(spec, "join", False) else spec.column[:1])
    ]
    return list(dict.fromkeys([*names, *one.recognise]))


def test_every_city_is_shipped():
    assert set(mapping.shipped_mappings()) >= CITIES


@pytest.mark.parametrize("name", sorted(CITIES))
def test_a_shipped_mapping_knows_itself(name):
    one = mapping.load_mapping(name)
    assert one.name == name and one.title and one.source and one.licence
    header = header_of(one)
    assert mapping.recognise(header).name == name
    binding = mapping.Binding(one, header, "file", has_geometry=one.position.geometry)
    assert binding.where
    for field in mapping.FIELDS:
        spec = getattr(one, field)
        if spec is not None:
            assert spec.known in ("read", "memory"), f"{name}.{field} does not say how its column is known"


def test_case_blanks_and_marks_do_not_matter():
    one = mapping.load_mapping("new_york_2015")
    header = ["\ufeff" + header_of(one)[0].upper(), *(name.replace("_", " ") for name in header_of(one)[1:])]
    assert mapping.recognise(header).name == "new_york_2015"


def test_unknown_name_and_faulty_files(tmp_path):
    with pytest.raises(UnknownName) as caught:
        mapping.load_mapping("san_fransisco")
    assert dict(caught.value.args[0].said.values)["shipped"][0] == "san_francisco"
    path = tmp_path / "own.yaml"
    path.write_text("name: [", encoding="utf-8")
    with pytest.raises(FaultyInput) as caught:
        mapping.load_mapping(str(path))
    assert caught.value.faults[0].read.said.code == "read-no-yaml"
    whole = yaml.safe_load((mapping.folder() / "paris.yaml").read_text(encoding="utf-8"))
    for wrong in (
        {"size": {"column": "c", "kind": "width", "unit": "cm"}},
        {"size": {"column": "c", "kind": "girth", "unit": "stone"}},
        {"colour": 1},
        {"position": {"latitude": "a"}},
        {"position": {"x": "a", "y": "b"}},
    ):
        path.write_text(yaml.safe_dump({**whole, **wrong}), encoding="utf-8")
        with pytest.raises(FaultyInput):
            mapping.load_mapping(str(path))


def test_a_wrong_column_is_named_with_the_near_one(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text(
        "tree_id,tree_dhb,status,spc_latin,spc_common,latitude,longitude\n1,3,Alive,Acer,maple,40.7,-73.9\n",
        encoding="utf-8",
    )
    with pytest.raises(FaultyInput) as caught:
        read_inventory(path, "new_york_2015")
    (fault,) = caught.value.faults
    assert fault.field == "size" and dict(fault.wanted.said.values) == {"columns": "tree_dbh"}
    assert (fault.mend.said.code, dict(fault.mend.said.values)) == ("mend-did-you-mean", {"near": "tree_dhb"})


def rows(header, cells, n=60):
    return "\n".join(
        [
            header,
            *(
                cells.format(i=i, lat=48 + i * 1e-3, lon=2 + i * 1e-3, d=20 + i % 30, g=63 + 3 * (i % 30))
                for i in range(n)
            ),
        ]
    )


def guessed(tmp_path, text):
    path = tmp_path / "trees.csv"
    path.write_text(text, encoding="utf-8")
    return read_inventory(path)


def guesses(inv):
    """The values of each guess by its code."""
    told = [dict(remark.values)["reason"] for remark in inv.remarks if remark.code == "ds-guessed"]
    return {reason.code: dict(reason.values) for reason in told}


@pytest.mark.parametrize(
    ("header", "cells", "diameter"),
    [
        ("Lat,Lng,DBH (cm)", "{lat},{lon},{d}", 0.20), ("lat,lon,dbh_in", "{lat},{lon},{d}", 0.508),
        ("latitude,longitude,circonferenceencm", "{lat},{lon},{g}", 63 / np.pi / 100),
        ("Location,trunk diameter m", '"({lat}, {lon})",0.{d}', 0.20),
    ],
)  # fmt: skip
def test_a_guess_reads_units_from_names(tmp_path, header, cells, diameter):
    inv = guessed(tmp_path, rows(header, cells))
    assert inv.trees.diameter_m.iloc[0] == pytest.approx(diameter)
    assert inv.trees.lat_deg.iloc[0] == pytest.approx(48)
    assert "ds-unit-by-name" in guesses(inv)


def test_a_guess_never_takes_inches_for_centimetres(tmp_path):
    inv = guessed(tmp_path, rows("lat,lon,dbh,crown_diameter", "40.{i:03},-90,{d},5"))
    assert inv.trees.diameter_m.isna().all()
    assert guesses(inv)["ds-size-open"]["could"] == "cm or in"


def test_a_guess_never_makes_up_a_grid(tmp_path):
    with pytest.raises(FaultyInput) as caught:
        guessed(tmp_path, rows("easting,northing,dbh_cm", "3{i}0000,67{i}000,{d}"))
    assert caught.value.faults[0].mend.said.code == "mend-grid-not-guessed"


def test_a_crown_is_no_trunk(tmp_path):
    inv = guessed(tmp_path, rows("lat,lon,crown_diameter_m,canopy diameter", "{lat},{lon},9,8"))
    assert inv.trees.diameter_m.isna().all()


def test_vancouver_height_classes_take_their_low_end(tmp_path):
    path = tmp_path / "v.csv"
    lines = ["TREE_ID;GENUS_NAME;SPECIES_NAME;COMMON_NAME;DIAMETER;HEIGHT_RANGE_ID;geo_point_2d"]
    lines += [
        f'{i};ACER;RUBRUM;RED MAPLE;{10 + i % 9};{i % 12};"{49.25 + i * 1e-4:.5f}, {-123.1 + i * 1e-4:.5f}"'
        for i in range(60)
    ]
    path.write_text("\n".join(lines), encoding="utf-8")
    inv = read_inventory(path)
    assert inv.title.startswith("Vancouver")
    assert inv.trees.height_m.iloc[4] == pytest.approx(40 * 0.3048)
    assert np.isnan(inv.trees.height_m.iloc[0])  # the lowest class starts at the ground
    assert np.isnan(inv.trees.height_m.iloc[11])  # no such class
    assert inv.trees.species.iloc[0] == "ACER RUBRUM"


def test_paris_girth_in_centimetres_becomes_a_diameter(tmp_path):
    path = tmp_path / "p.csv"
    lines = ["\ufeffidbase;genre;espece;libellefrancais;circonferenceencm;hauteurenm;dateplantation;geo_point_2d"]
    lines += [
        f"{i};Platanus;x hispanica;Platane;{90 + i};{10 + i % 9};1700-01-01T00:09:21+00:09;"
        f"{48.85 + i * 1e-4:.5f}, {2.35:.5f}"
        for i in range(60)
    ]
    path.write_text("\n".join(lines), encoding="utf-8")
    inv = read_inventory(path)
    # girth over pi; a crosswalk known to us takes girth over pi times two, which is wrong
    assert inv.trees.diameter_m.iloc[0] == pytest.approx(0.90 / np.pi)
    assert inv.trees.species.iloc[0] == "Platanus x hispanica"
    assert (inv.trees.planted == "").all()


def test_san_francisco_species_before_the_mark(tmp_path):
    path = tmp_path / "s.csv"
    lines = ["TreeID,qSpecies,DBH,XCoord,YCoord,Latitude,Longitude"]
    lines += [
        f"{i},Arbutus 'Marina' :: Hybrid Strawberry Tree,{6 + i % 20},,,{37.75 + i * 1e-4:.5f},-122.44"
        for i in range(40)
    ]
    lines += ["40,Tree(s) ::,12,,,37.7601,-122.45"]
    path.write_text("\n".join(lines), encoding="utf-8")
    inv = read_inventory(path)
    assert inv.trees.species.iloc[0] == "Arbutus 'Marina'" and inv.trees.species.iloc[40] == ""
    assert inv.trees.diameter_m.iloc[0] == pytest.approx(6 * 0.0254)
