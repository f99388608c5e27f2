"""The privacy layers, proven by searching every byte of every export for secrets planted in every field."""

from __future__ import annotations

import io
import itertools
import json
import math
import re
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteassess.papers.copy_page import copy_page
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import Part, asks, shares
from siteassess.records.line import Line
from siteassess.records.schema import fields
from siteassess.records.site import Site
from siteassess.register import actions, privacy
from siteassess.register.files import COPY_ENDINGS, write_copy
from siteassess.register.free_texts import looks_personal
from siteassess.register.share import make_copy

EXACT = {"lat": 50.1234567, "lon": 8.7654321}
SENSITIVE = {"lat": 50.2345678, "lon": 8.6543219}
# codes that no stamp can hold: between 01:00 and 03:00 UTC one does hold T01 or T02
CODES = {"T01": "zaunQ1", "T02": "zaunQ2", "T03": "zaunQ3", "L1": "leineQ1", "L2": "leineQ2"}
ONE, TWO, THREE, LINE, OTHER_LINE = CODES.values()


def _planted(park):
    """The park with a secret in every free text, and numbers that give a place or a person away."""
    park = json.loads(re.sub(r'"(T0\d|L\d)"', lambda code: f'"{CODES[code[1]]}"', json.dumps(park)))
    secrets = itertools.count(1)

    def plant():
        return f"SECRET{next(secrets):03d}"

    site = park["site"]
    site.update(
        notes=plant(),
        manager=plant(),
        manager_contact=plant(),
        credit="made-up credit",
        permission={"basis": "permit", "by": plant(), "reference": plant(), "conditions": plant()},
        emergency={"number": "+44 7700 900123", "key": plant(), "meeting_point": plant(), "place": "the green"},
        landmarks=[{"code": "LM", "what": plant(), "position": {"fixes": [{"lat": 50.3456789, "lon": 8.3456789}]}}],
        surroundings=[{"kind": "hazard", "name": plant(), "points": [[50.4567891, 8.4567891], [50.5, 8.5]]}],
    )
    park["survey"].update(by=plant(), contact=plant(), second_look_by=plant(), weather=plant(), level=plant(),
                          insurance=plant())  # fmt: skip
    one, nested, _ = park["anchors"]
    one.update(notes=plant(), source=plant(), photos=[{"path": f"{plant()}.jpg", "shows": plant()}])
    one["position"] = {
        "fixes": [{**EXACT, "accuracy": "4 m", "source": plant()}],
        "ties": [{"landmark": "LM", "distance": "12.3456 m", "bearing": "77.123 deg"}],
    }
    one["name"] = "call 0170 1234567 first"
    nested["signs"] = {"nest_in_use": "yes"}
    nested["tag"], nested["name"], nested["notes"] = "TAG-4711", plant(), plant()
    nested["position"] = {"fixes": [{**SENSITIVE, "accuracy": "3 m"}]}
    line = park["lines"][0]
    line["notes"], line["walkers"] = plant(), {"mass": "83.4567 kg"}
    line["compass"] = {"out": "123.456 deg", "back": "303.456 deg"}
    return park


_NEST = re.compile(r"nest_in_use", re.I)


@pytest.fixture
def planted(new_group, park, picture):
    group = new_group("planted", _planted(park))
    for line in (f"line {LINE}", f"line {OTHER_LINE}"):
        group.activate(line)
    group.mark(group["site"], "owner", name="SECRETOWNER", reference="SECRETREF", conditions="ring 0170 765 43 21")
    group.mark(group[f"line {OTHER_LINE}"], "group", conditions="two people at most")
    for share, no_people in (("officer", True), ("members", False), ("members", True)):
        colour = (10 if share == "officer" else 200, 10 if no_people else 200, 77)
        data = picture(secret="SECRETPHOTO", colour=colour)
        group.do(actions.add_photo, group[f"anchor {ONE}"], data, share=share, no_people=no_people, shows="SECRETSHOWS")
    group.do(actions.add_photo, group[f"anchor {TWO}"], picture(colour=(1, 2, 3)), share="public", no_people=True)
    group.log(group[f"anchor {ONE}"], what="event", event="other", notes="SECRETLOG")
    group.do(actions.keep_answer, group[f"line {LINE}"], {"verdict": "SECRETVERDICT"}, group.today)
    return group


