"""Files whose places are no columns of latitude and longitude are told how to name them; what is left out is counted.

All files are invented.
"""

import pytest
from made_files import codes, file, gpx, why_not

from siteassess.errors import FaultyInput
from siteassess.places.position_text import read_degrees
from siteassess.survey.from_files import take_in


def refused(tmp_path, head: str, *rows: str) -> str:
    with pytest.raises(FaultyInput) as error:
        take_in([file(tmp_path, "t.csv", "\n".join((head, *rows)))])
    return str(error.value)


@pytest.mark.parametrize("zone, told", [
    ("32U", "--grid EPSG:32632,"), ("UTM 32 N", "--grid EPSG:32632,"), ("19H", "--grid EPSG:32719,"),
    ("33S", "EPSG:32633 north of the equator, --grid EPSG:32733 south"), ("33", "EPSG:32633 north of the equator"),
])  # fmt: skip
def test_a_zone_tells_the_grid_to_name(tmp_path, zone, told):
    assert told in refused(tmp_path, "species,easting,northing,utm zone", f"Quercus robur,500000,5400000,{zone}")


def test_a_zone_of_the_city_is_no_zone_of_the_grid_and_two_of_the_grid_are_two_files(tmp_path):
    assert "EPSG:32612" not in refused(tmp_path, "species,easting,northing,zone", "Quercus robur,500000,5400000,12")
    rows = ("Quercus robur,500000,5400000,31U", "Quercus robur,500000,5400000,32U")
    assert "several grids (31U, 32U)" in refused(tmp_path, "species,easting,northing,zone", *rows)


def test_a_column_of_the_grid_s_number_tells_the_grid_to_name(tmp_path):
    assert "--grid EPSG:25832," in refused(tmp_path, "species,x,y,EPSG", "Quercus robur,500000,5400000,EPSG:25832")


@pytest.mark.parametrize("form, code", [("MGRS", "32U MU 00000 00000"), ("plus code", "8FWC2345+G6")])
def test_codes_of_places_are_told_what_they_are(tmp_path, form, code):
    assert f"a code of each place ({form})" in refused(tmp_path, "species,where", f"Quercus robur,{code}")


def test_points_of_a_map_extract_that_are_no_trees_are_counted(tmp_path):
    tree = '<node id="1" lat="48.1" lon="9.2"><tag k="natural" v="tree"/></node>'
    more = "".join(f'<node id="{k}" lat="48.1" lon="9.2">{tag}</node>' for k, tag in
                   ((2, '<tag k="amenity" v="bench"/>'), (3, '<tag k="highway" v="crossing"/>'), (4, "")))  # fmt: skip
    found = take_in([file(tmp_path, "a.osm", f"<osm>{tree}{more}</osm>")])
    assert "2 other points are no tree" in " ".join(one.in_words() for one in found.told)
    assert "fi-other-nodes" not in codes(take_in([file(tmp_path, "b.osm", f"<osm>{tree}</osm>")]))


def test_a_waypoint_described_as_dead_is_left_out_as_one_called_dead(tmp_path):
    def mark(name, lat, says):
        return f'<wpt lat="{lat}" lon="9.2"><name>{name}</name><desc>{says}</desc></wpt>'

    more = mark("A", 48.102, "dead") + mark("B", 48.103, "felled 2025") + mark("C", 48.104, "dead wood in the crown")
    found = take_in([gpx(tmp_path, (48.1, 9.2, "lime"), more=more)])
    assert sorted(why_not(found)) == [2, 3] and [one["name"] for one in found.anchors] == ["lime", "C"]
    assert "dead wood in the crown" in found.anchors[1]["notes"]


def on_grid(tmp_path, head: str, *rows: str, grid: str = "EPSG:25832"):
    text = "\n".join((f"species,{head}", *(f"Quercus robur,{row}" for row in rows)))
    return take_in([file(tmp_path, "t.csv", text)], grid=grid)


@pytest.mark.parametrize("head, own, other", [
    ("utm zone", "32U", "33U"), ("huso", "32", "31"), ("utmzone", "32N", "32H"), ("zone", "32U", "33U"),
    ("zone", "32N", "33N"), ("epsg", "25832", "25833"), ("srid", "EPSG:32632", "31468"),
])  # fmt: skip
def test_a_row_of_another_grid_than_the_one_named_is_left_out_wherever_it_stands(tmp_path, head, own, other):
    """It was placed by the grid named, a zone's width off."""
    rows = [f"{500000 + 9 * k},5400000,{own}" for k in range(60)]
    found = on_grid(tmp_path, f"x,y,{head}", *rows, f"500900,5400000,{other}")
    assert why_not(found) == {62: ["ds-other-grid"]} and len(found.anchors) == 60


@pytest.mark.parametrize("head, told", [
    ("zone", "12C"), ("zone", "7N"), ("zone", "33"), ("zone", "2B"), ("utm zone", "32"), ("utm zone", "32S"),
    ("utm zone", "north"), ("srid", "4326"), ("crs", "25832"), ("epsg", "99999"),
])  # fmt: skip
def test_a_zone_of_the_city_and_a_number_that_is_no_grid_leave_no_row_out(tmp_path, head, told):
    found = on_grid(tmp_path, f"x,y,{head}", f"500000,5400000,{told}", "500009,5400000,")
    assert len(found.anchors) == 2 and "ds-other-grid" not in codes(found)


def test_a_file_whose_rows_all_say_another_grid_is_refused_with_the_reason(tmp_path):
    with pytest.raises(FaultyInput, match="another zone or grid than the one named"):
        on_grid(tmp_path, "x,y,utm zone", "500000,5400000,33U")


def test_east_and_north_swapped_on_a_grid_or_a_grid_of_elsewhere_are_told_and_nothing_is_turned(tmp_path):
    found = on_grid(tmp_path, "x,y", "5700000,380000", "5700009,380000")
    assert "ds-maybe-turned-on-grid" in codes(found) and round(found.anchors[0]["position"]["lon"]) == 51
    assert "ds-outside-grid" in codes(on_grid(tmp_path, "x,y", "500000,-3000000"))
    # Bavaria's east is written on the zone of its west
    for row in ("500000,5400000", "820000,5400000"):
        assert not {"ds-maybe-turned-on-grid", "ds-outside-grid"} & set(codes(on_grid(tmp_path, "x,y", row)))


@pytest.mark.parametrize("head, west, east", [("lat;lon", "48,1 N;9,2 O", "48,1 N;9,2 E"),
                                              ("position", "48.1 N, 9.2 O", "48.1 N, 9.2 E")])  # fmt: skip
def test_an_o_is_east_in_one_language_and_west_in_others_and_is_told_so(tmp_path, head, west, east):
    rows = "\n".join(f"Quercus robur;{one}" for one in (west, east, east.replace("9", "8")))
    found = take_in([file(tmp_path, "t.csv", f"species;{head}\n{rows}")])
    assert why_not(found) == {2: ["ds-letter-o"]} and [one["position"]["lon"] for one in found.anchors] == [9.2, 8.2]
    for words in ("48,1 N, 9,2 O", "N 48.1 O 9.2"):
        with pytest.raises(FaultyInput, match="O is east in German and west in French"):
            read_degrees(words)
