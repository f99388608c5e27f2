"""How far the answer to a worse record got better, and by what: the bounds that `excused` sets.

Import as `from excuse_bounds import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import copy
import math
from types import SimpleNamespace

from worse import number_of
from worse_pairs import Pair, judged

from siteassess.advice.filled import crown_width_of
from siteassess.advice.finding import Finding
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.remedies import _clears_the_rim as clears_the_rim
from siteassess.advice.results import AnchorResult, LineResult
from siteassess.advice.tree_inputs import READ_BARK_SPREAD, tree_inputs
from siteassess.advice.verdict import VERDICTS
from siteassess.mechanics.ground import ground_factor
from siteassess.mechanics.limit import Outside
from siteassess.mechanics.rootplate import SOIL_FACTORS, SQUAT_PER_DIAMETER
from siteassess.mechanics.roots import DIGGING_DIAMETERS
from siteassess.records.anchor import Tree
from siteassess.records.record import Record
from siteassess.records.trunk import trunk_at
from siteassess.reference.species import find_species

DRIED = SOIL_FACTORS["saturated"].value / SOIL_FACTORS["unknown"].value * 0.999
"""What is left of a use where standing water is taken for ground nobody looked at."""
PULLS = ("tension_n", "horizontal_n")
TOGETHER = "all lines on this tree together"  # a case
UNCAPPED = 0.7  # what is left of a use where a height is not capped any longer: its scatter's part of a 5 % value
ROUGHLY = 0.99  # a load case's scatter is not of its pull alone


def _told(answer: LineResult, where: str) -> list[Finding]:
    """What is found of a place that says less than suits."""
    ends = [finding for end in answer.anchors if where in ("line", end.end) for finding in end.findings]
    return [one for one in (*(answer.findings if where == "line" else ()), *ends) if one.effect != "suits"]


def told_about(answer: LineResult, where: str) -> set[str]:
    """What the findings of a place speak of that say less than suits."""
    return {finding.about for finding in _told(answer, where)}


def lost(pair: Pair, where: str) -> set[str]:
    """What less is found of a place that says less than suits."""
    return told_about(pair.before, where) - told_about(pair.after, where)


def went(pair: Pair, where: str, before: str, only: set[str]) -> bool:
    """Whether nothing but some subjects is no longer found of a place, and they no longer bring the word it had."""
    was, now = ({(one.about.removesuffix(" exceeded"), one.effect) for one in _told(answer, where)}
                for answer in (pair.before, pair.after))  # fmt: skip
    gone = {about for about, _ in was} - {about for about, _ in now}
    return gone <= only and any((about, before) in was - now for about in only)


def ends_of(pair: Pair, where: str) -> list[tuple[AnchorResult, AnchorResult, dict, dict]]:
    """Of the ends of a place the answers before and after, and the trees they were given for."""
    every = zip(pair.before.anchors, pair.after.anchors, pair.made["anchors"], pair.changed["anchors"])
    return [end for end in every if where in ("line", end[0].end)]


def one_step(before, after) -> bool:
    return VERDICTS.index(before) - VERDICTS.index(after) == 1


def _pull_left(one: AnchorResult, other: AnchorResult) -> float:
    """The least share that is left of a load case's pull at an end."""
    now = {(load.case, name): getattr(load, name) for load in other.loads for name in PULLS}
    was = {(load.case, name): getattr(load, name) for load in one.loads for name in PULLS}
    return min((now[case] / was[case] for case in was.keys() & now.keys() if was[case]), default=1.0)


def pulls_less(pair: Pair, what, where, before, after) -> bool:
    """Whether a use fell by no more than the pulls of its end, or a word by one step where an end uses less by them."""
    if what != "word":
        return after > before * _pull_left(*ends_of(pair, where)[0][:2]) * ROUGHLY
    uses = [(_pull_left(one, other), getattr(one, name), getattr(other, name))
            for one, other, *_ in ends_of(pair, where) for name in ("hold_use", "care_use")]  # fmt: skip
    # of a hold that one limit leaves unknown the others' uses stand
    uses += [(_pull_left(one, other), was.use, now.use) for one, other, *_ in ends_of(pair, where)
             for was in one.limits for now in other.limits
             if one.hold_use is None and (was.name, was.case) == (now.name, now.case)]  # fmt: skip
    return one_step(before, after) and any(
        None not in (use, less) and use * left * ROUGHLY < less < use for left, use, less in uses)


