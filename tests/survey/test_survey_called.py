"""What a row calls itself: a point that is no live tree by its name is none to tie to, and several trees have no trunk.

All files are invented; the words are those of the trade in four languages (common practice, no source).
"""

import json

import pytest
from made_files import codes, file, gpx, why_not

from siteassess.errors import FaultyInput
from siteassess.reference.written_names import named_itself, names_a_tree, thing_named
from siteassess.survey.begun import begun
from siteassess.survey.called import called
from siteassess.survey.from_files import take_in
from siteassess.survey.importing import read_inventory
from siteassess.survey.notes import Note

NONE_TO_TIE_TO = {
    "dead oak": "ds-dead", "oak stump": "ds-stump", "toter Baum": "ds-dead", "tote Eiche": "ds-dead",
    "Baumstumpf 3": "ds-stump", "souche de chêne": "ds-stump", "chêne mort": "ds-dead", "roble muerto": "ds-dead",
    "tocón de pino": "ds-stump", "oak, felled 2023": "ds-stump", "vacant site": "ds-not-a-tree",
    "bench": "ds-not-a-tree", "Bench 2": "ds-not-a-tree", "car park": "ds-not-a-tree", "Parkplatz": "ds-not-a-tree",
    "banc": "ds-not-a-tree", "fuente": "ds-not-a-tree", "the old bench by the oak": "ds-not-a-tree",
}  # fmt: skip
TREES = ("north oak", "T1", "Anchor 2", "oak by the bench", "Eiche am Parkplatz", "old oak beside the dead pine",
         "car park oak", "post oak", "seat oak", "chêne près de la souche", "palm", "Baum 7")  # fmt: skip
DOUBTFUL = ("dead top oak", "wooden bench", "Dead End 3", "Sec 4 oak", "Rue de la Souche")


def _as(form, folder, name):
    if form == "gpx":
        return gpx(folder, (48.1, 9.2, name), (48.101, 9.2, "lime"))
    if form == "csv":
        return file(folder, "t.csv", f'name,lat,lon\n"{name}",48.1,9.2\nlime,48.101,9.2\n')
    if form == "kml":
        marks = "".join(f"<Placemark><name>{one}</name><Point><coordinates>9.2,{lat}</coordinates></Point></Placemark>"
                        for one, lat in ((name, 48.1), ("lime", 48.101)))  # fmt: skip
        return file(folder, "t.kml", f"<kml><Document>{marks}</Document></kml>")
    features = [{"type": "Feature", "properties": {"name": one}, "geometry": {"type": "Point", "coordinates": place}}
                for one, place in ((name, [9.2, 48.1]), ("lime", [9.2, 48.101]))]  # fmt: skip
    return file(folder, "t.geojson", json.dumps({"type": "FeatureCollection", "features": features}))


@pytest.mark.parametrize("form", ["gpx", "csv", "kml", "geojson"])
@pytest.mark.parametrize(("name", "why"), NONE_TO_TIE_TO.items())
def test_a_point_whose_name_is_no_live_tree_s_is_told_and_none_to_tie_to(tmp_path, form, name, why):
    found = take_in([_as(form, tmp_path, name)])
    assert [one["name"] for one in found.anchors] == ["lime"]
    ((whys),) = why_not(found).values()
    assert whys == [why, "fi-called"]


@pytest.mark.parametrize("name", TREES)
def test_a_tree_keeps_its_name_whatever_stands_beside_it(name):
    assert called(name) == Note.NOTHING


@pytest.mark.parametrize("name", DOUBTFUL)
def test_what_a_name_may_mean_is_told_and_kept(tmp_path, name):
    found = take_in([_as("gpx", tmp_path, name)])
    assert [one["name"] for one in found.anchors] == [name, "lime"] and "fi-doubted" in codes(found)
    assert "look" in found.anchors[0]["notes"] and "notes" not in found.anchors[1]


