"""GeoJSON of a whole assessment."""

from __future__ import annotations

import dataclasses
import json

import geopandas
import pytest

from siteassess.papers.exports import to_geojson, write_map_file
from siteassess.reference.texts import text


def test_reads_back_through_another_library(tmp_path, assessment):
    frame = geopandas.read_file(write_map_file(assessment, tmp_path / "anchors.geojson"))
    assert frame.crs.to_epsg() == 4326
    anchors = frame[frame["kind"] == "anchor"].set_index("code")
    assert set(anchors.index) == {"T01", "T02", "T03", "T04", "B01"}
    assert (anchors.loc["T01"].geometry.x, anchors.loc["T01"].geometry.y) == (5.0, 52.0)
    lines = frame[frame["kind"] == "line"].set_index("id")
    assert lines.loc["L1", "verdict"] == "suits if"
    # the drawn line is as long as its geometry says, measured in metres by a projection of another library
    metres = lines.to_crs(lines.estimate_utm_crs()).length
    assert metres["L1"] == pytest.approx(assessment.lines[0].geometry.distance_m, rel=1e-3)


def test_no_crs_member_seven_decimals_and_the_credit(assessment):
    answer = to_geojson(assessment)
    assert "crs" not in answer
    assert answer["credit"] == "own survey, CC0"
    assert answer["note"] == text("no-inspection")
    assert to_geojson(assessment, "de")["note"] == text("no-inspection", "de")

    def numbers(value):
        if isinstance(value, list):
            for item in value:
                yield from numbers(item)
        elif isinstance(value, float):
            yield value

    for feature in answer["features"]:
        for number in numbers(feature["geometry"]["coordinates"]):
            assert round(number, 7) == number


def test_anchor_without_position_has_a_null_geometry(assessment):
    anchors = (assessment.record.anchors[0].model_copy(update={"position": None}), *assessment.record.anchors[1:])
    record = assessment.record.model_copy(update={"anchors": anchors})
    features = to_geojson(dataclasses.replace(assessment, record=record))["features"]
    (unplaced,) = [f for f in features if f["geometry"] is None]
    assert unplaced["properties"]["code"] == "T01"


def test_hostile_texts_are_carried_as_they_stand(hostile_assessment):
    text = json.dumps(to_geojson(hostile_assessment), allow_nan=False)
    assert "onerror" in text
    assert json.loads(text)["features"]
