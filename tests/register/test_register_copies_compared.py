"""Whoever lays members' copies of different days side by side cannot tell which tree a hidden one is either."""

from __future__ import annotations

import datetime
import json
from random import Random

import pytest
from click.testing import CliRunner
from made_copies import History, candidates
from tree_inventories import apart, dense_trees

from siteassess.cli.register import register as command
from siteassess.errors import FaultyInput, StoreError
from siteassess.register import actions
from siteassess.register.crowd import LEAST_CANDIDATES, Crowd, KnownTree
from siteassess.register.files import write_copy
from siteassess.register.merge import merge_store
from siteassess.register.salvage import salvage
from siteassess.register.share import make_copy
from siteassess.register.store import Store
from siteassess.register.verify import verify

BY = actions.By("Ada (invented)", "warden")
ON = datetime.date(2026, 11, 28)


def inventory(seed: int, chance: Random, census: list[KnownTree]) -> list[KnownTree]:
    """Trees round one of the census, or those of an invented park land, by turns."""
    if seed % 2 == 0:
        return dense_trees(chance)
    middle = chance.choice(census)
    return sorted(census, key=lambda tree: apart(tree, middle))[:1200]


# the last two once fell under five: new neighbours of a hidden pair narrowed what was told of it
SEEDS = [*range(150), 502, 676]


@pytest.mark.parametrize("part", range(5))
def test_five_trees_remain_for_every_hidden_one_after_all_copies(tmp_path, census, part):
    left_out = told = kinds = 0
    for seed in SEEDS[part::5]:
        chance = Random(seed)
        trees = inventory(seed, chance, census)
        with Store.create(tmp_path / f"{seed}.gpkg", title="Invented", who="Ada") as store:
            store.db.execute("PRAGMA synchronous = OFF")
            history = History(store, trees, chance)
            history.run()
        left = candidates(history.copies, history)
        assert {name: len(some) for name, some in left.items() if len(some) < LEAST_CANDIDATES} == {}, seed
        told += len(left)
        kinds += sum(feature["id"] in left and "species" in feature["properties"]
                     for copied in history.copies for feature in copied)  # fmt: skip
        left_out += sum(len(copied.left_out) for copied in history.made)
    # the rule does not get by on silence, and neighbours were shown that would have narrowed something
    assert told > 20 and kinds > 5 and left_out > 5


def test_after_a_merge_no_copy_takes_a_tree_under_five(tmp_path, census):
    """What both groups told before they met may leave fewer: see the row below."""
    told = 0
    for seed in range(500, 510):
        chance = Random(seed)
        trees = inventory(seed, chance, census)
        with (
            Store.create(tmp_path / f"a{seed}.gpkg", title="Invented a", who="Ada") as one,
            Store.create(tmp_path / f"b{seed}.gpkg", title="Invented b", who="Ben") as other,
        ):
            for store in (one, other):
                store.db.execute("PRAGMA synchronous = OFF")
            ours, theirs = History(one, trees, chance, "a"), History(other, trees, chance, "b")
            ours.run(3)
            theirs.run(3)
            merge_store(one, other)
            ours.by_name |= theirs.by_name
            ours.copies += theirs.copies
            before = candidates(ours.copies, ours)
            for _ in range(2):
                few = {name for name, some in before.items() if len(some) < LEAST_CANDIDATES}
                copied = ours.copy()
                after = candidates(ours.copies, ours)
                assert {name for name, some in after.items() if len(some) < LEAST_CANDIDATES} <= few, seed
                told_now = {f["id"] for f in ours.copies[-1] if f["properties"]["exact"] == "no" and f["geometry"]}
                assert not told_now & few and few & {f.id for f in copied.features} <= set(copied.too_few), seed
                told, before = told + len(told_now), after
                ours.step()
    assert told > 10


ROW = [KnownTree(54.5 + i * 20 / 111_195, 2.5, "tilia", 1.0) for i in range(7)]


@pytest.fixture
def row(tmp_path):
    """A park of one hidden lime among seven of a street, of which a copy told; neighbours can be listed."""
    store = Store.create(tmp_path / "row.gpkg", title="Invented", who="Ada")
    history = History(store, ROW, Random(1))
    history.parks, history.lines = [{"T0": [ROW[0], True]}], [set()]
    history.survey(0)
    assert not history.copy().left_out
    yield history
    store.close()


def shown(copied) -> set[str]:
    return {feature.code for feature in copied.features if feature.kind == "anchor" and feature.exact}


def list_also(history: History, *numbers: int) -> None:
    history.parks[0] |= {f"T{number}": [ROW[number], False] for number in numbers}
    history.survey(0)


