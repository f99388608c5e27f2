"""Records in Python: what a change may and may not do, and that nothing is lost on the way."""

import copy
import datetime
import pickle

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import records

import siteassess as sa
from siteassess.records.reading import read_text
from siteassess.records.writing import as_plain, write_text
from siteassess.reference.locate import shipped

EXAMPLE = shipped("examples") / "brindlewick" / "park.yaml"


@pytest.fixture(scope="module")
def park():
    return sa.read(EXAMPLE)


def test_one_thing_is_changed_and_nothing_else(park):
    other = sa.change(park, "lines.L1.standing.tension", "6 kN")
    assert other.line("L1").standing.tension.si == 6000 and park.line("L1").standing.tension.text != "6 kN"
    assert sa.change(other, "lines.L1.standing.tension", park.line("L1").standing.tension.text) == park


def test_several_things_at_once(park):
    other = sa.change(park, {
        "site.name": "Elsewhere (invented)", "anchors.T1.position.lat": 54.5001, "lines.L1.name": None,
        "survey.date": datetime.date(2026, 4, 17), "site.rules.clauses.span.value": 40,
        "anchors.T2.trunk.0.girth": "2 m", "site.surroundings.0.points.0": [54.4999, 2.4990],
    })  # fmt: skip
    assert other.site.name == "Elsewhere (invented)" and other.line("L1").name is None
    assert other.anchor("T1").position.fixes[0].lat == 54.5001 and other.survey.date.day == 17
    assert next(one for one in other.site.rules["clauses"] if one["id"] == "span")["value"] == 40
    assert other.anchor("T2").trunk[0].girth.si == 2.0 and other.site.surroundings[0].points[0] == (54.4999, 2.499)


def test_an_anchor_and_a_line_are_added_and_taken_away(park):
    more = sa.change(park, {
        "anchors.X-1.b": {"code": "X-1.b", "kind": "tree", "species": {"name": "oak"}},
        "lines.N1": {"use": "hammock", "a": {"anchor": "T1"}, "b": {"anchor": "X-1.b"}},
    })  # fmt: skip
    assert more.anchor("X-1.b").kind == "tree" and more.line("N1").b.anchor == "X-1.b"
    # a code may hold dots, and the longest that fits is meant
    assert sa.change(more, "anchors.X-1.b.tag", "7").anchor("X-1.b").tag == "7"
    assert sa.change(more, {"anchors.X-1.b": None, "lines.N1": None}) == park


def test_places_of_a_list_are_counted_as_they_were(park):
    """The second change once hit the item behind the one that it named."""
    three = [{"girth": f"{200 + at} cm", "read_at": f"1.{at} m", "how": "taped"} for at in (1, 2, 3)]
    taped = sa.change(park, "anchors.T1.trunk", three)
    left = sa.change(taped, {"anchors.T1.trunk.0": None, "anchors.T1.trunk.1.girth": "250 cm"})
    assert [one.girth.text for one in left.anchor("T1").trunk] == ["250 cm", "203 cm"]
    with pytest.raises(sa.UnknownName, match="taken away"):
        sa.change(taped, {"anchors.T1.trunk.0": None, "anchors.T1.trunk.0.girth": "250 cm"})


def test_an_item_named_by_its_place_keeps_its_name(park):
    line = {"use": "hammock", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}}
    assert sa.change(park, "lines.0", line).line("L1").use == "hammock"


@pytest.mark.parametrize("path, value", [
    (5, 1), (None, 1), (b"lines", 1), (("lines", "L1"), 1), ("anchors.T1.trunk.\u00b2", {}),
    ("anchors.T1.trunk.00", {}), ("site.rules.id.x", 1), ("site.rules.clauses.span.value.x", 1),
])  # fmt: skip
def test_a_path_that_is_none_is_refused_too(park, path, value):
    with pytest.raises(sa.UnknownName):
        sa.change(park, path, value)


def test_a_forgotten_or_a_second_value_is_refused(park):
    for asked in (("lines.L1",), ({"lines.L1.name": "x"}, "y")):
        with pytest.raises(sa.UnknownName, match="wants its value"):
            sa.change(park, *asked)
    for asked in ({"site": 5, "site.name": "x"}, {"lines": "x", "lines.L1.use": "hammock"}):
        with pytest.raises(sa.UnknownName, match="was made no"):
            sa.change(park, asked)


