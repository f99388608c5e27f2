"""What lies about a line, and what it does to the verdict; map files as a record or a command names them."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line_around import CROSSES, FRAME, LEVEL, SURE, around, at, effect, thing
from parks import data, record

from siteassess.advice.assess import assess
from siteassess.advice.crossings import MEETS, _finding, _meeting, crossings_of
from siteassess.advice.geometry import Places
from siteassess.advice.surroundings import REACH_M, with_surroundings
from siteassess.advice.verdict import VERDICTS
from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.crossings import ADVICE, Crossing, advice_for
from siteassess.places.geodesy import LocalFrame
from siteassess.records.record import Record
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES


def test_never_across_a_path_a_worn_track_or_a_road():
    for kind in ("path", "worn track", "road"):
        found = around(thing(kind, *CROSSES))
        assert effect(found) == "leave it"
        assert "Someplace" in found.findings[0].says
    for kind in ("path", "worn track"):
        assert "never across a path or a worn track" in around(thing(kind, *CROSSES)).findings[0].says


def test_a_crossed_path_reaches_the_verdict_of_the_line():
    made = record(SURE | {"site.surroundings": [thing("path", *CROSSES)]})
    line = assess(made).lines[0]
    assert line.verdict == "leave it" and line.crossings[0].relation == "crosses"
    assert all(end.verdict != "leave it" for end in line.anchors)  # it is the line that is wrong, not the trees


@pytest.mark.parametrize("kind, told", [
    ("path", ("a path", "ein Weg", "un chemin", "un camino")),
    ("play area", ("a play area", "ein Spielplatz", "une aire de jeux", "una zona de juegos")),
])  # fmt: skip
def test_what_is_met_is_told_in_four_languages(kind, told):
    (met,) = around(thing(kind, *CROSSES) | {"name": None}).findings
    assert all(word in met.in_words(language) for word, language in zip(told, LANGUAGES))


@pytest.mark.parametrize("kind", ADVICE)
@pytest.mark.parametrize("relation", MEETS)
def test_every_kind_met_in_every_way_has_its_words_and_asks_for_something_where_it_may_suit(kind, relation):
    met = Crossing("L1", kind, "", relation, 0.6, 3.0, (54.5, 2.5), advice_for(kind, relation))
    name = "Ring" if kind in ("other line", "root zone") else ""
    one = _finding(met, name, _meeting(met, name), None, [])
    assert bool(one.condition) == (one.effect == "suits if")
    for language in LANGUAGES:
        assert "L1" in one.in_words(language) and "{" not in one.in_words(language)


def test_lines_that_share_an_anchor_are_told_that_the_pulls_add_up():
    met = Crossing("L1", "other line", "L2", "shares an anchor", 0.0, 0.0, (54.5, 2.5), "note")
    assert _meeting(met, "L2").in_words() == (
        "L1 shares an anchor with L2: the pulls of both add up there. Advice: bear it in mind"
    )


def test_a_path_somebody_shuts_leaves_a_condition():
    found = around(thing("path", *CROSSES, shut_by="the land office"))
    assert effect(found) == "suits if" and "land office" in found.findings[0].condition
    assert effect(around(thing("power line", *CROSSES, shut_by="the land office"))) == "leave it"


@pytest.mark.parametrize("nobody", ["?", " - ", "no", "none", "nobody", "unknown", "unknown?", "niemand", "not shut",
                                    "Nicht gesperrt", "don’t know", "noch niemand", "no-one yet", "“nobody”",
                                    "N.N.", "nobody knows", "keine Ahnung", "noch zu klären",
                                    "weiß niemand", "pending", "por determinar", "aucune idée", "false", "0",
                                    "keiner von uns", "ouvert", "tbc",
                                    "personne", "pas fermé", "nadie", "sin cerrar"])  # fmt: skip
@pytest.mark.parametrize("kind", ["path", "road", "gate"])
def test_a_path_that_nobody_is_said_to_shut_is_not_shut(kind, nobody):
    assert around(thing(kind, *CROSSES, shut_by=nobody)).findings == around(thing(kind, *CROSSES)).findings


@pytest.mark.parametrize(
    ("kind", "gap", "wanted"),
    [
        ("path", 2.0, "shifted"), ("path", 9.0, "watcher"), ("path", 30.0, ""), ("power line", 2.5, "leave it"),
        ("power line", 20.0, "parts"), ("road", 8.0, "parts"), ("play area", 2.0, "leave it"),
        ("play area", 12.0, "watcher"), ("building", 2.0, "shifted"), ("building", 8.0, ""), ("water", 2.0, "rescue"),
        ("railway", 20.0, "parts"), ("hazard", 2.0, "shifted"), ("closed area", 1.0, "leave it"),
    ],
)  # fmt: skip
def test_what_lies_beside_a_line(kind, gap, wanted):
    # to the south, so that nothing there runs downhill at the line
    found = around(thing(kind, (-40, -gap), (60, -gap), width="0 m"))
    if wanted == "leave it":
        assert effect(found) == "leave it"
    elif wanted:
        assert effect(found) == "suits if" and wanted in found.findings[0].condition
        assert found.met[0].distance_m == pytest.approx(gap, abs=0.05)
    else:
        assert effect(found) == "suits"


def test_a_path_is_as_near_as_its_edge():
    narrow, wide = (around(thing("path", (-40, -3.5), (60, -3.5), width=w)).met[0] for w in ("0 m", "2 m"))
    assert narrow.distance_m == pytest.approx(3.5, abs=0.01) and wide.distance_m == pytest.approx(2.5, abs=0.01)
    assert wide.relation == "in the fall strip" and narrow.relation != "in the fall strip"


@pytest.mark.parametrize("kind", ["path", "worn track", "road", "railway", "water", "power line"])
def test_a_width_nobody_told_is_no_kinder_than_a_narrow_one(kind):
    """A railway and the wires of a power line were taken as a thread, and 2 m told for them cost more than nothing."""
    unsaid, narrow = (around(thing(kind, (-40, -6.5), (60, -6.5), **width)).met[0] for width in ({}, {"width": "1 m"}))
    assert unsaid.distance_m <= narrow.distance_m < 6.5


def test_a_watcher_marked_there_meets_the_wish_for_one():
    path = thing("path", (-40, -9), (60, -9))
    post = {"kind": "watcher place", "points": at((5, -8)), "name": "Post 1"}
    found = around(path, post)
    assert effect(found) == "suits" and "Post 1" in found.findings[0].says
    assert effect(around(path, post | {"points": at((5, -40))})) == "suits if"
    assert effect(around(path, post | {"name": "N.N."})) == "suits if"
    assert effect(around(path, {key: value for key, value in post.items() if key != "name"})) == "suits"
    assert effect(around(thing("path", *CROSSES), post)) == "leave it"  # nobody watches a crossing away


def test_loose_positions_ask_for_a_paced_distance():
    path = thing("path", (-40, -7), (60, -7), width="0 m")
    assert "watcher" in around(path).findings[0].condition
    loose = around(path, **{"T1.position.accuracy": "5 m"})
    assert "paced out" in loose.findings[0].condition and "pace it out" in loose.findings[0].says


@pytest.mark.parametrize("kind, metres, accuracy", [
    ("power line", 7, "5 m"), ("railway", 7, "10 m"), ("road", 7, "5 m"), ("path", 7, "5 m"),
    ("power line", 50, "40 m"),
])  # fmt: skip
def test_a_looser_position_takes_back_nothing_that_the_better_one_asks(kind, metres, accuracy):
    """Fresh eyes: 7 m from a wire a good fix asked that no part can reach it, a phone's that 3 m are paced out."""
    far = thing(kind, (-40, -metres), (60, -metres), width="0 m")
    asked = {one.condition for one in around(far, **LEVEL).findings if one.condition}
    loose = around(far, **LEVEL, **{"T1.position.accuracy": accuracy})
    told = {one.condition for one in loose.findings}
    assert asked <= told and len(told) == 2 and any("paced out" in one for one in told)
    assert len(loose.met) == 1


