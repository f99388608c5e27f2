"""Trees out of tables: what a cell says is read as it stands, kept in the notes, or told. All files are invented."""

import zipfile

import geopandas
import pandas as pd
import pyogrio
import pytest
from made_files import TABLE, codes, file, why_not, workbook

from siteassess.errors import FaultyFiles, FaultyInput
from siteassess.survey.from_files import take_in
from siteassess.survey.heads import named_apart
from siteassess.survey.importing import read_inventory


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_table_of_semicolons_and_decimal_commas_is_read_in_any_encoding(tmp_path, encoding):
    found = take_in([file(tmp_path, "t.csv", TABLE, encoding)])
    first, second, third = found.anchors
    assert first["trunk"] == [{"girth": "142.5 cm", "read_at": "1.3 m",
                               "how": "copied"}] and first["height"] == "19.5 m"
    assert first["tag"] == "1" and first["notes"] == "Bemerkung: gesund"
    assert second["species"]["name"] == "Tilia spp." and second["notes"] == 'written as: Linde "Greenspire"'
    assert third["species"] == {"name": "nonsense", "certainty": "guess"}
    assert why_not(found) == {5: ["ds-size-beyond", "ds-size-against-height"]}
    assert "fi-too-long" in codes(found)


def test_a_spreadsheet_is_read_as_its_csv_would_be(tmp_path):
    frame = pd.DataFrame({"id": [1, 2], "species": ["Tilia cordata", "Acer rubrum"], "dbh_cm": [44.0, 60.5],
                          "lat": [48.1, 48.101], "lon": [9.2, 9.2]})  # fmt: skip
    pyogrio.write_dataframe(frame, tmp_path / "t.xlsx", driver="XLSX")
    frame.to_csv(tmp_path / "t.csv", index=False)
    sheet, table = (take_in([tmp_path / name]).anchors for name in ("t.xlsx", "t.csv"))

    def told(one):
        return {key: value for key, value in one.items() if key not in ("source", "position")}

    assert [told(one) for one in sheet] == [told(one) for one in table]
    assert sheet[1]["trunk"][0]["diameter"] == "60.5 cm"


def test_a_size_of_two_stems_is_none_and_stays_in_the_notes(tmp_path):
    """Two numbers in a cell were read as one with a decimal comma, or run together."""
    cells = ["30/25", '"30, 25"', "10 12", "30-45", "ca. 40", "2"]
    rows = [f"{i},Quercus robur,{cell},{48.1 + i * 1e-3},9.2" for i, cell in enumerate(cells)]
    found = take_in([file(tmp_path, "t.csv", "\n".join(["id,species,girth_cm,lat,lon", *rows]))])
    assert [one.get("trunk") for one in found.anchors] == [None] * 6
    assert [one["notes"] for one in found.anchors] == ["girth_cm: " + cell.strip('"') for cell in cells]


def test_a_size_whose_cell_names_its_unit_is_read_and_a_second_column_of_sizes_is_told(tmp_path):
    rows = 'id,Stammumfang,dbh_cm,lat,lon\n1,"150 cm",48,48.1,9.2\n'
    found = take_in([file(tmp_path, "t.csv", rows)])
    assert found.anchors[0]["trunk"][0]["girth"] == "150 cm" and "dbh_cm: 48" in found.anchors[0]["notes"]
    told = " ".join(one.in_words() for one in found.told)
    assert "unit that stands in its cell" in told and "one column of trunk sizes is read; dbh_cm not" in told


@pytest.mark.parametrize(("lat", "lon", "height"), [(48.1, 9.2, "14 m"), (40.7, -73.9, None)])
def test_a_height_without_a_unit_is_in_metres_where_nobody_measures_in_feet(tmp_path, lat, lon, height):
    table = file(tmp_path, "t.csv", f"id,species,Höhe,lat,lon\n1,Quercus robur,14,{lat},{lon}\n")
    (tree,) = take_in([table]).anchors
    assert tree.get("height") == height and (height or tree["notes"] == "Höhe: 14")
    feet = file(tmp_path, "f.csv", "id,species,height,lat,lon\n1,Quercus robur,64,48.1,9.2\n")
    assert "height" not in take_in([feet]).anchors[0]