def stands_alike(pair: Pair) -> bool:
    """Whether the line stands at the same pull with nobody on it, of which a steep one pulls level by a part."""
    alone = [load for end in (*pair.before.anchors, *pair.after.anchors) for load in end.loads
             if load.case == "standing"]  # fmt: skip
    each = [[getattr(load, name) for load in alone] for name in PULLS]
    return bool(alone) and any(min(pulls) > max(pulls) * ROUGHLY for pulls in each)


def filled_height(pair: Pair, what, where, before, after) -> bool:
    """Whether a height that was read lay under the low one filled in, or over the high one; a word goes to no pass."""
    for _, other, tree, without in ends_of(pair, where):
        filled = next((dict(one.values) for one in other.findings if one.code == "height-filled"), None)
        if filled and "height" in tree and "height" not in without:
            read = number_of(tree["height"])
            # a height that was filled in rejects nothing, whatever the tree's
            return after == "cannot say" if what == "word" else not filled["low"] <= read <= filled["high"]
    return False


def filled_crown(pair: Pair, where: str) -> bool:
    """Whether a crown was paced wider than the one that is filled in."""
    for _, _, tree, without in ends_of(pair, where):
        if "crown_spread" in tree and "crown_spread" not in without:
            kind = find_species(tree.get("species", {}).get("name", "unknown"))
            filled = crown_width_of(kind, trunk_at(Tree.model_validate(tree), None).diameter)
            if filled is not None and number_of(tree["crown_spread"]) > filled[0]:
                return True
    return False


def crown_guessed(pair: Pair, where: str) -> bool:
    """Whether a wind too much for a paced crown is too much for the one filled in too, which may be narrower."""
    # of a tree of which a limit is not known, what the crown filled in would tell is not told at all
    guessed = {"wind-take-down-low-guessed", "wind-not-worked-out-without"}
    return any("wind-take-down-low" in [told.code for told in one.findings]
               and guessed & {told.code for told in other.findings}
               for one, other, *_ in ends_of(pair, where))  # fmt: skip


def is_squat(pair: Pair, where: str) -> bool:
    """Whether an end of the worse record is a tree of under 25 diameters, whose root plate's sum rejects nothing."""
    return any(number_of(low.get("height", "1 m")) < SQUAT_PER_DIAMETER.value * diameter_m(low["trunk"][0])
               for *_, low in ends_of(pair, where) if low.get("trunk"))  # fmt: skip


def diameter_m(reading: dict) -> float:
    """Of a typed reading of a trunk, in centimetres as the pairs type them [m]."""
    return number_of(reading["girth"]) / math.pi / 100 if "girth" in reading else number_of(reading["diameter"]) / 100


def lower_tree(pair: Pair, what, where, before, after) -> bool:
    """Whether a tree's weight fell by no more than its height, its wind by a step, or it is slender no longer."""
    for one, other, tree, low in ends_of(pair, where):
        share = number_of(low.get("height", "1 m")) / number_of(tree.get("height", "1 m"))
        leans = number_of(tree.get("lean", "0 deg")) > 0
        capped = [any(limit.outside & Outside.HEIGHT_CAPPED for limit in end.limits) for end in (one, other)]
        if share < 1 and what == "hold_use":  # one beyond what its trunk bears is known less well than one within
            return leans and after > before * share**2 or capped == [True, False] and after > before * UNCAPPED
        if share < 1 and what == "word":
            slender = [any(limit.outside & Outside.SLENDER for limit in end.limits) for end in (one, other)]
            wind = {"wind", "wind exceeded"} & lost(pair, where) or went(pair, where, before, {"wind"})
            # of the wind "suits if" is the next word under "leave it"
            stepped = one_step(before, after) or wind and (before, after) == ("leave it", "suits if")
            if capped == [True, False] and one_step(before, after):
                return True
            return slender == [True, False] and before == "cannot say" or bool((leans or wind) and stepped)
    return False


