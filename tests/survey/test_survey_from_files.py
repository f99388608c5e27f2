"""Trees out of waypoints, photos, occurrences, map extracts and tables: all of it is told, none of it made up.

All files are invented; forms as their standards have them (GPX 1.1, KML 2.2, EXIF 2.32, Darwin Core: memory).
"""

import json
import random
import zipfile

import pytest
from made_files import LAT, LON, TABLE, codes, file, gpx, photo, why_not

from siteassess.errors import FaultyFiles, FaultyInput
from siteassess.records.blank import filled_record
from siteassess.records.reading import read_text
from siteassess.survey.begun import begun, photos_beside
from siteassess.survey.from_files import take_in

# ---- waypoints


def test_waypoints_become_trees_of_which_nothing_but_the_place_is_known(tmp_path):
    track = '<trk><trkseg><trkpt lat="48" lon="9"/></trkseg></trk><rte><rtept lat="48" lon="9"/></rte>'
    found = take_in([gpx(tmp_path, (48.1, 9.2, "north oak"), (48.1004, 9.2, "south"), more=track)])
    assert [one["code"] for one in found.anchors] == ["T1", "T2"]
    first = found.anchors[0]
    assert first == {"kind": "tree", "code": "T1", "name": "north oak", "source": "points.gpx row 1",
                     "position": {"lat": 48.1, "lon": 9.2, "how": "unknown", "source": "points.gpx row 1"}}  # fmt: skip
    assert {"fi-tracks", "fi-routes", "fi-taken"} <= set(codes(found))


def test_a_kml_keeps_its_own_fields_and_no_page_of_it_runs(tmp_path):
    text = ('<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>&lt;img src=x onerror=alert(1)&gt;A'
            '</name><ExtendedData><Data name="species"><value>Tilia cordata</value></Data><Data name="dbh_cm"><value>44'
            '</value></Data></ExtendedData><Point><coordinates>9.2,48.1,0</coordinates></Point></Placemark><Placemark>'
            '<LineString><coordinates>9,48 9,49</coordinates></LineString></Placemark></Document></kml>')  # fmt: skip
    found = take_in([file(tmp_path, "a.kml", text)])
    (tree,) = found.anchors
    assert tree["name"] == "A" and tree["species"] == {"name": "Tilia cordata", "certainty": "guess"}
    assert tree["trunk"] == [{"diameter": "44 cm", "read_at": "1.3 m", "how": "copied"}]
    assert "fi-outlines" in codes(found)


def test_zero_swapped_repeated_and_impossible_places_are_told(tmp_path):
    points = [(48.1 + i * 1e-3, 9.2, f"t{i}") for i in range(6)]
    wrong = [(0, 0, "null"), (9.2, 48.108, "swapped"), (48.1, 9.2, "again"), (95, 200, "off")]
    found = take_in([gpx(tmp_path, *points, *wrong)])
    assert why_not(found) == {7: ["ds-zero-position"], 9: ["ds-duplicate", "fi-same-as"], 10: ["ds-off-globe"]}
    assert found.anchors[6]["position"]["lat"] == 48.108 and "fi-repaired" in codes(found)
    assert "ds-swapped" in codes(found)


@pytest.mark.parametrize("head", ['<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>',
                                  '<!DOCTYPE gpx SYSTEM "x">'])  # fmt: skip
@pytest.mark.parametrize("name", ["a.gpx", "a.kml", "a.osm"])
def test_entities_and_document_types_are_refused(tmp_path, head, name):
    path = file(tmp_path, name, f"{head}<{name[2:]}></{name[2:]}>")
    with pytest.raises(FaultyInput) as caught:
        take_in([path])
    assert "document type" in str(caught.value)


@pytest.mark.parametrize(("name", "text"), [("a.gpx", "<gpx></gpx>"), ("a.gpx", "<kmlx/>"), ("a.osm",
                                                                                             "<osm><node/></osm>"),
                                            ("a.kml", "not xml"), ("a.gpx", "")])  # fmt: skip
def test_what_holds_no_tree_is_refused_in_words(tmp_path, name, text):
    with pytest.raises(FaultyInput):
        take_in([file(tmp_path, name, text)])


def test_what_holds_routes_or_links_alone_says_so(tmp_path):
    route = '<gpx><rte><rtept lat="48.1" lon="9.2"><name>oak</name></rtept></rte></gpx>'
    for name, text, told in (("a.gpx", route, "1 route"), ("a.kml", "<kml><NetworkLink/></kml>", "1 link")):
        with pytest.raises(FaultyInput, match=told):
            take_in([file(tmp_path, name, text)])