def test_one_row_under_german_names_of_columns_is_read(tmp_path):
    rows = "Baum-Nr.;Baumart (botanisch);Breite;Länge;Höhe in m;Stammumfang in cm\n7;Tilia cordata;48.1;9.2;15;142\n"
    (tree,) = take_in([file(tmp_path, "t.csv", rows)]).anchors
    assert (tree["tag"], tree["species"]["name"], tree["height"]) == ("7", "Tilia cordata", "15 m")
    assert tree["trunk"][0]["girth"] == "142 cm"


def test_x_and_y_are_degrees_where_their_numbers_are_and_a_grid_of_a_plot_is_not(tmp_path):
    trees = take_in([file(tmp_path, "t.csv", "id,x,y\n1,9.20012,48.10034\n2,9.20112,48.10134\n")]).anchors
    assert trees[0]["position"]["lat"] == 48.10034
    with pytest.raises(FaultyInput, match="never guessed"):
        take_in([file(tmp_path, "p.csv", "id,x,y\n1,9.2,48.1\n2,10.4,33.7\n")])


@pytest.mark.parametrize("above", ["\n\n", "sep=;\n", "Trees of Nowhere Green\n", "Trees;;;\n;;;\n", "Oaks, 2024\n"])
def test_what_stands_above_the_names_of_the_columns_is_left_out_and_told(tmp_path, above):
    rows = f"{above}id;species;lat;lon\n1;Quercus robur;48.1;9.2\n2;Quercus robur;0;0\n"
    found = take_in([file(tmp_path, "t.csv", rows)])
    assert len(found.anchors) == 1 and "ds-header-line" in codes(found)
    line = above.count("\n") + 2
    assert found.anchors[0]["source"] == f"t.csv row {line}" and list(why_not(found)) == [line + 1]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le", "utf-16-be"])
def test_a_column_s_name_of_two_lines_is_one_in_any_encoding(tmp_path, encoding):
    text = '"id","species\n(latin)","Höhe\nin m",lat,lon\n1,Quercus robur,14,48.1,9.2\n2,Oak,14,0,0\n'
    found = take_in([file(tmp_path, "t.csv", text, encoding)])
    (tree,) = found.anchors
    assert (tree["species"]["name"], tree["height"], tree["source"]) == ("Quercus robur", "14 m", "t.csv row 4")
    assert "ds-header-line" not in codes(found)


def test_the_spread_to_one_side_and_a_list_with_feet_are_no_metres(tmp_path):
    side = file(tmp_path, "s.csv", "id,Crown Spread (N),lat,lon\n1,3,48.1,9.2\n")
    feet = file(tmp_path, "f.csv", "id,Height (ft),Crown Spread,lat,lon\n1,45,12,48.1,9.2\n")
    assert all("crown_spread" not in take_in([path]).anchors[0] for path in (side, feet))


def test_the_sheet_in_sight_that_holds_a_table_is_read_below_its_title(tmp_path):
    """Rows are counted as a spreadsheet program counts them; an empty day is no day."""
    rows = [["Trees of Nowhere Green"], [], ["id", "species", "lat", "lon"], [1, "Quercus robur", 48.1, 9.2],
            [2, "Tilia cordata", 0, 0]]  # fmt: skip
    sheets = {"Notes": [["read me"]], "Old": [["id", "lat", "lon"], [9, 47.0, 9.0]], "Trees": rows}
    path = workbook(tmp_path / "t.xlsx", sheets, hidden=("Old",))
    found = take_in([path])
    (tree,) = found.anchors
    assert (tree["tag"], tree["position"]["lat"], tree["source"]) == ("1", 48.1, "t.xlsx row 4")
    assert list(why_not(found)) == [5] and {"ds-other-layers", "ds-header-line"} <= set(codes(found))
    with pytest.raises(FaultyInput, match="empty file"):
        take_in([workbook(tmp_path / "e.xlsx", {"Trees": []})])
    dated = pd.DataFrame({"id": [1, 2], "lat": [48.1, 48.101], "lon": [9.2, 9.2],
                          "felled": pd.to_datetime(["2025-01-01", None])})  # fmt: skip
    pyogrio.write_dataframe(dated, tmp_path / "d.xlsx", driver="XLSX")
    first, second = take_in([tmp_path / "d.xlsx"]).anchors
    assert first["notes"].startswith("felled: 2025-01-01") and "notes" not in second and second["source"].endswith("3")


def test_further_sheets_are_told(tmp_path):
    for sheet in ("trees", "roads"):
        frame = pd.DataFrame({"species": ["Tilia cordata"], "lat": [48.1], "lon": [9.2]})
        pyogrio.write_dataframe(frame, tmp_path / "t.xlsx", layer=sheet, driver="XLSX", append=sheet == "roads")
    found = take_in([tmp_path / "t.xlsx"])
    assert "ds-other-layers" in codes(found) and len(found.anchors) == 1


