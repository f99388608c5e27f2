"""An excuse of `tests/excused.py` covers what its reason bears, and no more: readings, grounds, leash, lean, depth."""

from __future__ import annotations

import copy
from dataclasses import replace

import pytest
from never_better import better_by
from parks import SIGNS, data
from worse_pairs import Pair, judged, pair_of

from siteassess.advice.results import LineResult

TRUNK = [{"girth": girth, "read_at": at, "how": "taped"} for girth, at in (("188 cm", "1.8 m"), ("62 cm", "1.2 m"))]
THICK = [TRUNK[0], TRUNK[1] | {"girth": "190 cm"}]
LEANING = {"T1.lean": "6 deg", "T1.lean_toward": "90 deg",
           "T1.trial": {"date": "2026-04-18", "pull": "3 kN", "tie_height": "1.2 m", "toward": "90 deg",
                        "moved": "no"}}  # fmt: skip
THIN = {"T1.trunk.0.girth": "182.8 cm"}  # 3 % less
SHALLOW = {"T1.ground.shallow": "yes"}
OPEN, ALIKE = {"L1.open_below": "6 m"}, {"L1.open_below": "2.2 m"}  # the base is taped 2.2 m below its ties
HIGH = {"L1.use": "high line", "L1.open_below": "30 m", "L1.backup": "other tree", "L1.ground": [],
        "L1.walkers": {"mass": "80 kg", "leash": "2 m", "leash_kind": "dynamic rope"}}  # fmt: skip
UNMEASURED = {"L1.walkers.leash": None}
ASKEW = {"L1.compass.out": "120 deg", "L1.compass.back": "300 deg"}
BOUNDED = (
    ("withheld: another reading", {"T1.trunk": TRUNK}, {"T1.trunk": TRUNK[:1]}, 0.3, True),
    ("withheld: another reading", {"T1.trunk": THICK}, {"T1.trunk": THICK[:1]}, 0.3, False),
    ("thinner trunk", LEANING, THIN, 0.95, True), ("thinner trunk", LEANING, THIN, 0.8, False),
    ("thinner trunk", {f"T2{key[2:]}": value for key, value in LEANING.items()}, THIN, 0.95, False),
    ("withheld: ground shallow", SHALLOW, {"T1.ground.shallow": "not looked"}, 0.9, True),
    ("withheld: ground shallow", SHALLOW, {"T1.ground.shallow": "not looked"}, 0.8, False),
    ("withheld: ground shallow", {"T2.ground.shallow": "yes"}, {"T2.ground.shallow": "not looked"}, 0.9, False),
    ("withheld: ground of the line", {}, {"L1.ground": []}, 0.85, True),
    ("withheld: ground of the line", {}, {"L1.ground": []}, 0.55, False),
    ("withheld: open_below of the line", OPEN, {"L1.open_below": None}, 0.8, True),
    ("withheld: open_below of the line", OPEN, {"L1.open_below": None}, 0.5, False),
    ("withheld: open_below of the line", ALIKE, {"L1.open_below": None}, 0.8, False),
    ("withheld: walkers' leash", HIGH, UNMEASURED, 0.95, True),
    ("withheld: walkers' leash", HIGH, UNMEASURED, 0.8, False),
    ("withheld: walkers' leash", {"L1.walkers.leash": "2 m"}, UNMEASURED, 0.95, False),
    ("withheld: position", ASKEW, {"T1.position": None}, 0.9, True),
    ("withheld: position", ASKEW, {"T1.position": None}, 0.5, False),
)  # fmt: skip
"""What was made worse, of what record and to what, what share of end A's use was left, and whether that is excused."""


def using(answer: LineResult, use: float, verdict: str = "suits if") -> LineResult:
    """The answer with another use at end A, and nothing else."""
    end = replace(answer.anchors[0], hold_use=use, verdict=verdict)
    return replace(answer, anchors=(end, answer.anchors[1]))


@pytest.mark.parametrize("worse, edits, change, left, excused", BOUNDED,
                         ids=[f"{worse} {number}" for number, (worse, *_) in enumerate(BOUNDED)])  # fmt: skip
def test_a_use_is_excused_as_far_as_its_reason_bears(worse, edits, change, left, excused):
    made, changed = data(edits), data(edits | change)
    answer = judged(made, remedies=False)
    pair = Pair(worse, made, changed, using(answer, 0.9), using(answer, 0.9 * left))
    found = [excuse for *_, excuse in better_by(pair)]
    assert len(found) == 1 and bool(found[0]) == excused, found


WORDS = (
    ("withheld: open_below of the line", OPEN, {"L1.open_below": None}, ("leave it", "suits")),
    ("withheld: walkers' leash", HIGH, UNMEASURED, ("leave it", "suits")),
    ("withheld: position", ASKEW, {"T1.position": None},
     ("suits if", "suits")),
)  # fmt: skip


@pytest.mark.parametrize("worse, edits, change, words", WORDS, ids=[worse for worse, *_ in WORDS])
def test_a_word_is_excused_by_no_more_than_its_reason_bears(worse, edits, change, words):
    made, changed = data(edits), data(edits | change)
    answer = judged(made, remedies=False)
    before, after = (using(answer, 0.9, word) for word in words)
    found = [excuse for *_, excuse in better_by(Pair(worse, made, changed, before, after))]
    assert len(found) == 1 and found == [None]