def _every_byte(path):
    """All bytes of a file as they lie; those of a zip unpacked, for packed bytes may look like anything."""
    data = path.read_bytes()
    if path.suffix == ".zip":
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            data = b"".join(name.encode() + archive.read(name) for name in archive.namelist())
    return data


def _exports(group, layer, folder, **kwargs):
    copied = make_copy(group.store, layer, group.today, **kwargs)
    for ending in COPY_ENDINGS:
        yield from write_copy(group.store, copied, folder / f"{layer}{ending}", page=copy_page)


# numbers as any format may write them: as typed, rounded to six or seven places, or in a binary geometry
def _writings(number):
    import struct

    yield from (f"{number:.{digits}f}".rstrip("0").encode() for digits in (4, 5, 6, 7))
    yield from (struct.pack(order, number) for order in ("<d", ">d"))


@pytest.mark.parametrize("layer", ["public", "members"])
def test_no_planted_secret_is_in_any_byte_of_a_copy(planted, layer, tmp_path):
    paths = list(_exports(planted, layer, tmp_path))
    assert len(paths) == 8
    # the whole park is hidden: its own codes may be the numbers on the tags
    hidden_texts = ["Quercus", "Tilia", "180 cm", "63 in", "two people", *CODES.values()]
    hidden_numbers = [*SENSITIVE.values(), *EXACT.values(), 50.3456789, 8.3456789, 50.4567891, 8.4567891]
    hidden_texts += [
        "83.4567",
        "12.3456",
        "77.123",
        "123.456",
        "303.456",
        "TAG-4711",
        "0170 ",
        "7700 900123",
        "765 43 21",
    ]
    for path in paths:
        data = _every_byte(path)
        assert b"SECRET" not in data.upper(), path.name
        assert not _NEST.search(data.decode("latin-1")), path.name
        for text in hidden_texts:
            assert text.encode() not in data, (path.name, text)
        for number in hidden_numbers:
            assert not any(writing in data for writing in _writings(number)), (path.name, number)


def test_the_search_finds_what_officers_may_see(planted, tmp_path):
    """The same search over the officers' copies finds the secrets: so it would find them elsewhere too."""
    for path in _exports(planted, "officer", tmp_path):
        if path.suffix == ".json":
            continue
        data = _every_byte(path)
        assert b"SECRET" in data.upper() or path.suffix == ".html", path.name
        if path.suffix not in (".html",):
            assert any(writing in data for writing in _writings(SENSITIVE["lat"])), path.name


def test_members_see_exact_points_of_ordinary_places(group):
    copied = make_copy(group.store, "members", group.today)
    points = {feature.code: (feature.points, feature.exact) for feature in copied.features if feature.kind == "anchor"}
    assert points["T03"] == ([(8.0, 50.0006)], True)


def test_the_other_end_of_a_sensitive_line_is_coarsened_too(planted):
    """Span and bearing from an exact end would lead straight to the nest."""
    copied = make_copy(planted.store, "members", planted.today)
    by_id = {feature.id: feature for feature in copied.features}
    for code in (ONE, TWO, THREE):
        anchor = by_id[planted[f"anchor {code}"]]
        assert not anchor.exact and anchor.points is None
        assert anchor.record == {"kind": "tree", "code": f"hidden-{anchor.id[:8]}"}
    for code in (LINE, OTHER_LINE):
        line = by_id[planted[f"line {code}"]]
        assert line.points is None and set(line.record) == {"id", "use", "a", "b"}
    site = by_id[planted["site"]]
    assert not site.exact and site.points is None


