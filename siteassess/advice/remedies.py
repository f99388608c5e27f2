"""What would make it suit: change one field of the record, judge again, and find the smallest change that helps.

Each change is sought by judging the hold alone again and again, then done to the record and judged once as a whole:
the tree with its bark, and the line over its ground. It is only told with the verdict that this second look gave.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from siteassess.advice.changes import (
    LEVER_ASSUMPTIONS,
    LEVERS,
    OF_THE_LINE,
    EndSetting,
    Held,
    Lever,
    Try,
    lower_ties,
)
from siteassess.advice.finding import Finding
from siteassess.advice.judge import SUITS_UP_TO
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import AnchorResult, Remedy
from siteassess.advice.rules import Broken, no_further_broken
from siteassess.advice.verdict import VERDICTS, Verdict, worst
from siteassess.advice.wind_check import WIND_TO_LEAVE, WIND_TO_MIND
from siteassess.errors import OutsideModel
from siteassess.mechanics.clearance import walked_height
from siteassess.mechanics.profile import plain_slope
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import STANDARD_GRAVITY

LEAST_CLEAR = constant("least clear")
SMALL_CHANGE = constant("small change")
UNSEEN_RIM = constant("unseen rim")
REMEDY_ASSUMPTIONS = (*LEVER_ASSUMPTIONS, LEAST_CLEAR, UNSEEN_RIM, SMALL_CHANGE)
MOST_TOLD = 3  # remedies of an end that are told: no more than anybody reads (judgement)
LOWER_THE_LINE = ("tie height", "standing tension")  # fields whose remedies do


@dataclass(frozen=True)
class Whole:
    """An end judged with everything that bears on it, and what its line, its other end and the place say then."""

    verdict: Verdict
    required: tuple[Said, ...]  # of the end and of the line
    other: Verdict  # of the other end
    others: tuple[Said, ...]  # its conditions
    line: Verdict  # of what is found of the line as a whole: ground, gear, crossings
    touching: float  # how much of the line's length the walker's feet reach the ground on [m]
    cleared: bool  # whether that could be worked out
    short: float  # by how much the walker's feet come nearer to the ground than is wished for [m]
    broken: Broken

    def no_worse_than(self, before: Whole) -> bool:
        """Whether a change that leads here costs nothing elsewhere."""
        ranks = VERDICTS.index
        return (self.touching <= before.touching + 1e-6 and self.short <= before.short + 1e-6
                and no_further_broken(self.broken, before.broken)
                and ranks(self.other) <= ranks(before.other) and ranks(self.line) <= ranks(before.line))  # fmt: skip


def hold_remedies(
    setting: EndSetting, whole: Callable[[EndSetting], Whole], other: EndSetting | None = None
) -> tuple[Remedy, ...]:
    """Smallest single changes that bring a tree's or boulder's hold to what suits if watched, and to what suits.

    Where the line's other end holds too little as well, a change of the line that mends both is told before any that
    mends one, and none that leaves the other end without a remedy.

    Parameters
    ----------
    setting : EndSetting
        The end as recorded.
    whole : callable
        Judges a changed end with everything that bears on it.
    other : EndSetting, optional
        The line's other end as recorded.

    Returns
    -------
    tuple of Remedy
        Empty where stem, root plate and wind already suit or are not known, and where no single change helps.
    """
    if other is None or _level_there(other) < 2:
        return _told(setting, list(_sought(setting, whole, LEVERS)))
    found: list[Remedy] = []
    if level(setting.held()) == 2:
        found += _sought(setting, whole, [lever for lever in LEVERS if lever in OF_THE_LINE], other)
    mending_both = {remedy.field for remedy in found}
    alone = [remedy for remedy in _sought(setting, whole, LEVERS) if remedy.field not in mending_both]
    if any(remedy.field in LOWER_THE_LINE for remedy in alone) and _mendable(other, whole):
        alone = [remedy for remedy in alone if _leaves_a_remedy(setting, remedy, other, whole)]
    return _told(setting, [*found, *alone])


def _leaves_a_remedy(
    setting: EndSetting, remedy: Remedy, other: EndSetting, whole: Callable[[EndSetting], Whole]
) -> bool:
    """Whether the other end, which asks for one as well, still has a remedy once this one is done."""
    if remedy.field not in LOWER_THE_LINE:
        return True
    then = replace(other, line=setting.after(remedy.field, remedy.value).line)
    return _level_there(then) < 2 or _mendable(then, whole)


def _mendable(other: EndSetting, whole: Callable[[EndSetting], Whole]) -> bool:
    """Whether the other end has a remedy; where its hold is not known, whether a tie that is refused may be lower."""
    return any(_sought(other, whole, LEVERS)) or _may_tie_lower(other, whole)


def _may_tie_lower(setting: EndSetting, whole: Callable[[EndSetting], Whole]) -> bool:
    """Whether a tie refused at a hold that is not known has a place below it: what was seen of it still asks for one.

    Both ends lowered by their own answers would hang the line where looking at the hold would have told of neither.
    """
    held = setting.held()
    if held.hold_use is not None or not held.tie_refused:
        return False
    lower = (_after(setting, one) for one in lower_ties(setting))
    then = next((there for there in lower if not there.held().tie_refused), None)
    if then is None:
        return False
    after = whole(then)
    if after.verdict == "leave it":
        return False  # no lower tie mends it
    return after.no_worse_than(whole(setting)) and not _hangs_too_low(setting, then, after)


def _level_there(other: EndSetting) -> int:
    """The level of a line's other end: that no model reaches it is told there, and bears on nothing here."""
    try:
        return level(other.held())
    except OutsideModel:
        return 0


