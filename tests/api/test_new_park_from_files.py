"""A park begun in Python from files: the same engine as `siteassess new --from`."""

import logging

import pytest
from made_files import TABLE, file, gpx, photo

import siteassess as sa


def test_trees_of_files_stand_beside_those_given_and_take_no_code_twice(tmp_path, caplog):
    given = [{"kind": "tree", "code": "T1", "species": {"name": "oak"}}]
    with caplog.at_level(logging.INFO, "siteassess"):
        park = sa.new_park("Green", "A. B.", "2026-05-01", given, country="GB", folder=tmp_path,
                           from_files=[gpx(tmp_path, (48.1, 9.2, "north")), photo(tmp_path, "a.jpg",
                                                                                  48.11)])  # fmt: skip
    assert [tree.code for tree in park.anchors] == ["T1", "T2", "T3"]
    assert (park.survey.by, park.site.name, park.site.country) == ("A. B.", "Green", "GB")
    assert park.anchors[2].photos[0].path == "a.jpg"
    assert any("1 of 1 row taken" in record.message for record in caplog.records)
    sa.write(park, tmp_path / "park.yaml")
    assert sa.read(tmp_path / "park.yaml") == park


def test_a_unit_may_be_named_and_faults_are_raised(tmp_path):
    rows = file(tmp_path, "t.csv", "species,dbh,lat,lon\nQuercus robur,45,48.1,9.2\n")
    park = sa.new_park("Green", "A. B.", "2026-05-01", from_files=[rows], diameter_unit="cm")
    assert park.anchors[0].trunk[0].diameter.text == "45 cm"
    assert sa.new_park("Green", "A. B.", "2026-05-01", from_files=[rows]).anchors[0].trunk == ()
    with pytest.raises(sa.FaultyInput):
        sa.new_park("Green", "A. B.", "2026-05-01", from_files=[file(tmp_path, "a.gpx", "<!DOCTYPE x>")])
    assert len(sa.new_park("Green", "A. B.", "2026-05-01", from_files=[file(tmp_path, "u.csv", TABLE)]).anchors) == 3