def test_a_track_that_runs_down_at_the_line():
    steep = {f"{code}.ground": {"slope": "6 deg", "downhill": "180 deg"} for code in ("T1", "T2")}
    found = around(thing("worn track", (10, 60), (10, 20)), **steep)
    assert effect(found) == "suits if" and "downhill" in found.findings[0].condition
    assert around(thing("worn track", (10, -60), (10, -20)), **steep).findings == ()
    unread = around(thing("worn track", (10, 60), (10, 20)), **{"T1.ground": None, "T2.ground": None})
    assert [f.looked_at for f in unread.findings] == [False] and effect(unread) == "suits if"  # no kinder than read


def test_two_lines_across_each_other():
    frame_tree = data()["anchors"][0]
    made = data(SURE)
    for code, place in (("T3", (10, -12)), ("T4", (10, 12))):
        lat, lon = at(place)[0]
        made["anchors"].append(frame_tree | {"code": code, "position": {"lat": lat, "lon": lon, "accuracy": "0.1 m"}})
    second = json.loads(json.dumps(made["lines"][0]))
    second |= {"id": "L2", "a": second["a"] | {"anchor": "T3"}, "b": second["b"] | {"anchor": "T4"}}
    made["lines"].append(second)
    both = Record.model_validate(made)
    found = crossings_of(both, Places(both))
    assert effect(found["L1"]) == effect(found["L2"]) == "suits if"
    assert "L2" in found["L1"].findings[0].condition
    made["lines"][1]["planned"] = {"date": "2026-06-01"}
    apart = Record.model_validate(made)
    assert crossings_of(apart, Places(apart))["L1"].findings == ()


