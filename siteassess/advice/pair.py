"""The two ends together: agreement of the measurements, the weaker end, the pair's probability, the gear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from siteassess.advice.end_details import uneven_factor
from siteassess.advice.load_findings import BACKUP
from siteassess.advice.mixed_units import mixed_units
from siteassess.advice.results import VERDICTS, AnchorResult, Finding, PairGeometry
from siteassess.mechanics.gear import BREAKING_FACTOR, Part, PartCheck, check_gear, gear_line, length_line
from siteassess.mechanics.scatter import any_exceeds_shared_demand
from siteassess.mechanics.sling import CHOKER_OF_VERTICAL
from siteassess.records.line import End, Line, Webbing

WEAKER_LOCK = "webbing lock, single wrap"


def pair_findings(line: Line, geometry: PairGeometry, anchor: Callable) -> list[Finding]:
    """What the geometry of the pair means for the line."""
    if geometry.level == "reject":
        return [Finding("agreement", "cannot say", geometry.agreement, looked_at=False)]
    if geometry.level == "flag":
        return [Finding("agreement", "suits if", geometry.agreement, "the doubtful reading is taken again")]
    if doubt := mixed_units(geometry):
        return [Finding("agreement", "suits if", doubt, "the span is taped again, and its unit is right")]
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


def rated_gear(line: Line, ends: tuple[AnchorResult, ...], span: float | None = None) -> tuple[str, ...]:
    """The gear line every result carries, each part that was checked, and whether listed webbing reaches.

    `span` is the straight distance between the ties [m].
    """
    if not any(end.loads for end in ends):
        return ("gear: not checked (the load is not known)",)
    checks = _checks(line, ends)
    told = [f"{check.name}: factor {check.factor:.1f}, wanted {check.wanted:g}: {check.answer}" for check in checks
            if check.answer != "not checked"]  # fmt: skip
    if line.webbing and line.webbing.length and span is not None:
        told.append(length_line("webbing", line.webbing.length.si, span))
    return (gear_line(checks), *told)


def gear_findings(line: Line, ends: tuple[AnchorResult, ...]) -> list[Finding]:
    """What gear that is not enough means for the line; gear that was not checked means nothing.

    A working load limit holds its maker's factor, so passing it is not yet past the break; three times past it is.
    """
    found = []
    for check in _checks(line, ends):
        if check.answer != "not enough":
            continue
        told = f"{check.name} has {check.factor:.1f} times the governing load, wanted {check.wanted:g}"
        if check.factor * BREAKING_FACTOR < check.wanted:
            found.append(Finding("gear", "leave it", f"{told}: this gear is weaker than the load"))
        else:
            found.append(Finding("gear", "suits if", told, f"{check.name} is replaced by stronger gear"))
    return found


def _checks(line: Line, ends: tuple[AnchorResult, ...]) -> tuple[PartCheck, ...]:
    """Every rated part against the hardest case; none where no load is known."""
    tensions = [load.tension_n for end in ends for load in end.loads]
    walked = [load.tension_n for end in ends for load in end.loads if load.case != BACKUP]
    if not tensions:
        return ()
    parts = [Part(piece.what, piece.rating.si, piece.rating_is == "working load limit", piece.knot or "none")
             for piece in line.gear]  # fmt: skip
    share = max(walked) / max(tensions)  # a backup catch is borne by the backup's webbing, not by this one
    rated = [(name, webbing) for name, webbing in _webbings(line) if webbing.strength]
    parts += [replace(_webbing_part(webbing, name), share=share) for name, webbing in rated]
    parts += [_sling_part(end, result) for end, result in zip(line.ends, ends) if _sling_known(end, result)]
    return check_gear(parts, max(tensions))


def _webbings(line: Line):
    """Every webbing of the line with its name."""
    if not line.sections:
        return (("webbing", line.webbing),) if line.webbing else ()
    return tuple((f"webbing {number} from A", section) for number, section in enumerate(line.sections, 1))


def _webbing_part(webbing: Webbing, name: str) -> Part:
    """A webbing at the strength its ends leave; where nobody said what holds it, the weaker lock is taken."""
    if webbing.held_by:
        return Part(f"{name} held by {webbing.held_by}", webbing.strength.si, end=webbing.held_by)
    return Part(f"{name} (what holds its ends was not said: {WEAKER_LOCK} taken)", webbing.strength.si, end=WEAKER_LOCK)


def _sling_known(end: End, result: AnchorResult) -> bool:
    return bool(end.sling and end.sling.rating and result.protection and result.loads)


def _sling_part(end: End, result: AnchorResult) -> Part:
    """One strand of a sling at its share of the pull: legs that share it unevenly, a choker at its reduced strength."""
    strand = result.protection.strand_tension_n
    share = strand / _standing(result) if strand else 1.0
    choked = CHOKER_OF_VERTICAL[0] if end.sling.wrap == "choker" else "none"
    return Part(f"sling at {end.anchor}", end.sling.rating.si, end.sling.rating_is == "working load limit",
                end=choked, share=share * uneven_factor(result.protection, end))  # fmt: skip


def _standing(result: AnchorResult) -> float:
    return next(load.tension_n for load in result.loads if load.case in ("standing", "lying"))
