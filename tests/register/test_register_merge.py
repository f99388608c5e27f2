"""Merging: the same whatever the order, nothing lost, nothing joined unasked, bad news beats good."""

from __future__ import annotations

import copy
import datetime
import itertools
import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput
from siteassess.register import actions
from siteassess.register.alike import proposals
from siteassess.register.events import make
from siteassess.register.fold import fold_subject
from siteassess.register.merge import conflicts, merge_events, merge_store
from siteassess.register.reasons import reason
from siteassess.register.schema import DRAWN_TABLES
from siteassess.register.store import Store
from siteassess.register.verify import verify


def state(store):
    """Everything a register says, without the order in which it came to know it."""
    tables = {}
    for table in DRAWN_TABLES:
        columns = [row[1] for row in store.db.execute(f"PRAGMA table_info({table})") if row[1] != "id"]
        tables[table] = sorted(store.db.execute(f"SELECT {', '.join(columns)} FROM {table}").fetchall(), key=repr)
    names = sorted(event.name for event in store.events())
    photos = sorted(store.db.execute("SELECT sha256, bytes FROM photos").fetchall())
    return (
        names,
        store.heads(),
        tables,
        photos,
        [(c.subject, c.what, [e.name for e in c.sides]) for c in conflicts(store)],
    )


def fork(group, name):
    """Another group's copy of the same file."""
    path = group.store.path.with_name(f"{name}.gpkg")
    shutil.copy(group.store.path, path)
    return type(group)(Store.open(path), group.names)


def merged(tmp_path, *stores):
    """A fresh copy of the first, with the others merged in one after another."""
    path = tmp_path / f"merged-{len(list(tmp_path.glob('merged-*')))}.gpkg"
    shutil.copy(stores[0].path, path)
    store = Store.open(path)
    for other in stores[1:]:
        merge_store(store, other)
    return store


@pytest.fixture
def three(group, picture):
    """Three copies of one register that went their own ways."""
    group.activate()
    a, b, c = group, fork(group, "b"), fork(group, "c")
    a.log(a["anchor T01"], what="event", event="storm")
    a.do(actions.add_photo, a["anchor T01"], picture())
    b.move(b["line L1"], "resting", "Ben")
    entry = b.log(b["anchor T02"], what="use", hours="3 h", pull="2 kN")
    b.do(actions.correct, entry.name, body={"what": "use", "date": "2026-05-02", "hours": "2 h", "pull": "2 kN"})
    c.move(c["line L1"], "withdrawn", "Cleo")
    c.mark(c["line L2"], "owner")
    c.do(actions.join, c["anchor T01"], c["anchor T03"])
    return a.store, b.store, c.store


def test_any_order_of_merging_gives_the_same_register(three, tmp_path):
    states = [state(merged(tmp_path, *order)) for order in itertools.permutations(three)]
    assert all(each == states[0] for each in states)
    everything = set().union(*({event.name for event in store.events()} for store in three))
    assert set(states[0][0]) == everything


def test_merging_pairs_first_gives_the_same_register(three, tmp_path):
    a, b, c = three
    left = merged(tmp_path, merged(tmp_path, a, b), c)
    right = merged(tmp_path, a, merged(tmp_path, b, c))
    assert state(left) == state(right)
    assert verify(left, [head for store in three for head in store.heads()]) == []


def test_merging_twice_or_with_itself_changes_nothing_more(three, tmp_path):
    store = merged(tmp_path, *three)
    before = state(store)
    for other in (*three, merged(tmp_path, store)):
        assert merge_store(store, other).added == 0
    assert state(store) == before


def test_a_withdrawal_beats_older_and_other_copies(three, group, tmp_path):
    store = merged(tmp_path, *three)
    assert store.standing(group["line L1"], group.today).status == "withdrawn"


