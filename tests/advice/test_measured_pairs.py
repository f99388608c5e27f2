"""What was measured in a record, pair by pair and all together: forms of positions, ties, slopes, grids, closures."""

from __future__ import annotations

import json
import math

import pytest
from parks import data, record

from siteassess.advice.assess import assess
from siteassess.advice.check import check_record
from siteassess.advice.geometry import Places, pull_bearing
from siteassess.papers.as_json import jsonable
from siteassess.papers.map_data import _spot_rows
from siteassess.papers.scene import build
from siteassess.places.geodesy import LocalFrame, bearing_distance
from siteassess.places.grids import to_mgrs, to_utm
from siteassess.places.location_codes import to_open_location_code
from siteassess.records.record import Record

HERE = (54.5, 0.2)  # west of its zone's middle, so that grid north leans well away from true north
CORNERS = {"T1": (0, 0), "T2": (40, 3), "T3": (37, 34), "T4": (-2, 30)}


def site(at=CORNERS, here=HERE, accuracy="0.5 m", lines=(), pairs=(), **more) -> Record:
    """Trees at east and north of a place [m], and what was measured between them."""
    frame, made = LocalFrame(*here), data()
    tree = made["anchors"][0]
    made["anchors"] = []
    for code, (east, north) in at.items():
        latitude, longitude = map(float, frame.to_degrees(east, north))
        fix = {"lat": latitude, "lon": (longitude + 180) % 360 - 180, "accuracy": accuracy, "accuracy_means": "68 %"}
        made["anchors"].append(tree | {"code": code, "position": fix})
    made["lines"] = [made["lines"][0] | line for line in lines]
    made["measured_pairs"] = list(pairs)
    return Record.model_validate(made | more)


def way(a: str, b: str, at=CORNERS) -> tuple[float, float]:
    """Distance [m] and true bearing [deg] between two corners."""
    east, north = (at[b][k] - at[a][k] for k in (0, 1))
    return math.hypot(east, north), math.degrees(math.atan2(east, north)) % 360


def pair(a: str, b: str, tape=None, out=None, back=None, north="true", at=CORNERS, **span):
    length, bearing = way(a, b, at)
    return {
        "a": a, "b": b, "span": {"taped": f"{tape or length:.2f} m", **span},
        "compass": {"out": f"{bearing if out is None else out:.1f} deg", "north": north, "device": "sighting compass",
                    "back": f"{(bearing + 180) % 360 if back is None else back:.1f} deg"},
    }  # fmt: skip


ROUND = [("T1", "T2"), ("T2", "T3"), ("T3", "T4"), ("T4", "T1"), ("T1", "T3"), ("T2", "T4")]


def test_one_place_in_every_form_of_a_record():
    latitude, longitude = 54.500321, 0.2004567
    grid = to_utm(latitude, longitude)
    forms = {
        "decimal": "54.500321, 0.2004567",
        "seconds": "54 30 01.156 N, 0 12 01.644 E",
        "minutes": "54 30.01926 N, 0 12.02740 E",
        "utm": f"{grid.zone} north {grid.easting_m:.1f} {grid.northing_m:.1f}",
        "mgrs": to_mgrs(latitude, longitude),
        "code": to_open_location_code(latitude, longitude, 11),
    }
    made = data()
    tree = made["anchors"][0]
    made["anchors"] = [
        tree | {"code": name, "position": {"at": text, "accuracy": "1 m"}} for name, text in forms.items()
    ]
    made["lines"] = []
    places = Places(Record.model_validate(made))
    for name in forms:
        here = places.at(name)
        assert here is not None, places.notes
        apart = bearing_distance(latitude, longitude, here.latitude_deg, here.longitude_deg).distance_m
        assert apart < (3.0 if name == "code" else 1.0), name  # a code's cell is 2 to 3 m wide
        assert here.sigma_m > 0


