"""What would make it suit: change one field of the frozen case, judge again, bisect for the smallest change.

A remedy is only told when judging the changed case again reached what it promises.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from siteassess.advice.judge import SUITS_UP_TO, EndCase, HoldJudgement, judge_hold
from siteassess.advice.results import Remedy, Verdict
from siteassess.advice.wind_check import LEAVE_BELOW, STAYS_BELOW
from siteassess.units import show

LEAST_TIE_M = 0.3  # lower, the flare and the roots are in the way (judgement)
LEAST_STANDING_N = 500.0  # less is no walked line (judgement)
LEAST_WALKER_N = 30 * 9.80665  # a light person (judgement)
TIE_STEP_M, STANDING_STEP_N, WALKER_STEP_N = 0.05, 100.0, 5 * 9.80665


def hold_remedies(case: EndCase, judged: HoldJudgement) -> tuple[Remedy, ...]:
    """Smallest single changes that bring stem and root use down to what suits, else to what suits if watched.

    Parameters
    ----------
    case, judged : the end as it is, and its judgement

    Returns
    -------
    tuple of Remedy
        Empty where nothing is exceeded and nothing lies in the watched band, or where no single change helps.
    """
    if judged.hold_use is None or case.tie is None or (judged.hold_use <= SUITS_UP_TO and not _too_windy(judged)):
        return ()
    found = []
    for solve in (_lower_tie, _less_tension, _lighter_walker, _drier_ground, _guy):
        remedy = solve(case, judged)
        if remedy is not None:
            found.append(remedy)
    return tuple(found)


def _lower_tie(case: EndCase, judged: HoldJudgement) -> Remedy | None:
    key = "tie_a" if case.end == "A" else "tie_b"

    def changed(tie: float) -> EndCase:
        return replace(case, line=replace(case.line, **{key: tie}))

    tie, reaches = _search(changed, case.tie, LEAST_TIE_M, TIE_STEP_M, judged)
    if tie is None:
        return None
    return Remedy(f"the tie sits at {show(tie, 'm', 2)} or lower", "tie height", tie, "m", reaches, _worst_limit(judged))


def _less_tension(case: EndCase, judged: HoldJudgement) -> Remedy | None:
    if case.line.standing is None:
        return None

    def changed(standing: float) -> EndCase:
        return replace(case, line=replace(case.line, standing=standing))

    standing, reaches = _search(changed, case.line.standing, LEAST_STANDING_N, STANDING_STEP_N, judged)
    if standing is None:
        return None
    return Remedy(f"the standing tension is {show(standing, 'kN', 2)} or less", "standing tension", standing, "N",
                  reaches, _worst_limit(judged))  # fmt: skip


def _lighter_walker(case: EndCase, judged: HoldJudgement) -> Remedy | None:
    load = case.line.load
    if load is None:
        return None

    def changed(lighter: float) -> EndCase:
        return replace(case, line=replace(case.line, load=lighter))

    lighter, reaches = _search(changed, load, LEAST_WALKER_N, WALKER_STEP_N, judged)
    if lighter is None:
        return None
    mass = lighter / 9.80665
    return Remedy(f"nobody heavier than {mass:.0f} kg is on it", "walker", mass, "kg", reaches, _worst_limit(judged))


def _drier_ground(case: EndCase, judged: HoldJudgement) -> Remedy | None:
    if case.tree.soil == "firm":
        return None
    dry = judge_hold(replace(case, tree=case.tree.with_soil("firm")))
    reaches = _reached(dry)
    if reaches is None or not _better(dry, judged):
        return None
    return Remedy("the ground is firm and no more than moist", "soil wetness", None, "", reaches, _worst_limit(judged))


def _guy(case: EndCase, judged: HoldJudgement) -> Remedy | None:
    held = judge_hold(replace(case, guyed=0.5))
    reaches = _reached(held)
    if reaches is None or not _better(held, judged):
        return None
    return Remedy("a guy to a second tree behind it takes half of the pull, and that tree is judged too", "guy", 0.5, "",
                  reaches, _worst_limit(judged))  # fmt: skip


def _search(
    changed: Callable[[float], EndCase], now: float, least: float, step: float, judged: HoldJudgement
) -> tuple[float | None, Verdict | None]:
    """The value nearest to the present one, on a grid, that reaches the best verdict this change can reach."""
    count = math.floor((now - least) / step + 1e-9)
    if count < 1:
        return None, None
    values = [math.floor(now / step + 1e-9) * step - step * i for i in range(count + 1)]
    values = [value for value in values if least - 1e-9 <= value < now - 1e-9]
    if not values:
        return None, None
    best = _reached(judge_hold(changed(values[-1])))
    # from "exceeded" to "suits if watched" is help; from there only "suits" is
    if best is None or (best == "suits if" and not _stopped(judged)):
        return None, None
    low, high = 0, len(values) - 1
    while low < high:
        middle = (low + high) // 2
        if _reached(judge_hold(changed(values[middle]))) == best or (
            best == "suits if" and _reached(judge_hold(changed(values[middle]))) == "suits"
        ):
            high = middle
        else:
            low = middle + 1
    return round(values[high], 6), best


def _reached(judged: HoldJudgement) -> Verdict | None:
    """What stem and root plate alone would now allow; None where still exceeded or not known."""
    if judged.hold_use is None or _stopped(judged):
        return None
    calm = judged.take_down_wind is None or judged.take_down_wind >= STAYS_BELOW
    return "suits" if judged.hold_use <= SUITS_UP_TO and calm else "suits if"


def _stopped(judged: HoldJudgement) -> bool:
    """Whether stem, root plate or wind alone says "leave it"."""
    return judged.exceeded or _too_windy(judged)


def _too_windy(judged: HoldJudgement) -> bool:
    return judged.take_down_wind is not None and judged.take_down_wind < LEAVE_BELOW


def _better(new: HoldJudgement, old: HoldJudgement) -> bool:
    return _stopped(old) or _reached(new) == "suits"


def _worst_limit(judged: HoldJudgement) -> str:
    return max((limit for limit in judged.limits if limit.use is not None), key=lambda limit: limit.use).name