def test_every_faulty_file_is_told_at_once(tmp_path):
    with pytest.raises(FaultyFiles) as caught:
        take_in([file(tmp_path, "a.gpx", "x"), tmp_path / "none.csv", gpx(tmp_path, (48, 9, "x"))])
    assert "a.gpx" in str(caught.value) and "none.csv" in str(caught.value)


def test_a_kml_s_own_fields_keep_their_values_and_types(tmp_path):
    """What a field is called on a screen is no part of its value; a lone point in a set of shapes is a point."""
    place = "<Point><coordinates>9.2, 48.1, 0</coordinates></Point>"
    schema = "".join(f'<SimpleField name="{name}" type="{kind}"><displayName>D</displayName></SimpleField>'
                     for name, kind in (("DBH_cm", "double"), ("protected", "bool"), ("note", "string")))  # fmt: skip
    data = "".join(f'<SimpleData name="{name}">{value}</SimpleData>'
                   for name, value in (("DBH_cm", "45.000000"), ("protected", "1"), ("note", "1")))  # fmt: skip
    text = (f'<kml><Document><Schema id="t">{schema}</Schema><Placemark><name>A</name><description>girth &lt; 2 m, oak '
            '&amp;amp; lime, height &gt; 9 m</description><ExtendedData><Data name="species"><displayName>Art'
            '</displayName><value>Quercus robur</value></Data><SchemaData schemaUrl="#t">'
            f'{data}</SchemaData></ExtendedData><MultiGeometry>{place}</MultiGeometry></Placemark></Document></kml>')
    (tree,) = take_in([file(tmp_path, "a.kml", text)]).anchors
    assert tree["species"]["name"] == "Quercus robur" and tree["trunk"][0]["diameter"] == "45 cm"
    assert (tree["position"]["lat"], tree["position"]["lon"]) == (48.1, 9.2)
    assert tree["notes"] == "description: girth < 2 m, oak & lime, height > 9 m; protected: true; note: 1"