def test_a_neighbour_that_would_leave_fewer_than_five_is_left_out_and_stays_out(row):
    list_also(row, 1, 2)
    assert shown(row.copy()) == {"T1", "T2"}
    list_also(row, 3, 4)
    for _ in range(2):
        copied = row.copy()
        assert shown(copied) == {"T1", "T2"} and {f.code for f in copied.features if f.kind == "anchor"} >= {"T1"}
        assert {(one.tree.record["code"], one.left) for one in copied.left_out} == {("T3", 4), ("T4", 4)}
        # the hidden one is told as before, and nobody learns that two are left out
        assert sum(f.kind == "anchor" for f in copied.features) == 3 and not copied.too_few
    asked = row.copy(fewer_is_right=True)
    assert shown(asked) == {"T1", "T2", "T3", "T4"} and len(asked.too_few) == 1


def test_a_neighbour_of_no_kind_that_is_told_takes_none_away_and_a_rare_one_does(tmp_path):
    """Whoever knows the rule knows of a tree told by its cell alone that it is none of a kind that is told there."""
    kinds = ["sorbus"] * 3 + ["acer"] * 3 + ["tilia"] * 6
    trees = [KnownTree(54.5 + (i % 4) * 2e-4, 2.5 + (i // 4) * 4e-4, kind, 1.0) for i, kind in enumerate(kinds)]
    with Store.create(tmp_path / "r.gpkg", title="Invented", who="Ada") as store:
        history = History(store, trees, Random(1))
        history.parks, history.lines = [{"T0": [trees[0], True]}], [set()]
        history.survey(0)
        (hidden,) = (f for f in history.copy().features if f.kind == "anchor")
        assert hidden.points and "species" not in hidden.record
        for number in (6, 7, 3, 4):
            history.parks[0][f"T{number}"] = [trees[number], False]
            history.survey(0)
        copied = history.copy()
        assert shown(copied) == {"T6", "T7", "T3"}
        assert [(one.tree.record["code"], one.left) for one in copied.left_out] == [("T4", 4)]


def test_what_was_told_is_told_again_and_no_more(tmp_path):
    """Four maples keep a lime's kind untold; once they are shown the rule would tell it."""
    trees = [*ROW, *(KnownTree(54.5 + i * 2e-4, 2.5005, "acer", 1.0) for i in range(4))]
    with Store.create(tmp_path / "r.gpkg", title="Invented", who="Ada") as store:
        history = History(store, trees, Random(1))
        history.parks, history.lines = [{"T0": [trees[0], True]}], [set()]
        history.survey(0)
        history.copy()
        history.parks[0] |= {f"T{number}": [trees[number], False] for number in range(7, 11)}
        history.survey(0)
        copied = history.copy()
        assert shown(copied) == {"T7", "T8", "T9", "T10"}
        (hidden,) = (f for f in copied.features if f.kind == "anchor" and not f.exact)
        assert hidden.points and "species" not in hidden.record


def test_a_line_at_a_tree_that_is_left_out_is_left_out(row):
    list_also(row, 1, 2, 3)
    row.lines[0] = {("T1", "T3"), ("T1", "T2")}
    row.survey(0)
    assert {feature.code for feature in row.copy().features if feature.kind == "line"} == {"T1-T2"}


def test_without_an_inventory_nobody_can_see_what_a_neighbour_leaves(row):
    list_also(row, 1)
    # a kilometre away nobody looks for it
    row.parks.append({"T9": [KnownTree(ROW[0].latitude - 0.009, 2.5, "tilia", 1.0), False]})
    row.lines.append(set())
    row.survey(1)
    copied = row.copy(crowd=None)
    assert [(one.tree.record["code"], one.left) for one in copied.left_out] == [("T1", None)]
    assert shown(copied) == {"T9"} and shown(row.copy()) == {"T1", "T9"}
    # what a copy showed is shown again
    assert shown(row.copy(crowd=None)) == {"T1", "T9"} and not row.made[-1].left_out


def test_what_is_left_out_elsewhere_is_not_named_by_the_copy_of_one_site(row):
    list_also(row, 1, 2)
    row.parks.append({"T3": [ROW[3], False]})
    row.lines.append(set())
    row.survey(1)
    first, other = (row.store.db.execute("SELECT subject FROM sites ORDER BY name").fetchall())
    assert not row.copy(sites=first).left_out
    copied = row.copy(sites=other)
    assert [one.left for one in copied.left_out] == [4] and shown(copied) == set()


def test_a_tree_that_was_listed_as_hidden_stays_hidden_where_showing_it_leaves_too_few(row):
    list_also(row, 1, 2)
    row.parks[0]["T3"] = [ROW[3], True]
    row.survey(0)
    row.copy()
    row.parks[0]["T3"][1] = False
    row.survey(0)
    copied = row.copy()
    assert shown(copied) == {"T1", "T2"} and sum(f.kind == "anchor" for f in copied.features) == 4


@pytest.mark.parametrize("with_inventory", [True, False])
def test_neighbours_that_would_tell_where_a_told_park_lies_are_kept_back_with_it(row, with_inventory):
    # far from all that the hidden one may be, so that it takes nobody away: but whoever sees it looks round it alone
    row.parks[0]["T1"] = [KnownTree(ROW[0].latitude - 0.004, 2.5, "tilia", 1.0), False]
    row.survey(0)
    copied = row.copy(**({} if with_inventory else {"crowd": None}))
    assert shown(copied) == set() and not copied.left_out
    assert sum(feature.kind == "anchor" for feature in copied.features) == 2


def test_a_tree_that_is_hidden_no_more_is_shown_where_it_alone_is_looked_for(row):
    list_also(row, 1, 2)
    row.copy()
    row.parks[0]["T0"][1] = False
    row.survey(0)
    assert shown(row.copy()) == {"T0", "T1", "T2"}


def test_a_copy_that_tells_nothing_new_is_not_written_down(row, tmp_path):
    count = row.store.count()
    row.copy()
    assert row.store.count() == count
    list_also(row, 1)
    count = row.store.count()
    copied = make_copy(row.store, "members", ON, crowd=row.crowd)
    write_copy(row.store, copied, tmp_path / "dry.geojson", dry_run=True)
    assert row.store.count() == count
    for layer in ("public", "officer"):
        write_copy(row.store, make_copy(row.store, layer, ON, crowd=row.crowd), tmp_path / f"{layer}.geojson")
    assert row.store.count() == count
    write_copy(row.store, copied, tmp_path / "one.geojson", who="Ben")
    write_copy(row.store, copied, tmp_path / "other.geojson")
    assert row.store.count() == count + 1 and row.store.events()[-1].who == "Ben"
    assert row.store.heads()[0] in (tmp_path / "one.geojson").read_text(encoding="utf-8")
    assert verify(row.store) == []


def test_copies_made_by_turns_with_an_inventory_and_without_are_written_down_once_each(row, tmp_path):
    """A week's copy for members and one for a visitor: after the first of each nothing is newly told."""
    counted = []
    for turn in range(4):
        for crowd in (row.crowd, None):
            copied = make_copy(row.store, "members", ON, crowd=crowd)
            write_copy(row.store, copied, tmp_path / f"{turn} {crowd is None}.geojson")
        counted.append(sum(event.kind == "copy" for event in row.store.events()))
    assert counted == counted[:1] * 4


def test_a_copy_made_while_another_was_is_made_again(row, tmp_path):
    list_also(row, 1)
    late = make_copy(row.store, "members", ON, crowd=row.crowd)
    list_also(row, 2)
    row.copy()
    with pytest.raises(StoreError, match="made meanwhile"):
        write_copy(row.store, late, tmp_path / "late.geojson")
    assert not (tmp_path / "late.geojson").exists()


def test_what_cannot_be_kept_is_not_handed_out(row, tmp_path):
    list_also(row, 1)
    copied = make_copy(row.store, "members", ON, crowd=row.crowd)
    row.store.db.execute("PRAGMA query_only = ON")
    with pytest.raises(StoreError, match="has to be kept in the register"):
        write_copy(row.store, copied, tmp_path / "x.geojson")
    row.store.db.execute("PRAGMA query_only = OFF")
    assert not (tmp_path / "x.geojson").exists()


def test_what_copies_told_travels_with_a_merge(row, tmp_path):
    with Store.create(tmp_path / "other.gpkg", title="Invented other", who="Ben") as other:
        merge_store(other, row.store)
        theirs = History(other, ROW, Random(2))
        theirs.parks = [{"T1": [ROW[1], False], "T2": [ROW[2], False], "T3": [ROW[3], False]}]
        theirs.lines, theirs.number = [set()], "theirs"
        theirs.survey(0)
        assert [one.tree.record["code"] for one in theirs.copy().left_out] == ["T3"]
        assert verify(other) == []


def test_what_another_group_showed_before_a_merge_may_leave_fewer_and_then_nothing_is_told(row, tmp_path):
    with Store.create(tmp_path / "other.gpkg", title="Invented other", who="Ben") as other:
        theirs = History(other, ROW, Random(2), "theirs")
        theirs.parks, theirs.lines = [{f"T{n}": [ROW[n], False] for n in (1, 2, 3)}], [set()]
        theirs.survey(0)
        assert not theirs.copy().left_out
        merge_store(row.store, other)
    copied = row.copy()
    assert len(copied.too_few) == 1 and not copied.left_out and shown(copied) == {"T1", "T2", "T3"}
    assert not any(feature.points for feature in copied.features if feature.kind == "anchor" and not feature.exact)


@pytest.mark.parametrize("gone", ["copy", "anchor"])
def test_where_entries_are_lost_hidden_trees_are_told_by_nothing(row, tmp_path, gone):
    name = next(event.name for event in reversed(row.store.events()) if event.kind == gone)
    row.store.close()
    raw = row.store.path.read_bytes()
    broken = tmp_path / "broken.gpkg"
    content = next(e.content for e in Store.open(row.store.path).events() if e.name == name).encode()
    broken.write_bytes(raw.replace(content, b"x" * len(content)))
    store, report = salvage(broken, tmp_path / "new.gpkg", "Ada", "the stick broke", ON)
    with store:
        assert not report.whole or gone == "copy"
        copied = make_copy(store, "members", ON, crowd=Crowd(ROW))
        assert not copied.memory_whole and not any(f.points for f in copied.features if f.kind == "anchor")
        if gone == "copy":
            # also where nothing else in the file speaks of what is gone
            assert any(event.kind == "copy" and event.body.get("lost") for event in store.events())
            with store.whole():
                store.db.execute("DELETE FROM lost")
            assert not make_copy(store, "members", ON, crowd=Crowd(ROW)).memory_whole
            asked = make_copy(store, "members", ON, crowd=Crowd(ROW), fewer_is_right=True)
            assert any(f.points for f in asked.features if f.kind == "anchor")


@pytest.mark.parametrize("side_m", [1e-305, 0.5, 1e6])
def test_a_cell_that_no_copy_told_is_refused(row, side_m):
    """Cells run from some hundred metres to some kilometres; smaller ones cannot be counted out."""
    (about,) = (event for event in row.store.events() if event.kind == "copy")
    body = json.loads(json.dumps(about.body))
    body["parks"][0]["hidden"][0]["cell"]["side_m"] = side_m
    with pytest.raises(FaultyInput, match="side_m"), row.store.change() as writer:
        writer.add("copy", about.about, body, who="Ada", why="by hand")


def test_the_command_names_what_is_left_out_and_shows_it_when_asked(row, tmp_path):
    list_also(row, 1, 2, 3)
    rows = "".join(f"{t.latitude},{t.longitude},Tilia cordata,32\n" for t in ROW)
    (tmp_path / "trees.csv").write_text(f"lat,lon,species,dbh_cm\n{rows}", encoding="utf-8")

    def run(out, *more):
        done = CliRunner().invoke(command, [
            "export", str(row.store.path), str(tmp_path / out), "--layer", "members", "--on", "2026-11-28",
            "--inventory", str(tmp_path / "trees.csv"), "--json", *more,
        ])  # fmt: skip
        assert done.exit_code == 0, done.output
        return json.loads(done.stdout), done.stderr

    values, said = run("a.geojson")
    assert [(one["label"], one["left"]) for one in values["left_out"]] == [("T3", 4)]
    assert "T3" in said and "leaves 4 trees that hidden-" in said and "--fewer-is-right" in said
    values, said = run("b.geojson", "--fewer-is-right", "--who", "Ben")
    assert values["left_out"] == [] and len(values["too_few"]) == 1 and "told by nothing" in said
    assert row.store.events()[-1].who == "Ben"


def test_of_a_damaged_register_the_command_says_why_and_of_a_salvaged_one_promises_nothing_of_a_merge(row, tmp_path):
    """Who merges back what was lost still has the mark that some was: nothing is told, and nothing else is advised."""
    rows = "".join(f"{t.latitude},{t.longitude},Tilia cordata,32\n" for t in ROW)
    (tmp_path / "trees.csv").write_text(f"lat,lon,species,dbh_cm\n{rows}", encoding="utf-8")

    def export(register):
        asked = ["export", str(register), str(tmp_path / "c.geojson"), "--inventory", str(tmp_path / "trees.csv")]
        return CliRunner().invoke(command, [*asked, "--layer", "members", "--on", "2026-11-28"])

    (told,) = (event for event in row.store.events() if event.kind == "copy")
    row.store.close()
    content = told.content.encode()
    broken, mended = tmp_path / "broken.gpkg", tmp_path / "new.gpkg"
    broken.write_bytes(row.store.path.read_bytes().replace(content, b"x" * len(content)))
    refused = str(export(broken).exception)
    assert "restore a copy. The copy was not written: what it tells" in refused and not list(tmp_path.glob("c.*"))
    store, _ = salvage(broken, mended, "Ada", "the stick broke", ON)
    with store, Store.open(row.store.path) as other:
        merge_store(store, other)
        assert told.name in {event.name for event in store.events()}
    done = export(mended)
    assert done.exit_code == 0 and "Entries were lost" in done.stderr and "merge" not in done.stderr
