"""A remedy puts no line on the ground, breaks no rule further, hides nothing it asks for; the doable come first."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from applied_remedy import applied
from everyday import pair, tree
from parks import own_rules, record

from siteassess.advice import changes, remedies
from siteassess.advice.assess import assess
from siteassess.advice.changes import TreeEnd
from siteassess.advice.remedies import fewest_told
from siteassess.advice.results import Remedy
from siteassess.reference.findings import said


def oak(girth: float, height: float = 14, crown: float = 5) -> dict:
    return tree("Quercus robur", girth, height, crown, "deep ridged")


def told(edits: dict) -> list[Remedy]:
    """Of the hold of end A."""
    return [one for one in assess(record(edits)).lines[0].anchors[0].remedies if one.for_limit != "bark"]


HIGH = pair(oak(140, 18, 9), span_m=60, tension="5 kN", tie="1.5 m", use="high line", more={
    "L1.open_below": "30 m", "L1.backup": "other tree", "L1.ground": [],
    "L1.walkers": {"mass": "80 kg", "leash": "1.5 m", "leash_kind": "dynamic rope"},
    "T1.ground.wetness": "wet", "T2.ground.wetness": "wet"})  # fmt: skip


def over_a_gorge(rim: float) -> dict:
    rows = ((0, 0), (rim, 0), (rim + 1, -20), (59 - rim, -20), (60 - rim, 0), (60, 0))
    return HIGH | {"L1.open_below": None, "L1.ground": [{"at": f"{at} m", "height": f"{high} m"} for at, high in rows]}


def test_a_high_line_is_lowered_only_where_the_rim_below_it_was_taped(monkeypatch):
    """A tie of 0.40 m was told over a depth somebody said: its rim 4 m from each trunk, the feet reach the ground."""
    monkeypatch.setattr(remedies, "LEVERS", (changes.lower_ties,))
    monkeypatch.setattr(remedies, "OF_THE_LINE", ())
    assert not told(HIGH)
    near = told(over_a_gorge(1.4))  # past three diameters: nearer it would be a bank
    assert near
    for one in near:
        assert not assess(applied(record(over_a_gorge(1.4)), "L1", "A", one), remedies=False).lines[0].clearance.touches
    low = {"L1.a.tie_height": "0.4 m", "L1.b.tie_height": "0.4 m"}
    assert assess(record(over_a_gorge(4) | low), remedies=False).lines[0].clearance.touches


@pytest.mark.parametrize("ground, tension, clears", [
    ({}, "20 kN", True), ({}, "2 kN", False), ({"L1.ground": [{"at": f"{at} m", "height": f"{-abs(high)} m"}
     for at, high in ((0, 0), (30, -20), (60, 0))]}, "2 kN", False), (over_a_gorge(0.2), "2 kN", True),
    ({"L1.use": "low line", "L1.open_below": "2 m"}, "2 kN", False),
    ({"L1.use": "low line", "L1.open_below": None}, "2 kN", True),
])  # fmt: skip
def test_the_rim_is_level_as_far_as_it_may_reach(ground, tension, clears):
    """Of a tension as of a tie; nobody said of a low line over level ground that a rim is there."""
    made = record(HIGH | ground | {"L1.standing.tension": tension})
    end = TreeEnd(made.lines[0], "A", made.anchor("T1"), 60.0, 90.0, 54.5, made.lines[0].planned.date)
    assert remedies._clears_the_rim(end) == clears


def test_what_a_shorter_line_has_to_be_looked_at_for_is_told_with_it(monkeypatch):
    """Nobody looked for wires where it hangs then; the planned line was looked at, and "suits if" hid it."""
    monkeypatch.setattr(remedies, "LEVERS", (changes._spans,))
    slim = {"T1.trunk.0.girth": "126 cm", "T1.height": "14 m", "T1.crown_spread": "4 m", "T1.ground.wetness": "wet",
            "L1.walkers.mass": "95 kg", "L1.a.tie_height": "1.3 m", "L1.standing.tension": "4 kN",
            "L1.ground": []}  # fmt: skip
    spans = told(slim)
    assert spans and all("power-line-unseen" in {one.code for one in remedy.still} for remedy in spans)
    looked = told(slim | {"L1.power_line": "not looked"})
    assert looked and not any("power-line-unseen" in {one.code for one in remedy.still} for remedy in looked)


DIP = pair(oak(118), span_m=20, tension="3 kN", tie="1.4 m", more={
    "L1.ground": [{"at": f"{at} m", "height": f"{high} m"} for at, high in ((0, 0), (10, -2), (20, 0))]})  # fmt: skip


@pytest.mark.parametrize("asked, ties", [((">=", 1.5), False), ((">=", 1.3), True), (("<=", 1.2), True)])
def test_a_rule_that_is_broken_is_broken_no_further(monkeypatch, asked, ties):
    monkeypatch.setattr(remedies, "LEVERS", (changes.lower_ties,))
    monkeypatch.setattr(remedies, "OF_THE_LINE", ())
    clause = {"id": "c", "kind": "attach height", "operator": asked[0], "value": asked[1], "unit": "m"}
    found_ties = told(DIP | {"site.rules": own_rules(clause)})
    assert bool(found_ties) == ties and all(one.field == "tie height" for one in found_ties)


def end_of(edits: dict) -> TreeEnd:
    made = record(edits)
    return TreeEnd(made.lines[0], "A", made.anchor("T1"), 20.0, 90.0, 54.5, made.lines[0].planned.date)


@pytest.mark.parametrize("ground, dries", [
    ({"wetness": "wet"}, True), ({"wetness": "unknown"}, True), ({"wetness": "moist"}, False),
    ({"wetness": "standing water"}, False), ({"wetness": "wet", "texture": "peat"}, False),
    ({"wetness": "frozen"}, False),
])  # fmt: skip
def test_only_ground_that_dries_with_the_weather_is_waited_for(ground, dries):
    edits = {f"T1.ground.{name}": value for name, value in ground.items()}
    assert bool(changes._drier(end_of(edits))) == dries


def test_no_tension_is_told_that_makes_it_another_line():
    assert min(one.value for one in changes._tensions(end_of({"L1.standing.tension": "3 kN"}))) == 1500


def change(field: str, value: float | None, limit: str = "stem") -> Remedy:
    return Remedy(said("name-alone", name=field), field, value, "", "suits if", limit)


def test_small_changes_are_told_before_large_ones():
    """Half the tension crowded out ties 5 cm lower."""
    asked = [change("standing tension", 1000), change("guy", 0.5), change("walker", 45), change("tie height", 1.15)]
    small = remedies._told(end_of({}), asked)
    assert [one.field for one in small] == ["tie height", "standing tension", "guy"]


@pytest.mark.parametrize("code, effect, fields", [
    ("limit-exceeded", "suits if", ["movement", "tie height", "another tree"]),
    ("nest-in-use", "cannot say", ["movement", "tie height", "another tree"]),
    ("base-watched", "suits if", ["sling width", "slats", "movement"]),
])  # fmt: skip
def test_three_mends_are_told_of_an_end_and_those_of_the_hold_first_where_it_refuses(code, effect, fields):
    mends = [change("movement", None), change("tie height", 1.0), change("sling width", 0.1, "bark"),
             change("slats", 6, "bark")]  # fmt: skip
    finding = SimpleNamespace(code=code, about="root plate", effect=effect)
    end = SimpleNamespace(findings=(finding,), remedies=tuple(mends))
    assert [one.field for one in fewest_told(end, (change("another tree", None, "anchor"),))] == fields



@pytest.mark.parametrize("width, wide", [("50 mm", "50 mm"), ("25 mm", "35 mm")])
def test_a_choker_that_presses_too_hard_is_first_told_to_be_a_doubled_basket(width, wide):
    """The bark of a beech in leaf was told slats and the winter alone."""
    choked = {"T1.species.name": "Fagus sylvatica", "T1.bark.form": "smooth", "T1.trunk.0.girth": "220 cm",
              "T1.height": "20 m", "L1.standing.tension": "4 kN", "L1.planned.date": "2026-05-20",
              "L1.a.sling": {"wrap": "choker", "width": width, "link_distance": "0.8 m"}}  # fmt: skip
    end = assess(record(choked)).lines[0].anchors[0]
    bark = [one for one in end.remedies if one.for_limit == "bark"]
    assert [one.what.code for one in bark][0] == "sling-as-a-doubled-basket"
    assert f"two strands of {wide} at least" in bark[0].change
    sling = {"L1.a.sling.wrap": "doubled basket", "L1.a.sling.width": wide}
    tied = assess(record(choked | sling), remedies=False).lines[0].anchors[0]
    assert tied.care_use < 1 < end.care_use and tied.verdict == "suits"
