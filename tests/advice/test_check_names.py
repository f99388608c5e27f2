"""`check` tells names no table holds, pulls of a slipped unit, swapped positions and what is still to be looked at."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest
import yaml
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.check import check_record, small_pulls, unknown_names
from siteassess.papers.check_text import check_text
from siteassess.records.reading import read_with_lines
from siteassess.reference.tables import rows

PARK = yaml.safe_load((Path(__file__).resolve().parents[2] / "examples/brindlewick/park.yaml").read_text("utf-8"))


@pytest.fixture
def checked(tmp_path):
    def check(change):
        made = copy.deepcopy(PARK)
        change(made)
        file = tmp_path / "park.yaml"
        file.write_text(yaml.safe_dump(made, sort_keys=False), encoding="utf-8")
        read = read_with_lines(file)
        return check_record(read.record, read)

    return check


def _fields(found):
    return {warning.field: warning for warning in found.warnings}


def test_the_park_gives_no_name_that_is_in_no_table(checked):
    found = checked(lambda made: None)
    assert list(unknown_names(found.places.record)) == list(small_pulls(found.places.record)) == []


def _misspelt(made):
    made["anchors"][0]["species"]["name"] = "Qercus robur"
    made["anchors"][1]["species"]["name"] = "Quercus robrr"
    line = made["lines"][0]
    line["webbing"]["kind"] = "nylonn"
    line["a"]["padding"] = {"material": "carpt"}
    line["gear"] = [{"what": "rope", "rating": "20 kN", "knot": "bowlin"}]


def test_every_name_in_no_table_is_doubted_on_its_line_with_the_near_ones(checked):
    found = _fields(checked(_misspelt))
    line = PARK["lines"][0]["id"]
    for field, near in (
        (f"anchors[{PARK['anchors'][0]['code']}].species.name", "Quercus robur"),
        (f"anchors[{PARK['anchors'][1]['code']}].species.name", "would be Quercus robur"),
        (f"lines[{line}].webbing.kind", "nylon"),
        (f"lines[{line}].a.padding.material", "carpet"),
        (f"lines[{line}].gear[1].knot", "bowline"),
    ):
        assert near in found[field].sentence() and found[field].line > 0, field


@pytest.mark.parametrize("word", ["unknown", "none", "none seen", "?"])
def test_a_word_for_nothing_is_no_unknown_name(checked, word):
    def change(made):
        made["anchors"][0]["species"]["name"] = "unknown"
        made["lines"][0]["a"]["padding"] = {"material": word}

    assert not any("table" in warning.says for warning in checked(change).warnings)


@pytest.mark.parametrize(
    ("text", "would_be"),
    [("2.5 N", "2.5 kN"), ("20 lbf", ""), ("99 N", "99 kN"), ("100 N", "10000 N"), ("2.5 kN", None)],
)
def test_a_walked_line_at_a_few_newtons_is_a_slip(checked, text, would_be):
    def change(made):
        made["lines"][0]["use"] = "long line"
        made["lines"][0]["standing"] = {"tension": text, "how": "guess"}

    told = _fields(checked(change)).get(f"lines[{PARK['lines'][0]['id']}].standing.tension")
    assert (told is None) == (would_be is None)
    if told is not None:
        assert told.would_be.startswith(would_be)


def _swap(anchor):
    position = anchor["position"]
    if "lat" in position:
        position["lat"], position["lon"] = position["lon"], position["lat"]


def test_one_swapped_tree_is_doubted_at_the_top_on_its_line(checked):
    found = checked(lambda made: _swap(made["anchors"][0]))
    code = PARK["anchors"][0]["code"]
    told = _fields(found)[f"anchors[{code}].position"]
    assert "swapped" in told.sentence() and told.line > 0
    first, second = check_text("park.yaml", found).splitlines()[:2]
    assert "doubtful reading" in first and "no fault found;" in first and second.startswith("  park.yaml:")
    assert not any(note.in_words().startswith(f"{code}: ") for note in found.notes)


def test_a_whole_park_swapped_is_noticed_by_its_country_and_only_by_it(checked):
    def change(made):
        for thing in (*made["anchors"], *made["site"].get("landmarks", ())):
            if "position" in thing:
                _swap(thing)

    told = [w for w in checked(change).warnings if w.likelier == "latitude and longitude swapped"]
    assert len(told) >= 10 and all("outside UK" in warning.says for warning in told)
    assert all("(Royaume-Uni)" in warning.sentence("fr") for warning in told)

    def elsewhere(made):
        change(made)
        made["site"].pop("country")

    assert not any("outside" in w.says for w in checked(elsewhere).warnings)


def test_a_country_is_not_held_against_a_place_that_swapping_does_not_mend(checked):
    def change(made):
        made["site"]["country"] = "NZ"

    assert not any("outside" in warning.says for warning in checked(change).warnings)


def test_bounds_of_countries_are_degrees_with_south_below_north():
    for row in rows("countries"):
        assert -90 <= row.south_deg < row.north_deg <= 90 and max(abs(row.west_deg), abs(row.east_deg)) <= 180
        assert (row.west_deg > row.east_deg) == ("180th" in row.note)
        # places used by latitude and longitude swapped must not fall into the same country
        # the middle of a country, swapped, must not lie in it, or the check could never speak
        lat, lon = (row.south_deg + row.north_deg) / 2, (row.west_deg + row.east_deg) / 2
        inside = row.south_deg <= lon <= row.north_deg and row.west_deg <= lat <= row.east_deg
        assert row.west_deg > row.east_deg or not inside


def test_what_is_still_missing_is_told_per_line_and_nothing_where_all_was_looked_at(checked):
    assert checked(lambda made: None).still_missing == ()

    def change(made):
        del made["lines"][0]["a"]["tie_height"]
        made["anchors"][0]["signs"]["soil_heave"] = "not looked"

    found = checked(change)
    (one,) = [one for one in found.still_missing if one.line == PARK["lines"][0]["id"] and one.end == "A"]
    assert "tie height" in one.missing and "stop sign: soil heave or cracks at the base" in one.missing
    text = check_text("park.yaml", found)
    assert f"{one.line} at {one.anchor}: still missing before more than 'cannot say' is possible: " in text
    assert found.as_dict()["still_missing"][0]["missing"] == one.missing


@pytest.mark.parametrize("name", ["unknown", "unbekannt", "inconnu", "desconocido", "not known", "nicht bekannt", "???",
                                  "-", "Unknown tree", "unbekannt?", "n/a"])  # fmt: skip
def test_a_species_that_says_nobody_knows_it_is_missing_in_every_language(name):
    (line,) = assess(record({"T1.species": {"name": name, "certainty": "sure"}}), remedies=False).lines
    assert "species or leaf type" in line.anchors[0].evidence.missing and line.verdict == "cannot say"
    assert "name-in-no-table" not in {one.code for one in line.anchors[0].findings}
    (told,) = assess(record({"T1.species": {"name": name, "leaf_type": "broadleaf"}}), remedies=False).lines
    assert told.anchors[0].species == "any broadleaf" and told.verdict != "cannot say"