def _within_itself():
    held: dict = {}
    held["a"] = held
    return held


@pytest.mark.parametrize("value", [np.array([6, 7]), 10**400, _within_itself(), {("a", 1): 2}, object()])
def test_what_no_file_can_hold_is_refused(park, value):
    for path in ("lines.L1.standing.tension", "lines.L1.walkers.at_once", "lines.L1"):
        with pytest.raises(sa.FaultyInput, match="wanted"):
            sa.change(park, path, value)
    with pytest.raises(sa.FaultyInput):
        sa.new_park("Green (invented)", "me", "2026-05-01", country=value)


@pytest.mark.parametrize("path, near", [
    ("lines.L1.standng.tension", "standing"),
    ("lines.L1.standing.tention", "tension"),
    ("lines.L9.use", "L1"),
    ("anchors.T1.trunk.7.girth", "0"),
    ("anchors.T1.girth", "trunk.0.girth"),
    ("anchors.T1.dbh", "trunk.0.diameter"),
    ("anchors.T1.position.latitude", "lat"),
    ("lines[L1].use", "lines.L1.use"),
    ("site.nam", "name"),
    ("sight.name", "site"),
    ("site.name.first", "name has no parts"),
    ("site.rules.clauses.spam.value", "span"),
    ("anchors.T1.trunk.9", "0"),
    ("", "''"),
])  # fmt: skip
@pytest.mark.parametrize("value", ["6 kN", 6, None, True])
def test_what_leads_nowhere_is_refused_every_time(park, path, value, near):
    before = write_text(park)
    with pytest.raises(sa.UnknownName, match=near):
        sa.change(park, path, value)
    assert write_text(park) == before


def test_all_paths_that_lead_nowhere_are_told(park):
    with pytest.raises(sa.UnknownName) as caught:
        sa.change(park, {"site.nam": "x", "survey.dat": "2026-01-01", "site.name": "y"})
    assert len(str(caught.value).splitlines()) == 2


def test_all_values_that_do_not_fit_are_told(park):
    with pytest.raises(sa.FaultyInput) as caught:
        sa.change(park, {"lines.L1.standing.tension": 6, "lines.L2.use": "slackine", "survey.date": "2926-01-01",
                         "lines.L3.a.anchor": "T99"})  # fmt: skip
    assert len(caught.value.faults) == 4
    assert all(one.wanted for one in caught.value.faults)


@pytest.mark.parametrize("path", ["lines.L1.crew.friction_grip", "site.invented", "lines.L1.power_line"])
def test_true_and_yes_are_one_answer_in_every_field_that_takes_them(park, path):
    """Of a field that may be left out too."""
    for said, same in ((True, ("yes", "true")), (False, ("no", "false"))):
        assert {sa.change(park, path, one) == sa.change(park, path, said) for one in same} == {True}


def test_rules_of_the_place_are_read_again_too(park):
    with pytest.raises(sa.FaultyInput, match="kind"):
        sa.change(park, "site.rules.clauses.span.kind", "spam")
    with pytest.raises(sa.FaultyInput, match="rule_set"):
        sa.change(park, {"site.rules": None, "site.rule_set": "nowhere"})


def test_the_obvious_edit_with_a_wrong_keyword_is_refused(park):
    """In 0.1.0 it changed nothing, in silence."""
    line = park.line("L1")
    with pytest.raises(sa.UnknownName, match="standing"):
        line.model_copy(update={"standng": None})
    assert line.model_copy(update={"name": "other"}).name == "other"
    with pytest.raises(ValueError, match="frozen"):
        line.name = "other"


@given(records())
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_change_to_what_it_is_changes_nothing(record):
    if record.site.rules is not None or record.site.rule_set is not None:  # drawn at random, they are no rules
        record = record.model_copy(update={"site": record.site.model_copy(update={"rules": None, "rule_set": None})})
    assert sa.change(record, "site.name", record.site.name) == record
    plain = as_plain(record)
    for line in plain.get("lines", ()):
        same = {name: one for name, one in line.items() if name != "id"}
        assert sa.change(record, f"lines.{line['id']}", same) == record


