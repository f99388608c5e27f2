"""A file with latitude and longitude swapped is within 90 degrees and hangs together: what says where it lies shows it.

It is told with how to mend, and nothing is turned. All files are invented; bounds are those of the table.
"""

import json

import pytest
from click.testing import CliRunner
from made_files import codes, file, gpx, photo

from siteassess.cli.files import new
from siteassess.survey.begun import begun
from siteassess.survey.from_files import take_in
from siteassess.survey.importing import read_inventory
from siteassess.survey.swapped import country_told, country_within

HERE, TURNED = (52.5, 13.4), (13.4, 52.5)


def _table(folder, place, country, head="country"):
    rows = "".join(f"{i},{place[0] + i * 1e-3},{place[1]},{country}\n" for i in range(3))
    return file(folder, "t.csv", f"id,lat,lon,{head}\n{rows}")


def _hinted(told):
    return [one for one in told if "ds-maybe-swapped" in (one.code, *(inner.code for inner in dict(one.values)
                                                                      .get("says", ())))]  # fmt: skip


@pytest.mark.parametrize(("head", "country"), [("country", "Germany"), ("countryCode", "DE"), ("Land", "Deutschland"),
                                               ("pays", "Allemagne"), ("país", "Alemania")])  # fmt: skip
def test_the_country_that_the_rows_name_tells_it_and_nothing_is_turned(tmp_path, head, country):
    found = take_in([_table(tmp_path, TURNED, country, head)])
    (hint,) = _hinted(found.told)
    says = hint.in_words()
    assert "3 places lie in the country named (Germany) only the other way round" in says and "Nothing was" in says
    assert [one["position"]["lat"] for one in found.anchors] == [13.4, 13.401, 13.402]
    assert "ds-maybe-swapped" in {one.code for one in read_inventory(_table(tmp_path, TURNED, country, head)).remarks}


@pytest.mark.parametrize(("place", "country"), [(HERE, "DE"), (TURNED, ""), (TURNED, "Bayern"), ((40.4, -3.7), "DE"),
                                                ((48.1, 9.2), "Germany"), ((-33.9, 18.4), "ZA")])  # fmt: skip
def test_no_hint_where_it_lies_in_its_country_or_in_neither_way(tmp_path, place, country):
    assert not _hinted(take_in([_table(tmp_path, place, country)]).told)


def test_the_site_s_country_or_name_tells_it(tmp_path):
    path = gpx(tmp_path, (*TURNED, "a"), (13.401, 52.5, "b"))
    for given in ({"country": "DE"}, {"name": "Nowhere Green, Germany"}, {"name": "Nirgendspark (Deutschland)"}):
        assert _hinted(begun([path], **given)[1])
    for given in ({}, {"name": "Nowhere Green"}, {"country": "FR"}, {"name": "Germany or France"}):
        assert not _hinted(begun([path], **given)[1])


def test_the_group_s_usual_country_tells_it(tmp_path):
    usual = file(tmp_path, "usual.yaml", "siteassess_usual: 1\nsite:\n  country: DE\n")
    path = gpx(tmp_path, (*TURNED, "a"))
    done = CliRunner().invoke(new, [str(tmp_path / "p.yaml"), "--from", str(path), "--usual", str(usual)])
    assert done.exit_code == 0 and "may be swapped" in done.stderr


def test_the_area_of_the_file_s_own_grid_tells_it(tmp_path):
    def shapes(place):
        crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::4258"}}  # of Europe alone
        features = [{"type": "Feature", "properties": {"id": 1}, "geometry": {"type": "Point", "coordinates": place}}]
        text = json.dumps({"type": "FeatureCollection", "crs": crs, "features": features})
        return file(tmp_path, "a.geojson", text)

    assert _hinted(take_in([shapes([52.5, 13.4])]).told) and not _hinted(take_in([shapes([13.4, 52.5])]).told)


def test_a_file_that_lies_near_the_others_only_turned_is_named(tmp_path):
    table, picture = _table(tmp_path, TURNED, ""), photo(tmp_path, "a.jpg", *HERE)
    found = take_in([gpx(tmp_path, (*HERE, "a")), table, picture], tmp_path)
    (hint,) = _hinted(found.told)
    assert hint.in_words().startswith("t.csv: latitude and longitude may be swapped")
    far = take_in([gpx(tmp_path, (*HERE, "a")), _table(tmp_path, (40.4, -3.7), "")])
    assert "ds-maybe-swapped" not in codes(far)


def test_a_country_is_known_by_its_code_and_in_four_languages():
    told = country_told("CH"), country_told("schweiz"), country_within("Parc, Suisse")
    assert {one.name for one in told} == {"Switzerland"}
    assert country_told("ch") is None and country_within("Ins Grüne") is None
