"""Another tree is told with the word that the whole line gets there, and not where anything there stands against it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from parks import data, own_rules

from siteassess.advice import other_trees
from siteassess.advice.assess import assess
from siteassess.advice.changes import carried
from siteassess.advice.finding import found
from siteassess.advice.geometry import Places
from siteassess.advice.line_setting import settings_of
from siteassess.advice.other_trees import would_hold
from siteassess.advice.verdict import VERDICTS
from siteassess.records.record import Record

RANK = VERDICTS.index
LAT, LON, PER_LAT, PER_LON = 54.5, 2.5, 111_330.0, 64_790.0


def at(east: float, north: float) -> list[float]:
    """A place so many metres from T1; T2 stands 20 m east of it."""
    return [LAT + north / PER_LAT, LON + east / PER_LON]


def park(third: dict | None = None, site: dict | None = None) -> dict:
    """T1 far too thin, and T3 as good as T2, 8 m north of T1."""
    made = data({"T1.trunk.0.girth": "60 cm", "T1.height": "9 m"})
    north = dict(zip(("lat", "lon"), at(0, 8)))
    strong = {**data()["anchors"][0], "code": "T3", "tag": "X-T3",
              "position": {"fixes": [north | {"accuracy": "2 m", "accuracy_means": "68 %", "how": "receiver"}]}}
    made["anchors"].append(strong | (third or {}))
    made["site"] |= site or {}
    return made


def told(made: dict) -> list:
    remedies = assess(Record.model_validate(made)).lines[0].anchors[0].remedies
    return [one for one in remedies if one.field == "another tree"]


def test_the_word_told_is_that_of_the_whole_line_there():
    (one,) = told(park())
    made = Record.model_validate(park())
    line = carried(made.lines[0], "A", "T3", None)
    assert line.span is None and not line.ground and line.ground_between == "unknown"
    there = assess(made.model_copy(update={"lines": (line,)})).lines[0]
    assert RANK(one.reaches) >= max(RANK(there.anchors[0].verdict), RANK("suits if"))  # nobody taped the ground there
    assert one.still


@pytest.mark.parametrize("kind", ["path", "power line"])
def test_a_tree_from_which_the_line_would_cross_what_no_line_may_is_not_told(kind):
    """East of T3 the line to T2 runs 6.4 m north of the old one after 4 m; the thing keeps 5 m off the old one."""
    thing = {"kind": kind, "points": [at(4, 5.5), at(4, 9)]}
    assert not told(park(site={"surroundings": [thing]}))
    assert told(park(site={"surroundings": [thing | {"points": [at(4, 30), at(4, 40)]}]}))


@pytest.mark.parametrize("clause", [
    {"id": "g", "kind": "genera", "asks": "barred", "names": ["Platanus"]},
    {"id": "h", "kind": "heritage trees", "asks": "barred"},
])  # fmt: skip
def test_a_tree_on_which_the_line_would_break_a_rule_of_the_place_is_not_told(clause):
    barred = {"status": "heritage", "species": {"name": "Platanus x hispanica", "certainty": "sure"}}
    assert not told(park(barred, {"rules": own_rules(clause)}))
    assert told(park(site={"rules": own_rules(clause)}))


def test_what_the_tree_asks_for_itself_comes_with_it():
    worn = park()["anchors"][0]["ground"] | {"bare": "bare over 2 m2"}
    (plain,), (trodden,) = told(park()), told(park({"ground": worn}))
    more = {said.code for said in trodden.still} - {said.code for said in plain.still}
    assert more and trodden.reaches == "suits if"


@pytest.mark.parametrize("words, best", [
    ({"T2": "suits", "T3": "suits if"}, ("suits", "T2")), ({"T2": "suits if", "T3": "suits"}, ("suits", "T3")),
    ({"T2": "cannot say", "T3": "leave it"}, None), ({"T2": "suits if", "T3": "cannot say"}, ("suits if", "T2")),
])  # fmt: skip
def test_another_tree_is_only_told_where_the_line_suits_there_and_the_best_of_them_first(monkeypatch, words, best):
    """"Cannot say" of another tree is no reason to carry the line there, whatever this one reads."""
    def planned(code: str) -> SimpleNamespace:
        return SimpleNamespace(line=SimpleNamespace(at=lambda end: SimpleNamespace(anchor=code)), code=code)

    def judged(word: str, other: str = "suits") -> SimpleNamespace:
        ends = [SimpleNamespace(end=end, rules=None, findings=(found("clears", one, feet=()),), verdict=one)
                for end, one in (("A", word), ("B", other))]  # fmt: skip
        return SimpleNamespace(anchors=tuple(ends), findings=())

    monkeypatch.setattr(other_trees, "carried_to_others", lambda setting, end: map(planned, words))

    def would(now: str, other: str = "suits") -> tuple:
        return would_hold(planned("T1"), "A", lambda one, end: now if one.code == "T1" else "suits",
                          lambda: judged(now), lambda one: judged(words[one.code], other))  # fmt: skip

    first = would("leave it")
    assert (None if not first else (first[0].reaches, dict(first[0].what.values)["tree"])) == best
    assert [one.reaches for one in would("suits if")] == [one.reaches for one in first if one.reaches == "suits"]
    assert not would("leave it", other="leave it")  # what the other end loses counts


def test_what_the_other_end_lacks_as_planned_hides_no_better_tree():
    """T2 mends by itself: its figures differ a little on the line from T3, and T3 was not told."""
    made = park()
    made["anchors"][1] |= {"trunk": [{"girth": "115 cm", "read_at": "1.3 m", "how": "taped"}], "height": "13 m"}
    made["lines"][0]["standing"]["tension"] = "4 kN"
    made["lines"][0]["b"]["tie_height"] = "1.6 m"
    line = assess(Record.model_validate(made), remedies=False).lines[0]
    assert [end.verdict for end in line.anchors] == ["leave it", "leave it"]
    (one,) = told(made)
    assert one.reaches == "suits if"


def test_what_the_whole_line_is_told_as_planned_too_counts_in_the_word_there():
    """Nobody looked for wires, here or there: beside T3 alone, which suits, the line only suits if somebody looks."""
    same = (found("power-line-unseen", "suits if", reach=30.0),)
    here, there = (SimpleNamespace(findings=same, anchors=tuple(
        SimpleNamespace(end=end, rules=None, findings=()) for end in "AB")) for _ in range(2))
    assert other_trees._reached(here, there, "A") == ("suits if", ())


@pytest.mark.parametrize("limit, use, own", [("stem", 1.3, True), ("stem", 1.9, False), ("root plate", 1.3, False)])
def test_the_other_ends_own_trouble_is_the_same_limit_about_as_far_exceeded(limit, use, own):
    def exceeded(limit: str, use: float):
        return found("limit-exceeded", "leave it", limit=limit, case="standing", use=use)

    assert other_trees._as_planned(exceeded(limit, use), exceeded("stem", 1.2)) == own


def mound(height: float, ends: tuple[str, str]) -> dict:
    """A mound taped under another line between T3 and T2, from either; the line itself hangs clear of taped ground."""
    made = park()
    rows = [(0, 0), (5, 0.8 * height), (10, height), (16.5, 0.8 * height), (21.5, 0)]
    beside = {**data()["lines"][0], "id": "L2", "planned": {"date": "2026-05-10", "attended": "always"},
              "span": {"taped": "21.5 m", "along": "horizontal", "how": "taped"}, "compass": None,
              "ground": [{"at": f"{at} m", "height": f"{high} m"} for at, high in
                         (rows if ends[0] == "T3" else [(21.5 - at, high) for at, high in rows])]}  # fmt: skip
    for name, code in zip("ab", ends):
        beside[name] = beside[name] | {"anchor": code, "tie_height": "2 m"}
        made["lines"][0][name]["tie_height"] = "2 m"
    made["lines"].append(beside)
    return made


@pytest.mark.parametrize("ends", [("T3", "T2"), ("T2", "T3")])
@pytest.mark.parametrize("height, clears", [(0.3, True), (0.46, True), (0.48, False), (1.5, False)])
def test_a_tree_from_which_the_walker_would_reach_taped_ground_is_not_told(height, clears, ends):
    """Fresh eyes: a line that touched nothing was offered one over a mound, its ties to be raised there; and none at
    all where the ground had been taped from the other end."""
    found = told(mound(height, ends))
    assert [one.reaches for one in found] == ["suits if"] * clears
    assert not any(said.code.startswith("touches") for one in found for said in one.still)


def test_ground_taped_from_the_other_end_is_the_same_ground():
    """B's foot lies 1 m under A's: from B, everything lies 1 m higher."""
    def carried_over(*ends: str):
        made = mound(0.0, ends)
        rows = [(0, 0), (5, -0.5), (16, -1.2), (21.5, -1)]
        made["lines"][1]["ground"] = [{"at": f"{at} m", "height": f"{high} m"} for at, high in (
            rows if ends[0] == "T3" else [(21.5 - at, high + 1) for at, high in reversed(rows)])]  # fmt: skip
        read = Record.model_validate(made)
        (one,) = other_trees.carried_to_others(settings_of(read, Places(read), None)[0], "A")
        return [(round(row.at.si, 6), round(row.height.si, 6)) for row in one.line.ground]

    assert carried_over("T3", "T2") == carried_over("T2", "T3") == [(0, 0), (5, -0.5), (16, -1.2), (21.5, -1)]
