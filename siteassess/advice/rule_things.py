"""Clauses that require or bar a thing, or name genera, species, places, objects and materials."""

from __future__ import annotations

from siteassess.advice.rule_answer import Answer, Held, asked
from siteassess.errors import UnknownName
from siteassess.records.anchor import Tree
from siteassess.reference.rules import ListClause, ThingClause
from siteassess.reference.species import find_species

THICK_BARK_M = 0.015  # as in the bark limit (judgement)
ROUGH_FORMS = ("fine fissured", "deep ridged", "plated", "fibrous", "warty")
ROPE_WRAPS = ("turns", "friction turns")


def thing_clause(clause: ThingClause, held: Held) -> Answer:
    """(answer, wanted, measured) of a thing that is required or barred."""
    wanted = f"{clause.kind} {clause.asks}"
    if clause.over is not None:
        wanted += f" for lines over {clause.over.value:g} {clause.over.unit}"
        span = held.whole.geometry.taped_m or held.whole.geometry.distance_m
        if span is None:
            return "cannot tell", wanted, "span not measured"
        if span <= clause.over.metres:
            return "met", wanted, f"does not apply: the line is {span:.1f} m"
    there, shown = _present(clause.kind, held)
    if clause.when:
        # whether the condition holds only a person can say; what meets it either way needs no person
        either_way = asked(there, clause.asks) == "met"
        return ("met" if either_way else "cannot tell"), f"{wanted}, condition: {clause.when}", shown
    return asked(there, clause.asks), wanted, shown


def _present(kind: str, held: Held) -> tuple[bool | None, str]:
    """Whether a thing is there, None where the record does not say, and what it says."""
    pad, planned = held.end.padding, held.line.planned
    if kind == "trees":
        return held.tree is not None, "a tree" if held.tree else "no tree"
    if kind == "padding":
        return (True, pad.material) if pad and pad.material else (None, "no padding planned in the record")
    if kind == "pad all round":
        return _three(pad.goes_round if pad else "unknown", "whole trunk", "contact only")
    if kind == "permit":
        return permit_held(held)
    if kind == "flags":
        placed = any(feature.kind == "flag place" for feature in held.record.site.surroundings)
        return (True, "flag places marked") if placed else (None, "no flag place marked")
    if kind == "someone in attendance":
        return _three(planned.attended if planned else "unknown", "always", "not always")
    if kind == "take down daily":
        if planned is None or planned.date is None:
            return None, "no day planned"
        one_day = planned.until is None or planned.until == planned.date
        return one_day, "one day" if one_day else f"until {planned.until}"
    if kind == "choker":
        said = held.end.sling.wrap if held.end.sling else "unknown"
        return (None, "unknown") if said == "unknown" else (said == kind, said)
    if kind == "rope":
        return _rope(held)
    return _of_tree(kind, held.tree) if held.tree else (None, "the anchor is no tree")


def permit_held(held: Held) -> tuple[bool | None, str]:
    """Whether a permit that still holds on the day is named."""
    permission = held.record.site.permission
    if permission is None or permission.basis == "unknown":
        return None, "no permit named in the record"
    if permission.basis != "permit":
        return False, f"permission: {permission.basis}"
    if permission.expires is not None and permission.expires < held.on:
        return False, f"expired {permission.expires.isoformat()}"
    return True, permission.reference or "a permit"


def _rope(held: Held) -> tuple[bool | None, str]:
    sling = held.end.sling
    if sling is None or (sling.kind == "unknown" and sling.wrap not in ROPE_WRAPS):
        return None, "unknown"
    return sling.kind == "rope" or (sling.kind == "unknown"), sling.kind if sling.kind != "unknown" else sling.wrap


def _of_tree(kind: str, tree: Tree) -> tuple[bool | None, str]:
    if kind == "named tree":
        return _three(tree.designated, "yes", "no")
    if kind == "heritage trees":
        return (None, "unknown") if tree.status == "unknown" else (tree.status != "ordinary", tree.status)
    if kind == "conifers":
        match = _match(tree)
        leaf = match.leaf_type if match else "unknown"
        return (None, "unknown") if leaf in ("unknown", "") else (leaf == "conifer", leaf)
    if kind == "thick bark":
        taken = tree.bark.thickness.si if tree.bark and tree.bark.thickness else None
        return (None, "thickness not read") if taken is None else (taken > THICK_BARK_M, f"{taken * 1e3:.0f} mm")
    form = tree.bark.form if tree.bark else "unknown"
    if form == "unknown":
        return None, "bark not looked at"
    rough = form in ROUGH_FORMS
    return (rough if kind == "rough bark" else not rough), form


