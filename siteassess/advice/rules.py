"""The rules of the place, clause by clause: met, not met, or cannot tell. Never mixed into the verdict.

A clause that cannot be held against a measured value answers "cannot tell"; silence of a rule set is no permission.
"""

from __future__ import annotations

import calendar
import datetime
import math

from siteassess.advice.results import AnchorResult, Clause, LineResult, RuleCheck
from siteassess.advice.rule_things import list_clause, thing_clause
from siteassess.records.anchor import Tree
from siteassess.records.line import End, Line
from siteassess.records.record import Record
from siteassess.reference.rules import (
    CountClause,
    HoursClause,
    ListClause,
    MonthsClause,
    RuleSet,
    SizeClause,
    ThingClause,
    read_rule_set,
    rule_set,
)

NOT_KNOWN = "not measured"
NEAR_READING_M = 0.15  # a size read this close to the rule's own height is held against it (judgement)
USE_WORDS = {"hammock": ("hammock", "any line"), "aerial equipment": ("any line",)}
WALKED_WORDS = ("slackline", "tightrope", "any line")
STATUS_ANSWER = {
    "prohibited": "not met", "posts only": "not met", "named places only": "cannot tell",
    "named trees and posts only": "cannot tell", "approval needed": "cannot tell",
    "written permission needed": "cannot tell",
    "superseded": "cannot tell",
}  # fmt: skip


def rule_set_of(record: Record) -> RuleSet | None:
    """The record's own rules, else the shipped set it names; None where neither is given.

    Raises
    ------
    UnknownName
        No shipped set has the name.
    FaultyInput
        The record's own rules are faulty, with all faults.
    """
    if record.site.rules is not None:
        return read_rule_set(record.site.rules, "site.rules")
    return rule_set(record.site.rule_set) if record.site.rule_set else None


def check_end(rules: RuleSet, record: Record, line: Line, tree: Tree, end: End, result: AnchorResult,
              whole: LineResult, on: datetime.date) -> RuleCheck:  # fmt: skip
    """Every clause that bears on one end of a line.

    Parameters
    ----------
    result, whole : what was worked out for this end and for the line
    on : day of the line
    """
    words = USE_WORDS.get(line.use, WALKED_WORDS)
    source = f"{rules.source.title}, as of {rules.as_of}"
    answers = list(_status(rules, record, source))
    for clause in rules.clauses:
        if clause.uses and not set(clause.uses) & set(words):
            continue
        found = _answer(clause, record, line, tree, end, result, whole, on)
        told = f"{source}, clause {clause.id}" + (" (second hand)" if clause.second_hand or rules.second_hand else "")
        answers.append(Clause(f"{clause.kind}", *found, told))
    if not set(rules.uses) & set(words):
        answers.append(Clause("use", "cannot tell", f"rules for {', '.join(rules.uses)}", line.use, source))
    return RuleCheck(rules.place, rules.as_of, rules.source.title, rules.check_current_text, tuple(answers))


def _status(rules: RuleSet, record: Record, source: str):
    answer = STATUS_ANSWER.get(rules.status)
    if answer is None:
        return
    permission = record.site.permission
    held = permission is not None and permission.basis == "permit"
    if answer == "cannot tell" and held and rules.status in ("approval needed", "written permission needed"):
        answer = "met"
    yield Clause("status", answer, rules.status, f"permission: {permission.basis if permission else 'unknown'}", source)


def _answer(clause, record, line, tree, end, result, whole, on) -> tuple[str, str, str]:
    """(answer, what is wanted, what was measured) of one clause."""
    if isinstance(clause, SizeClause):
        return _size(clause, line, tree, end, result, whole)
    if isinstance(clause, CountClause):
        return _count(clause, record, line, end)
    if isinstance(clause, ThingClause):
        return thing_clause(clause, record, line, tree, end, result)
    if isinstance(clause, ListClause):
        return list_clause(clause, tree, end, result)
    if isinstance(clause, MonthsClause):
        return _months(clause, on)
    if isinstance(clause, HoursClause):
        return _hours(clause, line, record, tree, on)
    return "cannot tell", clause.wording, "a person on the spot must say"


def _size(clause: SizeClause, line, tree, end, result, whole) -> tuple[str, str, str]:
    wanted = f"{clause.operator} {clause.value:g} {clause.unit}" + _where(clause)
    limit = clause.value_m
    if limit is None:  # counts in sling widths
        width = _si(end.sling and end.sling.width)
        limit = clause.value * width * (result.protection.strands if result.protection else 1) if width else None
    measured = _measured(clause, line, tree, end, result, whole)
    if measured is None or limit is None or not math.isfinite(measured):
        return "cannot tell", wanted, NOT_KNOWN
    slack = 1e-9
    met = {">=": measured >= limit - slack, ">": measured > limit + slack, "<=": measured <= limit + slack,
           "<": measured < limit - slack}[clause.operator]  # fmt: skip
    return ("met" if met else "not met"), wanted, _shown(measured, clause.unit)


def _where(clause: SizeClause) -> str:
    at = clause.measured_at
    if at is None:
        return f" to {clause.distance_to}" if clause.distance_to else ""
    place = {"attachment": "at the attachment", "mid-span": "at mid-span", "ground up": "above ground"}[at.place]
    return f" {at.height.value:g} {at.height.unit} above ground" if at.height else f" {place}"


