"""The two ends together: agreement of the measurements, the weaker end, the pair's probability."""

from __future__ import annotations

from collections.abc import Callable

from siteassess.advice.finding import VERDICTS, Finding, found
from siteassess.advice.mixed_units import mixed_units
from siteassess.advice.results import AnchorResult, PairGeometry
from siteassess.mechanics.scatter import any_exceeds_shared_demand
from siteassess.records.line import Line


def pair_findings(line: Line, geometry: PairGeometry, anchor: Callable) -> list[Finding]:
    """What the geometry of the pair means for the line."""
    if geometry.level == "reject":
        return [found("readings-disagree", "cannot say", looked_at=False, says=geometry.told)]
    if geometry.level == "flag":
        return [found("reading-doubtful", "suits if", says=geometry.told)]
    if doubt := mixed_units(geometry):
        return [found("unit-of-the-tape", "suits if", doubt=doubt)]
    return []


def weaker(ends: tuple[AnchorResult, ...]) -> str | None:
    """Code of the end with the worse verdict, then the greater use; None where the ends cannot be told apart."""
    def rank(end: AnchorResult):
        return VERDICTS.index(end.verdict), end.hold_use or 0.0, end.care_use or 0.0

    first, second = ends
    if rank(first) == rank(second):
        return None
    return max(ends, key=rank).code


def pair_probability(ends: tuple[AnchorResult, ...]) -> float | None:
    """Probability that any hold limit at either end is exceeded, under one uncertain pull."""
    limits = [limit for end in ends for limit in end.limits if limit.name != "bark"]
    if not limits or any(limit.capacity_median is None or limit.ln_sd_demand is None for limit in limits):
        return None
    return float(any_exceeds_shared_demand(
        [limit.demand for limit in limits], max(limit.ln_sd_demand for limit in limits),
        [limit.capacity_median for limit in limits], [limit.ln_sd_capacity for limit in limits],
    ))  # fmt: skip