def eased_to_a_pass(pair: Pair, where: str) -> bool:
    """Whether an end of a place goes from "cannot say" to "suits" with a use that falls by over three per cent."""
    return any((one.verdict, other.verdict) == ("cannot say", "suits") and None not in (use, less) and less < use * 0.97
               for one, other, *_ in ends_of(pair, where)
               for use, less in ((one.hold_use, other.hold_use), (one.care_use, other.care_use)))  # fmt: skip


def read_thinner(pair: Pair, where: str) -> bool:
    """Whether the reading withheld of an end's trunk is thinner than the first, or made it thinner at the tie."""
    for one, _, tree, without in ends_of(pair, where):
        if len(tree["trunk"]) > len(without["trunk"]):
            girths = [number_of(reading["girth"]) for reading in tree["trunk"]]
            tie = number_of(pair.made["lines"][0][one.end.lower()].get("tie_height", "1.3 m"))
            there, left = (tree_inputs(Tree.model_validate(it), tie).diameter_at(tie) for it in (tree, without))
            if girths[-1] < girths[0] or there < left:
                return True
    return False


def past_the_thinner(pair: Pair, where: str) -> bool:
    """Whether an edge lies within the roots of the trunk as it was, and beyond those of the thinner one."""
    for *_, tree, thin in ends_of(pair, where):
        thick, slim = (DIGGING_DIAMETERS.value * number_of(one["trunk"][0]["girth"]) / 100 / math.pi
                       for one in (tree, thin))  # fmt: skip
        if any(slim <= number_of(edge["distance"]) < thick for edge in tree.get("hard_edges", ())):
            return True
    return False


def slopes(line: dict) -> bool:
    """Whether one tie is over 5 cm higher than the other."""
    ground = [number_of(one["height"]) for one in line.get("ground") or [{"height": "0 m"}]]
    ties = [number_of(line[end].get("tie_height", "1 m")) for end in "ab"]
    return abs(ties[0] + ground[0] - ties[1] - ground[-1]) > 0.05


def bark_read_beyond(pair: Pair, what: str) -> bool:
    """Whether the bark whose reading was withheld was read thinner than its kind's, or over the wood thicker."""
    for tree, without in zip(pair.made["anchors"], pair.changed["anchors"]):
        read = tree.get("bark", {}).get("thickness")
        if read and not without.get("bark", {}).get("thickness"):
            name = tree.get("species", {}).get("name", "unknown")
            if name == "unknown":
                return True
            low, _, high = find_species(name).bark.thickness_m(number_of(tree["trunk"][0]["girth"]) / 314.16)
            read = number_of(read) / 1e3
            thinner, thicker = read * (1 - READ_BARK_SPREAD.value) < low, read * (1 + READ_BARK_SPREAD.value) > high
            return thinner and what != "hold_use" or thicker and what != "care_use"
    return False


def over_two_grounds(line: dict) -> bool:
    """Whether a line is said to hang over two unlike grounds: level, with a dip, or so much air."""
    dip = max((-number_of(one["height"]) for one in line.get("ground", ())), default=0.0)
    opens = number_of(line["open_below"]) if "open_below" in line else None
    if line.get("ground_between", "").startswith("level"):
        return dip > 0 or opens is not None
    tie = max(number_of(line[end].get("tie_height", "1 m")) for end in "ab")
    return opens is not None and bool(line.get("ground")) and abs(tie + dip - opens) > 0.1 * opens