@given(st.sampled_from([float(1), np.float64(2), np.int64(3), 4]))
@settings(max_examples=4)
def test_a_number_of_an_array_is_a_number(number):
    park = sa.read(EXAMPLE)
    assert sa.change(park, "anchors.T1.position.lat", 54.5 + float(number) / 1e4) == sa.change(
        park, "anchors.T1.position.lat", np.float64(54.5 + float(number) / 1e4))


def test_a_park_is_begun_in_python_and_read_back(tmp_path):
    park = sa.new_park(
        "Nowhere Green (invented)", "A. Surveyor (invented)", "2026-05-01", country="GB", invented=True,
        anchors=[{"kind": "tree", "code": one, "species": {"name": "oak"}} for one in ("T1", "T2")],
        lines=[{"id": "L1", "use": "low line", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}}],
    )  # fmt: skip
    sa.write(park, tmp_path / "park.yaml")
    assert sa.read(tmp_path / "park.yaml") == park
    assert sa.assess(park).line("L1").verdict == "cannot say"


def test_all_faults_of_a_begun_park_are_told():
    with pytest.raises(sa.FaultyInput) as caught:
        sa.new_park("", "me", "yesterday", county="GB", anchors=[{"kind": "tre", "code": "T1"}])
    assert len(caught.value.faults) >= 4


def test_map_files_of_a_record_are_read_with_it(tmp_path, park, caplog):
    near = park.anchor("T1").position.fixes[0]
    places = [[near.lon, near.lat], [near.lon + 1e-4, near.lat]]
    (tmp_path / "paths.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"highway": "footway"}, '
        f'"geometry": {{"type": "LineString", "coordinates": {places}}}}}]}}')
    sa.write(park, tmp_path / "park.yaml")
    with caplog.at_level("INFO", "siteassess"):
        more = sa.read(tmp_path / "park.yaml", surroundings=[tmp_path / "paths.geojson"])
    assert len(more.site.surroundings) == len(park.site.surroundings) + 1 and "paths.geojson" in caplog.text


def test_a_check_in_python_is_that_of_the_command(park):
    from siteassess.advice.check import check_record

    found = sa.check(park)
    assert found.to_dict()["pairs"] and list(found.pairs["line"].dropna()) == [one.id for one in park.lines]
    assert found.doubts == () and found.in_words("fr") != found.in_words()
    wrong = sa.change(park, "anchors.T3.height", "40 m")
    assert len(sa.check(wrong).doubts) == len(check_record(wrong).warnings) > 0


def test_a_record_read_from_text_is_the_same(park):
    assert read_text(EXAMPLE.read_text(encoding="utf-8")) == park


@pytest.mark.parametrize("given", ["park.yaml", None, {}])
def test_what_is_no_park_is_refused(given, tmp_path):
    asked = (sa.assess, sa.check, lambda one: sa.write(one, tmp_path / "x.yaml"),
             lambda one: sa.change(one, "site.name", "x"), lambda one: sa.sweep(one, "site.name", ["x"]))  # fmt: skip
    for ask in asked:
        with pytest.raises(sa.FaultyInput, match="read\\(path\\)"):
            ask(given)


def test_a_part_shows_itself_on_a_line_or_two(park):
    for part in (park.line("L1"), park.anchors[0], park.site):
        assert len(repr(part)) < 200 and "\n" not in repr(part) and str(part) == repr(part)
    assert repr(park.line("L1")).startswith("Line(id='L1', ") and "None" not in repr(park.survey)


def test_own_rules_of_a_park_stay_as_they_were_read(park):
    for edit in (lambda rules: rules.update(id="x"), lambda rules: rules["source"].clear(),
                 lambda rules: rules["clauses"][0].__setitem__("value", 1), lambda rules: rules.pop("id")):  # fmt: skip
        with pytest.raises(TypeError, match="change"):
            edit(park.site.rules)
    assert isinstance(park.site.rules["clauses"], tuple)
    assert copy.deepcopy(park) == park == pickle.loads(pickle.dumps(park))