def test_a_spreadsheet_that_swells_or_declares_entities_is_refused(tmp_path, monkeypatch):
    with zipfile.ZipFile(tmp_path / "e.xlsx", "w") as archive:
        archive.writestr("xl/workbook.xml", '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "b">]><x/>')
    with pytest.raises(FaultyInput, match="document type"):
        take_in([tmp_path / "e.xlsx"])
    with zipfile.ZipFile(tmp_path / "big.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", "0" * 2_000_000)
    monkeypatch.setattr("siteassess.survey.file_guard.SWOLLEN_BYTES", 1_000_000)
    with pytest.raises(FaultyInput, match="swells"):
        take_in([tmp_path / "big.xlsx"])
    with pytest.raises(FaultyInput):
        take_in([file(tmp_path, "no.xlsx", "plain text")])


@pytest.mark.parametrize(("species", "status", "why"), [
    ("Quercus robur (dead)", "", "ds-dead"), ("Eiche (tot)", "", "ds-dead"), ("Oak", "Standing dead", "ds-dead"),
    ("Oak", "gefällt", "ds-stump"), ("Oak", "felled 2023", "ds-stump"), ("Baumstumpf", "", "ds-stump"),
    ("Vacant site", "", "ds-not-a-tree"), ("Oak", "Planned", "ds-not-a-tree"), ("Oak", "dead wood", ""),
    ("Oak", "not dead", ""), ("Oak", "10% dead", ""), ("Oak", "top dead", ""), ("Oak", "good", "")])  # fmt: skip
def test_a_tree_that_its_row_calls_dead_felled_or_not_there_is_none(tmp_path, species, status, why):
    rows = f"id,species,status,lat,lon\n1,{species},{status},48.1,9.2\n2,Tilia cordata,alive,48.101,9.2\n"
    found = take_in([file(tmp_path, "t.csv", rows)])
    assert why_not(found) == ({2: [why]} if why else {}) and len(found.anchors) == (1 if why else 2)


def test_each_column_that_tells_of_the_state_of_a_tree_is_asked(tmp_path):
    rows = [("EN PLACE", "bon"), ("SUPPRIME", "bon"), ("Non essouché", ""), ("en place", "mort"), ("REMPLACE", "")]
    text = "id,fk_arb_etat,Zustand 2024,lat,lon\n" + "\n".join(
        f"{i},{etat},{other},{48.1 + i * 1e-3},9.2" for i, (etat, other) in enumerate(rows))  # fmt: skip
    found = take_in([file(tmp_path, "t.csv", text)])
    assert why_not(found) == {3: ["ds-stump"], 4: ["ds-not-a-tree"], 5: ["ds-dead"]} and len(found.anchors) == 2


def test_the_girth_of_a_group_of_trees_is_no_trunk_s(tmp_path):
    """A city adds up the girths of all of them."""
    rows = "id;Typ;Umfang_cm;lat;lon\n1;Baumgruppe;450;48.1;9.2\n2;Laubbaum;90;48.101;9.2\n"
    found = take_in([file(tmp_path, "t.csv", rows)])
    group, tree = found.anchors
    assert "trunk" not in group and "Umfang_cm: 450" in group["notes"] and tree["trunk"][0]["girth"] == "90 cm"
    assert "ds-several-trees" in codes(found) and "group of trees" in group["notes"]


def _apart(folder, head, *rows):
    text = "\n".join([f"id,species,{head},lat,lon",
                      *(f"{i},Quercus robur,{row},{48.1 + i * 1e-3},9.2" for i, row in enumerate(rows))])  # fmt: skip
    return [dict(one.values) for one in read_inventory(file(folder, "t.csv", text)).remarks
            if one.code == "ds-sizes-apart"]  # fmt: skip