def test_both_sides_stay_and_are_listed_until_somebody_settles_them(group, tmp_path):
    group.activate()
    other = fork(group, "other")
    group.move(group["line L1"], "withdrawn", "Ada")
    other.move(other["line L1"], "resting", "Ben")
    merge_store(group.store, other.store)
    (conflict,) = conflicts(group.store)
    assert (conflict.what, conflict.label) == (reason("status-twice"), "L1")
    assert {side.body["to"] for side in conflict.sides} == {"withdrawn", "resting"}
    group.move(group["line L1"], "draft", "Cleo")
    assert conflicts(group.store) == [] and group.status("line L1") == "draft"
    merge_store(other.store, group.store)
    assert other.status("line L1") == "draft"


def test_two_surveys_side_by_side_stay_side_by_side(group, park):
    other = fork(group, "other")
    for each, girth in ((group, "181 cm"), (other, "190 cm")):
        record = copy.deepcopy(park)
        record["anchors"][0]["trunk"][0]["girth"] = girth
        each.do(actions.add_record, record)
    merge_store(group.store, other.store)
    (conflict,) = conflicts(group.store)
    assert {side.body["record"]["trunk"][0]["girth"] for side in conflict.sides} == {"181 cm", "190 cm"}
    record["anchors"][0]["trunk"][0]["girth"] = "185 cm"
    group.do(actions.add_record, record)
    assert conflicts(group.store) == []


def test_a_storm_known_to_one_copy_reaches_an_approval_of_the_other(group):
    other = fork(group, "other")
    group.log(group["anchor T01"], what="event", event="storm")
    other.activate()
    assert other.status("line L1") == "active"
    merge_store(other.store, group.store)
    assert other.status("line L1") == "review due"


def test_news_struck_out_by_one_copy_and_changed_by_the_other_stands(group):
    group.activate()
    storm = group.log(group["anchor T01"], what="event", event="storm")
    other = fork(group, "other")
    group.do(actions.correct, storm.name)
    other.do(actions.correct, storm.name, body={"what": "event", "date": "2026-05-03", "event": "storm"})
    assert group.status("line L1") == "active"
    merge_store(group.store, other.store)
    assert group.status("line L1") == "review due"
    assert [conflict.what for conflict in conflicts(group.store)] == [reason("correction-twice", kind="log")]


def test_the_same_trunk_in_two_lists_is_proposed_and_not_joined(new_group, park):
    a = new_group("a")
    other = copy.deepcopy(park)
    other["site"]["name"] = "The Green"
    other["anchors"] = [other["anchors"][0]]
    other["anchors"][0] |= {"code": "X9", "species": {"name": "oak"}}
    other["anchors"][0]["position"]["fixes"][0]["lat"] = 50.00005
    other["lines"] = []
    b = new_group("b", other)
    merge_store(a.store, b.store)
    (found,) = proposals(a.store)
    assert set(found.labels) == {"T01", "X9"} and found.distance_m == pytest.approx(5.56, abs=0.1)
    assert a.store.db.execute("SELECT count(*) FROM joins").fetchone() == (0,)
    a.do(actions.join, found.a, found.b)
    assert proposals(a.store) == []


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"species": {"name": "Tilia cordata"}}, "another genus"),
        ({"trunk": [{"girth": "240 cm", "read_at": "1.3 m"}]}, "another girth"),
        ({"position": {"fixes": [{"lat": 50.0003, "lon": 8.0, "accuracy": "5 m"}]}}, "33 m away"),
        ({"position": None}, "nobody knows where"),
    ],
)
def test_what_differs_is_not_proposed(new_group, park, change, why):
    a = new_group("a")
    other = copy.deepcopy(park)
    other["site"]["name"] = "The Green"
    anchor = other["anchors"][0] | {"code": "X9"} | change
    other["anchors"] = [{key: value for key, value in anchor.items() if value is not None}]
    other["lines"] = []
    b = new_group("b", other)
    merge_store(a.store, b.store)
    assert proposals(a.store) == [], why


