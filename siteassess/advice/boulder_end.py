"""One end of a line on a boulder: does it slide or tip, and how near is an edge?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from siteassess.advice.end_loads import LEAST_TIE, kindest_lines, load_findings
from siteassess.advice.explain import closed
from siteassess.advice.finding import Finding, Limit, found, greatest_use, least_used
from siteassess.advice.hold import divisor_for, end_loads
from siteassess.advice.judge import SUITS_UP_TO, limit_finding
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import NO_TAG, AnchorResult, Evidence, Load
from siteassess.advice.verdict import STOP_SIGNS, THING_OF_SIGN, WORST_CASE_TAKEN, Verdict, boulder_deciding, worst
from siteassess.mechanics.boulder import boulder_limits
from siteassess.mechanics.limit import REFUSALS, LimitSums, Outside
from siteassess.mechanics.scatter import percentile
from siteassess.records.anchor import Boulder
from siteassess.records.line import EndName
from siteassess.reference.constants import constants
from siteassess.reference.findings import Said, said
from siteassess.units import Quantity, quantity

DENSITY = constants("rock density by kind")  # [kg/m3] the lower end of common values
FRICTION = constants("boulder friction by bed")
KINDEST_BOULDER = {"rock": "basalt", "bed": "rock", "embedded": "deeply"}  # heaviest, roughest, deepest
SLOPE_STEP_DEG = 0.1  # how near the slope is sought on which a block just stands
NOT_NUMBERS = ("name", "unit")
BOULDER_END_ASSUMPTIONS = (DENSITY["unknown"], FRICTION["unknown"])


def judge_boulder(
    boulder: Boulder, line: LineInputs, end: EndName, bearing: float, unsummed: tuple[str, ...] = ()
) -> AnchorResult:
    """Judge a boulder as a rigid body on its slope; other lines on it are not added, so they end in "cannot say"."""
    loads, why = end_loads(line, end, bearing)
    tie = line.tie(end)
    deciding = boulder_deciding(line.use)
    missing = _missing(boulder, line, tie, deciding)
    findings = [*line.told, *_signs(boulder), *_unseen(missing)]
    if unsummed:
        findings.append(found("other-lines-on-a-boulder", "cannot say", looked_at=False, lines=unsummed))
    limits: tuple[Limit, ...] = ()
    if why:
        findings.append(found("load-unknown", "cannot say", looked_at=False, why=why))
    elif tie is not None:
        limits = _limits(boulder, line, loads, tie, bearing)
        findings += load_findings(line, loads)
    findings += _settled(limits, boulder, line, end, bearing)
    verdict = worst(f.effect for f in findings)
    if line.walk_only and _worse_with(boulder, replace(line, walk_only=False), end, bearing, unsummed, verdict):
        findings.append(found("bounced-would-not-do", "suits if"))
    if line.wider and (wide := line.at_its_widest) and _worse_with(boulder, wide, end, bearing, unsummed, verdict):
        findings.append(found("wider-would-not-do", "suits if", looked_at=False, width=line.wider.width))
    return AnchorResult(
        line_id=line.id, end=end, code=boulder.code, kind="boulder", tag=NO_TAG,
        species=f"boulder, {boulder.rock}", verdict=worst(f.effect for f in findings),
        loads=loads, limits=limits, hold_use=greatest_use(limits), care_use=None,
        evidence=Evidence(deciding, tuple(missing)),
        stop_signs=tuple(f.says for f in findings if f.about == "stop sign"), findings=tuple(findings),
        remedies=(), protection=None, rules=None, tie_height_m=tie,
        pull_bearing_true_deg=bearing if math.isfinite(bearing) else None,
        probability=max((limit.probability for limit in limits if limit.probability is not None), default=None),
        trial=(), every_step=(*_inputs_told(boulder), *map(closed, limits)),
    )  # fmt: skip


def _settled(
    limits: tuple[Limit, ...], boulder: Boulder, line: LineInputs, end: EndName, bearing: float
) -> list[Finding]:
    """What the limits mean once everything not looked at is tried at its kindest.

    Exceeded even so, a limit is exceeded, whatever kept it from being worked out; exceeded only by what stood in for a
    thing nobody looked at, it is not settled.
    """
    told = [_finding(limit) for limit in limits]
    if limits and all(limit.use is not None and limit.use <= 1 for limit in limits):
        return told
    kind, *flatter = (_kindest(tried, line, end, bearing) for tried in _no_steeper(boulder, line, end, bearing))
    for place, limit in enumerate(limits):
        if limit.exceeded and limit.name in kind and not kind[limit.name].exceeded:
            told[place] = replace(told[place].adding("what-was-unseen-might-hold"), code="limit-over-unseen",
                                  effect="cannot say", looked_at=False)  # fmt: skip
    worked_out = {limit.name for limit in limits if limit.use is not None}
    over = {limit.name: limit for tried in (*flatter, kind) for limit in tried.values() if limit.exceeded}
    for limit in over.values():
        if limit.name not in worked_out:
            told.append(found("limit-over-anyway", "leave it", limit=limit.name, case=limit.case, use=limit.use,
                              more=(said("even-at-its-kindest"),)))  # fmt: skip
    return told


def _no_steeper(boulder: Boulder, line: LineInputs, end: EndName, bearing: float) -> tuple[Boulder, Boulder, Boulder]:
    """The block as it may be at its kindest: on the slope that was seen, on level ground, on the steepest it stands on.

    On a slope that leaves its own footing in doubt nothing is worked out; what is too much for it on a lesser one is
    no less so there.
    """
    tried = boulder.model_copy(update={name: best for name, best in KINDEST_BOULDER.items()
                                       if getattr(boulder, name) == "unknown"})  # fmt: skip
    level = _sloping(tried, 0.0)
    if tried.slope is None:
        return level, level, level
    stands, slides = 0.0, abs(tried.slope.si)
    if not _footing_doubtful(tried, line, end, bearing):
        return tried, level, tried
    while slides - stands > SLOPE_STEP_DEG:
        middle = (stands + slides) / 2
        doubtful = _footing_doubtful(_sloping(tried, middle), line, end, bearing)
        stands, slides = (stands, middle) if doubtful else (middle, slides)
    return tried, level, _sloping(tried, math.floor(stands))  # nearer to it the use has no bounds


def _sloping(boulder: Boulder, slope_deg: float) -> Boulder:
    return boulder.model_copy(update={"slope": quantity(slope_deg, "deg", "angle")})


def _footing_doubtful(tried: Boulder, line: LineInputs, end: EndName, bearing: float) -> bool:
    """Whether the block may slide or tip by itself."""
    tie = _kindest_tie(tried, line, end)
    return any(limit.outside & int(Outside.FOOTING_DOUBTFUL)
               for loads in (end_loads(one, end, bearing)[0] for one in kindest_lines(line)) if loads
               for limit in _limits(tried, line, loads, tie, bearing, kind=True))  # fmt: skip


def _kindest_tie(tried: Boulder, line: LineInputs, end: EndName) -> float:
    tie = line.tie(end)
    if tie is None:  # a hammock's kindest tie may lie above the block
        tie = min(LEAST_TIE.value, tried.upright.si if tried.upright else math.inf)
    return tie


def _kindest(tried: Boulder, line: LineInputs, end: EndName, bearing: float) -> dict[str, Limit]:
    """The least limits by name that what was not looked at of the line may leave."""
    tie = _kindest_tie(tried, line, end)
    judged: list[Limit] = []
    for kind_line in kindest_lines(line):
        loads, why = end_loads(kind_line, end, bearing)
        judged += () if why else _limits(tried, kind_line, loads, tie, bearing, kind=True)
    return least_used(judged)


def _worse_with(
    boulder: Boulder, line: LineInputs, end: EndName, bearing: float, unsummed: tuple[str, ...], verdict: Verdict
) -> bool:  # fmt: skip
    """Whether the same end on another line, bounced on or of a wider webbing, gets a worse word."""
    return worst((verdict, judge_boulder(boulder, line, end, bearing, unsummed).verdict)) != verdict


def _signs(boulder: Boulder) -> list[Finding]:
    told = []
    if boulder.posted_no == "yes":
        told.append(found("stop-sign-seen", "leave it", sign=STOP_SIGNS["posted_no"]))
    if boulder.rocks_when_pushed == "yes":
        told.append(found("boulder-moves", "leave it"))
    if boulder.cracked == "yes":
        told.append(found("rock-cracked", "leave it"))
    return told


def _unseen(missing: list[str]) -> list[Finding]:
    unknown = [thing for thing in missing if thing not in (*WORST_CASE_TAKEN, "span")]
    told = [found("worst-taken", "suits", looked_at=False, thing=thing, taken=WORST_CASE_TAKEN[thing])
            for thing in missing if thing in WORST_CASE_TAKEN]  # fmt: skip
    if unknown:
        told.append(found("not-looked-at", "cannot say", looked_at=False, things=tuple(unknown)))
    return told


def _inputs_told(boulder: Boulder) -> tuple[Said, ...]:
    def typed(read: Quantity | None, unread: str) -> Said:
        return said("as-typed", typed=read.text) if read else said(unread)

    density, friction = DENSITY[boulder.rock], FRICTION[boulder.bed]
    along, across, upright = (typed(size, "step-not-taped")
                              for size in (boulder.along_pull, boulder.across_pull, boulder.upright))  # fmt: skip
    return (
        said("step-boulder", along=along, across=across, upright=upright, density=density.value, of=density.flag,
             rock=said("step-some-rock") if boulder.rock == "unknown" else boulder.rock, friction=friction.value,
             bed=said("step-some-bed") if boulder.bed == "unknown" else boulder.bed, flag=friction.flag),
        said("step-boulder-stands", slope=typed(boulder.slope, "step-not-looked-at"), embedded=boulder.embedded,
             downhill=typed(boulder.downhill, "step-downhill-unknown"),
             edge=typed(boulder.edge_distance, "step-not-looked-for")),
    )  # fmt: skip


def _missing(boulder: Boulder, line: LineInputs, tie: float | None, deciding: tuple[str, ...]) -> list[str]:
    checks = {
        "position": boulder.position is None,
        "three sizes": None in (boulder.along_pull, boulder.across_pull, boulder.upright),
        "rock": boulder.rock == "unknown", "bed": boulder.bed == "unknown", "slope": boulder.slope is None,
        "downhill direction": boulder.slope is not None and boulder.slope.si != 0 and boulder.downhill is None,
        "distance to an edge": boulder.edge_distance is None, "embedding": boulder.embedded == "unknown",
        "moves when pushed": boulder.rocks_when_pushed == "not looked", "cracks": boulder.cracked == "not looked",
        "tie height": tie is None, THING_OF_SIGN["posted_no"]: boulder.posted_no == "not looked",
    }  # fmt: skip
    return [name for name in deciding if checks.get(name, name in line.missing)]


def _limits(
    boulder: Boulder, line: LineInputs, loads: Sequence[Load], tie: float, bearing: float, kind: bool = False
) -> tuple[Limit, ...]:
    """Sliding and tipping; `kind` takes no edge near, and a downhill nobody read behind the pull."""
    def si(read: Quantity | None) -> float:
        return read.si if read else math.nan

    downhill = si(boulder.downhill)
    known = math.isfinite(bearing) and math.isfinite(downhill)
    turn = bearing - downhill if known else 180.0 if kind else 0.0  # unknown: straight downhill
    # every case with its own lift: a lesser pull that rises can ask more than the greatest level one
    pulls = [math.hypot(load.horizontal_n, min(load.vertical_n, 0.0)) for load in loads]
    rises = [math.degrees(math.atan2(max(-load.vertical_n, 0.0), load.horizontal_n)) for load in loads]
    found = boulder_limits(
        si(boulder.along_pull), si(boulder.across_pull), si(boulder.upright), tie, np.array(pulls),
        slope_deg=abs(si(boulder.slope)), pull_from_downhill_deg=turn, rise_deg=np.array(rises),
        edge_distance=math.inf if kind else si(boulder.edge_distance),
        embedded=1.0 if boulder.embedded == "deeply" else 0.0,
        density=DENSITY[boulder.rock], friction=FRICTION[boulder.bed], divisor=divisor_for(line),
    )  # fmt: skip
    return tuple(_answer(limit, loads) for limit in found)


def _answer(every: LimitSums, loads: Sequence[Load]) -> Limit:
    """One limit of the mechanics as an answer: a refusal of any case, or the case that asks the greatest share."""
    hardest_at = int(np.argmax(np.where(every.refused, np.inf, every.use)))
    limit, hardest = _one(every, hardest_at), loads[hardest_at]
    name = f"boulder {limit.name}"
    if bool(limit.refused):
        return Limit(name, "N", hardest.case, float(limit.demand), None, None, divisor=float(limit.divisor),
                     ln_sd_demand=hardest.ln_sd, outside=int(limit.outside))  # fmt: skip
    scatter = math.hypot(hardest.ln_sd, float(limit.capacity_ln_sd))
    return Limit(
        name, "N", hardest.case, float(limit.demand), float(limit.allowable), float(limit.use),
        probability=float(limit.probability(hardest.ln_sd)), capacity_median=float(limit.capacity_median),
        capacity_p05=float(limit.capacity_p05), divisor=float(limit.divisor), ln_sd_demand=hardest.ln_sd,
        ln_sd_capacity=float(limit.capacity_ln_sd),
        use_p05=float(percentile(limit.use, scatter, 0.05)), use_p95=float(percentile(limit.use, scatter, 0.95)),
        outside=int(limit.outside),
    )  # fmt: skip


def _one(every: LimitSums, at: int) -> LimitSums:
    """One case of a limit that was worked out for all of them."""
    numbers = {field.name: getattr(every, field.name)[at] for field in fields(every) if field.name not in NOT_NUMBERS}
    return replace(every, **numbers)


def _finding(limit: Limit) -> Finding:
    if limit.use is None or not SUITS_UP_TO < limit.use <= 1:
        return limit_finding(replace(limit, outside=limit.outside & int(REFUSALS)))
    return found("boulder-watched", "suits if", limit=limit.name, case=limit.case, use=limit.use)