@pytest.mark.parametrize("north", ["true", "magnetic", "grid"])
def test_a_typed_tape_and_bearing_is_followed_back_to_its_landmark(north):
    made = site().model_dump(mode="json", exclude_none=True)
    made["anchors"][1]["position"] = {"fixes": [{"at": f"40 m at 90 deg {north} from GATE", "accuracy": "1 m"}]}
    gate = {"code": "GATE", "what": "post", "position": {"lat": 54.5, "lon": 0.2, "accuracy": "1 m"}}
    made["site"]["landmarks"] = [gate]
    places = Places(Record.model_validate(made))
    gate, here = places.at("GATE"), places.at("T2")
    assert here is not None, places.notes
    course = bearing_distance(gate.latitude_deg, gate.longitude_deg, here.latitude_deg, here.longitude_deg)
    turn = {"true": 0.0, "magnetic": places.declination("GATE").declination_deg, "grid": places.convergence_deg("GATE")}
    assert course.distance_m == pytest.approx(40.0, abs=0.001)
    assert course.bearing_true_deg == pytest.approx(90 + turn[north], abs=0.01)
    assert (abs(turn[north]) > 0.5) == (north != "true")


def test_positions_that_refer_to_each_other_in_a_ring_give_none_and_say_so():
    made = site().model_dump(mode="json", exclude_none=True)
    for code, other in ((0, "T2"), (1, "T1")):
        made["anchors"][code]["position"] = {"fixes": [{"at": f"40 m at 90 deg true from {other}"}]}
    places = Places(Record.model_validate(made))
    assert places.at("T1") is None and places.at("T2") is None
    assert any("T1" in note.in_words() for note in places.notes)


def test_repeated_fixes_are_averaged_and_stay_looser_than_independent_ones():
    made = data()
    fix = {"lat": 54.5, "lon": 2.5, "accuracy": "5 m", "accuracy_means": "68 %", "how": "phone"}
    made["anchors"][0]["position"] = {"fixes": [fix, fix | {"lat": 54.50002}, fix | {"lat": 54.50001}]}
    place = Places(Record.model_validate(made)).at("T1")
    single = Places(Record.model_validate(data({"T1.position": fix}))).at("T1")
    assert place.latitude_deg == pytest.approx(54.50001, abs=1e-7)
    assert single.sigma_m / math.sqrt(3) < place.sigma_m < single.sigma_m


def test_readings_of_one_place_that_contradict_each_other_are_told_and_no_line_there_just_suits():
    """Two fixes 0.0006 degrees of latitude apart, by hand 67 m, each said to be right to 3 m."""
    fix = {"lat": 54.5, "lon": 2.5, "accuracy": "3 m", "accuracy_means": "68 %", "how": "phone"}
    loose = record({"T1.position": {"fixes": [fix, fix | {"lat": 54.5006, "how": "receiver", "accuracy": "2 m"}]}})
    line, scene = assess(loose).lines[0], build(assess(loose))
    told = next(one for one in line.findings if one.code == "reading-doubtful")
    assert line.verdict in ("suits if", "cannot say") and told.effect == "suits if"
    assert "T1: the readings of its position lie 66.8 m apart" in told.says
    found = check_record(loose)
    assert any("66.8 m apart" in warning.sentence("en") for warning in found.warnings)
    assert "66.8 m apart" in found.pairs[0].geometry.agreement
    assert "site-agrees" not in {one.code for one in found.together.told}
    assert any("66.8 m apart" in one.in_words() for one in scene.fit_told)
    spot = scene.spot("T1")
    assert spot.accuracy_m == pytest.approx(66.8, abs=0.1) and spot.how == "receiver"
    assert "readings 66.8 m apart" in str(_spot_rows(spot, scene))
    near = record({"T1.position": {"fixes": [fix, fix | {"lat": 54.50003}]}})
    assert build(assess(near)).spot("T1").accuracy_m == 3.0 and "apart" not in str(check_record(near).warnings)


