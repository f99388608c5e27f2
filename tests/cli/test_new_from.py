"""`siteassess new FILE --from OTHER...`: what comes out reads back without a fault, and judges no tree kindly."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from made_files import TABLE, file, gpx, photo

from siteassess.advice.assess import assess
from siteassess.cli.files import check, new
from siteassess.records.loading import load_record
from siteassess.records.writing import as_plain


def run(command, *args):
    return CliRunner().invoke(command, [str(arg) for arg in args])


@pytest.fixture
def everything(tmp_path):
    """A file of each kind, some with something wrong."""
    osm = '<osm version="0.6"><node id="5" lat="48.1021" lon="9.2031"><tag k="natural" v="tree"/></node></osm>'
    hostile = "&lt;script&gt;alert(1)&lt;/script&gt; # 'oak': {{ x }} - north"
    return [gpx(tmp_path, (48.1, 9.2, hostile), (48.1004, 9.2, "south"), (0, 0, "null")), file(tmp_path, "t.csv",
                                                                                               TABLE),
            file(tmp_path, "park.osm", osm), photo(tmp_path, "a.jpg", 48.103, 9.204, error=5)]  # fmt: skip


def sources(paths):
    return [arg for path in paths for arg in ("--from", path)]


def test_every_kind_together_reads_back_without_a_fault(tmp_path, everything):
    park = tmp_path / "park.yaml"
    done = run(new, park, *sources(everything), "--name", "Green: of #1", "--by", "A. B.", "--date", "2026-05-01")
    assert done.exit_code == 0, done.stderr
    checked = json.loads(run(check, park, "--json").stdout)
    assert checked["faults"] == []
    record = load_record(park)
    assert (record.site.name, record.survey.by, str(record.survey.date)) == ("Green: of #1", "A. B.", "2026-05-01")
    assert [tree.code for tree in record.anchors] == [f"T{n}" for n in range(1, len(record.anchors) + 1)]
    assert len(record.anchors) == 2 + 3 + 1 + 1 and record.lines == ()
    assert record.anchors[-1].photos[0].path == "a.jpg" and (tmp_path / "a.jpg").is_file()
    # each row that is not there is told
    assert "points.gpx row 3 not taken: position is zero, zero" in done.stderr
    assert "t.csv row 5 not taken" in done.stderr and "3 of 4 rows" in done.stderr


def test_the_file_asks_on_for_what_nobody_knows(tmp_path, everything):
    park = tmp_path / "park.yaml"
    run(new, park, *sources(everything))
    text = park.read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=") and "# needed" not in text.partition("anchors:")[0]
    assert text.count("dead_tree: not looked") == 7 and "# lines:" in text and "# Stop signs" in text
    assert "<script>" not in text  # a name loses the marks of a page


def test_no_tree_out_of_files_is_judged_kindly(tmp_path):
    """Every way in, with the kindest size there is, is "cannot say": nobody looked."""
    rows = "id,species,dbh_cm,height_m,lat,lon\n" + "\n".join(
        f"{i},Quercus robur,{60 + 20 * i},20,{48.1 + i * 2e-4},9.2" for i in range(3))  # fmt: skip
    park = tmp_path / "park.yaml"
    assert run(new, park, "--from", file(tmp_path, "t.csv", rows)).exit_code == 0
    text = park.read_text(encoding="utf-8")
    lines = text[text.index("# lines:"):].replace("# ", "", 1)
    park.write_text(text[: text.index("# No line is planned")] + "lines:\n  - id: L1\n    use: low line\n"
                    "    a: {anchor: T1}\n    b: {anchor: T2}\n    standing: {tension: 1 kN}\n",
                    encoding="utf-8")  # fmt: skip
    (line,) = assess(load_record(park)).lines
    assert line.verdict == "cannot say" and lines
    assert all(end.verdict in ("cannot say", "leave it") for end in line.anchors)
    for tree in as_plain(load_record(park))["anchors"]:
        assert tree["trunk"][0]["how"] == "copied" and tree["species"]["certainty"] == "guess"
        assert tree["position"]["how"] == "inventory" and set(tree["signs"].values()) == {"not looked"}


def test_a_photo_from_another_folder_is_copied(tmp_path):
    (tmp_path / "there").mkdir()
    (tmp_path / "home").mkdir()
    done = run(new, tmp_path / "home" / "park.yaml", "--from", photo(tmp_path / "there", "a.jpg"))
    assert done.exit_code == 0 and (tmp_path / "home" / "photos" / "a.jpg").is_file()
    assert load_record(tmp_path / "home" / "park.yaml").anchors[0].photos[0].path == "photos/a.jpg"


@pytest.mark.parametrize(
    ("args", "told"),
    [(["--name", "Green"], "belong to --from"), (["--diameter-unit", "cm"], "belong to --from"),
     (["--full", "--from", "x.gpx"], "no --full"), (["--diameter-unit", "stone", "--from", "x.gpx"], "stone")],
)  # fmt: skip
def test_wrong_usage_is_told(tmp_path, args, told):
    done = run(new, tmp_path / "park.yaml", *args)
    assert done.exit_code == 2 and told in done.stderr


def test_a_spreadsheet_template_takes_no_trees(tmp_path):
    assert run(new, tmp_path / "park.csv", "--from", gpx(tmp_path, (48, 9, "a"))).exit_code == 2


def test_what_cannot_be_read_writes_nothing(tmp_path):
    park = tmp_path / "park.yaml"
    assert run(new, park, "--from", file(tmp_path, "a.gpx", "<!DOCTYPE x><gpx/>")).exit_code != 0
    assert not park.exists()


def test_a_unit_that_is_not_told_leaves_the_size_open_until_it_is_named(tmp_path):
    rows = "id,species,dbh,lat,lon\n1,Quercus robur,45,48.1,9.2\n"
    table, park = file(tmp_path, "t.csv", rows), tmp_path / "park.yaml"
    done = run(new, park, "--from", table)
    assert "--diameter-unit" in done.stderr and load_record(park).anchors[0].trunk == ()
    run(new, park, "--from", table, "--diameter-unit", "cm", "--force")
    assert load_record(park).anchors[0].trunk[0].diameter.text == "45 cm"


def test_the_record_itself_is_no_source(tmp_path):
    path = gpx(tmp_path, (48, 9, "a"))
    assert run(new, path, "--from", path, "--force").exit_code != 0
    assert Path(path).read_text(encoding="utf-8").startswith("<?xml")


@pytest.mark.parametrize(("lang", "told", "by", "seen", "wrote", "shows"), [
    ("en", "row 5 not taken", "nobody yet: read from files", "seen 2025-06-01", "written as: Linde",
     "looking toward 110 degrees magnetic, taken 2026-05-01 10:12:33"),
    ("de", "Zeile 5 nicht genommen", "noch niemand: aus Dateien gelesen", "gesehen 2025-06-01",
     "geschrieben als: Linde", "Blick nach 110 Grad missweisend, aufgenommen 2026-05-01 10:12:33"),
    ("fr", "ligne 5 non prise", "personne encore : lu dans des fichiers", "vu le 2025-06-01", "écrit comme : Linde",
     "regard vers 110 degrés magnétiques, prise le 2026-05-01 10:12:33"),
    ("es", "fila 5 no tomada", "nadie aún: leído de archivos", "visto el 2025-06-01", "escrito como: Linde",
     "mirando hacia 110 grados magnéticos, tomada el 2026-05-01 10:12:33")])  # fmt: skip
def test_what_is_told_and_what_is_noted_is_in_the_language_asked_for(tmp_path, lang, told, by, seen, wrote, shows):
    rows = [*(f"{i},Linde,{48.1 + i * 1e-3},9.2,2025-06-01" for i in (1, 2, 3)), "4,Linde,0,0,2025-06-01"]
    table, park = file(tmp_path, "t.csv", "\n".join(["id,species,lat,lon,seen", *rows])), tmp_path / "park.yaml"
    picture = photo(tmp_path, "a.jpg", looks=110, taken="2026:05:01 10:12:33")
    assert told in run(new, park, *sources([table, picture]), "--lang", lang).stderr
    record = load_record(park)
    assert ("ask whoever" in record.site.credit) == (lang == "en")
    assert record.survey.by == by and all(note in record.anchors[0].notes for note in (seen, wrote))
    assert record.anchors[-1].photos[0].shows == shows


def test_what_a_group_writes_alike_stands_beside_what_was_read(tmp_path):
    usual = file(tmp_path, "usual.yaml", "siteassess_usual: 1\nsite: {country: GB}\nsurvey: {group: Ours, by: A. B.}\n"
                 "line: {use: hammock}\n")  # fmt: skip
    park = tmp_path / "park.yaml"
    done = run(new, park, "--from", gpx(tmp_path, (48.1, 9.2, "a")), "--usual", usual)
    assert done.exit_code == 0, done.stderr
    record = load_record(park)
    assert (record.site.country, record.survey.group) == ("GB", "Ours")
    assert record.survey.by == "nobody yet: read from files"  # who usually looks has not looked yet
    assert "use: hammock" in park.read_text(encoding="utf-8").partition("# lines:")[2]


def test_a_photo_whose_name_a_record_does_not_take_is_copied_under_a_plain_one(tmp_path):
    picture = photo(tmp_path, "2026-05-01 10:12:33.jpg")
    done = run(new, tmp_path / "park.yaml", "--from", picture)
    assert done.exit_code == 0, done.stderr
    (kept,) = load_record(tmp_path / "park.yaml").anchors[0].photos
    assert kept.path == "photos/2026-05-01 10-12-33.jpg" and (tmp_path / kept.path).is_file()


def test_positions_in_metres_come_in_on_a_grid_that_is_named(tmp_path):
    table, park = file(tmp_path, "t.csv", "id,species,x,y\n1,Quercus robur,515000,5328000\n"), tmp_path / "park.yaml"
    refused = run(new, park, "--from", table)
    assert refused.exit_code != 0 and "--grid EPSG" in str(refused.exception)
    feature = {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [515000, 5328000]}}
    drawn = file(tmp_path, "t.geojson", json.dumps({"type": "FeatureCollection", "features": [feature]}))
    for path in (table, drawn):
        assert run(new, park, "--from", path, "--grid", "EPSG:25832", "--force").exit_code == 0
        (tree,) = load_record(park).anchors
        assert (tree.position.fixes[0].lat, tree.position.fixes[0].lon) == pytest.approx((48.1050875, 9.2014941))
