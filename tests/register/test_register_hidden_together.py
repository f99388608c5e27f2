"""Neighbours, lines and the name of a park single no hidden tree out, and neither does a line's card."""

from __future__ import annotations

import datetime
import functools
import json
import math
import re
from random import Random

import pytest
from parks import data
from tree_inventories import candidates_in, metres, park_of

from siteassess.register import actions, hidden
from siteassess.register.crowd import LEAST_CANDIDATES, TREE_NEAR_M, Crowd, KnownTree, TreeTold, girth_class
from siteassess.register.files import write_copy
from siteassess.register.share import make_copy
from siteassess.register.store import Store

ON = datetime.date(2026, 5, 1)


@pytest.fixture(scope="module")
def neighbours(census):
    """A seeded sample of pairs of the census within 100 m, each a park of its own."""
    chance = Random(20152)
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    pairs = []
    while len(pairs) < 150:
        one = chance.choice(grown)
        near = [t for t in grown if t is not one and math.hypot(*metres(t, one.latitude, one.longitude)) <= 100]
        pairs += [(one, chance.choice(near))] if near else []
    return pairs


def test_trees_that_are_shown_are_no_candidates_for_one_that_is_not(tmp_path, census, crowd):
    """The worst case: a park shows just those trees among which its hidden one would stay lost."""
    chance, made, told = Random(2016), {}, 0
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    with Store.create(tmp_path / "shown.gpkg", title="Invented", who="Ada") as store:
        with store.change() as writer:
            for number in range(80):
                tree = chance.choice(grown)
                alike = [t for t in grown if t is not tree and t.genus == tree.genus]
                alike.sort(key=lambda t: math.hypot(*metres(t, tree.latitude, tree.longitude)))
                record, codes = park_of(number, [tree, *alike[:5]], {0})
                record["lines"] = []
                names = actions.add_record(writer, record, actions.By("Ada", "survey"), sensitive=codes)
                made[names[f"anchor {codes[0]}"]] = tree
        copied = make_copy(store, "members", ON, crowd=crowd)
        (path,) = write_copy(store, copied, tmp_path / "members.geojson")
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    about = {f["id"]: f for f in features}
    for name in made:
        if about[name]["geometry"] is not None:
            told += 1
            assert len(candidates_in(features, about[name], census)) >= LEAST_CANDIDATES
    assert told > 5


def _in_some_way(row: int, domains: list[list[KnownTree]], reach_m: float) -> list[KnownTree]:
    """Trees the one in that place of a chain may be, its neighbours within reach, all of them different."""

    def goes_on(chain: list[KnownTree], rest: list[int]) -> bool:
        if not rest:
            return True
        beside = rest[0] + (1 if rest[0] < row else -1)
        known = dict(chain)
        near = (t for t in domains[rest[0]] if t not in known.values()
                and math.hypot(*metres(t, known[beside].latitude, known[beside].longitude)) <= reach_m)  # fmt: skip
        return any(goes_on([*chain, (rest[0], t)], rest[1:]) for t in near)

    outward = [*range(row - 1, -1, -1), *range(row + 1, len(domains))]
    return [t for t in domains[row] if goes_on([(row, t)], outward)]


@pytest.mark.parametrize("length", [3, 4])
def test_chains_of_hidden_trees_single_nobody_out(census, crowd, length):
    """Lines from tree to tree, all hidden: in the middle of a chain stands whoever has neighbours on both sides."""
    chance, told_cells, made = Random(2017 + length), 0, 0
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    near = functools.cache(
        lambda one: [t for t in grown if t is not one and math.hypot(*metres(t, one.latitude, one.longitude)) <= 100]
    )
    while made < 150:
        chain = [chance.choice(grown)]
        while len(chain) < length and (more := [t for t in near(chain[-1]) if t not in chain]):
            chain.append(chance.choice(more))
        if len(chain) < length:
            continue
        made += 1
        places = [(tree.longitude, tree.latitude) for tree in chain]
        alone = [crowd.told(t.latitude, t.longitude, t.genus, t.girth_m) for t in chain]
        said = hidden.told_of_all(dict(enumerate(zip(alone, places, strict=True))), crowd, places)
        told = {row: saying.told for row, saying in said.items()}
        if not any(one.cell for one in told.values()):
            continue
        told_cells += 1
        domains = [[t for t in (one.cell.trees if one.cell else census) if one.genus in (None, t.genus)
                    and one.girth_class in (None, girth_class(t.girth_m))] for one in told.values()]  # fmt: skip
        in_park = {t for t in census if any(math.hypot(*metres(t, y, x)) <= TREE_NEAR_M for x, y in places)}
        domains = [[t for t in some if t in in_park] for some in domains]
        for row in range(length):
            assert len(_in_some_way(row, domains, 100)) >= LEAST_CANDIDATES
    assert told_cells > 0.4 * made


