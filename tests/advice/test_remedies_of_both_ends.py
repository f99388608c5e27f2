"""Where both ends of a line hold too little, what is told first mends both, and nothing told shuts the other out."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from applied_remedy import applied
from parks import own_rules, record

from siteassess.advice import changes, remedies
from siteassess.advice.assess import assess
from siteassess.advice.rules import limits_on_a_tree, rule_set_of

# 40 m over a dip of 1 m, on trunks of 38 and 37 cm
LONG = {"L1.use": "long line", "T2.position.lon": 2.5 + 40 / 64_790, "L1.span.taped": "40 m", "L1.compass": None,
        "L1.ground": [{"at": f"{at} m", "height": f"{high} m"} for at, high in ((0, 0), (20, -1), (40, 0))],
        "L1.a.tie_height": "1.5 m", "L1.b.tie_height": "1.5 m", "L1.standing.tension": "7 kN",
        "L1.walkers.mass": "85 kg", "T1.trunk.0.girth": "120 cm", "T2.trunk.0.girth": "115 cm"}  # fmt: skip
LONG |= {f"{tree}.{size}": value for tree in ("T1", "T2") for size, value in (("height", "12 m"),
                                                                              ("crown_spread", "6 m"))}  # fmt: skip


def test_what_is_told_first_at_both_ends_mends_both_and_nothing_told_leaves_the_other_without_a_remedy():
    """Each end was told first to be tied at 0.30 m; done at one, nothing was left to the other."""
    made = record(LONG)
    ends = assess(made).lines[0].anchors
    assert all(end.hold_use > 1 and end.verdict == "suits if" for end in ends)
    first, there = (end.remedies[0] for end in ends)
    assert (first.field, first.value) == (there.field, there.value) and first.field not in ("tie height", "guy")
    after = assess(applied(made, "L1", "A", first), remedies=False).lines[0].anchors
    assert all(end.verdict != "leave it" for end in after)
    for end in ends:
        for one in end.remedies:
            assert one.field != "tie height" or one.value >= 0.8  # 2 % of 40 m


@pytest.mark.parametrize("left", [True, False])
def test_a_lower_tie_is_only_told_where_the_other_end_keeps_a_remedy(monkeypatch, left):
    """Both ends at level 2; once A hangs lower, B has a remedy or none, as `left` says."""
    class End:
        def __init__(self, name: str, line: str = "as planned"):
            self.name, self.line, self.tie = name, line, 1.5
            self.inputs = SimpleNamespace(standing=2e3, span=20.0, walker=800.0, tie_a=1.5, tie_b=1.5, people=1)

        def held(self):
            return changes.Held(1.2, None, ())

        def after(self, field, value):
            return End(self.name, "A lower")

    tie = remedies.Remedy(remedies.said("tie-no-higher", tie=1.0), "tie height", 1.0, "m", "suits if", "stem")
    monkeypatch.setattr(remedies, "level", lambda held: 2)
    monkeypatch.setattr(remedies, "replace", lambda end, line: End(end.name, line))
    monkeypatch.setattr(remedies, "_sought", lambda end, whole, levers, other=None: iter(
        [tie] if other is None and (end.name == "A" or end.line == "as planned" or left) else []))
    assert remedies.hold_remedies(End("A"), None, End("B")) == ((tie,) if left else ())


@pytest.mark.parametrize("left", [{}, {"T2.signs.dead_tree": "yes"}])
@pytest.mark.parametrize("seen", [{}, {"T2.roots": None}])
@pytest.mark.parametrize("height", ["0 m", "-0.5 m"])
def test_what_nobody_looked_at_leaves_the_other_end_no_more_room(seen, height, left):
    """T2's tie lies in its crown and wants to be lower too; with both ties lower the line lies on level ground.

    With T2's roots not looked at its hold is not known, and T1 was told to be tied lower as if T2 asked for nothing.
    A T2 that is left whatever its tie asks for none.
    """
    long = {"T2.position.lon": 2.5 + 45.7 / 64_790, "L1.span.taped": "45.7 m", "L1.use": "long line",
            "L1.compass": None, "L1.standing.tension": "6 kN", "L1.a.tie_height": "2 m", "L1.b.tie_height": "2 m",
            "L1.ground": [{"at": f"{at} m", "height": high} for at, high in ((0, "0 m"), (22.9, height),
                                                                             (45.7, "0 m"))],
            "T1.trunk.0.girth": "110 cm", "T2.crown_base": "1.7 m"}  # fmt: skip
    long |= {f"{tree}.{size}": value for tree in ("T1", "T2") for size, value in (("height", "14 m"),
                                                                                  ("crown_spread", "4 m"))}  # fmt: skip
    here, there = assess(record(long | seen | left)).lines[0].anchors
    assert here.hold_use > 1 and "tie-in-the-crown" in {one.code for one in there.findings}
    assert (there.hold_use is None) is bool(seen)
    assert ("tie height" in {one.field for one in here.remedies}) is (height != "0 m" or bool(left))


ONE_LINE = {"id": "l", "kind": "lines per tree", "operator": "<=", "value": 1}


@pytest.mark.parametrize(("rules", "codes", "words"), [
    (None, ["guy-under-rules-unknown"], "not known"), (own_rules(), [], ""),
    (own_rules(ONE_LINE), ["guy-under-a-limit"], "<= 1"), (own_rules(ONE_LINE | {"uses": ["hammock"]}), [], ""),
])  # fmt: skip
def test_a_guy_is_told_with_the_limit_that_a_place_sets_to_lines_on_a_tree(rules, codes, words):
    told = limits_on_a_tree(rule_set_of(record({"site.rules": rules})), "low line")
    assert [one.code for one in told] == codes and words in "".join(one.in_words() for one in told)


def test_the_guy_that_is_told_carries_the_limit_and_says_what_it_needs(monkeypatch):
    monkeypatch.setattr(remedies, "LEVERS", (changes._guyed,))
    slim = {"T1.trunk.0.girth": "113 cm", "T1.height": "12 m", "T1.crown_spread": "4 m", "L1.a.tie_height": "2.2 m"}
    end = assess(record(slim | {"site.rules": own_rules(ONE_LINE)})).lines[0].anchors[0]
    (guy,) = (one for one in end.remedies if one.field == "guy")
    assert "<= 1" in guy.change and "has to stand there" in guy.change and "eased" in guy.change
