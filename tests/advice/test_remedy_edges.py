"""Which changes are told as remedies, at the edge of each rule; what a changed end says is given by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from parks import record

from siteassess.advice import remedies
from siteassess.advice.changes import Held, TreeEnd, Try
from siteassess.advice.finding import Limit
from siteassess.advice.results import Remedy
from siteassess.errors import OutsideModel
from siteassess.reference.findings import said

HIGH = {"L1.use": "high line", "L1.span.taped": "60 m", "L1.standing.tension": "3 kN", "L1.ground": []}
PLAIN = remedies.Whole("leave it", (), "suits", (), "suits", 0.0, True, 0.0, {})
DRY, LEASHED = said("ground-firm-and-moist"), said("nobody-bounces")
LIMITS = (Limit("stem", "N m", "walked", 1.0, 1.0, 0.7), Limit("root plate", "N m", "walked", 1.0, 1.0, 1.2),
          Limit("bark", "Pa", "standing", None, None, None))  # fmt: skip


def setting(edits: dict | None = None, distance: float = 20.0) -> TreeEnd:
    made = record(edits or {})
    line = made.lines[0]
    return TreeEnd(line, "A", made.anchor("T1"), distance, 90.0, 54.5, line.planned.date)


def proved(field: str, before=PLAIN, edits: dict | None = None, what=DRY, **after) -> Remedy | None:
    """A change of the plain line that leads to what is told of it."""
    value = {"tie height": 1.0, "walker": 60.0, "standing tension": 1.5e3}[field]
    one = Try(field, value, "", what)
    return remedies._proved(setting(edits), one, before, lambda then: replace(PLAIN, verdict="suits if", **after),
                            Held(1.2, None, LIMITS))  # fmt: skip


def remedy(field: str, value: float | None = 1.0, limit: str = "stem", reaches: str = "suits if") -> Remedy:
    return Remedy(said("tie-no-higher", tie=1.0), field, value, "m", reaches, limit)


# ---- what a change may cost


def test_a_change_is_told_with_the_limit_that_is_used_most():
    told = proved("walker")
    assert (told.for_limit, told.reaches, told.still) == ("root plate", "suits if", ())


@pytest.mark.parametrize("cost", [{"touching": 0.1}, {"short": 0.1}, {"broken": {"height": 0.1}}, {"other": "leave it"},
                                  {"line": "leave it"}])
def test_no_change_is_told_that_costs_anything_elsewhere(cost):
    assert proved("walker", **cost) is None
    there = replace(PLAIN, **cost)
    assert proved("walker", there, **cost) is not None  # it was so before
    assert proved("walker", there) is not None  # and is better now


def test_a_lower_line_clears_ground_that_is_known():
    """Over ground taken as a slope it is told to be taped; one that touches is not told to hang lower."""
    touching = replace(PLAIN, touching=1.0)
    for field in ("tie height", "standing tension"):
        assert proved(field) is not None and proved(field, cleared=False) is None
        assert proved(field, touching, touching=1.0) is None
        assert proved(field, touching, {"L1.ground": []}, touching=1.0) is not None
        assert proved(field, edits=HIGH | {"L1.open_below": "20 m"}) is None  # its rim was not taped
    assert proved("walker", touching, touching=1.0) and proved("walker", cleared=False)


def test_what_is_no_better_is_no_remedy():
    before = replace(PLAIN, verdict="suits if", required=(DRY, LEASHED))
    assert proved("walker", before, required=(DRY, LEASHED)) is None
    assert proved("walker", before, required=(DRY,)) is not None  # less is asked for
    assert proved("walker", replace(PLAIN, verdict="suits")) is None


def test_what_a_change_asks_for_besides_is_told_with_it():
    """Of an end that was "leave it" it comes with its own remedies; and a change is no condition of itself."""
    assert proved("walker", required=(LEASHED, LEASHED)).still == (LEASHED,)
    assert proved("walker", others=(LEASHED,)).still == (LEASHED,)
    rejected = replace(PLAIN, other="leave it")
    assert proved("walker", rejected, others=(LEASHED,), other="leave it").still == ()
    assert proved("walker", replace(PLAIN, required=(LEASHED,)), required=(LEASHED,)).still == ()
    assert proved("walker", replace(PLAIN, others=(LEASHED,)), required=(LEASHED,)).still == ()
    assert proved("walker", what=LEASHED, required=(LEASHED,)).still == ()


# ---- the rim of a drop: trees stand back from it by up to 10 m (data/constants.csv, judgement)


@pytest.mark.parametrize("places, clears", [
    ((10, 50), True), ((0.5, 59.5), True), ((10.01, 50), False), ((10, 49.99), False), ((0, 50), False),
    ((10, 60), False), ((5,), False), ((55,), False), ((0, 60), False), ((5, 30, 50), True), ((10, 30, 55), True),
])  # fmt: skip
def test_a_rim_is_taped_by_a_row_within_ten_metres_of_either_trunk(places, clears):
    """Tied at half a metre the feet come to the ground beside the trunks wherever it lies level."""
    ties = {"L1.a.tie_height": "0.5 m", "L1.b.tie_height": "0.5 m"}
    for name in ("height", "down"):
        rows = [{"at": f"{at} m", name: "-20 m" if name == "height" else "20 m"} for at in places]
        ground = {"L1.ground" if name == "height" else "L1.ground_below": rows}
        if name == "down" and any(at in (0, 60) for at in places):
            continue
        assert remedies._clears_the_rim(setting(HIGH | ties | ground, 60.0)) is clears


def test_feet_are_held_against_level_ground_beside_the_trunks_only():
    """By hand: 75 kg at 3 kN on 60 m hang some 3.7 m under a tie at mid span, and some 2 m ten metres from a trunk."""
    def clears(tie_a: float, tie_b: float, tension: str = "3 kN") -> bool:
        ties = {"L1.a.tie_height": f"{tie_a} m", "L1.b.tie_height": f"{tie_b} m", "L1.standing.tension": tension}
        return remedies._clears_the_rim(setting(HIGH | {"L1.open_below": "20 m"} | ties, 60.0))

    assert not clears(1.2, 1.2) and clears(3.0, 3.0) and not clears(3.0, 0.8) and not clears(0.8, 3.0)
    assert clears(2.3, 2.3)  # feet at mid span would come to the ground, if it were level there


def test_no_rim_is_asked_for_under_a_hammock_or_a_line_that_is_not_worked_out():
    over = HIGH | {"L1.open_below": "20 m"}
    for unknown in ({"L1.webbing": None}, {"L1.span": None}, {"L1.a.tie_height": None}, {"L1.use": "hammock"}):
        assert remedies._clears_the_rim(setting(over | unknown, None if "L1.span" in unknown else 60.0))


# ---- both ends of a line


@pytest.mark.parametrize("here, there, both", [(2, 2, True), (2, 1, False), (1, 2, False), (2, 0, False)])
def test_what_mends_both_ends_is_sought_where_both_hold_too_little(monkeypatch, here, there, both):
    asked = []
    monkeypatch.setattr(remedies, "_sought", lambda end, whole, levers, other=None: iter(asked.append(other) or ()))
    one, other = (SimpleNamespace(held=lambda use=use: Held(use, None, ()))
                  for use in ((0.5, 0.9, 1.2)[here], (0.5, 0.9, 1.2)[there]))  # fmt: skip
    assert remedies.hold_remedies(one, None, other) == ()
    assert (other in asked) is both and None in asked


def test_a_lower_tie_takes_nothing_from_an_end_that_has_no_remedy_anyway(monkeypatch):
    tie = remedy("tie height")
    monkeypatch.setattr(remedies, "_sought", lambda end, whole, levers, other=None: iter(
        [tie] if end is here and other is None else []))  # fmt: skip
    here, there = setting(), SimpleNamespace(held=lambda: Held(1.2, None, ()))
    assert remedies.hold_remedies(here, None, there) == (tie,)


# ---- how large a change is, and which are told


def test_a_change_of_up_to_a_quarter_is_a_small_one():
    """A quarter (data/constants.csv, judgement); by hand: of 1.2 m, 2 kN, 20 m and 75 kg. A guy is never small."""
    here = setting()
    for field, planned in (("tie height", 1.2), ("standing tension", 2e3), ("span", 20.0), ("walker", 75.0)):
        assert not remedies._large(here, remedy(field, planned * 0.751)), field
        assert remedies._large(here, remedy(field, planned * 0.749)), field
    assert not remedies._large(here, remedy("span", 15.0))
    assert remedies._large(here, remedy("guy", 0.5)) and not remedies._large(here, remedy("soil wetness", None))
    assert not remedies._large(here, remedy("tie height", None))


@pytest.mark.parametrize("use, wind, refused, level", [
    (0.6, None, False, 0), (0.61, None, False, 1), (1.0, None, False, 1), (1.01, None, False, 2),
    (None, None, False, 2), (0.5, 8.0, False, 0), (0.5, 7.9, False, 1), (0.5, 5.0, False, 1), (0.5, 4.9, False, 2),
    (0.5, None, True, 2),
])  # fmt: skip
def test_the_level_of_an_end_by_its_hold_and_its_wind(use, wind, refused, level):
    """Watched over 60 %, too much over all of it; gusts of 8 and 5 m/s (data/constants.csv, judgements)."""
    assert remedies.level(Held(use, wind, (), refused)) == level


def test_an_end_no_model_reaches_bears_on_no_other():
    def held():
        raise OutsideModel("outside", "not-worked-out")

    assert remedies._level_there(SimpleNamespace(held=held)) == 0
    assert remedies._level_there(SimpleNamespace(held=lambda: Held(1.2, None, ()))) == 2


class End:
    """One end whose level is given for each value a change may take."""

    def __init__(self, levels: dict, use: str = "low line", line: float | None = None):
        self.levels, self.line, self.inputs = levels, line, SimpleNamespace(use=use, hung=use == "hammock")

    def after(self, field, value, standing=None):
        return End(self.levels, self.inputs.use, value)

    def held(self):
        return Held((0.5, 0.9, 1.2)[self.levels[self.line]], None, ())


def smallest(here: dict, there: dict | None = None, target: int = 1, use: str = "low line") -> float | None:
    tries = [Try("walker", value, "kg", DRY) for value in here]
    other = None if there is None else End(there)
    found = remedies._smallest(End(here, use), tries, target, {}, other)
    return found and found.value


def test_a_change_mends_both_ends_where_both_are_asked(monkeypatch):
    monkeypatch.setattr(remedies, "replace", lambda end, line: End(end.levels, line=line))
    here = {70.0: 2, 60.0: 1, 50.0: 0}
    assert smallest(here) == 60.0 and smallest(here, target=0) == 50.0
    assert smallest(here, {70.0: 2, 60.0: 2, 50.0: 1}) == 50.0
    assert smallest(here, {70.0: 0, 60.0: 0, 50.0: 0}) == 60.0  # the harder of the two counts
    assert smallest(here, {70.0: 2, 60.0: 2, 50.0: 2}) is None


def test_a_hammock_is_helped_by_the_first_change_that_reaches_though_the_largest_does_not():
    """Tied lower it hangs flatter and pulls more."""
    assert smallest({1.1: 2, 1.0: 1, 0.9: 2}, use="hammock") == 1.0
    assert smallest({1.1: 2, 1.0: 1, 0.9: 2}) is None


def test_what_mends_the_bark_comes_first_only_where_the_hold_needs_no_mending():
    hold, bark = remedy("tie height"), remedy("sling width", limit="bark")

    def first(*findings, others: int = 0) -> list[str]:
        told = [SimpleNamespace(code=code, about=about, effect=effect) for code, about, effect in findings]
        end = SimpleNamespace(remedies=(bark, hold), findings=told)
        return [one.field for one in remedies.fewest_told(end, (remedy("another tree"),) * others)]

    assert first() == first(("limit-watched", "hold", "suits if")) == ["sling width", "tie height"]
    assert first(("bark-pressed-beyond-slings", "bark", "cannot say")) == ["sling width", "tie height"]
    for refused in (("limit-exceeded", "hold", "suits if"), ("palm-named", "tree", "cannot say"),
                    ("stop-sign", "tree", "leave it")):  # fmt: skip
        assert first(refused) == ["tie height", "sling width"]
        assert first(refused, ("limit-watched", "hold", "suits if")) == ["tie height", "sling width"]
    assert len(first(others=3)) == 3  # no more than anybody reads