def using_at_b(answer: LineResult, **better) -> LineResult:
    """The answer with something of its end B changed."""
    return replace(answer, anchors=(answer.anchors[0], replace(answer.anchors[1], **better)))


def with_more(answer: LineResult, where: str) -> LineResult:
    """The answer with one finding more of an end, as grave as its word and about the tree's age."""
    ends = tuple(replace(end, findings=(*end.findings, replace(end.findings[0], code="great-age", effect=end.verdict)))
                 if end.end == where else end for end in answer.anchors)  # fmt: skip
    return replace(answer, anchors=ends)


def with_nothing_told(answer: LineResult) -> LineResult:
    """The answer with nothing found of its end A."""
    return replace(answer, anchors=(replace(answer.anchors[0], findings=()), answer.anchors[1]))


def made_with(pair: Pair, edits: dict) -> dict:
    """The record as it was before, with edits of one of its parts, by the part: "L1", or a tree."""
    made = copy.deepcopy(pair.made)
    for part in (*made["anchors"], *made["lines"]):
        part |= edits.get(part.get("code") or part.get("id"), {})
    return made


A_DIP = {"ground": [{"at": f"{at} m", "height": f"{high} m"}
                    for at, high in ((0, 0), (3, -5), (30.9, -5), (33.9, 0))]}  # fmt: skip
SPOILT = (
    (2_000_073, "stop sign", lambda pair: {"before": with_more(pair.before, "A")}),  # which the end is told no more
    (2_000_073, "stop sign", lambda pair: {"after": replace(pair.after, verdict="suits if")}),  # the line is not left
    (1_000_296, "withheld: position", lambda pair: {"after": replace(pair.after, findings=())}),  # no condition
    (1_000_145, "more pull", lambda pair: {"after": using(pair.after, 19.6)}),  # by four thousandths
    (1_000_365, "more pull", lambda pair: {"after": using(pair.after, 3.9)}),  # the catch fell by a thousandth
    (1_000_368, "wider span", lambda pair: {"after": using_at_b(pair.after, hold_use=1.2)}),  # its pulls, by a 23rd
    (2_000_300, "wider span", lambda pair: {"after": using_at_b(pair.after, hold_use=0.2)}),
    (2_000_176, "withheld: fork_height", lambda pair: {"before": with_more(pair.before, "B")}),
    (1_000_112, "withheld: ground of the line", lambda pair: {"before": with_more(pair.before, "A")}),
    (1_000_112, "withheld: ground of the line", lambda pair: {"after": replace(pair.after, findings=())}),
    (2_000_220, "thinner pad", lambda pair: {"before": with_more(pair.before, "B")}),
    (4_000_001, "higher tie", lambda pair: {"made": made_with(pair, {"L1": A_DIP})}),  # it had room below it before
    (4_000_001, "higher tie", lambda pair: {"after": replace(pair.after, verdict="suits if")}),  # the line is not left
    (4_000_001, "more pull", lambda pair: {"made": made_with(pair, {"L1": A_DIP})}),
    (3_000_071, "more pull", lambda pair: {"made": pair.changed}),  # it cleared the rim before
    (4_000_064, "withheld: ground bank_distance",
     lambda pair: {"made": made_with(pair, {"T2": {"crown_spread": "25 m"}})}),  # left by its wind, whatever the bank
    (5_000_431, "lower tree", lambda pair: {"after": using(pair.after, 0.75)}),  # under seven tenths is left
    (4_000_025, "wider span", lambda pair: {"after": using(pair.after, 0.4)}),  # of two pulls over a half is left
    (4_000_025, "wider span", lambda pair: {"after": replace(pair.after, findings=pair.before.findings)}),  # loose yet
    (5_000_013, "withheld: ground of the line", lambda pair: {"before": with_more(pair.before, "A")}),
    (5_000_013, "withheld: ground of the line", lambda pair: {"after": replace(pair.after, findings=())}),
    (5_000_086, "trunk not taped", lambda pair: {"before": with_more(pair.before, "B")}),
    (5_000_277, "thinner trunk", lambda pair: {"before": with_more(pair.before, "A")}),
    (5_000_402, "withheld: ground of the line", lambda pair: {"before": with_more(pair.before, "A")}),
    (5_000_402, "withheld: ground of the line", lambda pair: {"after": replace(pair.after, findings=())}),
    (5_000_380, "withheld: opening",
     lambda pair: {"made": made_with(pair, {"T1": {"signs": dict.fromkeys(SIGNS, "yes")}})}),  # whatever the opening
    (5_000_222, "withheld: crown_spread", lambda pair: {"after": with_nothing_told(pair.after)}),
    (5_000_343, "withheld: sling off_middle", lambda pair: {"before": with_more(pair.before, "B")}),
    (2_000_220, "withheld: sling link_distance", lambda pair: {"before": with_more(pair.before, "B")}),
)
"""A pair of drawn records that takes an excuse, and what it would have to be for the excuse not to hold."""


@pytest.mark.parametrize("seed, worse, spoil", SPOILT, ids=[f"{worse} {n}" for n, (_, worse, _) in enumerate(SPOILT)])
def test_an_excuse_goes_with_what_it_rests_on(seed, worse, spoil):
    pair = pair_of(seed, worse)
    assert None not in [excuse for *_, excuse in better_by(pair)]
    assert None in [excuse for *_, excuse in better_by(replace(pair, **spoil(pair)))]