def test_only_photos_for_members_without_people_go_to_members(planted, tmp_path):
    counts = {}
    for layer in privacy.LAYERS:
        copied = make_copy(planted.store, layer, planted.today)
        (path,) = write_copy(planted.store, copied, tmp_path / f"{layer}.zip")
        with zipfile.ZipFile(path) as archive:
            counts[layer] = sum(name.startswith("photos/") for name in archive.namelist())
    # T01 leans on the nest's tree through line L1, so even its photo stays
    assert counts == {"public": 0, "members": 0, "officer": 4}


def test_photos_of_ordinary_trees_go_to_members_without_their_metadata(group, picture, tmp_path):
    group.activate()
    raw = picture(secret="SECRETPHOTO")
    assert raw.count(b"SECRETPHOTO") == 2
    group.do(actions.add_photo, group["anchor T01"], raw, share="members", no_people=True)
    (path,) = write_copy(group.store, make_copy(group.store, "members", group.today), tmp_path / "members.zip")
    assert b"\xff\xd8\xff" in _every_byte(path) and b"SECRET" not in _every_byte(path)
    assert b"SECRET" not in group.store.path.read_bytes()
    group.do(actions.add_photo, group["anchor T01"], picture(colour=(9, 9, 9)), share="members", no_people=False)
    copied = make_copy(group.store, "members", group.today)
    assert [len(shown) for shown in copied.photos.values()] == [1]
    assert make_copy(group.store, "public", group.today).photos == {}


@pytest.mark.parametrize("layer", ["public", "members"])
def test_private_ground_is_not_shared_unless_its_list_says_so(new_group, park, layer):
    park["site"]["land_status"] = "private"
    group = new_group("private", park)
    group.activate()
    assert make_copy(group.store, layer, group.today).features == []
    group.do(actions.add_record, park, share=layer)
    copied = make_copy(group.store, layer, group.today)
    assert copied.features and not any(feature.exact for feature in copied.features)


def test_a_later_survey_does_not_loosen_what_was_promised(new_group, park):
    group = new_group("g", None)
    names = group.do(actions.add_record, park, share="officer", sensitive=["T03"])
    park["site"]["notes"], park["anchors"][2]["notes"] = "a new look", "another"
    group.do(actions.add_record, park)
    assert make_copy(group.store, "members", group.today).features == []
    assert group.store.subject(names["anchor T03"]).current.body["sensitive"] is True


def test_a_line_goes_no_further_than_its_anchors(group, park):
    one = {**park, "anchors": park["anchors"][:1], "lines": []}
    group.do(actions.add_record, one, share="officer")
    group.do(actions.add_record, {**park, "anchors": [], "lines": []}, share="public")
    codes = {feature.code for feature in make_copy(group.store, "members", group.today).features}
    assert codes == {"Larchmere Green", "T02", "T03", "L2"}


def test_a_draft_park_is_not_shown_to_the_public(group):
    assert make_copy(group.store, "public", group.today).features == []
    group.activate()
    (site,) = make_copy(group.store, "public", group.today).features
    assert (site.kind, site.status) == ("site", "active")


def test_every_file_names_licence_last_day_layer_and_head(planted, tmp_path):
    for layer in privacy.LAYERS:
        for path in _exports(planted, layer, tmp_path, licence="made-up licence 1.0"):
            text = _every_byte(path).decode("latin-1")
            for wanted in ("made-up licence 1.0", "2026-07-30", layer):
                assert wanted in text, (path.name, wanted)
            if path.suffix != ".csv":
                assert planted.store.heads()[0] in text, path.name