def test_the_root_zone_of_a_tree_not_used_is_told():
    made = data(SURE)
    lat, lon = at((10, 4))[0]
    fix = {"lat": lat, "lon": lon, "accuracy": "0.1 m"}
    made["anchors"].append(made["anchors"][0] | {"code": "T3", "tag": "X-T3", "position": fix})
    line = assess(Record.model_validate(made)).lines[0]
    told = [finding for finding in line.findings if "T3" in finding.says]
    assert [finding.effect for finding in told] == ["suits"] and "root" in told[0].says


def test_a_high_line_is_reminded_of_the_air_even_without_positions():
    made = record({"L1.use": "high line", "T1.position": None})
    assert any("aviation" in finding.says for finding in crossings_of(made, Places(made))["L1"].findings)
    assert not crossings_of(record(), Places(record()))["L1"].findings


def test_the_numbers_behind_it_are_listed_with_their_flags():
    made = record(SURE | {"site.surroundings": [thing("path", (-40, -9), (60, -9))]})
    stated = {one.name: one.flag for one in assess(made).assumptions}
    assert stated["half width of the strip kept free along a line"] == "judgement"
    assert any("a path this near" in name for name in stated)
    assert not any("strip" in one.name for one in assess(record()).assumptions)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 60.0), st.floats(0.1, 20.0), st.sampled_from(["path", "road", "power line", "water"]))
def test_farther_is_never_worse(gap, step, kind):
    def grade(distance):
        return VERDICTS.index(effect(around(thing(kind, (-40, -distance), (60, -distance)))))

    assert grade(gap + step) <= grade(gap)


# map files ----------------------------------------------------------------------------------------------------------


def geojson(path, *features, **top):
    rows = []
    for geometry, coordinates, tags in features:
        rows.append({"type": "Feature", "properties": tags, "geometry": {"type": geometry, "coordinates": coordinates}})
    path.write_text(json.dumps({"type": "FeatureCollection", "features": rows, **top}), encoding="utf-8")
    return path


def swap(points):
    return [[lon, lat] for lat, lon in at(*points)]


def test_a_map_file_is_as_good_as_the_record(tmp_path):
    file = geojson(tmp_path / "park.geojson", ("LineString", swap(CROSSES), {"highway": "footway", "name": "Mere way"}),
                   attribution="Testing Survey (invented)", license="CC0")  # fmt: skip
    made, (told,) = with_surroundings(record(SURE), tmp_path, [file])
    line = assess(made).lines[0]
    assert line.verdict == "leave it" and any("Mere way" in reason for reason in line.reasons)
    assert "Testing Survey (invented) CC0" in made.site.credit
    assert told.in_words("de").startswith("park.geojson: 1 Objekt gelesen, 1 Weg")
    assert made.site.surroundings[0].source.startswith("park.geojson, Testing Survey")


