"""Softer signs: none stops by itself, each asks for something before a line hangs there."""

from __future__ import annotations

from siteassess.advice.finding import Finding, found
from siteassess.advice.verdict import STOP_SIGNS
from siteassess.errors import UnknownName
from siteassess.records.anchor import OUT_OF_THE_ORDINARY, Tree
from siteassess.records.doubtful import WIDE_OPENING_DEG
from siteassess.records.fields import SECTORS
from siteassess.records.trunk import diameter_m
from siteassess.reference.findings import said
from siteassess.reference.names import NO_LONGER_ALIVE, NO_TREES, words_outside
from siteassess.reference.species import find_species

LOOKED_FOR = {"hollow_sound": "hollow sound or cavity", "loose_bark": "loose, sunken or oozing bark",
              "old_damage": "marks of earlier lines", "toadstools": "toadstools near the base",
              "thin_crown": "thin crown or dead top"}  # fmt: skip
"""Softer signs that ask for something where they are seen."""


def softer_findings(tree: Tree) -> list[Finding]:
    """What the softer signs, the standing of the tree and its life stage mean for the verdict."""
    signs = tree.softer_signs
    told = [*_contradictions(tree), *_impossible_wall(tree), *_no_living_tree(tree), *_not_looked_for(tree),
            *_taken(tree)]  # fmt: skip
    if signs.hollow_sound == "yes" and not (tree.hollow and tree.hollow.sound_wall):
        told.append(found("hollow-sound-seen", "cannot say", looked_at=False))
    if signs.loose_bark == "yes":
        told.append(found("loose-bark-seen", "suits if"))
    if signs.old_damage == "yes":
        told.append(found("old-marks-seen", "suits if"))
    if signs.toadstools == "yes":
        told.append(found("toadstools-seen", "suits if"))
    if signs.thin_crown == "yes":
        told.append(found("thin-crown-seen", "suits if"))
    if signs.corrected_lean == "yes":
        told.append(found("old-lean-seen", "suits"))
    if tree.status in OUT_OF_THE_ORDINARY:
        told.append(found("tree-marked", "suits if", status=tree.status))
    if tree.life_stage in ("over-mature", "veteran"):
        told.append(found("great-age", "suits if", stage=tree.life_stage))
    if tree.bark and tree.bark.firmness == "slips easily":
        told.append(found("bark-slips", "suits"))
    return told


def _not_looked_for(tree: Tree) -> list[Finding]:
    """One condition for all of them: seen they would ask for something, so not looking for them does too."""
    unseen = [what for name, what in LOOKED_FOR.items() if getattr(tree.softer_signs, name) == "not looked"
              and not (name == "hollow_sound" and tree.hollow)]  # fmt: skip
    return [found("softer-signs-unseen", "suits if", looked_at=False, signs=tuple(unseen))] if unseen else []


def _contradictions(tree: Tree) -> list[Finding]:
    """A stop sign seen in one part of the record and not told in its own: which of the two is true decides."""
    undercut = [sector for sector in SECTORS if tree.roots is not None and getattr(tree.roots, sector) == "undercut"]
    opening = tree.hollow.opening if tree.hollow else None
    seen = []
    if undercut:
        seen.append(("undercut_roots", said("roots-undercut-to", sectors=tuple(undercut))))
    if opening is not None and opening.si > WIDE_OPENING_DEG:
        seen.append(("wide_opening", said("opening-over-a-third", opening=opening.text)))
    return [found("sign-denied" if getattr(tree.signs, sign) == "no" else "sign-overlooked", "cannot say", what=what,
                  sign=STOP_SIGNS[sign])
            for sign, what in seen if getattr(tree.signs, sign) != "yes"]  # fmt: skip


def _impossible_wall(tree: Tree) -> list[Finding]:
    """A sound wall that leaves no room for the hollow it stands round was not measured."""
    wall = tree.hollow.sound_wall if tree.hollow else None
    thinnest = min((diameter_m(reading) for reading in tree.trunk), default=None)
    if wall is None or thinnest is None or wall.si < thinnest / 2:
        return []
    return [found("wall-leaves-no-hollow", "cannot say", looked_at=False, wall=wall.text, trunk=thinnest)]


def _no_living_tree(tree: Tree) -> list[Finding]:
    """A name that no table holds and that means no tree of this kind, or a tree said to be dead by its name."""
    name = tree.species.name if tree.species else ""
    if words_outside(name, NO_LONGER_ALIVE):
        return [found("name-of-dead-wood", "cannot say", name=name)]
    if words_outside(name, NO_TREES) and not _in_a_table(name):
        return [found("no-tree-of-the-kind", "cannot say", name=name)]
    return []


def _in_a_table(name: str) -> bool:
    try:
        find_species(name)
    except UnknownName:
        return False
    return True


def _taken(tree: Tree) -> list[Finding]:
    """What was not told or not used, and what stands in for it."""
    told = []
    unsaid = [what for what, answer in (("its status as ordinary", tree.status), ("its age as no great one",
              tree.life_stage), ("its soil as mineral", tree.ground.texture if tree.ground else "unknown"),
              ("the ground as not trodden bare", tree.ground.bare if tree.ground else "unknown"))
              if answer == "unknown"]  # fmt: skip
    if unsaid:
        told.append(found("not-told-and-taken", "suits", looked_at=False, things=tuple(unsaid)))
    base, height = tree.crown_base, tree.height
    if base is not None and height is not None and base.si >= height.si:
        told.append(found("lowest-branch-over-top", "suits", looked_at=False, base=base.text, height=height.text))
    return told