def test_a_symbol_or_type_tells_it_too_and_a_tree_s_name_outweighs_a_thing_s(tmp_path):
    def mark(name, lat, more):
        return f'<wpt lat="{lat}" lon="9.2"><name>{name}</name>{more}</wpt>'

    more = mark("A", 48.102, "<sym>Parking Area</sym>") + mark("B", 48.103, "<type>stump</type>")
    more += mark("oak", 48.104, "<sym>Parking Area</sym>") + mark("C", 48.105, "<sym>Flag, Blue</sym>")
    found = take_in([gpx(tmp_path, (48.1, 9.2, "lime"), more=more)])
    assert why_not(found) == {2: ["ds-not-a-tree", "fi-called"], 3: ["ds-stump", "fi-called"]}
    assert [one["name"] for one in found.anchors] == ["lime", "oak", "C"] and "fi-doubted" in codes(found)


def test_a_tree_with_its_species_is_one_though_it_is_called_after_a_place(tmp_path):
    rows = "name,species,lat,lon\nPlayground,Quercus robur,48.1,9.2\nPlayground,,48.101,9.2\n"
    found = take_in([file(tmp_path, "t.csv", rows)])
    assert [one["species"]["name"] for one in found.anchors] == ["Quercus robur"] and len(why_not(found)) == 1


def test_the_folder_of_a_kml_is_kept_and_tells_of_dead_trees(tmp_path):
    text = "<kml><Document>" + "".join(
        f"<Folder><name>{folder}</name><Placemark><name>{name}</name><Point><coordinates>9.2,{lat}</coordinates></Point>"
        "</Placemark></Folder>" for folder, name, lat in (("Tote Bäume", 1, 48.1), ("Bäume", 2, 48.101))
    ) + "<NetworkLink/></Document></kml>"
    found = take_in([file(tmp_path, "a.kml", text)])
    (tree,) = found.anchors
    assert why_not(found) == {1: ["ds-dead", "fi-called"]} and tree["notes"] == "folder: Bäume"
    assert "fi-links" in codes(found)


def test_a_file_of_no_trees_says_why_none_was_taken(tmp_path):
    with pytest.raises(FaultyInput, match="row 1 not taken: dead by its status or name; called dead oak"):
        begun([gpx(tmp_path, (48.1, 9.2, "dead oak"), (48.101, 9.2, "bench"))])


def test_parts_of_a_name():
    assert named_itself("oak by the bench") == "oak" and named_itself("by the pond") == "by the pond"
    assert names_a_tree("Eiche 3") and names_a_tree("trees") and not names_a_tree("bench")
    assert thing_named("the big bench 2") == ("bench", True) and thing_named("oak bench") == ("bench", False)


@pytest.mark.parametrize(("column", "cell"), [
    ("Typ", "Baumgruppe"), ("type", "group"), ("type", "tree group"), ("Anzahl", "3"), ("tree_count", "12"),
    ("remark", "group of trees"), ("Nombre d'arbres", "2")])  # fmt: skip
def test_the_girth_of_several_trees_is_no_trunk_s_in_an_inventory_either(tmp_path, column, cell):
    """A city adds up the girths of all of them: as one trunk, 450 cm would bear any line."""
    rows = f"id;species;{column};girth_cm;lat;lon\n1;Tilia cordata;{cell};450;48.1;9.2\n"
    rows += "2;Tilia cordata;1;90;48.101;9.2\n3;Tilia cordata;;80;48.102;9.2\n"
    path = file(tmp_path, "t.csv", rows)
    inventory = read_inventory(path)
    assert inventory.good["diameter_m"].isna().tolist() == [True, False, False]
    assert inventory.counts["rows_repaired"] == 1 and inventory.flags[0] & Note.SEVERAL_TREES
    group, tree, _ = take_in([path]).anchors
    assert "trunk" not in group and "girth_cm: 450" in group["notes"] and tree["trunk"][0]["girth"] == "90 cm"