def _sought(
    setting: EndSetting, whole: Callable[[EndSetting], Whole], levers: Sequence[Lever], other: EndSetting | None = None
) -> Iterator[Remedy]:
    """The remedies of some kinds, the smallest first of each; with `other`, those that bring both ends to a level."""
    held = setting.held()
    now = level(held)
    if held.hold_use is None or setting.tie is None or now == 0:
        return
    before = whole(setting)
    found: list[Remedy] = []
    for lever in levers:
        tries = lever(setting)
        levels: dict[Try, int] = {}
        for target in range(now - 1, -1, -1):
            best = _smallest(setting, tries, target, levels, other)
            remedy = _proved(setting, best, before, whole, held) if best else None
            if remedy and remedy not in found and not _reached_already(found, remedy):
                found.append(remedy)
                yield remedy


def _told(setting: EndSetting, found: list[Remedy]) -> tuple[Remedy, ...]:
    """The first change of each field first, small before large, then what reaches further; as many as anybody reads."""
    fields = [remedy.field for remedy in found]
    again = [fields.index(remedy.field) != place for place, remedy in enumerate(found)]
    order = sorted(range(len(found)), key=lambda place: (again[place], _large(setting, found[place])))
    return tuple(found[place] for place in order)[:MOST_TOLD]


def _large(setting: EndSetting, remedy: Remedy) -> bool:
    """Whether it changes what was planned by more than is done in passing; a second tree for a guy is never that."""
    line = setting.inputs
    ties = [tie for tie in (line.tie_a, line.tie_b) if tie is not None]
    planned = {"tie height": setting.tie, "standing tension": line.standing, "span": line.span, "people": line.people,
               "ties": min(ties, default=None), "walker": line.walker / STANDARD_GRAVITY}.get(remedy.field)  # fmt: skip
    if planned is None or remedy.value is None:
        return remedy.field == "guy"
    return min(remedy.value, planned) < (1 - SMALL_CHANGE.value) * max(remedy.value, planned)


def level(held: Held) -> int:
    """0: the hold, and the wind on a tree, suit; 1: they suit if watched; 2: too much, not known, or no such tie."""
    wind = math.inf if held.take_down_wind is None else held.take_down_wind
    if held.hold_use is None or held.hold_use > 1 or wind < WIND_TO_LEAVE or held.tie_refused:
        return 2
    return 0 if held.hold_use <= SUITS_UP_TO and wind >= WIND_TO_MIND else 1


def _smallest(
    setting: EndSetting, tries: Sequence[Try], target: int, levels: dict[Try, int], other: EndSetting | None = None
) -> Try | None:
    """The first of ever larger changes that reaches a level, at both ends where the other is given.

    None where the largest does not. `levels` keeps what each change was found to reach, since the next target asks for
    most of them again.
    """

    def reaches(one: Try) -> bool:
        if one not in levels:
            then = _after(setting, one)
            levels[one] = level(then.held())
            if other is not None and levels[one] <= target:
                levels[one] = max(levels[one], _level_there(replace(other, line=then.line)))
        return levels[one] <= target

    if setting.inputs.hung:  # tied lower it hangs flatter and pulls more: no change is always the better
        return next(filter(reaches, tries), None)
    if not tries or not reaches(tries[-1]):
        return None
    low, high = 0, len(tries) - 1
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if reaches(tries[middle]) else (middle + 1, high)
    return tries[high]


def _after(setting: EndSetting, one: Try) -> EndSetting:
    return setting.after(one.field, one.value, one.standing)


def _proved(
    setting: EndSetting, one: Try, before: Whole, whole: Callable[[EndSetting], Whole], held: Held
) -> Remedy | None:
    """The change as a remedy with the verdict it truly reaches; None where that is no better than before."""
    then = _after(setting, one)
    after = whole(then)
    gained = VERDICTS.index(before.verdict) - VERDICTS.index(after.verdict)
    if not after.no_worse_than(before):
        return None
    if one.field in LOWER_THE_LINE and _hangs_too_low(setting, then, after):
        return None
    fewer = len(after.required) < len(before.required)
    if after.verdict == "leave it" or gained < 0 or (gained == 0 and not fewer):
        return None
    # what an end asks for that was "leave it" comes with its own remedies
    asked = (*after.required, *(after.others if before.other != "leave it" else ()))
    known = (*before.required, *before.others, one.what)  # a change is no condition of itself
    still = tuple(dict.fromkeys(condition for condition in asked if condition not in known))
    _, limit = max(((limit.use, limit.name) for limit in held.limits if limit.use is not None), key=lambda use: use[0])
    return Remedy(one.what, one.field, one.value, one.unit, after.verdict, limit, still=still,
                  with_standing_n=one.standing)  # fmt: skip