def test_a_search_that_takes_too_long_and_a_park_of_too_many_tell_nothing(crowd, neighbours, monkeypatch):
    tree = next(one for one, _ in neighbours if crowd.told(one.latitude, one.longitude, None, None).cell)
    place = (tree.longitude, tree.latitude)
    alike = crowd.told(tree.latitude, tree.longitude, None, None)
    trees = list(alike.cell.trees)
    dense = Crowd(KnownTree(t.latitude, t.longitude, "tilia", 1.0) for t in trees)
    told = dense.told(tree.latitude, tree.longitude, "tilia", 1.0)
    places = [(t.longitude, t.latitude) for t in trees]
    assert hidden.told_of_all({"a": (told, place), "b": (told, place)}, dense, places)["a"].told.cell
    monkeypatch.setattr(hidden, "MOST_TOGETHER", 1)
    said = hidden.told_of_all({"a": (told, place), "b": (told, place)}, dense, places)
    assert {saying.told for saying in said.values()} == {TreeTold()}
    monkeypatch.undo()
    monkeypatch.setattr(hidden, "MOST_STEPS", 0)
    said = hidden.told_of_all({"a": (told, place), "b": (told, place)}, dense, places)
    assert {saying.told for saying in said.values()} == {TreeTold()}


def test_a_hidden_line_and_the_name_of_its_park_single_nobody_out(tmp_path, census, crowd, neighbours):
    """Both ends are hidden: that they are neighbours is told, and where the park lies is known by its name."""
    told_kinds, told_cells = 0, 0
    with Store.create(tmp_path / "pairs.gpkg", title="Invented pairs", who="Ada") as store:
        made = []
        with store.change() as writer:
            for number, pair in enumerate(neighbours):
                record, codes = park_of(number, list(pair), {0, 1})
                record["site"]["emergency"] = {"number": "112", "gate": "under the oak", "access": "by the oak"}
                names = actions.add_record(writer, record, actions.By("Ada", "survey"), sensitive=codes)
                made.append([names[f"anchor {code}"] for code in codes])
        copied = make_copy(store, "members", ON, crowd=crowd)
        (path,) = write_copy(store, copied, tmp_path / "members.geojson")
    assert "oak" not in path.read_text(encoding="utf-8")
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    about = {f["id"]: f for f in features}
    for pair, names in zip(neighbours, made, strict=True):
        ends = [about[name] for name in names]
        if not any(end["geometry"] for end in ends):
            # nothing is told but that there is a pair
            assert not any("species" in end["properties"] for end in ends)
            continue
        places = [(t.latitude, t.longitude) for t in pair]
        left = [candidates_in(features, end, census) for end in ends]
        left = [[t for t in some if any(math.hypot(*metres(t, *p)) <= TREE_NEAR_M for p in places)] for some in left]
        for one, other in (left, left[::-1]):
            able = [
                t for t in one
                if any(o is not t and math.hypot(*metres(o, t.latitude, t.longitude)) <= 100 for o in other)
            ]  # fmt: skip
            assert len(able) >= LEAST_CANDIDATES
        told_cells += 1
        told_kinds += any("species" in end["properties"] for end in ends)
    # most of what can be told is: the rule does not get by on silence
    assert told_cells > 0.5 * len(made) and told_kinds > 0.1 * len(made)


def test_the_card_of_a_hidden_pair_finds_and_measures_nothing(tmp_path):
    from siteassess.advice.assess import assess
    from siteassess.papers.card import card_page
    from siteassess.papers.from_register import line_standing
    from siteassess.papers.handover import manner
    from siteassess.records.record import Record

    on = datetime.date(2026, 5, 20)
    pages = []
    with Store.create(tmp_path / "x.gpkg", title="x", who="Ada") as store:
        for edits in ({}, {"T1.trunk.0.girth": "250 cm"}):
            judged = assess(Record.model_validate(data(edits)))
            if not pages:
                with store.change() as writer:
                    values = judged.record.model_dump(mode="json", exclude_unset=True)
                    actions.add_record(writer, values, actions.By("Ada", "x"), sensitive=["T1"])
            pages.append(card_page(judged, "L1", manner(made_on=on), line_standing(store, judged, "L1", on)))
    for said in ("Quercus", "X-T1", "T1", "T2", "20 m", "20.0 m", "090°", "188", "75 mm", "54.5"):
        # the names of entries are made by chance, and may hold any figure
        assert said not in re.sub(r"<style.*?</style>|[0-9a-f]{12,}", "", pages[0], flags=re.S), said
    # its version is no hash by which a guess at the readings could be tried
    version = r"[0-9a-f]{12}(?![0-9a-f])"
    assert re.findall(version, pages[0]) == re.findall(version, pages[1])
