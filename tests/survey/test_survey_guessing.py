"""Unseen inventories: which column names the trees, and in which unit their trunks are. All rows are invented."""

import csv

import numpy as np
import pytest
from click.testing import CliRunner

from siteassess.cli.survey import survey
from siteassess.reference.written_names import written_species
from siteassess.survey.guessing import guess
from siteassess.survey.guessing_sizes import size_columns, stoutest_measured, unit_in
from siteassess.survey.importing import read_inventory
from siteassess.survey.reading import Opened, open_source

KINDS = ("Quercus robur", "Acer platanoides", "Tilia cordata", "Platanus x hispanica", "Fraxinus excelsior")
HERE = {"europe": (48.0, 9.0), "usa": (40.0, -90.0), "australia": (-37.8, 145.0)}


def written(tmp_path, columns, where="europe", count=120, delimiter=","):
    """A file of invented trees; a column is a list, or a function of the row's number."""
    lat, lon = HERE[where]
    path = tmp_path / "trees.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        out = csv.writer(stream, delimiter=delimiter)
        out.writerow(["lat", "lon", *columns])
        for i in range(count):
            out.writerow([lat + i * 1e-3, lon + i % 7 * 1e-3, *(column(i) for column in columns.values())])
    return path


def sized(spread, unit_m):
    """Trunks from 5 cm to `spread` m across, in a unit."""
    return lambda i: f"{(0.05 + (spread - 0.05) * (i % 40) / 39) / unit_m:.6g}"


def kind(i):
    return KINDS[i % 5]


def told(inv):
    reasons = [dict(one.values)["reason"] for one in inv.remarks if one.code == "ds-guessed"]
    return {one.code: dict(one.values) for one in [*reasons, *inv.remarks] if one.code != "ds-guessed"}


@pytest.mark.parametrize(
    ("where", "unit", "metres", "taken"),
    [("europe", "cm", 0.01, "cm"), ("europe", "mm", 0.001, "mm"), ("europe", "m", 1.0, "m"), ("usa", "in", 0.0254,
                                                                                              "in"),
     ("australia", "cm", 0.01, "cm")],
)  # fmt: skip
def test_the_unit_is_told_by_the_sizes_of_named_kinds(tmp_path, where, unit, metres, taken):
    inv = read_inventory(written(tmp_path, {"Diameter.Breast.Height": sized(0.95, metres), "Species": kind}, where))
    why = told(inv)["ds-unit-by-sizes"]
    assert (why["unit"], why["count"], why["column"]) == (taken, 120, "Diameter.Breast.Height")
    assert inv.trees.diameter_m.max() == pytest.approx(0.95, rel=1e-4)
    assert "--diameter-unit" in next(one for one in inv.remarks if one.code == "ds-guessed" and dict(one.values)[
        "reason"].code == "ds-unit-by-sizes").in_words()  # fmt: skip


def test_where_two_units_pass_the_size_is_left_out_told_and_counted(tmp_path):
    # trees of up to 48 cm, where both inches and centimetres are used
    path = written(tmp_path, {"dbh": sized(0.56, 0.01), "species": kind}, "usa")
    inv = read_inventory(path)
    assert inv.trees.diameter_m.isna().all() and inv.counts["rows_kept"] == 120
    assert told(inv)["ds-size-open"]["could"] == "cm or in" and told(inv)["ds-without-size"]["count"] == 120
    assert read_inventory(path, diameter_unit="cm").trees.diameter_m.max() == pytest.approx(0.56, rel=1e-4)
    assert read_inventory(path, diameter_unit="in").trees.diameter_m.max() == pytest.approx(0.56 * 2.54, rel=1e-4)


def test_young_trees_in_centimetres_never_grow_into_inches(tmp_path):
    inv = read_inventory(written(tmp_path, {"dbh": sized(0.20, 0.01), "species": kind}))
    assert inv.trees.diameter_m.max() == pytest.approx(0.20, rel=1e-4)


@pytest.mark.parametrize(("spread", "count"), [(0.20, 120), (0.95 / 2.54, 60), (0.33, 60)])
def test_a_bed_of_young_trees_never_grows_into_inches_where_inches_are_used(tmp_path, spread, count):
    """Centimetres of young trees, and few rows: the size stays out, the kind side is not taken."""
    inv = read_inventory(written(tmp_path, {"dbh": sized(spread, 0.01), "species": kind}, "usa", count))
    assert inv.trees.diameter_m.isna().all() or inv.trees.diameter_m.max() <= spread * 1.001
    assert "ds-size-open" in told(inv)


def test_a_handful_of_rows_tells_no_unit(tmp_path):
    inv = read_inventory(written(tmp_path, {"dbh": sized(0.9, 0.01), "species": kind}, count=8))
    assert told(inv)["ds-size-open-few"]["count"] == 8 and told(inv)["ds-without-size"]["count"] == 8


def test_the_option_wins_over_a_name_and_over_a_shipped_mapping(tmp_path):
    path = written(tmp_path, {"dbh_in": sized(0.9, 0.01), "species": kind})
    assert read_inventory(path, diameter_unit="cm").trees.diameter_m.max() == pytest.approx(0.9, rel=1e-4)
    columns = {"TreeID": str, "qSpecies": lambda i: f"{kind(i)} :: tree", "DBH": sized(0.9, 0.01),
               "XCoord": lambda i: "",
               "YCoord": lambda i: "", "Latitude": lambda i: 37.75 + i * 1e-4,
               "Longitude": lambda i: -122.45}  # fmt: skip
    inv = read_inventory(written(tmp_path, columns), diameter_unit="cm")
    assert inv.title.startswith("San Francisco") and inv.trees.diameter_m.max() == pytest.approx(0.9, rel=1e-4)
    assert told(inv)["ds-unit-stated"]["unit"] == "cm"


