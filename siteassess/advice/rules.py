"""The rules of the place, clause by clause: met, not met, or cannot tell. Never mixed into the verdict."""

from __future__ import annotations

import datetime
import math
from typing import Any

from siteassess.advice.results import AnchorResult, Clause, PairGeometry, RuleCheck
from siteassess.records.line import End, Line
from siteassess.records.record import Record

NOT_KNOWN = "not measured"
TO_METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "in": 0.0254}


def rule_set_of(record: Record) -> dict[str, Any] | None:
    """The record's own rules, else the shipped set it names; None where neither is given.

    Raises
    ------
    UnknownName
        No shipped set has the name.
    """
    if record.site.rules is not None:
        return record.site.rules
    if record.site.rule_set is None:
        return None
    from siteassess.reference.rules import rule_set

    return dict(rule_set(record.site.rule_set))


def check_line(rules, record: Record, line: Line, on: datetime.date, geometry: PairGeometry, clearance) -> RuleCheck:
    """The clauses that bear on a line as a whole."""
    source = str(rules.get("source", "the record"))
    clauses = [
        *_status(rules, record, source),
        *_limit("span", rules.get("max_span") or rules.get("max_line_length"), geometry.taped_m, source),
        *_months(rules, on, source),
        *_attended(rules, line, source),
        *_people(rules, line, source),
    ]
    return RuleCheck(
        str(rules.get("place", "rules of the place")), str(rules.get("as_of", "")), source,
        str(rules.get("check_current_text", "Check the current text with the land manager.")), tuple(clauses),
    )  # fmt: skip


def check_anchor(rules, record, line: Line, anchor, end: End, result: AnchorResult, on: datetime.date) -> tuple[Clause, ...]:
    """The clauses that bear on one trunk and its tie."""
    if anchor.kind != "tree":
        return ()
    source = str(rules.get("source", "the record"))
    plan = result.protection
    diameter = plan.trunk_diameter_m if plan else math.nan
    return (
        *_trunk(rules, anchor, diameter, source),
        *_limit("tie height", rules.get("max_attach_height"), result.tie_height_m, source),
        *_genus(rules, result.species, source),
        *_heritage(rules, anchor, source),
        *_padding(rules, end, source),
        *_limit("strap width", rules.get("min_strap_width"), _si(end.sling and end.sling.width), source),
    )


def _trunk(rules, anchor, diameter: float, source: str) -> list[Clause]:
    """Least diameter or girth; a limit read at another height is compared only with a reading near that height."""
    found = []
    for key, name, turn in (("min_trunk_diameter", "trunk diameter", 1.0), ("min_circumference", "girth", math.pi)):
        wanted = rules.get(key)
        if not wanted:
            continue
        at = _height_of(wanted)
        measured = diameter * turn
        if at is not None:
            near = [r for r in anchor.trunk if abs(r.read_at.si - at) <= 0.15]
            size = near[0] if near else None
            measured = ((size.diameter.si if size.diameter else size.girth.si / math.pi) * turn) if size else math.nan
        found += _limit(name, wanted, measured if math.isfinite(measured) else None, source)
    return found


def _height_of(wanted: dict) -> float | None:
    """Height the limit is read at [m]; None for the tie itself or where the rule does not say."""
    if "measured_at_m" in wanted:
        return wanted["measured_at_m"]
    parts = str(wanted.get("measured_at", "")).split()
    if len(parts) >= 2 and parts[1] in TO_METRES:
        try:
            return float(parts[0]) * TO_METRES[parts[1]]
        except ValueError:
            return None
    return None


def _limit(name: str, wanted, measured: float | None, source: str) -> list[Clause]:
    """One limit with value, unit and operator; a map by activity or an unknown unit cannot be told."""
    if not wanted:
        return []
    if not isinstance(wanted, dict) or "value" not in wanted or wanted.get("unit") not in TO_METRES:
        return [Clause(name, "cannot tell", str(wanted), NOT_KNOWN if measured is None else f"{measured:.2f} m", source)]
    limit = wanted["value"] * TO_METRES[wanted["unit"]]
    sign = wanted.get("operator", ">=")
    text = f"{sign} {wanted['value']:g} {wanted['unit']}"
    if wanted.get("measured_at"):
        text += f" at {wanted['measured_at']}"
    if measured is None or not math.isfinite(measured):
        return [Clause(name, "cannot tell", text, NOT_KNOWN, source)]
    slack = 1e-9
    met = {">=": measured >= limit - slack, ">": measured > limit + slack, "<=": measured <= limit + slack,
           "<": measured < limit - slack}[sign]  # fmt: skip
    shown = f"{measured / TO_METRES[wanted['unit']]:.3g} {wanted['unit']}"
    return [Clause(name, "met" if met else "not met", text, shown, source)]