@pytest.mark.parametrize(("head", "rows", "apart"), [
    ("girth_cm,dbh_cm", ["157,50", "94,30", "31,10"], 0),  # pi apart, as whole centimetres have it
    ("girth_cm,dbh_cm", ["157,50", "94,94", ",10", "120,"], 1),
    ("girth_cm,dbh_cm", ["50,50", "94,94", "31,31"], 3),  # a diameter under a girth's name
    ("girth_cm,dbh", ["157,500", "94,300"], 0),  # in millimetres all agree
    ("girth_cm,dbh", ["157,500", "94,30"], 1),
    ("dbh_cm,diameter_cm", ["50,50", "30,31", "20,26"], 1),
    ("dbh_cm,diameter_mm", ["50,504", "30,296"], 0),
    ("girth_cm,dbh_cm", [f"{10 * i},{10 * i / 3.14159:.0f}" for i in range(3, 18)], 0),  # girths in tens
])  # fmt: skip
def test_two_columns_of_sizes_that_contradict_each_other_are_told_once_with_a_count(tmp_path, head, rows, apart):
    told = _apart(tmp_path, head, *rows)
    assert [one["count"] for one in told] == [apart] * bool(apart)
    if apart:
        both = sum(all(row.split(",")) for row in rows)
        assert told[0]["of"] == both and {told[0]["column"], told[0]["other"]} == set(head.split(","))


def test_a_size_whose_unit_is_told_is_read_before_one_without(tmp_path):
    (tree,) = take_in([file(tmp_path, "t.csv", "id,Umfang,dbh_cm,lat,lon\n1,150,48,48.1,9.2\n")]).anchors
    assert tree["trunk"][0]["diameter"] == "48 cm" and "Umfang: 150" in tree["notes"]


def test_a_pole_is_told_by_its_row_with_the_file_s_other_faults(tmp_path):
    """It used to stop the whole run without the file's name, at the first sum that needs a bearing."""
    rows = ["1,oak,90,7", "2,oak,51.5,7.4", "3,oak,95,200", "4,oak,-89.9,7.4", "5,oak,91,100", "6,oak,,"]
    found = take_in([file(tmp_path, "t.csv", "\n".join(["id,species,lat,lon", *rows]))])
    pole = ["ds-near-a-pole"]
    assert why_not(found) == {2: pole, 4: ["ds-off-globe"], 5: pole, 6: ["ds-off-globe"], 7: ["ds-no-position"]}
    assert [one["tag"] for one in found.anchors] == ["2"]
    with pytest.raises(FaultyFiles) as caught:
        take_in([file(tmp_path, "p.csv", "id,lat,lon\n1,90,7\n2,-90,8\n"), tmp_path / "none.csv"])
    assert "p.csv: 1 fault" in str(caught.value) and "pole" in str(caught.value) and "none.csv" in str(caught.value)


def test_a_column_s_name_given_twice_is_two_columns(tmp_path):
    """The second was lost without a word, its sizes too."""
    rows = [["id", "dbh_cm", "dbh_cm", "lat", "lon", "note", "note"], ["1", "40", "60", "48.1", "9.2", "a", "b"]]
    text = "\n".join(map(",".join, rows))
    for path in (file(tmp_path, "t.csv", text), workbook(tmp_path / "t.xlsx", {"Trees": [["Title"], [], *rows]})):
        found = take_in([path])
        (tree,) = found.anchors
        assert tree["trunk"][0]["diameter"] == "40 cm" and tree["notes"] == "dbh_cm 2: 60; note: a; note 2: b"
        assert "ds-sizes-apart" in codes(found)


@pytest.mark.parametrize("ending, second", [("shp", "GIRTH_CM"), ("gpkg", "girth cm"), ("geojson", "Girth_cm")])
def test_a_map_file_s_column_given_twice_is_two_columns(tmp_path, ending, second):
    """Case, blanks and marks make no other name, since columns are looked for without them."""
    frame = geopandas.GeoDataFrame({"GIRTH_CM": [150, 200], "GIRTH_C2" if ending == "shp" else second: [90, 80]},
                                   geometry=geopandas.points_from_xy([9.2, 9.21], [48.1, 48.11]), crs=4326)  # fmt: skip
    path = tmp_path / f"t.{ending}"
    frame.to_file(path)
    if ending == "shp":
        table = path.with_suffix(".dbf")
        table.write_bytes(table.read_bytes().replace(b"GIRTH_C2", b"GIRTH_CM"))
    found = take_in([path])
    assert [one["trunk"][0]["girth"] for one in found.anchors] == ["150 cm", "200 cm"]
    assert [one["notes"] for one in found.anchors] == [f"{second} 2: 90", f"{second} 2: 80"]
    assert "ds-sizes-apart" in codes(found)


def test_names_of_marks_alone_are_parted_as_they_stand():
    assert named_apart(["%", "#", "", "", "a", "A", "a 2"]) == ["%", "#", "", "", "a", "A 3", "a 2"]