def test_an_accuracy_nobody_stated_goes_by_how_the_position_was_got():
    def sigma(how):
        return Places(record({"T1.position": {"lat": 54.5, "lon": 2.5, "how": how}})).at("T1").sigma_m

    assert sigma("unknown") > sigma("phone") > sigma("map") >= sigma("inventory") > 0


def test_ties_alone_give_a_place_that_checks_nothing_and_two_ties_check_each_other():
    made = site().model_dump(mode="json", exclude_none=True)
    length, bearing = way("T1", "T2")
    tie = {"landmark": "T1", "distance": f"{length:.2f} m", "bearing": f"{bearing:.1f} deg", "north": "true"}
    made["anchors"][1]["position"] = {"ties": [tie]}
    made["measured_pairs"] = []
    found = check_record(Record.model_validate(made))
    assert found.pairs[-1].geometry.level == "not checked" and "check nothing" in found.pairs[-1].geometry.agreement
    length, bearing = way("T3", "T2")
    other = {"landmark": "T3", "distance": f"{length:.2f} m", "bearing": f"{bearing:.1f} deg", "north": "true"}
    made["anchors"][1]["position"] = {"ties": [tie, other]}
    found = check_record(Record.model_validate(made))
    assert found.together.found.outcome == "consistent" and found.together.found.dof == 2
    made["anchors"][1]["position"] = {"ties": [tie, other | {"distance": f"{length / 0.3048:.2f} m"}]}
    assert check_record(Record.model_validate(made)).together.found.outcome != "consistent"


def test_grid_bearings_are_turned_by_the_lean_of_the_grid():
    lean = to_utm(*HERE).convergence_deg
    assert abs(lean) > 2
    line = {"id": "L1", "a": {"anchor": "T1", "tie_height": "1.2 m"}, "b": {"anchor": "T2", "tie_height": "1.2 m"}}
    length, bearing = way("T1", "T2")
    line |= {"span": {"taped": f"{length:.2f} m"}, "compass": {"out": f"{bearing - lean:.2f} deg", "north": "grid"}}
    made = site(lines=[line])
    found = check_record(made).pairs[0].geometry
    assert found.level == "agrees" and found.grid_convergence_deg == pytest.approx(lean, abs=0.01)
    assert pull_bearing(made.lines[0], found, "A") == pytest.approx(bearing, abs=0.05)


def test_a_tape_along_a_slope_nobody_read_has_no_horizontal_length():
    def span_of(**edits):
        made = record({"L1.span": {"taped": "20 m", "along": "slope", **edits}, "L1.ground": None})
        return check_record(made).pairs[0].geometry, assess(made).lines[0]

    geometry, line = span_of()
    assert geometry.taped_m is None
    assert "no horizontal length" in " ".join(one.in_words() for one in (geometry.told, *geometry.notes))
    told = [finding for end in line.anchors for finding in end.findings if finding.about == "span"]
    assert told and all(finding.effect == "suits if" and "no horizontal length" in finding.says for finding in told)
    geometry, _ = span_of(slope="10 deg")
    assert geometry.taped_m == pytest.approx(20 * math.cos(math.radians(10)), abs=1e-6)


def test_a_phone_compass_is_believed_less_than_a_sighting_compass():
    def level(device):
        compass = {"out": "98 deg", "back": "278 deg", "north": "true", "device": device}
        return check_record(record({"L1.compass": compass, "T1.position.accuracy": "0.3 m",
                                    "T2.position.accuracy": "0.3 m"})).pairs[0].geometry.level  # fmt: skip

    assert level("sighting compass") == "reject" and level("phone") in ("agrees", "note")


def test_all_pairs_of_a_site_agree_and_close():
    found = check_record(site(pairs=[pair(a, b) for a, b in ROUND]))
    assert {one.geometry.level for one in found.pairs} == {"agrees"} and len(found.pairs) == 6
    assert found.together.found.outcome == "consistent"
    assert len(found.triangles) == 4 and {one.closure.level for one in found.triangles} == {"agree"}
    assert {one.closure.sides_level for one in found.triangles} == {"agree"}
    assert len(found.traverses) == 3 and all(one.closure.linear_misclosure_m < 0.2 for one in found.traverses)