def test_a_packed_kml_is_read_as_the_kml_in_it_and_one_that_swells_is_refused(tmp_path, monkeypatch):
    data = '<Data name="species"><value>Quercus robur</value></Data>'
    text = f"<kml><Placemark><ExtendedData>{data}</ExtendedData><Point><coordinates>9.2,48.1</coordinates></Point>" \
           "</Placemark></kml>"  # fmt: skip
    for name, inner in (("a.kmz", text), ("big.kmz", text + " " * 2_000_000), ("x.zip", "id" * 1_000_000)):
        with zipfile.ZipFile(tmp_path / name, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("doc.kml" if name.endswith("kmz") else "t.csv", inner)
    (tree,) = take_in([tmp_path / "a.kmz"]).anchors
    assert tree["species"]["name"] == "Quercus robur" and tree["position"]["how"] == "unknown"
    monkeypatch.setattr("siteassess.survey.file_guard.SWOLLEN_BYTES", 1_000_000)
    for name in ("big.kmz", "x.zip"):
        with pytest.raises(FaultyInput, match="swells"):
            take_in([tmp_path / name])


def test_a_file_named_twice_is_read_once(tmp_path):
    path = gpx(tmp_path, (48.1, 9.2, "a"))
    found = take_in([path, tmp_path / "." / path.name])
    assert len(found.anchors) == 1 and "fi-file-twice" in codes(found)


# ---- photos


def test_a_photo_gives_its_place_time_and_direction_and_is_kept_by_the_record(tmp_path):
    (tmp_path / "pictures").mkdir()
    path = photo(tmp_path / "pictures", "a.jpg", looks=135.5, error=4.8, taken="2026:05:01 10:12:33")
    found = take_in([path], tmp_path)
    (tree,) = found.anchors
    assert tree["position"] == {"lat": pytest.approx(LAT, abs=1e-7), "lon": pytest.approx(LON, abs=1e-7),
                                "accuracy": "4.8 m",
                                "how": "unknown", "source": "photo a.jpg"}  # fmt: skip
    assert tree["photos"] == [{"path": "pictures/a.jpg",
                               "shows": "looking toward 136 degrees magnetic, taken 2026-05-01 10:12:33"}]  # fmt: skip
    assert "species" not in tree and "trunk" not in tree


def test_south_and_west_are_south_and_west(tmp_path):
    (tree,) = take_in([photo(tmp_path, "a.jpg", 37.8, 70.1, "SW")], tmp_path).anchors
    assert (tree["position"]["lat"], tree["position"]["lon"]) == (pytest.approx(-37.8), pytest.approx(-70.1))


def test_photos_from_one_spot_are_one_anchor_s_and_one_without_a_place_is_told(tmp_path):
    found = take_in([photo(tmp_path, "a.jpg"), photo(tmp_path, "b.jpg"), photo(tmp_path, "c.jpg", lat=None),
                     file(tmp_path, "d.jpg", "no picture")], tmp_path)  # fmt: skip
    (tree,) = found.anchors
    assert [one["path"] for one in tree["photos"]] == ["a.jpg", "b.jpg"]
    assert list(why_not(found)) == ["c.jpg", "d.jpg"]


def test_a_photo_at_zero_or_without_its_letters_is_no_place(tmp_path):
    with pytest.raises(FaultyInput):
        take_in([photo(tmp_path, "a.jpg", 0.0, 0.0)], tmp_path)
    with pytest.raises(FaultyInput):
        take_in([photo(tmp_path, "b.jpg", letters="  ")], tmp_path)


def test_a_photo_from_elsewhere_is_copied_beside_the_record_and_overwrites_none(tmp_path):
    (tmp_path / "there").mkdir()
    (tmp_path / "home" / "photos").mkdir(parents=True)
    file(tmp_path / "home" / "photos", "a.jpg", "another picture")
    kept, told = photos_beside([photo(tmp_path / "there", "a.jpg")], tmp_path / "home")
    assert [path.name for path in kept] == ["a-2.jpg"] and told[0].code == "fi-photo-moved"
    assert (tmp_path / "home" / "photos" / "a.jpg").read_text() == "another picture"
    again, _ = photos_beside([tmp_path / "there" / "a.jpg"], tmp_path / "home")
    assert again == kept


# ---- occurrences and map extracts


def test_occurrences_bring_their_error_and_what_was_pressed_or_absent_is_left_out(tmp_path):
    head = "gbifID\tscientificName\tdecimalLatitude\tdecimalLongitude\tcoordinateUncertaintyInMeters\teventDate\t" \
           "occurrenceStatus\tbasisOfRecord\tkingdom\tlicense"  # fmt: skip
    rows = ["1\tQuercus robur L.\t48.101\t9.201\t12\t2025-06-01\tPRESENT\tHUMAN_OBSERVATION\tPlantae\tCC_BY_4_0",
            "2\tQuercus robur L.\t48.102\t9.202\t9000000\t2025-06-01\tPRESENT\tHUMAN_OBSERVATION\tPlantae\t",
            "3\tFagus sylvatica L.\t48.103\t9.203\t12\t1888\tPRESENT\tPRESERVED_SPECIMEN\tPlantae\t",
            "4\tFagus sylvatica L.\t48.104\t9.204\t12\t2025\tABSENT\tHUMAN_OBSERVATION\tPlantae\t",
            "5\tParus major\t48.105\t9.205\t12\t2025\tPRESENT\tHUMAN_OBSERVATION\tAnimalia\t"]  # fmt: skip
    found = take_in([file(tmp_path, "occurrence.txt", "\n".join([head, *rows]))])
    assert why_not(found) == {line: ["ds-not-a-tree"] for line in (4, 5, 6)}  # few enough to be told each
    first, second = found.anchors
    assert first["position"]["accuracy"] == "12 m" and first["species"]["name"] == "Quercus robur"
    assert "seen 2025-06-01" in first["notes"] and "license: CC_BY_4_0" in first["notes"] and first["tag"] == "1"
    assert "accuracy" not in second["position"]  # farther than a record takes: not known


@pytest.mark.parametrize("form", ["osm", "geojson"])
def test_trees_of_a_map_extract_keep_girth_height_crown_and_leaf_type(tmp_path, form):
    tags = [{"natural": "tree", "genus": "Platanus", "circumference": "2.3", "height": "21", "diameter_crown": "14",
             "leaf_type": "broadleaved"}, {"natural": "tree", "leaf_type": "needleleaved"}]  # fmt: skip
    if form == "osm":
        text = ""
        for i, one in enumerate(tags, 1):
            inside = "".join(f'<tag k="{key}" v="{value}"/>' for key, value in one.items())
            text += f'<node id="{i}" lat="{LAT + i * 1e-3}" lon="{LON}">{inside}</node>'
        path = file(tmp_path, "park.osm", f'<osm version="0.6">{text}<way id="9"/></osm>')
    else:
        features = []
        for i, one in enumerate(tags, 1):
            place = {"type": "Point", "coordinates": [LON, LAT + i * 1e-3]}
            features.append({"type": "Feature", "properties": one, "geometry": place})
        path = file(tmp_path, "park.geojson", json.dumps({"type": "FeatureCollection", "features": features}))
    first, second = take_in([path]).anchors
    assert first["trunk"] == [{"girth": "230 cm", "read_at": "1.3 m", "how": "copied"}]
    assert (first["height"], first["height_how"], first["crown_spread"]) == ("21 m", "copied", "14 m")
    assert first["species"]["name"] == "Platanus spp." and first["position"]["how"] == "inventory"
    assert second["species"] == {"name": "unknown", "certainty": "guess", "leaf_type": "conifer"}


def test_too_many_trees_ask_for_a_desk_survey(tmp_path, monkeypatch):
    monkeypatch.setattr("siteassess.survey.from_files.MOST_ANCHORS", 2)
    with pytest.raises(FaultyInput, match="desk survey"):
        take_in([file(tmp_path, "t.csv", TABLE)])


def test_trees_on_both_sides_of_the_antimeridian_stay_together(tmp_path):
    found = take_in([file(tmp_path, "t.csv", "id,lat,lon\n1,-17.8,179.9995\n2,-17.8,-179.9995\n")])
    assert [one["position"]["lon"] for one in found.anchors] == [179.9995, -179.9995]
    assert abs(found.middle[1]) == pytest.approx(180.0)


def test_a_set_of_one_point_is_a_point_and_no_place_is_no_outline(tmp_path):
    shapes = [{"type": "MultiPoint", "coordinates": [[9.2, 48.1]]}, None,
              {"type": "MultiPoint", "coordinates": [[9.2, 48.1], [9.3, 48.1]]}]  # fmt: skip
    features = [{"type": "Feature", "properties": {"id": i}, "geometry": shape} for i, shape in enumerate(shapes)]
    found = take_in([file(tmp_path, "a.geojson", json.dumps({"type": "FeatureCollection", "features": features}))])
    assert why_not(found) == {2: ["ds-no-position"], 3: ["ds-not-a-point"]} and len(found.anchors) == 1


def test_a_folder_is_called_one(tmp_path):
    with pytest.raises(FaultyInput, match="a folder"):
        take_in([tmp_path])


def test_points_of_two_files_that_may_be_one_tree_are_told_and_both_kept(tmp_path):
    found = take_in([gpx(tmp_path, (48.1, 9.2, "a")), photo(tmp_path, "a.jpg", 48.10001, 9.2)], tmp_path)
    assert len(found.anchors) == 2 and "fi-maybe-one" in codes(found)


def test_a_begun_record_says_that_nobody_looked(tmp_path):
    record, told = begun([gpx(tmp_path, (48.1, 9.2, "a"))])
    assert record["survey"]["by"] == "nobody yet: read from files" and record["lines"] == []
    assert record["site"]["name"].startswith("About 48.1") and told
    named, _ = begun([gpx(tmp_path, (48.1, 9.2, "a"))], name="Green", by="A. B.")
    assert (named["site"]["name"], named["survey"]["by"]) == ("Green", "A. B.")


def test_many_rows_with_one_reason_are_told_by_their_lines_in_one(tmp_path):
    rows = [f"{i},{0 if i % 3 else 48.1 + i * 1e-3},{0 if i % 3 else 9.2}" for i in range(12)]
    found = take_in([file(tmp_path, "t.csv", "\n".join(["id,lat,lon", *rows]))])
    (told,) = [dict(one.values) for one in found.told if one.code == "fi-rows-not-taken"]
    assert (told["count"], told["lines"]) == (8, "3-4, 6-7, 9-10, 12-13") and len(found.anchors) == 4


@pytest.mark.parametrize("name", ["a.geojson", "a.json", "a.xyz"])
def test_a_file_that_points_at_others_is_refused_under_any_ending(tmp_path, name):
    secret = file(tmp_path, "secret.csv", "name,lat,lon\nhidden,48.1,9.2\n")
    points = '<GeometryField encoding="PointFromColumns" x="lon" y="lat"/><GeometryType>wkbPoint</GeometryType>'
    layer = f'<OGRVRTLayer name="secret"><SrcDataSource>{secret}</SrcDataSource>{points}</OGRVRTLayer>'
    text = f"<OGRVRTDataSource>{layer}</OGRVRTDataSource>"
    with pytest.raises(FaultyInput, match="points at other files"):
        take_in([file(tmp_path, name, text)])


def test_a_map_s_epithet_without_its_genus_is_read_with_it(tmp_path):
    trees = [{"natural": "tree", "genus": "Betula", "species": "Pendula"}, {"natural": "tree", "taxon": "Acer rubrum"},
             {"natural": "tree", "genus": "Tilia", "species": "Tilia cordata", "leaf_type": "broadleaved"}]  # fmt: skip
    features = []
    for i, one in enumerate(trees):
        place = {"type": "Point", "coordinates": [LON, LAT + i * 1e-3]}
        features.append({"type": "Feature", "properties": one, "geometry": place})
    path = file(tmp_path, "a.geojson", json.dumps({"type": "FeatureCollection", "features": features}))
    names = [one["species"]["name"] for one in take_in([path]).anchors]
    assert names == ["Betula pendula", "Acer rubrum", "Tilia cordata"]


@pytest.mark.parametrize(("tag", "name", "taken"), [
    ("taxon", "Acer rubrum", "Acer rubrum"), ("species:de", "Stieleiche", "Quercus robur"),
    ("species:fr", "Chêne pédonculé", "Quercus robur"), ("species:en", "English oak", "Quercus robur"),
    ("taxon:de", "Winterlinde", "Tilia cordata"), ("genus:de", "Buche", "Fagus"), ("genus:fr", "Tilleul", "Tilia"),
    ("species:es", "Roble común", "Quercus robur")])  # fmt: skip
@pytest.mark.parametrize("form", ["osm", "recognised", "guessed", "packed"])
def test_a_map_s_name_in_any_language_stands_in_for_a_missing_species(tmp_path, tag, name, taken, form):
    if form == "osm":
        tags = f'<tag k="natural" v="tree"/><tag k="{tag}" v="{name}"/>'
        path = file(tmp_path, "a.osm", f'<osm><node id="1" lat="48.1" lon="9.2">{tags}</node></osm>')
    else:
        trees = [{"natural": "tree", tag: name, **({"leaf_type": ""} if form == "recognised" else {})},
                 {"natural": "tree", "species": "Picea abies", tag: name}]  # fmt: skip
        if form == "packed":
            trees = [{"osm_id": 1, "name": None, "other_tags": f'"{tag}"=>"{name}","natural"=>"tree"'},
                     {"osm_id": 2, "name": "x", "other_tags": '"species"=>"Picea abies","natural"=>"tree"'}]
        spots = [{"type": "Point", "coordinates": [9.2, 48.1 + i]} for i in range(2)]
        features = [{"type": "Feature", "properties": one, "geometry": spot} for one, spot in zip(trees, spots)]
        path = file(tmp_path, "a.geojson", json.dumps({"type": "FeatureCollection", "features": features}))
    first, *more = take_in([path]).anchors
    assert first["species"]["name"].startswith(taken)
    assert [one["species"]["name"] for one in more] in ([], ["Picea abies"])


@pytest.mark.parametrize("name", ["a.gpx", "a.osm", "a.csv", "a.geojson", "a.jpg"])
def test_whatever_is_broken_in_a_file_is_read_or_refused_in_words(tmp_path, name):
    """Sixty broken copies of each form: none ends in a fault of the program, and what is read is read back."""
    whole = {"a.gpx": lambda: gpx(tmp_path, (48.1, 9.2, "north"), (48.101, 9.2, "south")),
             "a.osm": lambda: file(tmp_path, "o.osm",
                                   '<osm><node id="5" lat="48.1" lon="9.2"><tag k="natural" v="tree"/>'
                                   '<tag k="circumference" v="2.3"/></node></osm>'),
             "a.csv": lambda: file(tmp_path, "w.csv", TABLE),
             "a.geojson": lambda: file(tmp_path, "w.geojson",
                                       '{"type":"FeatureCollection","features":[{"type":"Feature",'
                                       '"properties":{"species":"oak","height":"9"},"geometry":{"type":"Point",'
                                       '"coordinates":[9.2,48.1]}}]}'),
             "a.jpg": lambda: photo(tmp_path, "w.jpg", taken="2026:05:01 10:12:33", looks=10)}[name]().read_bytes()
    draw = random.Random(19)
    for _ in range(60):
        data = bytearray(whole)
        for _ in range(draw.randint(1, 4)):
            at = draw.randrange(len(data))
            data[at : at + draw.choice((0, 1, 8))] = draw.choice((b"\0", b'"', b"<", b"\xff", b"1e999", b"\n", b";",
                                                                  b""))  # fmt: skip
        (tmp_path / name).write_bytes(bytes(data))
        try:
            record, told = begun([tmp_path / name], tmp_path)
        except FaultyInput as refusal:
            assert str(refusal)
            continue
        assert read_text(filled_record(record), name).anchors and all(one.in_words() for one in told)