@given(st.floats(-85, 85), st.floats(-180, 180), st.sampled_from((100.0, 250.0, 1000.0)), st.integers(0, 2**32))
def test_rounding_gives_every_point_of_a_cell_the_same_middle(lat, lon, grid, seed):
    import random

    middle = privacy.middle_of_cell(lat, lon, grid)
    chance = random.Random(seed)
    step_lat = math.degrees(grid / 6_371_000)
    for _ in range(5):
        # a point of the same cell, drawn about its middle and kept clear of its edge
        there = (
            middle[0] + chance.uniform(-0.45, 0.45) * step_lat,
            middle[1] + chance.uniform(-0.45, 0.45) * step_lat / math.cos(math.radians(middle[0])),
        )
        again = privacy.middle_of_cell(*there, grid)
        assert again[0] == middle[0] and abs((again[1] - middle[1] + 180) % 360 - 180) < 1e-9
    # no farther than the half diagonal, a hair more for the curve of the earth
    east = math.radians((lon - middle[1] + 180) % 360 - 180) * math.cos(math.radians(middle[0])) * 6_371_000
    north = math.radians(lat - middle[0]) * 6_371_000
    assert math.hypot(east, north) < grid * 0.75


def test_every_field_of_a_record_has_a_layer_and_nothing_else_has():
    known = set()
    for kind, models in (("site", (Site,)), ("anchor", ANCHOR_KINDS.values()), ("line", (Line,))):
        for model in models:
            leaves = (asked for asked in fields(model) if not asked.models)
            known |= {".".join((kind, *(p for p in asked.path if p != "[]"))) for asked in leaves}
    assert set(privacy.field_layers()) == known
    assert privacy.field_layers().keys() >= privacy.SENSITIVE_FIELDS


def test_whoever_rigs_by_a_copy_reads_the_whole_line_but_no_person_and_no_appointment():
    kept = {name for name, layer in privacy.field_layers().items() if name.startswith("line.") and layer == "officer"}
    assert kept == {"line.walkers.mass", "line.gear.what", "line.standing.sag", "line.standing.sag_under",
                    "line.notes", "line.planned.date",
                    "line.planned.until", "line.planned.start", "line.planned.end", "line.planned.attended",
                    "line.planned.time_under_tension"}  # fmt: skip


def test_a_part_hides_what_it_holds_and_a_field_that_says_nothing_stays_with_the_officers():
    class Inner(Part):
        told: str = shares("told", "")
        kept: str = asks("kept", "")

    class Outer(Part):
        open: Inner = asks("open", Inner)
        shut: Inner = asks("shut", Inner, seen_by="officer")

    assert {path: layer for path, layer, _ in privacy._below(Outer, "o", "public")} == {
        "o.open.told": "members", "o.open.kept": "officer", "o.shut.told": "officer", "o.shut.kept": "officer",
    }  # fmt: skip


@pytest.mark.parametrize(
    "name",
    [
        "anchor.signs.nest_in_use",
        "site.manager",
        "site.manager_contact",
        "anchor.notes",
        "anchor.position.fixes.at",
        "anchor.position.ties.distance",
        "line.walkers.mass",
        "anchor.photos.path",
        "site.landmarks.position.fixes.lat",
        "anchor.invented_later",
    ],
)
def test_what_is_not_in_the_table_is_for_officers(name):
    assert privacy.field_layers().get(name, "officer") == "officer"
    kind, *path = name.split(".")
    record = 5.0
    for step in reversed(path):
        record = {step: record}
    assert privacy.visible(record, "members", kind) is None
    assert privacy.visible(record, "officer", kind) == record


@pytest.mark.parametrize(
    "text",
    [
        "0170 1234567",
        "+44 7700 900123",
        "+44 (0)7700 900123",
        "a@b.example",
        "at 50.12345, 8.7",
        "see https://x.example",
    ],
)
def test_texts_that_seem_to_hold_a_number_an_address_or_a_place_are_held_back(text):
    assert looks_personal(text)
    for whole in (text, f"the oak, {text}"):
        assert privacy.visible({"name": whole}, "members", "anchor") is None


@pytest.mark.parametrize(
    "text", ["the oak by the gate", "112", "142 cm", "5 ft 7 in", "no. 12", "2026-04-18"]
)
def test_plain_texts_are_not(text):
    assert privacy.visible({"name": text}, "members", "anchor") == {"name": text}


def test_json_copies_are_json(planted, tmp_path):
    for path in _exports(planted, "members", tmp_path):
        if path.suffix in (".geojson", ".json"):
            json.loads(path.read_text())