def _measured(clause: SizeClause, line, tree, end, result, whole) -> float | None:
    """What was measured for a clause [m]; None where nothing was."""
    pad, sling, geometry = end.padding, end.sling, whole.geometry
    if clause.kind in ("trunk diameter", "trunk girth"):
        size = _trunk(tree, clause.measured_at_m, result)
        return None if size is None else size * (math.pi if clause.kind == "trunk girth" else 1.0)
    if clause.kind == "line height":
        if clause.measured_at and clause.measured_at.place == "mid-span":
            return whole.clearance.mid_height_loaded_m if whole.clearance else _si(line.mid_height)
        return result.tie_height_m
    return {
        "attach height": result.tie_height_m,
        "span": geometry.taped_m or geometry.distance_m, "line length": geometry.taped_m or geometry.distance_m,
        "strap width": _si(sling and sling.width), "pad thickness": _si(pad and pad.thickness),
        "pad width": _si(pad and pad.width), "distance": None,
        "clear stem": _si(tree.fork_height) or _si(tree.crown_base), "crown base": _si(tree.crown_base),
        "tree height": _si(tree.height),
    }[clause.kind]  # fmt: skip


def _trunk(tree: Tree, height: float | None, result: AnchorResult) -> float | None:
    """Diameter at the tie, or as read near the height the rule names [m]."""
    if height is None:
        return result.protection.trunk_diameter_m if result.protection else None
    near = [reading for reading in tree.trunk if abs(reading.read_at.si - height) <= NEAR_READING_M]
    if not near:
        return None
    nearest = min(near, key=lambda reading: abs(reading.read_at.si - height))
    return nearest.diameter.si if nearest.diameter else nearest.girth.si / math.pi


def _shown(metres: float, unit: str) -> str:
    from siteassess.reference.rules import METRES

    factor = METRES.get(unit)
    return f"{metres:.3g} m" if factor is None else f"{metres / factor:.3g} {unit}"


def _count(clause: CountClause, record: Record, line: Line, end: End) -> tuple[str, str, str]:
    wanted = f"{clause.operator} {clause.value}"
    if clause.kind == "people on the line":
        count = line.walkers.at_once if line.walkers else None
    else:
        count = sum(end.anchor in (other.a.anchor, other.b.anchor) for other in record.lines)
    if count is None:
        return "cannot tell", wanted, NOT_KNOWN
    met = {">=": count >= clause.value, ">": count > clause.value, "<=": count <= clause.value,
           "<": count < clause.value}[clause.operator]  # fmt: skip
    return ("met" if met else "not met"), wanted, str(count)


def _months(clause: MonthsClause, on: datetime.date) -> tuple[str, str, str]:
    names = ", ".join(datetime.date(2000, month, 1).strftime("%b") for month in clause.months)
    if on.month not in clause.months:
        return "met", f"{clause.asks} in {names}", on.isoformat()
    return ("not met" if clause.asks == "closed" else "cannot tell"), f"{clause.asks} in {names}", on.isoformat()


def _hours(clause: HoursClause, line: Line, record: Record, tree: Tree, on: datetime.date) -> tuple[str, str, str]:
    wanted = f"{_event(clause.start)} to {_event(clause.end)}"
    planned = line.planned
    if planned is None or planned.start is None or planned.end is None:
        return "cannot tell", wanted, "no times planned"
    return "cannot tell", wanted, f"{planned.start} to {planned.end}"


def _event(event) -> str:
    if not event.offset_min:
        return event.event
    return f"{abs(event.offset_min)} min {'after' if event.offset_min > 0 else 'before'} {event.event}"


def _si(quantity) -> float | None:
    return quantity.si if quantity else None


def clause_words(clause) -> str:
    """One clause in words, with what it holds for."""
    if isinstance(clause, SizeClause):
        told = f"{clause.kind} {clause.operator} {clause.value:g} {clause.unit}{_where(clause)}"
    elif isinstance(clause, CountClause):
        told = f"{clause.kind} {clause.operator} {clause.value}"
    elif isinstance(clause, ThingClause):
        told = f"{clause.kind} {clause.asks}" + (f", if {clause.when}" if clause.when else "")
        told += f", for lines over {clause.over.value:g} {clause.over.unit}" if clause.over else ""
    elif isinstance(clause, ListClause):
        told = f"{clause.kind} {clause.asks}: {', '.join(clause.names)}"
    elif isinstance(clause, MonthsClause):
        told = f"months of {'closure' if clause.asks == 'closed' else 'care'}: {_month_names(clause)}"
    elif isinstance(clause, HoursClause):
        told = f"hours: {_event(clause.start)} to {_event(clause.end)}"
    else:
        told = f"to be looked at: {clause.wording}"
    uses = f" [{', '.join(clause.uses)} only]" if clause.uses else ""
    note = f" ({clause.note})" if clause.note else ""
    return told + uses + note + (" (second hand)" if clause.second_hand else "")


def _month_names(clause: MonthsClause) -> str:
    return ", ".join(calendar.month_abbr[month] for month in clause.months)
