"""Softer signs: none stops by itself, each asks for something before a line hangs there."""

from __future__ import annotations

from siteassess.advice.deciding import STOP_SIGNS
from siteassess.advice.next_steps import ANOTHER_TREE, MEASURE_WALL
from siteassess.advice.results import Finding, as_told
from siteassess.errors import UnknownName
from siteassess.records.anchor import Tree
from siteassess.records.fields import SECTORS
from siteassess.records.readings import WIDE_OPENING_DEG
from siteassess.records.trunk import diameter_m
from siteassess.reference.names import NO_LONGER_ALIVE, NO_TREES, words_outside
from siteassess.reference.species import find_species
from siteassess.units import show

ARBORIST = "a qualified arborist has looked at it"
LOOKED_FOR = {"hollow_sound": "hollow sound or cavity", "loose_bark": "loose, sunken or oozing bark",
              "old_damage": "marks of earlier lines", "toadstools": "toadstools near the base",
              "thin_crown": "thin crown or dead top"}  # fmt: skip
"""Softer signs that ask for something where they are seen."""


def softer_findings(tree: Tree) -> list[Finding]:
    """What the softer signs, the standing of the tree and its life stage mean for the verdict."""
    signs = tree.softer_signs
    found = [*_contradictions(tree), *_impossible_wall(tree), *_no_living_tree(tree), *_not_looked_for(tree),
             *_taken(tree)]  # fmt: skip
    if signs.hollow_sound == "yes" and not (tree.hollow and tree.hollow.sound_wall):
        found.append(as_told("hollow", "cannot say", "hollow sound or cavity, and the sound wall was not measured",
                             looked_at=False, do_next=MEASURE_WALL))  # fmt: skip
    if signs.loose_bark == "yes":
        found.append(as_told("bark", "suits if", "loose, sunken or oozing bark was seen",
                             "the sling sits well clear of the loose bark"))  # fmt: skip
    if signs.old_damage == "yes":
        found.append(as_told("bark", "suits if", "marks of earlier lines were seen",
                             "the sling sits off the old marks and the tree rests between uses"))  # fmt: skip
    for seen, what in ((signs.toadstools, "toadstools near the base"), (signs.thin_crown, "a thin crown or dead top")):
        if seen == "yes":
            found.append(as_told("health", "suits if", f"{what} was seen", ARBORIST))
    if signs.corrected_lean == "yes":
        found.append(as_told("lean", "suits", "an old lean, grown straight again"))
    if tree.status in ("heritage", "veteran", "memorial", "preservation order"):
        found.append(as_told("standing of the tree", "suits if", f"the tree is marked: {tree.status}",
                             "the land manager agrees in writing"))  # fmt: skip
    if tree.life_stage in ("over-mature", "veteran"):
        found.append(as_told("life stage", "suits if", f"the tree is {tree.life_stage}", ARBORIST))
    if tree.bark and tree.bark.firmness == "slips easily":
        found.append(as_told("bark", "suits", "the bark slips easily: pad all round and let nothing move on it"))
    return found


def _not_looked_for(tree: Tree) -> list[Finding]:
    """One condition for all of them: seen they would ask for something, so not looking for them does too."""
    unseen = [what for name, what in LOOKED_FOR.items() if getattr(tree.softer_signs, name) == "not looked"
              and not (name == "hollow_sound" and tree.hollow)]  # fmt: skip
    if not unseen:
        return []
    return [as_told("softer signs", "suits if", f"not looked for: {', '.join(unseen)}",
                    "somebody has looked all round and up the tree for softer signs, and saw none",
                    looked_at=False)]  # fmt: skip


def _contradictions(tree: Tree) -> list[Finding]:
    """A stop sign seen in one part of the record and not told in its own: which of the two is true decides."""
    undercut = [sector for sector in SECTORS if tree.roots is not None and getattr(tree.roots, sector) == "undercut"]
    opening = tree.hollow.opening if tree.hollow else None
    seen = []
    if undercut:
        seen.append(("undercut_roots", f"roots are undercut to the {', '.join(undercut)}"))
    if opening is not None and opening.si > WIDE_OPENING_DEG:
        seen.append(("wide_opening", f"an opening of {opening.text} is over a third of the trunk's round"))
    answers = {"no": "was answered no", "not looked": "was not looked for"}
    return [
        as_told("record", "cannot say", f"the record contradicts itself: {what}, yet the stop sign "
                                        f"'{STOP_SIGNS[sign]}' {answers[getattr(tree.signs, sign)]}",
                do_next="look again")
        for sign, what in seen if getattr(tree.signs, sign) in answers
    ]  # fmt: skip


def _impossible_wall(tree: Tree) -> list[Finding]:
    """A sound wall that leaves no room for the hollow it stands round was not measured."""
    wall = tree.hollow.sound_wall if tree.hollow else None
    thinnest = min((diameter_m(reading) for reading in tree.trunk), default=None)
    if wall is None or thinnest is None or wall.si < thinnest / 2:
        return []
    says = (f"a sound wall of {wall.text} leaves no hollow in a trunk {show(thinnest, 'cm', 2)} thick: taken as not "
            "measured")  # fmt: skip
    return [as_told("hollow", "cannot say", says, looked_at=False, do_next=MEASURE_WALL)]


def _no_living_tree(tree: Tree) -> list[Finding]:
    """A name that no table holds and that means no tree of this kind, or a tree said to be dead by its name."""
    name = tree.species.name if tree.species else ""
    if words_outside(name, NO_LONGER_ALIVE):
        return [as_told("species", "cannot say", f"'{name}' names wood that no longer lives, which lies outside the "
                        "models", do_next="look whether the tree is dead")]  # fmt: skip
    if words_outside(name, NO_TREES) and not _in_a_table(name):
        return [as_told("species", "cannot say", f"'{name}' is no tree of the kind the models know, whatever its "
                        "leaves", do_next=ANOTHER_TREE)]  # fmt: skip
    return []


def _in_a_table(name: str) -> bool:
    try:
        find_species(name)
    except UnknownName:
        return False
    return True


def _taken(tree: Tree) -> list[Finding]:
    """What was not told or not used, and what stands in for it."""
    found = []
    unsaid = [what for what, said in (("its status as ordinary", tree.status), ("its age as no great one",
              tree.life_stage), ("its soil as mineral", tree.ground.texture if tree.ground else "unknown"),
              ("the ground as not trodden bare", tree.ground.bare if tree.ground else "unknown"))
              if said == "unknown"]  # fmt: skip
    if unsaid:
        found.append(as_told("not told", "suits", f"not told and taken: {', '.join(unsaid)}", looked_at=False))
    base, height = tree.crown_base, tree.height
    if base is not None and height is not None and base.si >= height.si:
        found.append(as_told("crown", "suits", f"the lowest branch at {base.text} is not below the tree's height of "
                                               f"{height.text}: taken as not read", looked_at=False))  # fmt: skip
    return found