@pytest.mark.parametrize(("apart_deg", "found"), [(8 / 111_200, 0), (1.5 / 111_200, 1)])
def test_an_avenue_surveyed_at_once_is_not_one_trunk(new_group, park, apart_deg, found):
    """Its surveyor told the trees apart: only what stands closer than two trunks could is asked about."""
    twin = copy.deepcopy(park["anchors"][0]) | {"code": "T01b"}
    twin["position"]["fixes"][0]["lat"] += apart_deg
    park["anchors"].append(twin)
    assert len(proposals(new_group("avenue", park).store)) == found


@pytest.mark.parametrize(("lon", "other_lon"), [(0.00002, -0.00002), (179.99998, -179.99998), (8.0, 8.00004)])
@pytest.mark.parametrize("lat", [0.0, 51.5, -33.9, 69.7])
def test_trunks_are_found_across_greenwich_the_antimeridian_and_the_equator(new_group, park, lon, other_lon, lat):
    record = copy.deepcopy(park)
    record["anchors"], record["lines"] = [record["anchors"][0]], []
    fix = record["anchors"][0]["position"]["fixes"][0]
    fix.update(lat=lat + 0.00002, lon=lon)
    a = new_group("a", record)
    record["site"]["name"] = "The Green"
    fix.update(lat=lat - 0.00002, lon=other_lon)
    b = new_group("b", record)
    merge_store(a.store, b.store)
    assert len(proposals(a.store)) == 1


def test_a_joined_trunk_shares_its_news_and_its_log(new_group, park):
    a = new_group("a")
    a.activate()
    other = copy.deepcopy(park)
    other["site"]["name"] = "The Green"
    b = new_group("b", other)
    merge_store(a.store, b.store)
    joined = a.do(actions.join, a["anchor T01"], b["anchor T01"])
    assert a.status("line L1") == "review due"
    a.move(a["line L1"], "second look", "Ben")
    a.move(a["line L1"], "approved with conditions", "Ben")
    a.move(a["line L1"], "active", "Ben")
    b.move(b["anchor T01"], "withdrawn")
    merge_store(a.store, b.store)
    assert a.status("line L1") == "withdrawn"
    # the drawn tables followed over the join, and follow when it is struck out from either end
    assert verify(a.store) == []
    a.do(actions.correct, joined.name)
    assert a.status("line L1") == "active"
    assert verify(a.store) == []


def test_a_join_struck_out_parts_both_ends_in_the_tables_too(new_group, park):
    a = new_group("a")
    a.activate()
    other = copy.deepcopy(park)
    other["site"]["name"] = "The Green"
    b = new_group("b", other)
    b.activate()
    merge_store(a.store, b.store)
    lines = (a["line L1"], b["line L1"])
    joined = a.do(actions.join, a["anchor T01"], b["anchor T01"])
    assert [a.store.standing(name, a.today).status for name in lines] == ["review due"] * 2
    assert verify(a.store) == []
    a.do(actions.correct, joined.name)
    assert [a.store.standing(name, a.today).status for name in lines] == ["active"] * 2
    assert verify(a.store) == []


def test_something_found_to_be_two_is_not_proposed_again(new_group, park):
    a = new_group("a")
    other = copy.deepcopy(park)
    other["site"]["name"] = "The Green"
    b = new_group("b", other)
    merge_store(a.store, b.store)
    pairs = proposals(a.store)
    assert len(pairs) == 3
    for pair in pairs:
        a.do(actions.join, pair.a, pair.b, finding="not the same")
    assert proposals(a.store) == []


def _refused(store, events, photos=None):
    before = state(store)
    with pytest.raises(FaultyInput) as error, store.change() as writer:
        merge_events(writer, events, photos or {}, "other")
    assert state(store) == before
    return str(error.value)