@pytest.mark.parametrize(
    ("name", "is_kind"),
    [("Diameter.Breast.Height", "diameter"), ("DIAMETER_BREAST_HEIGHT", "diameter"), ("trunk_diameter", "diameter"),
     ("dbh", "diameter"), ("dbh_cm", "diameter"), ("dbhcm", "diameter"), ("Diamètre du tronc", "diameter"),
     ("girth", "girth"), ("circumference", "girth"), ("circonference (cm)", "girth"), ("Stammumfang", "girth"),
     ("tronco perimetro", "girth"), ("PERÍMETRO", "girth"), ("circunferencia", "girth"), ("Stammumfang_-_cm", "girth")],
)  # fmt: skip
def test_columns_of_a_trunk_are_known_by_their_names(name, is_kind):
    assert size_columns(["id", name]) == [(name, is_kind)]


@pytest.mark.parametrize("name", ["crown_diameter", "Kronendurchmesser", "diametro copa", "stump_diam",
                                  "root ball diameter"])  # fmt: skip
def test_a_crown_or_a_stump_is_no_trunk(name):
    assert size_columns([name]) == []


def test_an_empty_column_gives_way_to_a_filled_one(tmp_path):
    inv = read_inventory(written(tmp_path, {"girth_cm": lambda i: "", "dbh_cm": sized(0.9, 0.01), "species": kind}))
    assert inv.trees.diameter_m.notna().all()


def test_a_unit_stands_at_the_end_of_a_name():
    assert [unit_in(name) for name in ("DBH (cm)", "dbh_in", "dbhcm", "circonferenceencm", "dbh")] == [
        "cm", "in", "cm", "cm", None]  # fmt: skip


# ---- names


def test_a_city_s_numeric_species_loses_to_its_names(tmp_path):
    columns = {"Species": lambda i: 100 + i % 5, "qSpecies": lambda i: f"{kind(i)} :: some tree",
               "dbh_cm": sized(0.9, 0.01)}  # fmt: skip
    inv = read_inventory(written(tmp_path, columns))
    why = told(inv)["ds-best-names"]
    assert why["column"] == "qSpecies" and why["share"] == 1.0
    assert {dict(one.values)["column"]: dict(one.values)["share"] for one in why["tried"]} == {"Species": 0.0}
    assert inv.trees.species.iloc[0].startswith("Quercus robur")


@pytest.mark.parametrize(("genus", "epithet"), [("Genus", "Species"), ("GENRE", "ESPECE"), ("Gattung", "Art"),
                                                ("genero", "especie")])  # fmt: skip
def test_genus_and_epithet_are_read_together(tmp_path, genus, epithet):
    columns = {genus: lambda i: kind(i).split()[0].upper(), epithet: lambda i: kind(i).split(" ", 1)[1],
               "dbh_cm": sized(0.9, 0.01)}  # fmt: skip
    inv = read_inventory(written(tmp_path, columns))
    assert told(inv)["ds-both-together"] == {"field": told(inv)["ds-both-together"]["field"], "genus": genus,
                                             "species": epithet}  # fmt: skip
    assert inv.trees.species.iloc[0] == "QUERCUS robur"


def test_a_column_of_names_is_found_though_it_is_called_otherwise(tmp_path):
    columns = {"Gen": lambda i: kind(i).split()[0], "zone": lambda i: "north", "what grows": kind,
               "dbh_cm": sized(0.9, 0.01)}  # fmt: skip
    assert read_inventory(written(tmp_path, columns)).trees.species.iloc[0] == "Quercus robur"


def test_a_stump_or_a_dead_tree_in_a_name_s_place_is_one(tmp_path):
    names = ("Quercus robur", "Stump", "Dead", "unknown", "Tilia cordata")
    inv = read_inventory(written(tmp_path, {"species": lambda i: names[i % 5], "dbh_cm": sized(0.9, 0.01)}))
    assert inv.counts["rows_set_aside"] == 48
    assert (inv.good.species == "").sum() == 24


def test_stoutest_of_an_unknown_kind_is_a_stand_in():
    oak, strange = stoutest_measured(np.array(["Quercus robur", "Nonsense"], dtype=object))
    assert oak > strange == 1.2


def test_the_command_takes_the_unit(tmp_path):
    path = written(tmp_path, {"dbh": sized(0.9, 0.01), "species": kind}, count=10)
    asked = [str(path), "--span", "20 m", "200 m"]
    assert "--diameter-unit" in CliRunner().invoke(survey, asked).stderr
    done = CliRunner().invoke(survey, [*asked, "--diameter-unit", "cm", "--json"])
    assert done.exit_code == 0, done.stderr
    assert CliRunner().invoke(survey, [*asked, "--diameter-unit", "stone"]).exit_code == 2


def test_the_head_of_a_file_is_read_once(tmp_path, monkeypatch):
    rows = "id,species,dbh,lat,lon\n" + "\n".join(f"{i},Quercus robur,{20 + i},48.1{i},9.2" for i in range(40))
    (tmp_path / "t.csv").write_text(rows, encoding="utf-8")
    looks, chunks = [], Opened.chunks
    monkeypatch.setattr(Opened, "chunks", lambda self, *args: looks.append(args) or chunks(self, *args))
    guess(open_source(tmp_path / "t.csv"))
    assert len(looks) == 1


@pytest.mark.parametrize(("name", "taken"), [("Apfel Street Parade", "Malus spp."), ("Linde Greenspire", "Tilia spp."),
                                             ("Kirsche Kanzan", "Prunus spp."), ("Apfel Quitte", None)])  # fmt: skip
def test_a_german_name_with_its_cultivar_behind_it_is_its_genus(name, taken):
    match = written_species(name)
    assert (match and match.accepted) == taken
