"""Clauses that require or bar a thing, or name genera, species, places, objects and materials."""

from __future__ import annotations

from collections.abc import Iterable

from siteassess.advice.gear_inputs import pad_planned, sling_inputs
from siteassess.advice.results import Answered
from siteassess.advice.rule_sizes import (
    A_TREE,
    NO_TREE,
    ClauseAnswer,
    HeldAgainst,
    anchor_words,
    answer_whether,
    chosen,
    only_when,
    written,
)
from siteassess.advice.survey_age import days_hung, last_day, surely_last_day
from siteassess.errors import UnknownName
from siteassess.records.anchor import Tree
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.names import is_nothing
from siteassess.reference.rules import ListClause, ThingClause
from siteassess.reference.species import SpeciesMatch, find_species

THICK_BARK_M = constant("rule thick bark")
ROUGH_FORMS = ("fine fissured", "deep ridged", "plated", "fibrous", "warty")
NAMES_ASKED = {"barred": "rule-names-barred", "preferred": "rule-names-preferred", "only": "rule-names-only"}
ROPE_WRAPS = ("turns", "friction turns")


def thing_clause(clause: ThingClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of a thing that is required or barred."""
    wanted = thing_asked(clause)
    if clause.over is not None:
        span = held.whole.geometry.taped_m or held.whole.geometry.distance_m
        if span is None:
            return "cannot tell", wanted, said("rule-span-unmeasured")
        if span <= clause.over.metres:
            return "met", wanted, said("rule-does-not-apply", span=span)
    there, shown = _present(clause.kind, held)
    return answer_whether(there, clause.asks), wanted, shown


def thing_asked(clause: ThingClause) -> Said:
    """What a clause on a thing asks for.

    Parameters
    ----------
    clause : of a rule set
    """
    over = (said("rule-over-length", length=clause.over.value, unit=clause.over.unit),) if clause.over else ()
    return said("rule-required" if clause.asks == "required" else "rule-barred", more=(*over, *only_when(clause)))


def _present(kind: str, held: HeldAgainst) -> tuple[bool | None, Said]:
    """Whether a thing is there, None where the record does not say, and what it says."""
    pad, planned = pad_planned(held.end), held.line.planned
    if kind == "trees":
        return held.tree is not None, A_TREE if held.tree else said("rule-no-tree-here")
    if kind == "padding":
        return _padding(held)
    if kind == "pad all round":
        return _three(pad.goes_round if pad else "unknown", "whole trunk", "contact only")
    if kind == "permit":
        return permit_held(held)
    if kind == "flags":
        placed = any(feature.kind == "flag place" for feature in held.record.site.surroundings)
        return (True, said("rule-flags-marked")) if placed else (None, said("rule-no-flag"))
    if kind == "someone in attendance":
        return _three(planned.attended if planned else "unknown", "always", "not always")
    if kind == "take down daily":
        if planned is None or planned.date is None:
            return None, said("rule-no-day")
        if planned.until is None or planned.until == planned.date:
            return True, said("rule-one-day")
        return None, said("rule-until", day=planned.until.isoformat())  # it may come down each evening
    if kind == "choker":
        wrap = held.end.sling.wrap if held.end.sling else "unknown"
        return None if wrap == "unknown" else wrap == kind, chosen(wrap)
    if kind == "rope":
        return _rope(held)
    return _of_tree(kind, held.tree) if held.tree else (None, NO_TREE)


def _padding(held: HeldAgainst) -> tuple[bool | None, Said]:
    """Whether a pad of the table is planned: what stands in no table nobody knows to be one."""
    sling = sling_inputs(held.end)
    if sling.pad_material:
        return True, said("pad-alone", material=sling.pad_material)
    if sling.pad_too_narrow:
        return None, said("pad-narrower-than-sling", width=sling.pad_width)
    named = sling.pad_in_no_table
    return None, said("no-such-pad", name=named) if named else said("rule-no-padding")


def permit_held(held: HeldAgainst) -> tuple[bool | None, Said]:
    """Whether a permit that still holds on the day is named."""
    permission = held.record.site.permission
    if permission is None or permission.basis == "unknown":
        return None, said("rule-no-permit")
    if permission.basis != "permit":
        return False, said("rule-permission", basis=permission.basis)
    if permission.expires is not None and permission.expires < last_day(held.line, held.on):
        surely = permission.expires < surely_last_day(held.line, held.on)
        return False if surely else None, said("rule-expired", day=permission.expires.isoformat())
    if permission.expires is None:
        return None, said("rule-permit-undated")
    if days_hung(held.line, held.asked) is None:
        return None, said("rule-no-day")
    if permission.reference is not None and is_nothing(permission.reference):
        return None, written(permission.reference)
    return True, written(permission.reference) if permission.reference else said("rule-a-permit")


def _rope(held: HeldAgainst) -> tuple[bool | None, Said]:
    sling = held.end.sling
    if sling is None or (sling.kind == "unknown" and sling.wrap not in ROPE_WRAPS):
        return None, chosen("unknown")
    known = sling.kind != "unknown"
    return sling.kind == "rope" or not known, chosen(sling.kind if known else sling.wrap)


def _of_tree(kind: str, tree: Tree) -> tuple[bool | None, Said]:
    if kind == "living tree":
        return _three(tree.signs.dead_tree, "no", "yes")
    if kind == "named tree":
        return _three(tree.designated, "yes", "no")
    if kind == "heritage trees":
        return None if tree.status == "unknown" else tree.status != "ordinary", chosen(tree.status)
    if kind == "conifers":
        match = _match(tree)
        leaf = (match.leaf_type if match else "") or "unknown"
        return None if leaf == "unknown" else leaf == "conifer", chosen(leaf)
    if kind == "thick bark":
        taken = tree.bark.thickness.si if tree.bark and tree.bark.thickness else None
        if taken is None:
            return None, said("rule-thickness-unread")
        return taken > THICK_BARK_M, said("rule-bark-thickness", thickness=taken)
    form = tree.bark.form if tree.bark else "unknown"
    if form == "unknown":
        return None, said("rule-bark-unseen")
    rough = form in ROUGH_FORMS
    return (rough if kind == "rough bark" else not rough), chosen(form)


def list_clause(clause: ListClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of named genera, species, places, objects or pad materials."""
    wanted = said(NAMES_ASKED[clause.asks], names=clause.names)
    if clause.kind == "places":
        answer, shown = _places(clause, held)
    elif clause.kind == "objects":
        answer, shown = _objects(clause, held)
    elif clause.kind == "pad materials":
        answer, shown = _pad_materials(clause, held)
    else:
        answer, shown = _kinds(clause, held)
    return answer, wanted, shown


def _places(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    """A place is known by its name; what a line may not cross, by what is marked. Not being named is no permission."""
    site = held.record.site
    here = _listed(clause.names, site.name)
    if here is not False:
        return _named(clause.asks, here), written(site.name)
    crossed = [thing for thing in held.crossed if thing.kind in clause.crosses]
    if crossed and clause.asks == "barred":
        first = crossed[0]
        code = "rule-crosses-named" if first.name else "rule-crosses"
        return "not met", said(code, kind=first.kind, name=first.name)
    return "cannot tell", said("rule-place-not-named", site=site.name)


def _objects(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    """Objects a line may not be tied to: a tree is none of them, unless the list takes in trees nobody named."""
    if held.tree is None:
        shown = anchor_words(held.anchor)
        if clause.all_but_trees:
            return _named(clause.asks, True), shown
        what = getattr(held.anchor, "what", held.anchor.kind)
        return _named(clause.asks, _listed(clause.names, what), "cannot tell"), shown
    if not clause.unnamed_trees:
        return _named(clause.asks, False), A_TREE
    if held.tree.designated == "not looked":
        return "cannot tell", said("rule-a-tree-maybe-named")
    named = said("rule-a-tree-named", answer=held.tree.designated)
    return _named(clause.asks, held.tree.designated == "no"), named


def _pad_materials(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    known, shown = _padding(held)
    sling = sling_inputs(held.end)
    material = sling.pad_material or sling.pad_in_no_table
    if material is None:
        return "cannot tell", shown
    named = _listed(clause.names, material)
    # another material: what is barred by name it is not, what is the only one allowed a person must compare
    return _named(clause.asks, named, "met" if known and clause.asks == "barred" else "cannot tell"), shown


def _kinds(clause: ListClause, held: HeldAgainst) -> tuple[Answered, Said]:
    if held.tree is None:
        return "cannot tell", NO_TREE
    match, species = _match(held.tree), held.tree.species
    if match is None or species is None or not match.genus:
        return "cannot tell", said("rule-species-unknown")
    told = written(match.accepted)
    listed = any(_holds(name, match, clause.kind) for name in clause.names)
    if species.certainty == "guess" and clause.asks != "preferred":
        return "cannot tell", said("rule-species-guessed", species=match.accepted)
    unsure = clause.kind == "species" and match.matched_by == "genus" and any(
        name.split()[0] == match.genus for name in clause.names)  # fmt: skip
    if unsure and not listed:
        return "cannot tell", told
    return _named(clause.asks, listed), told


def _named(asks: str, named: bool | None, unnamed: Answered = "met") -> Answered:
    """Answer for a name that is on a list or not; `unnamed` answers where a list bars others only."""
    if named is None:
        return "cannot tell"
    if asks == "barred":
        return "not met" if named else unnamed
    if asks == "only":
        return "met" if named else ("not met" if unnamed == "met" else unnamed)
    return "met" if named else "cannot tell"  # preferred: another kind is not forbidden


def _holds(name: str, match: SpeciesMatch, kind: str) -> bool:
    words = name.replace(" spp.", "").replace(" sp.", "").split()
    if kind == "genera" or len(words) == 1:
        return words[0] == match.genus
    try:
        return find_species(name).accepted == match.accepted
    except UnknownName:
        return name == match.accepted


def _listed(names: Iterable[str], thing: str) -> bool | None:
    """Whether a thing is one of some names, by whole words; None where one name is only part of the other.

    A carpet may be a substantial carpet, and "no carpet" has carpet in it: only a person can say.
    """
    here = _words(thing)
    if any(_words(name) == here for name in names):
        return True
    return None if any(_part(_words(name), here) or _part(here, _words(name)) for name in names) else False


def _words(name: str) -> list[str]:
    """The words of a name, one or several of a thing alike, without what stands in brackets behind it."""
    return [word.strip(",;").removesuffix("s") for word in name.split(" (")[0].casefold().split()]


def _part(some: list[str], of: list[str]) -> bool:
    return any(of[at : at + len(some)] == some for at in range(len(of) - len(some) + 1))


def _match(tree: Tree) -> SpeciesMatch | None:
    if tree.species is None:
        return None
    try:
        return find_species(tree.species.name)
    except UnknownName:
        return None


def _three(answer: str, yes: str, no: str) -> tuple[bool | None, Said]:
    return {yes: True, no: False}.get(answer), chosen(answer)