def test_an_owner_nobody_named_is_asked_for_in_the_readers_language(tmp_path):
    file = geojson(tmp_path / "park.geojson", ("LineString", swap(CROSSES), {"highway": "footway"}))
    made, _ = with_surroundings(record(SURE), tmp_path, [file], "de")
    assert made.site.credit.endswith("park.geojson: Eigentümer und Lizenz nicht angegeben, vor dem Zeigen fragen")


def test_a_record_names_its_own_map_files(tmp_path):
    geojson(tmp_path / "tracks.geojson", ("LineString", swap(CROSSES), {}))
    named = {"file": "tracks.geojson", "kind": "worn track", "credit": "walked by us", "licence": "ours"}
    made, _ = with_surroundings(record(SURE | {"site.surroundings_files": [named]}), tmp_path)
    assert [(one.kind, one.source) for one in made.site.surroundings] == [
        ("worn track", "tracks.geojson, walked by us, ours")
    ]


@pytest.mark.parametrize("name", ["/etc/hosts.geojson", "../park.geojson", "a/../../park.geojson", "C:\\park.geojson"])
def test_a_record_opens_nothing_outside_its_folder(tmp_path, name):
    with pytest.raises(FaultyInput, match="beside the record"):
        with_surroundings(record({"site.surroundings_files": [{"file": name}]}), tmp_path)


def test_only_what_lies_near_is_taken_and_areas_trees_and_marks_keep_their_nature(tmp_path):
    far = [(0, REACH_M + 50), (10, REACH_M + 60)]
    ring = swap([(30, 10), (50, 10), (50, 30), (30, 30), (30, 10)])
    file = geojson(
        tmp_path / "park.geojson",
        ("LineString", swap(far), {"highway": "footway"}),
        ("Polygon", [ring], {"leisure": "playground", "name": "Swings"}),
        ("Polygon", [ring], {"barrier": "gate"}),
        ("Point", swap([(5, 20)])[0], {"natural": "tree", "species": "Quercus robur", "circumference": "2.1"}),
        ("MultiLineString", [swap([(0, 40), (5, 40)]), swap([(10, 40), (15, 40)])], {"waterway": "stream"}),
        ("Point", swap([(5, 25)])[0], {"kind": "gate", "name": "<script>alert(1)</script>\u0007"}),
    )
    made, _ = with_surroundings(record(SURE), tmp_path, [file])
    kinds = [(one.kind, one.closed, len(one.points)) for one in made.site.surroundings]
    assert kinds == [("play area", True, 4), ("gate", False, 1), ("other tree", False, 1), ("water", False, 2),
                     ("water", False, 2), ("gate", False, 1)]  # fmt: skip
    assert made.site.surroundings[2].name == "species Quercus robur, circumference 2.1"
    assert made.site.surroundings[5].name == "<script>alert(1)</script>"
    Record.model_validate(made.model_dump(mode="json", exclude_none=True))  # still a record


def test_map_files_need_an_anchor_with_a_position(tmp_path):
    file = geojson(tmp_path / "park.geojson", ("LineString", swap(CROSSES), {"highway": "footway"}))
    with pytest.raises(OutsideModel, match="no anchor has a position"):
        with_surroundings(record({"T1.position": None, "T2.position": None}), tmp_path, [file])


def test_a_map_file_across_the_antimeridian(tmp_path):
    frame = LocalFrame(-17.0, 180.0)
    place = {}
    for code, east in (("T1", -10.0), ("T2", 10.0)):
        lat, lon = frame.to_degrees(east, 0.0)
        place |= {f"{code}.position.lat": float(lat), f"{code}.position.lon": float((lon + 180) % 360 - 180)}
    ends = [frame.to_degrees(-5.0, north) for north in (-20.0, 20.0)]
    path = [[float((lon + 180) % 360 - 180), float(lat)] for lat, lon in ends]
    file = geojson(tmp_path / "park.geojson", ("LineString", path, {"highway": "footway"}))
    made, _ = with_surroundings(record(SURE | place), tmp_path, [file])
    assert crossings_of(made, Places(made))["L1"].met[0].relation == "crosses"


