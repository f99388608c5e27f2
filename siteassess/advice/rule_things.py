"""Clauses that require or bar a thing, or name genera, species, places and materials."""

from __future__ import annotations

from siteassess.advice.results import AnchorResult
from siteassess.errors import UnknownName
from siteassess.records.anchor import Tree
from siteassess.records.line import End, Line
from siteassess.records.record import Record
from siteassess.reference.rules import ListClause, ThingClause
from siteassess.reference.species import find_species

THICK_BARK_M = 0.015  # as in the bark limit (judgement)


def thing_clause(clause: ThingClause, record: Record, line: Line, tree: Tree, end: End, result: AnchorResult):
    """(answer, wanted, measured) of a thing that is required or barred."""
    wanted = f"{clause.kind} {clause.asks}"
    if clause.over is not None:
        wanted += f" for lines over {clause.over.value:g} {clause.over.unit}"
        span = line.span.taped.si if line.span else None
        if span is None:
            return "cannot tell", wanted, "span not measured"
        if span <= clause.over.metres:
            return "met", wanted, f"the line is {span:.1f} m"
    there, shown = _present(clause.kind, record, line, tree, end, result)
    if clause.when:
        return "cannot tell", f"{wanted}, if {clause.when}", shown
    if there is None:
        return "cannot tell", wanted, shown
    return ("met" if there == (clause.asks == "required") else "not met"), wanted, shown


def _present(kind: str, record, line, tree, end, result) -> tuple[bool | None, str]:
    """Whether a thing is there, None where the record does not say, and what it says."""
    pad, sling, planned = end.padding, end.sling, line.planned
    if kind == "padding":
        return (True, pad.material) if pad and pad.material else (None, "no padding planned in the record")
    if kind == "pad all round":
        return _three(pad.goes_round if pad else "unknown", "whole trunk", "contact only")
    if kind == "permit":
        permission = record.site.permission
        return (True, permission.reference or "a permit") if permission and permission.basis == "permit" else (
            None, "no permit named in the record")  # fmt: skip
    if kind == "flags":
        placed = any(feature.kind == "flag place" for feature in record.site.surroundings)
        return (True, "flag places marked") if placed else (None, "no flag place marked")
    if kind == "someone in attendance":
        return _three(planned.attended if planned else "unknown", "always", "not always")
    if kind == "take down daily":
        if planned is None or planned.date is None:
            return None, "no day planned"
        one_day = planned.until is None or planned.until == planned.date
        return one_day, "one day" if one_day else f"until {planned.until}"
    if kind == "named tree":
        return _three(tree.designated, "yes", "no")
    if kind == "trees":
        return True, "a tree"
    if kind == "heritage trees":
        return (None, "unknown") if tree.status == "unknown" else (tree.status != "ordinary", tree.status)
    if kind == "conifers":
        leaf = _match(tree).leaf_type if _match(tree) else "unknown"
        return (None, "unknown") if leaf == "unknown" else (leaf == "conifer", leaf)
    if kind in ("choker", "rope"):
        said = (sling.wrap if kind == "choker" else sling.kind) if sling else "unknown"
        return (None, "unknown") if said == "unknown" else (said == kind, said)
    return _bark(kind, tree, result)


def _bark(kind: str, tree: Tree, result: AnchorResult) -> tuple[bool | None, str]:
    if kind == "thick bark":
        taken = tree.bark.thickness.si if tree.bark and tree.bark.thickness else None
        return (None, "thickness not read") if taken is None else (taken > THICK_BARK_M, f"{taken * 1e3:.0f} mm")
    form = tree.bark.form if tree.bark else "unknown"
    if form == "unknown":
        return None, "bark not looked at"
    rough = form in ("fine fissured", "deep ridged", "plated", "fibrous", "warty")
    return (rough if kind == "rough bark" else not rough), form


def list_clause(clause: ListClause, tree: Tree, end: End, result: AnchorResult):
    """(answer, wanted, measured) of named genera, species, places, objects or pad materials."""
    wanted = f"{clause.asks}: {', '.join(clause.names)}"
    if clause.kind in ("places", "objects"):
        return "cannot tell", wanted, "the record does not say"
    if clause.kind == "pad materials":
        material = end.padding.material if end.padding and end.padding.material else None
        if material is None:
            return "cannot tell", wanted, "no padding planned in the record"
        named = any(_same_stuff(name, material) for name in clause.names)
        return _named(clause.asks, named, unnamed="cannot tell"), wanted, material
    match = _match(tree)
    if match is None or not match.genus:
        return "cannot tell", wanted, "species not known"
    listed = any(_holds(name, match, clause.kind) for name in clause.names)
    unsure = clause.kind == "species" and match.matched_by == "genus" and any(
        name.split()[0] == match.genus for name in clause.names)  # fmt: skip
    if unsure and not listed:
        return "cannot tell", wanted, match.accepted
    return _named(clause.asks, listed), wanted, match.accepted


def _named(asks: str, named: bool, unnamed: str = "met") -> str:
    if asks == "barred":
        return "not met" if named else unnamed
    if asks == "only":
        return "met" if named else ("not met" if unnamed == "met" else unnamed)
    return "met" if named else "cannot tell"  # preferred: another kind is not forbidden


def _holds(name: str, match, kind: str) -> bool:
    words = name.replace(" spp.", "").replace(" sp.", "").split()
    if kind == "genera" or len(words) == 1:
        return words[0] == match.genus
    try:
        return find_species(name).accepted == match.accepted
    except UnknownName:
        return name == match.accepted


def _same_stuff(name: str, material: str) -> bool:
    a, b = name.casefold(), material.casefold()
    return a in b or b in a


def _match(tree: Tree):
    if tree.species is None:
        return None
    try:
        return find_species(tree.species.name)
    except UnknownName:
        return None


def _three(said: str, yes: str, no: str) -> tuple[bool | None, str]:
    return {yes: True, no: False}.get(said), said