def longer_leash(pair: Pair, what, before, after) -> bool:
    """Whether a high line's leash was over 1.8 m, and an answer fell by no more than it and a mass over 100 kg bear."""
    line = pair.made["lines"][0]
    walkers = line["walkers"]
    long, mass = number_of(walkers.get("leash", "0 m")) / 1.8, number_of(walkers.get("mass", "100 kg")) / 100
    if line["use"] != "high line" or long <= 1:
        return False
    heavy = max(mass, 1.0) if pair.worse == "withheld: walkers of the line" else 1.0
    return one_step(before, after) if what == "word" else after > before / long / heavy**1.5


def _slope_beside(end: AnchorResult) -> float:
    """The slope an end's root plate was judged on [deg]; NaN where it was not known."""
    grounds = [dict(step.values) for step in end.every_step if step.code == "step-ground"]
    return dict(grounds[0]["slope"].values).get("angle", math.nan) if grounds else math.nan


def gentler_ground(pair: Pair, what, where, before, after) -> bool:
    """Whether a use fell by no more than a gentler slope and the pulls bear, or a word by what the slope decides."""
    for one, other, *_ in ends_of(pair, where):
        steep, gentle = _slope_beside(one), _slope_beside(other)
        if gentle < steep:
            left = float(ground_factor(steep, math.inf, 1.0) / ground_factor(gentle, math.inf, 1.0))
            if what != "word":
                return after > before * left * _pull_left(one, other) * ROUGHLY
            return (before, after) == ("leave it", "cannot say") and "slope" in told_about(pair.after, where)
    return False


def told_how(pair: Pair, where: str) -> bool:
    """Whether nothing of an end changed but that it is told what would mend its hold, and its line is left anyway."""
    if where == "line" or pair.after.verdict != "leave it":
        return False
    one, other, *_ = ends_of(pair, where)[0]
    mends = [[remedy for remedy in end.remedies if remedy.for_limit != "bark"] for end in (one, other)]
    was, now = ((*(finding.code for finding in end.findings), end.hold_use, end.care_use) for end in (one, other))
    return was == now and not mends[0] and bool(mends[1])


def caught_softer(pair: Pair, where: str, before, after) -> bool:
    """Whether a use by a backup's catch fell by a twelfth, or one by several lines by no more than the catch did."""
    one, other, *_ = ends_of(pair, where)[0]
    cases = {limit.case for limit in one.limits}
    if "backup catch" in cases:
        return after > before * 0.92
    caught = [max((load.tension_n for load in end.loads if load.case == "backup catch"), default=0.0)
              for end in (one, other)]  # fmt: skip
    return TOGETHER in cases and caught[1] < caught[0] and after > before * caught[1] / caught[0]


def added_by_their_ways(pair: Pair, where: str) -> bool:
    """Whether lines of one tree, none of which pulls it less, were added as if one way for want of positions only."""
    loose = ["positions-too-loose" in {one.code for one in answer.findings} for answer in (pair.before, pair.after)]
    one, other, *_ = ends_of(pair, where)[0]
    return loose == [True, False] and TOGETHER in {limit.case for limit in one.limits} and _pull_left(one, other) >= 1


def has_room_to_hang_lower(pair: Pair, where: str) -> bool:
    """Whether an end of a line that is left anyway is told to be tied lower, and nothing else of its hold.

    The line as it was, tied so, touches the ground, or does not clear the rim beside its trunks.
    """
    if where == "line" or pair.after.verdict != "leave it":
        return False
    one, other, *_ = ends_of(pair, where)[0]
    was, now = ([remedy for remedy in end.remedies if remedy.for_limit != "bark"] for end in (one, other))
    if was or not now or {remedy.field for remedy in now} != {"tie height"}:
        return False
    return all(_too_low(pair, where, remedy.value) for remedy in now)


def _too_low(pair: Pair, where: str, tie: float) -> bool:
    made = copy.deepcopy(pair.made)
    made["lines"][0][where.lower()]["tie_height"] = f"{tie} m"
    line, answer = Record.model_validate(made).lines[0], judged(made, remedies=False)
    setting = SimpleNamespace(line=line, inputs=line_inputs(line, answer.geometry.distance_m))
    return bool(answer.clearance and answer.clearance.touches) or not clears_the_rim(setting)