@pytest.mark.parametrize(
    ("slip", "named", "because"),
    [
        ({"tape": way("T1", "T3")[0] / 0.3048}, "the tape from T1 to T3", "feet"),
        ({"out": (way("T1", "T3")[1] + 180) % 360}, "the bearing from T1 to T3", "the other way"),
        ({"out": 123.0}, "the bearing from T1 to T3", ""),
    ],
)
def test_one_planted_slip_is_named_and_the_drawing_does_without_it(slip, named, because):
    pairs = [pair(a, b, **(slip if (a, b) == ("T1", "T3") else {})) for a, b in ROUND]
    made = site(pairs=pairs)
    found = check_record(made)
    assert [reading.named.in_words() for reading in found.together.found.named] == [named]
    assert because in " ".join(one.in_words() for one in found.together.told)
    for code, (east, north) in CORNERS.items():
        anchor = found.together.found.anchors[code].position
        truth = LocalFrame(*HERE).to_degrees(east, north)
        assert bearing_distance(*truth, anchor.latitude_deg, anchor.longitude_deg).distance_m < 0.6
    assert made.measured_pairs[4].span.taped.text == pairs[4]["span"]["taped"]  # the record keeps what was read


def test_the_answer_is_plain_json_with_units_in_its_keys():
    answer = check_record(site(pairs=[pair(a, b) for a, b in ROUND])).as_dict()
    text = json.dumps(jsonable(answer), allow_nan=False)
    assert json.loads(text)["network"]["outcome"] == "consistent"
    assert {reading["kind"] for reading in answer["network"]["readings"]} == {"position", "tape", "bearing"}
    assert [anchor["code"] for anchor in answer["network"]["anchors"]] == list(CORNERS)
    assert all(anchor["ellipse_95_semi_major_m"] > 0 for anchor in answer["network"]["anchors"])


@pytest.mark.parametrize("here", [(-43.5, 172.6), (-17.7, 179.9999), (12.0, -179.9999), (0.0, 9.0)])
def test_the_southern_half_and_the_antimeridian_are_no_exception(here):
    found = check_record(site(here=here, pairs=[pair(a, b) for a, b in ROUND]))
    assert {one.geometry.level for one in found.pairs} == {"agrees"}
    assert found.together.found.outcome == "consistent"
    assert {one.closure.level for one in found.triangles} == {"agree"}


def test_a_pole_is_refused_in_words():
    made = data({"T1.position.lat": 89.9})
    found = check_record(Record.model_validate(made))
    assert found.pairs[0].geometry.distance_m is None
    # told where the position was typed, above everything else
    assert any("too near a pole" in warning.says for warning in found.warnings)


def test_a_position_far_from_the_rest_is_not_used_and_its_slip_is_named():
    made = site().model_dump(mode="json", exclude_none=True)
    fix = made["anchors"][2]["position"]["fixes"][0]
    fix["lon"], fix["lat"] = fix["lat"], fix["lon"]
    places = Places(Record.model_validate(made))
    assert places.at("T3") is None and places.at("T1") is not None
    assert any("swapped" in note.in_words() for note in places.notes)


def test_one_anchor_and_two_anchors_at_one_point():
    assert check_record(site(at={"T1": (0, 0)})).pairs == ()
    twice = {"T1": (0, 0), "T2": (0, 0)}
    line = {"id": "L1", "a": {"anchor": "T1", "tie_height": "1 m"}, "b": {"anchor": "T2", "tie_height": "1 m"}}
    found = check_record(site(at=twice, lines=[line]))
    assert found.pairs[0].geometry.level == "reject" and "one point" in found.pairs[0].geometry.agreement
