"""What goes out to map programs against the standard of its format."""

from __future__ import annotations

import math

import pytest
from shapely.geometry import LinearRing, shape

from siteassess.places.exchange import geojson_geometry


def test_rings_run_counter_clockwise_and_close():
    """RFC 7946 section 3.1.6: exterior rings are counter-clockwise, first and last position equal. Memory."""
    clockwise = [(5.0, 52.0), (5.0, 52.001), (5.001, 52.001), (5.001, 52.0)]
    for places in (clockwise, clockwise[::-1], [*clockwise, clockwise[0]]):
        ring = geojson_geometry(places, area=True)["coordinates"][0]
        assert ring[0] == ring[-1] and len(ring) == 5
        assert LinearRing(ring).is_ccw


def test_lines_are_cut_at_the_antimeridian():
    """RFC 7946 section 3.1.9 and its example: 45 N 170 E to 45 N 170 W becomes two parts that end at 180. Memory."""
    cut = geojson_geometry([(170.0, 45.0), (-170.0, 45.0)])
    assert cut == {
        "type": "MultiLineString",
        "coordinates": [[[170.0, 45.0], [180.0, 45.0]], [[-180.0, 45.0], [-170.0, 45.0]]],
    }
    back = geojson_geometry([(-170.0, 45.0), (170.0, 45.0)])
    assert [part[0][0] for part in back["coordinates"]] == [-170.0, 180.0]
    assert geojson_geometry([(1.0, 45.0), (2.0, 45.0)])["type"] == "LineString"
    # halfway over in longitude is halfway over in latitude
    slanted = geojson_geometry([(179.0, -10.0), (-179.0, 10.0)])
    assert slanted["coordinates"][0][-1] == [180.0, 0.0]
    assert shape(slanted).length == pytest.approx(math.hypot(20.0, 2.0))
    # both ends on the line itself, named from its two sides
    on_it = geojson_geometry([(180.0, 1.0), (-180.0, 3.0)])
    assert on_it == {"type": "MultiLineString", "coordinates": [[[180.0, 1.0]] * 2, [[-180.0, 1.0], [-180.0, 3.0]]]}


def test_a_shape_has_no_more_decimals_than_a_position():
    assert geojson_geometry([(8.123456789, 47.0)]) == {"type": "Point", "coordinates": [8.1234568, 47.0]}
    assert geojson_geometry([]) is geojson_geometry(None) is None
