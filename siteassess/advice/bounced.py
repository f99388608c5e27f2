"""What besides the hold depends on nobody bouncing: bark and gear of a line that is said to be only walked."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from siteassess.advice.finding import Finding, found, worst
from siteassess.advice.hold import end_loads
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.rated_gear import gear_checks, gear_findings
from siteassess.advice.results import AnchorResult
from siteassess.mechanics.bark import PEAK_PRESSURE
from siteassess.records.line import Line
from siteassess.reference.findings import said


def bounced_findings(line: Line, inputs: LineInputs, ends: tuple[AnchorResult, ...]) -> list[Finding]:
    """The condition that nobody bounces, where bark or gear would not do and no anchor has asked for it yet."""
    if not inputs.walk_only or any(one.code == "bounced-would-not-do" for end in ends for one in end.findings):
        return []
    hard = replace(inputs, walk_only=False)
    bounced = tuple(replace(end, loads=end_loads(hard, end.end, _bearing(end))[0]) for end in ends)
    fails = [said("bark-of", tree=walked.code) for walked, hit in zip(ends, bounced)
             if _peak(walked, walked) <= PEAK_PRESSURE.value < _peak(walked, hit)]  # fmt: skip
    words = [worst(_effects(line, loaded)) for loaded in (ends, bounced)]
    fails += [said("the-gear")] * (words[0] != worst(words))
    return [found("bounced-would-not-do-for", "suits if", what=tuple(fails))] if fails else []


def _bearing(end: AnchorResult) -> float:
    return math.nan if end.pull_bearing_true_deg is None else end.pull_bearing_true_deg


def _peak(end: AnchorResult, loaded: AnchorResult) -> float:
    """Pressure on an end's bark under its hardest load, its sling being as it is [Pa]; NaN where not known."""
    plan = end.protection
    if plan is None or plan.peak_pressure_pa is None or not loaded.loads:
        return math.nan
    hardest, walked = (max(load.tension_n for load in one.loads) for one in (loaded, end))
    return plan.peak_pressure_pa * hardest / walked


def _effects(line: Line, ends: tuple[AnchorResult, ...]) -> Iterator[str]:
    return (finding.effect for finding in gear_findings(gear_checks(line, ends)))