def _status(rules, record: Record, source: str) -> list[Clause]:
    status = rules.get("status")
    if status in ("prohibited", "posts_only"):
        return [Clause("lines on trees", "not met", str(status).replace("_", " "), "a line on trees", source)]
    if rules.get("permit_required"):
        held = record.site.permission
        answer = "met" if held and held.basis == "permit" else "cannot tell"
        return [Clause("permit", answer, "a permit", held.basis if held else NOT_KNOWN, source)]
    return []


def _months(rules, on: datetime.date, source: str) -> list[Clause]:
    season = rules.get("season_restriction")
    if not isinstance(season, dict):
        return []
    closed, care = season.get("closed_months") or (), season.get("caution_months") or ()
    if closed:
        answer = "not met" if on.month in closed else "met"
        return [Clause("season", answer, f"closed in months {list(closed)}", on.isoformat(), source)]
    if care:
        told = "care asked for in this month" if on.month in care else "no care month"
        return [Clause("season", "cannot tell" if on.month in care else "met", f"care in months {list(care)}",
                       f"{on.isoformat()}, {told}", source)]  # fmt: skip
    return []


def _attended(rules, line: Line, source: str) -> list[Clause]:
    if rules.get("unattended_allowed") is not False:
        return []
    attended = line.planned.attended if line.planned else "unknown"
    answer = {"always": "met", "not always": "not met"}.get(attended, "cannot tell")
    return [Clause("attended", answer, "somebody at the line all the time", attended, source)]


def _people(rules, line: Line, source: str) -> list[Clause]:
    most = rules.get("max_people_on_line")
    if not isinstance(most, int):
        return []
    if line.walkers is None:
        return [Clause("people on the line", "cannot tell", f"<= {most}", NOT_KNOWN, source)]
    answer = "met" if line.walkers.at_once <= most else "not met"
    return [Clause("people on the line", answer, f"<= {most}", str(line.walkers.at_once), source)]


def _genus(rules, species: str, source: str) -> list[Clause]:
    barred = [str(name) for name in rules.get("forbidden_genera") or ()]
    if not barred:
        return []
    genus = species.split()[0]
    if genus in ("any", ""):
        return [Clause("genus", "cannot tell", f"not {', '.join(barred)}", "species not known", source)]
    return [Clause("genus", "not met" if genus in barred else "met", f"not {', '.join(barred)}", species, source)]


def _heritage(rules, anchor, source: str) -> list[Clause]:
    if rules.get("heritage_trees_allowed") is not False:
        return []
    answer = {"unknown": "cannot tell", "ordinary": "met"}.get(anchor.status, "not met")
    return [Clause("standing of the tree", answer, "no heritage tree", anchor.status, source)]


def _padding(rules, end: End, source: str) -> list[Clause]:
    wanted = rules.get("padding") or {}
    if not wanted.get("required"):
        return []
    pad = end.padding
    if pad is None or not pad.material:
        return [Clause("padding", "cannot tell", "padding", "none planned in the record", source)]
    found = [Clause("padding", "met", "padding", pad.material, source)]
    if wanted.get("must_encircle"):
        answer = {"whole trunk": "met", "contact only": "not met"}.get(pad.goes_round, "cannot tell")
        found.append(Clause("padding all round", answer, "round the whole trunk", pad.goes_round, source))
    found += _limit("padding thickness", wanted.get("min_thickness"), _si(pad.thickness), source)
    found += _limit("padding width", wanted.get("min_width"), _si(pad.width), source)
    return found


def _si(quantity) -> float | None:
    return quantity.si if quantity else None