def test_a_history_with_a_hole_is_refused_whole(new_group):
    a, b = new_group("a"), new_group("b")
    incoming = list(b.store.iterate())
    assert "missing" in _refused(a.store, incoming[:3] + incoming[4:])


def test_an_altered_event_is_refused(new_group):
    a, b = new_group("a"), new_group("b")
    incoming = [(name, content.replace("180 cm", "280 cm")) for name, content in b.store.iterate()]
    assert "altered" in _refused(a.store, incoming)


def test_an_event_dated_ahead_of_this_clock_is_refused(new_group):
    a, b = new_group("a"), new_group("b")
    b.store.now = lambda: datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=3)
    b.log(b["anchor T01"], what="event", event="storm")
    assert "clock" in _refused(a.store, list(b.store.iterate()))


@pytest.mark.parametrize(
    ("kind", "body", "why"),
    [
        ("move", {"to": "active", "seen": "draft"}, "no move leads"),
        ("move", {"to": "active", "seen": "resting"}, "what stood at 'draft'"),
        ("move", {"to": "flying", "seen": "draft"}, "to"),
        ("mark", {"by": "group", "given": True, "name": "x", "date": "2026-05-01"}, "end"),
        ("log", {"what": "event", "date": "2026-05-01", "event": "storm", "loudness": "high"}, "loudness"),
        ("correction", {"corrects": "0" * 64, "void": True}, "missing"),
        ("photo", {"sha256": "0" * 64, "media_type": "image/png", "size_bytes": 4}, "photo"),
        ("assessment", {"date": "2026-05-01", "result": {"x": "<script>"}}, "markup"),
    ],
)
def test_a_hand_made_event_that_breaks_a_rule_is_refused(new_group, kind, body, why):
    from siteassess.register.events import canonical, name_of

    a, b = new_group("a"), new_group("b")
    parts = {
        "format": 1,
        "kind": kind,
        "subject": b["line L1"],
        "parents": list(b.store.heads()),
        "replaces": [],
        "who": "Mallory",
        "recorded": b.store.event(b.store.heads()[0]).recorded,
        "why": "x",
        "body": body,
        "salt": "0",
    }
    content = canonical(parts)
    assert why in _refused(a.store, [*b.store.iterate(), (name_of(content), content)])


def test_a_photo_with_metadata_or_of_another_name_is_refused(new_group, picture):
    import hashlib

    a, b = new_group("a"), new_group("b")
    raw = picture(secret="made-up secret")
    assert "metadata" in _refused(a.store, b.store.iterate(), {hashlib.sha256(raw).hexdigest(): ("image/jpeg", raw)})
    assert "named by" in _refused(a.store, b.store.iterate(), {"0" * 64: ("image/jpeg", raw)})


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_the_fold_does_not_mind_the_order_or_repeats(data):
    """A subject's events drawn at random, then shuffled and doubled: the same state."""
    when = "2026-05-01T00:00:0{}.000000Z"
    root = make("register", "", {"title": "x", "licence": "y"}, who="a", why="b", recorded=when.format(0), salt="0")
    site = make(
        "site", "", {"record": {"name": "P"}}, who="a", why="b", recorded=when.format(1), parents=[root.name], salt="0"
    )
    events = [site]
    for number in range(data.draw(st.integers(1, 8))):
        known = [event for event in events if event.kind == "move"]
        replaces = data.draw(st.lists(st.sampled_from([event.name for event in known]), max_size=2)) if known else []
        body = {"to": data.draw(st.sampled_from(["surveyed", "withdrawn", "draft", "active"])), "seen": "draft"}
        events.append(
            make(
                "move",
                site.name,
                body,
                who="a",
                why="b",
                recorded=when.format(2),
                parents=[site.name],
                replaces=replaces,
                salt=str(number),
            )
        )
    shuffled = data.draw(st.permutations(events + events[: data.draw(st.integers(0, len(events)))]))
    assert fold_subject(shuffled) == fold_subject(events)