@pytest.mark.parametrize("kind, clear", [("power line", "33 m"), ("path", "13 m"), ("water", "3 m")])
@pytest.mark.parametrize("unplaced", [("T1",), ("T2",), ("T1", "T2")])
def test_a_line_without_a_place_is_not_taken_to_meet_nothing_of_what_is_marked(kind, clear, unplaced):
    marked = {"site.surroundings": [thing(kind, *CROSSES), thing("other tree", (10, 3))]}
    placed = assess(record(marked | SURE)).lines[0]
    line = assess(record(marked | {f"{code}.position": None for code in unplaced})).lines[0]
    told = [finding for finding in line.findings if finding.code == "meetings-not-checked"]
    assert placed.verdict in ("leave it", "suits if") and line.verdict == "suits if"
    assert [finding.effect for finding in told] == ["suits if"] and clear in told[0].condition
    assert kind in told[0].condition and "tree" not in told[0].condition


def test_lines_of_which_one_has_no_place_may_meet_unless_they_part_from_an_anchor_or_hang_on_other_days():
    def told(second: dict, *unplaced: str) -> dict[str, str]:
        made = data(SURE)
        for code, north in (("T3", 30), ("T4", -30)):
            lat, lon = map(float, FRAME.to_degrees(10, north))
            made["anchors"].append(made["anchors"][0] | {"code": code, "position": {"lat": lat, "lon": lon}})
        made["anchors"] = [{name: value for name, value in anchor.items()
                            if name != "position" or anchor["code"] not in unplaced} for anchor in made["anchors"]]
        other = data()["lines"][0] | {"id": "L2"}
        other["a"]["anchor"], other["b"]["anchor"] = "T3", "T4"
        made["lines"].append(other | second)
        every = crossings_of(made := Record.model_validate(made), Places(made))
        return {code: one.condition for code, found in every.items() for one in found.findings
                if one.code == "meetings-not-checked"}  # fmt: skip

    assert told({}) == {}
    assert set(told({}, "T3")) == {"L1", "L2"} and "L2" in told({}, "T4")["L1"] and "6 m" in told({}, "T4")["L1"]
    assert told({"planned": {"date": "2026-05-01"}}, "T3") == {}
    shared = {"a": data()["lines"][0]["a"]}
    assert set(told(shared, "T4")) == {"L1", "L2"}  # by the compass it goes the same way
    assert set(told({**shared, "compass": None}, "T4")) == {"L1", "L2"}
    assert told({**shared, "compass": {"out": "180 deg", "back": "0 deg", "north": "true"}}, "T4") == {}
    for way, meet in ((109, True), (111, False)):  # L1 runs at 90 degrees, and past 20 they part (judgement)
        compass = {"out": f"{way} deg", "back": f"{way + 180} deg", "north": "true"}
        assert bool(told({**shared, "compass": compass}, "T4")) is meet


@pytest.mark.parametrize("north, slope, expected", [(40, "8 deg", "suits if"), (40, "1 deg", "suits"),
                                                    (50, "8 deg", "suits"), (50, None, "suits if")])  # fmt: skip
def test_what_may_come_down_at_a_line_is_a_condition_where_nobody_read_which_way_the_ground_falls(
        north, slope, expected):  # fmt: skip
    unread = {f"{code}.ground.{name}": None for code in ("T1", "T2") for name in ("downhill", "slope")}
    ground = unread | {f"{code}.ground.slope": slope for code in ("T1", "T2")}
    found = around(thing("path", (10, north), (10, 80)), **ground)
    assert effect(found) == expected
    assert [one.code for one in found.findings] == ["downhill-not-checked"] * (expected == "suits if")
    # read, and falling toward the line, it asks for no less
    assert effect(around(thing("path", (10, north), (10, 80)), **ground | {
        f"{code}.ground.downhill": "180 deg" for code in ("T1", "T2")})) == expected  # fmt: skip