def _hangs_too_low(setting: EndSetting, then: EndSetting, after: Whole) -> bool:
    """Nobody knows that it clears, or it touches already: one condition would ask for the contrary."""
    return not after.cleared or bool(after.touching and _ground_known(setting)) or not _clears_the_rim(then)


def _ground_known(setting: EndSetting) -> bool:
    """Whether the walker would truly touch; over ground taken as a slope it is told to be taped."""
    return setting.inputs.under.how != "unknown" or len(setting.line.ground) >= 2


def _clears_the_rim(setting: EndSetting) -> bool:
    """Whether the feet clear level ground beside the trunks too, where a depth is known and nobody taped its rim.

    A trunk stands back from the rim: over open ground the drop of the sums begins at its foot, as no drop does.
    """
    inputs = setting.inputs
    loaded, tie, span = inputs.loading(), inputs.tie_a, inputs.span
    if loaded is None or tie is None or span is None or inputs.hung:
        return True
    places = [point.at.si for point in setting.line.ground_below or setting.line.ground]
    taped = (any(0 < place <= UNSEEN_RIM.value for place in places)
             and any(span - UNSEEN_RIM.value <= place < span for place in places))  # fmt: skip
    if inputs.under.how != "open below" and (taped or not inputs.high):
        return True
    on = walked_height(loaded, tie, plain_slope(span, inputs.ground_rise))
    beside = np.minimum(on.distance, span - on.distance) <= UNSEEN_RIM.value
    return short_of_clear(inputs, float(on.height[beside].min())) == 0


def short_of_clear(inputs: LineInputs, lowest: float) -> float:
    """By how much feet at their lowest place are nearer to the ground than a remedy may leave them [m]."""
    return max((LEAST_CLEAR.value if inputs.keep_clear is None else inputs.keep_clear) - lowest, 0.0)


def _reached_already(found: list[Remedy], remedy: Remedy) -> bool:
    """Whether a smaller change of the same field reaches the same, with nothing more left to ask."""
    what = (remedy.field, remedy.reaches, remedy.still)
    return any((one.field, one.reaches, one.still) == what for one in found)


# a limit that is exceeded, by a sum that rejects or by one that underrates, and what it reads once it is mended
EXCEEDED = {code: code for code in ("limit-exceeded", "wind-take-down-low", "wind-nothing-left")} | {
    "root-plate-over-squat": "limit-exceeded", "wind-take-down-low-squat": "wind-take-down-low",
    "wind-nothing-left-squat": "wind-nothing-left",
}  # fmt: skip


def mended(findings: tuple[Finding, ...], remedies: tuple[Remedy, ...]) -> list[Finding]:
    """Where a remedy was found, an exceeded limit reads "suits if" one of the remedies is taken."""
    if not remedies:
        return list(findings)
    fields = [remedy.field for remedy in remedies]
    first, *others = (remedies[fields.index(name)].in_full for name in dict.fromkeys(fields))
    changes = said("any-of", first=first, others=tuple(said("or-else", change=change) for change in others))
    return [
        replace(finding, code=code, effect="suits if", asked=changes, looked_at=True)
        if (code := EXCEEDED.get(finding.code)) else finding
        for finding in findings
    ]  # fmt: skip


def bark_borne(mends: Sequence[Remedy], findings: Sequence[Finding]) -> tuple[Remedy, ...]:
    """What mends the bark, with the word its tree gets then; beside "leave it" no other sling is worth telling."""
    word = worst(finding.effect for finding in findings if finding.code != "bark-pressed-mended")
    return tuple(replace(one, reaches=worst((word, one.reaches))) for one in mends if word != "leave it")


def fewest_told(end: AnchorResult, others: tuple[Remedy, ...]) -> tuple[Remedy, ...]:
    """What is told of an end with `others`, other trees for it: no more than anybody reads, first what weighs most.

    What mends the bark stands in its own condition too, and comes first only where the hold needs no mending.
    """
    bark = tuple(remedy for remedy in end.remedies if remedy.for_limit == "bark")
    hold = tuple(remedy for remedy in end.remedies if remedy.for_limit != "bark") + others
    refused = any(one.code in EXCEEDED or one.about != "bark" and one.effect in ("cannot say", "leave it")
                  for one in end.findings)  # fmt: skip
    return ((*hold, *bark) if refused else (*bark, *hold))[:MOST_TOLD]
