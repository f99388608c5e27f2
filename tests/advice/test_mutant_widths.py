"""Decisions that changed code once passed unnoticed: who may tie lower, what hangs too low, widths nobody said."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from everyday import EVERYDAY
from line_around import around, thing
from parks import record

from siteassess.advice import remedies
from siteassess.advice.assess import assess
from siteassess.advice.changes import Held, Try
from siteassess.advice.line_inputs import WALK_ONLY
from siteassess.advice.surroundings import Near, edges_on_the_map

PAIRS = {one.name: one.edits for one in EVERYDAY}
PLAIN = remedies.Whole("suits if", (), "suits", (), "suits", 0.0, True, 0.0, remedies.Broken())


# ---- a tie refused at a hold that is not known


class Refused:
    """An end tied at 2 m whose tie is refused down to some height; its hold is not known, its ground was taped."""

    def __init__(self, tie: float = 2.0, fits_at: float = 1.0, use: float | None = None):
        self.tie, self.fits_at, self.use = tie, fits_at, use
        self.inputs = SimpleNamespace(under=SimpleNamespace(how="taped"), hung=True, loading=lambda: None, tie_a=tie,
                                      span=20.0, high=False)  # fmt: skip
        self.line = SimpleNamespace(ground=[], ground_below=[])

    def held(self) -> Held:
        return Held(self.use, None, (), self.tie > self.fits_at)

    def after(self, field, value, standing):
        return Refused(value, self.fits_at, self.use)


def may_tie_lower(monkeypatch, end: Refused, **at_a_metre) -> bool:
    """`at_a_metre` changes what is found of the end tied at 1 m; wherever its tie is refused it is left."""
    monkeypatch.setattr(remedies, "lower_ties", lambda setting: [
        Try("tie height", tie, "m", remedies.said("tie-no-higher", tie=tie)) for tie in (1.5, 1.0)])  # fmt: skip
    return remedies._may_tie_lower(
        end, lambda there: replace(PLAIN, **at_a_metre) if there.tie == 1.0 else replace(PLAIN, verdict="leave it")
    )


def test_a_refused_tie_at_an_unknown_hold_may_be_lower_where_the_first_that_fits_is_not_left(monkeypatch):
    assert may_tie_lower(monkeypatch, Refused())
    assert not may_tie_lower(monkeypatch, Refused(), verdict="leave it")


def test_where_no_lower_tie_fits_either_there_is_none(monkeypatch):
    assert not may_tie_lower(monkeypatch, Refused(fits_at=0.5))


def test_a_known_hold_and_a_tie_that_fits_already_ask_for_no_lower_one(monkeypatch):
    assert not may_tie_lower(monkeypatch, Refused(use=1.2))
    assert not may_tie_lower(monkeypatch, Refused(fits_at=2.0, tie=1.0))


@pytest.mark.parametrize("worse", [{"other": "leave it"}, {"line": "leave it"}, {"short": 0.2}, {"cleared": False}])
def test_a_lower_tie_that_costs_something_elsewhere_or_clears_nobody_knows_what_is_none(monkeypatch, worse):
    assert not may_tie_lower(monkeypatch, Refused(), **worse)


# ---- a line that hangs too low


@pytest.mark.parametrize("cleared, touching, how, rim, low", [
    (True, 0.0, "taped", True, False), (False, 0.0, "taped", True, True), (True, 1.5, "taped", True, True),
    (True, 0.0, "taped", False, True), (True, 1.5, "unknown", True, False), (False, 0.0, "unknown", True, True),
    (True, 1.5, "unknown", False, True),
])  # fmt: skip
def test_any_one_of_three_is_too_low(monkeypatch, cleared, touching, how, rim, low):
    """Nobody knows that it clears; it touches ground that somebody looked at; the feet do not clear the rim."""
    monkeypatch.setattr(remedies, "_clears_the_rim", lambda then: rim)
    end = SimpleNamespace(inputs=SimpleNamespace(under=SimpleNamespace(how=how)), line=SimpleNamespace(ground=[]))
    assert remedies._hangs_too_low(end, end, replace(PLAIN, cleared=cleared, touching=touching)) is low


# ---- remedies of both ends


def test_a_tie_that_leaves_the_other_end_nothing_is_left_out_from_beside_a_guy(monkeypatch):
    """It lowers nothing, and is told alone."""

    class End:
        def __init__(self, name: str, lower: bool = False):
            self.name, self.lower, self.tie = name, lower, 1.5
            self.inputs = SimpleNamespace(standing=2e3, span=20.0, walker=800.0, tie_a=1.5, tie_b=1.5, people=1)

        def held(self):
            return Held(1.2, None, ())

        @property
        def line(self):
            return self.lower

        def after(self, field, value):
            return End(self.name, field == "tie height")

    tie, guy = (remedies.Remedy(remedies.said("tie-no-higher", tie=1.0), field, value, "m", "suits if", "stem")
                for field, value in (("tie height", 1.0), ("guy", None)))  # fmt: skip
    monkeypatch.setattr(remedies, "replace", lambda end, line: End(end.name, line))
    monkeypatch.setattr(remedies, "_sought", lambda end, whole, levers, other=None: iter(
        [] if other is not None or (end.name == "B" and end.lower) else [guy, tie]))  # fmt: skip
    assert remedies.hold_remedies(End("A"), None, End("B")) == (guy,)


@pytest.mark.parametrize("field, low, told", [
    ("tie height", False, True), ("tie height", True, False), ("standing tension", True, False),
    ("walker", True, True), ("walker", False, True),
])  # fmt: skip
def test_only_what_lowers_the_line_is_held_against_how_low_it_hangs(monkeypatch, field, low, told):
    monkeypatch.setattr(remedies, "_hangs_too_low", lambda setting, then, after: low)
    monkeypatch.setattr(remedies, "_after", lambda setting, one: "lighter")
    held = Held(1.2, None, (SimpleNamespace(use=1.2, name="stem"),))
    one = Try(field, 1.0, "m", remedies.said("tie-no-higher", tie=1.0))
    remedy = remedies._proved("as planned", one, replace(PLAIN, verdict="leave it"), lambda then: PLAIN, held)
    assert (remedy is not None) is told


# ---- what is marked, of a width nobody said


def test_an_edge_of_no_known_width_is_near_as_far_as_it_may_reach():
    """Within three diameters, 1.8 m; one of a known width, and one on record, ends where it is drawn."""
    tree = record({"T1.hard_edge_near": "no"}).anchors[0]
    asked = [bool(edges_on_the_map(tree, [Near("water", "", metres, 1.0, 270.0, *nearer)], 0.6))
             for metres, nearer in ((2.3, (1.0,)), (2.9, (1.0,)), (2.3, ()), (1.7, ()), (2.7, (0.0,)))]  # fmt: skip
    assert asked == [True, False, False, True, False]


UNREAD = {f"{code}.ground.{name}": None for code in ("T1", "T2") for name in ("downhill", "slope")}


@pytest.mark.parametrize("things, told", [
    ([(30, None)], True), ([(200, None)], False), ([(30, None), (200, None)], True), ([(200, None), (30, None)], True),
])  # fmt: skip
def test_one_thing_near_enough_may_come_down_however_far_another_lies(things, told):
    found = around(*(thing("path", (-100, north), (120, north)) for north, _ in things), **UNREAD)
    assert [one.code for one in found.findings] == ["downhill-not-checked"] * told


def last_asked(**width) -> int:
    """How far north of the line, by half metres, a path along it is still asked for [half m]."""

    def asks(half: int) -> bool:
        found = around(thing("path", (-100, half / 2), (120, half / 2), **width), **UNREAD)
        return "downhill-not-checked" in {one.code for one in found.findings}

    return max(half for half in range(60, 200) if asks(half))


def test_what_may_come_down_is_looked_for_a_wider_path_away_where_nobody_said_its_width():
    """A path is up to 4 m wide (data/constants.csv, judgement): taken as 2 m, its edge may lie 1 m nearer."""
    assert last_asked() == last_asked(width="4 m") == last_asked(width="2 m") + 2


# ---- what the word hangs on


def findings(name: str, code: str, **edits) -> list[list]:
    line = assess(record(PAIRS[name] | edits), remedies=False).lines[0]
    return [[one for one in end.findings if one.code == code] for end in line.anchors]


def test_a_line_walked_only_asks_that_nobody_bounces_where_bouncing_would_not_do():
    walked = {"L1.walkers.movement": WALK_ONLY}
    assert all(findings("ashes of 40 cm, 25 m", "bounced-would-not-do", **walked))
    assert not any(findings("beeches of 60 cm, long line", "bounced-would-not-do", **walked))


def test_a_width_nobody_read_is_told_as_not_looked_at():
    told = [one for end in findings("birch of 32 and oak of 50 cm", "wider-would-not-do",
                                    **{"L1.webbing": {"kind": "polyester"}}) for one in end]  # fmt: skip
    assert told and not any(one.looked_at for one in told)