def list_clause(clause: ListClause, held: Held) -> Answer:
    """(answer, wanted, measured) of named genera, species, places, objects or pad materials."""
    wanted = f"{clause.asks}: {', '.join(clause.names)}"
    if clause.kind == "places":
        answer, shown = _places(clause, held)
    elif clause.kind == "objects":
        answer, shown = _objects(clause, held)
    elif clause.kind == "pad materials":
        answer, shown = _pad_materials(clause, held)
    else:
        answer, shown = _kinds(clause, held)
    return answer, wanted, shown


def _places(clause: ListClause, held: Held) -> tuple[str, str]:
    """A place is known by its name; what a line may not cross, by what is marked. Not being named is no permission."""
    site = held.record.site
    here = [name for name in clause.names if _same_stuff(_bare(name), site.name)]
    if here:
        return _named(clause.asks, True, "cannot tell"), site.name
    crossed = [thing for thing in held.crossed if any(_bars_crossing(name, thing.kind) for name in clause.names)]
    if crossed and clause.asks == "barred":
        return "not met", f"the line crosses {crossed[0].kind} {crossed[0].name}".rstrip()
    return "cannot tell", f"{site.name} is not named so; a person must say whether it is one of these"


def _bare(name: str) -> str:
    """A listed name without what stands in brackets behind it."""
    return name.split(" (")[0]


def _bars_crossing(name: str, kind: str) -> bool:
    words = name.casefold()
    if not words.startswith(("across", "over")):
        return False
    said = {"road": ("road",), "trail": ("path", "worn track"), "path": ("path", "worn track"), "lake": ("water",),
            "water": ("water",)}  # fmt: skip
    return any(word in words and kind in kinds for word, kinds in said.items())


def _objects(clause: ListClause, held: Held) -> tuple[str, str]:
    """Objects a line may not be tied to: a tree is none of them, unless the list speaks of trees."""
    if held.tree is None:
        what = getattr(held.anchor, "what", held.anchor.kind)
        if any(name.casefold().startswith("anything") for name in clause.names):
            return _named(clause.asks, True), what
        listed = any(_same_stuff(name.rstrip("s"), what) for name in clause.names)
        return _named(clause.asks, listed, "cannot tell"), what
    others = [name for name in clause.names if "tree" in name and not name.casefold().startswith("anything")]
    if not others:
        return _named(clause.asks, False), "a tree"
    if held.tree.designated == "not looked":
        return "cannot tell", "a tree; whether it is a named one was not looked at"
    return _named(clause.asks, held.tree.designated == "no"), f"a tree, named by the manager: {held.tree.designated}"


def _pad_materials(clause: ListClause, held: Held) -> tuple[str, str]:
    material = held.end.padding.material if held.end.padding and held.end.padding.material else None
    if material is None:
        return "cannot tell", "no padding planned in the record"
    named = any(_same_stuff(name, material) for name in clause.names)
    # another material: what is barred by name it is not, what is the only one allowed a person must compare
    return _named(clause.asks, named, unnamed="met" if clause.asks == "barred" else "cannot tell"), material


def _kinds(clause: ListClause, held: Held) -> tuple[str, str]:
    if held.tree is None:
        return "cannot tell", "the anchor is no tree"
    match = _match(held.tree)
    if match is None or not match.genus:
        return "cannot tell", "species not known"
    told = match.accepted
    listed = any(_holds(name, match, clause.kind) for name in clause.names)
    if held.tree.species.certainty == "guess" and clause.asks != "preferred":
        return "cannot tell", f"{told}, but only guessed"
    unsure = clause.kind == "species" and match.matched_by == "genus" and any(
        name.split()[0] == match.genus for name in clause.names)  # fmt: skip
    if unsure and not listed:
        return "cannot tell", told
    return _named(clause.asks, listed), told


def _named(asks: str, named: bool, unnamed: str = "met") -> str:
    """Answer for a name that is on a list or not; `unnamed` answers where a list bars others only."""
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
