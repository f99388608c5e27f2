"""Softer signs: none stops by itself, each asks for something before a line hangs there."""

from __future__ import annotations

from siteassess.advice.results import Finding
from siteassess.records.anchor import Tree

ARBORIST = "a qualified arborist has looked at it"


def softer_findings(tree: Tree) -> list[Finding]:
    """What the softer signs, the standing of the tree and its life stage mean for the verdict."""
    signs, found = tree.softer_signs, []
    if signs.hollow_sound == "yes" and not (tree.hollow and tree.hollow.sound_wall):
        found.append(Finding("hollow", "cannot say", "hollow sound or cavity, and the sound wall was not measured",
                             looked_at=False))  # fmt: skip
    if signs.loose_bark == "yes":
        found.append(Finding("bark", "suits if", "loose, sunken or oozing bark was seen",
                             "the sling sits well clear of the loose bark"))  # fmt: skip
    if signs.old_damage == "yes":
        found.append(Finding("bark", "suits if", "marks of earlier lines were seen",
                             "the sling sits off the old marks and the tree rests between uses"))  # fmt: skip
    for seen, what in ((signs.toadstools, "toadstools near the base"), (signs.thin_crown, "a thin crown or dead top")):
        if seen == "yes":
            found.append(Finding("health", "suits if", f"{what} was seen", ARBORIST))
    if signs.corrected_lean == "yes":
        found.append(Finding("lean", "suits", "an old lean, grown straight again"))
    if tree.status in ("heritage", "veteran", "memorial", "preservation order"):
        found.append(Finding("standing of the tree", "suits if", f"the tree is marked: {tree.status}",
                             "the land manager agrees in writing"))  # fmt: skip
    if tree.life_stage in ("over-mature", "veteran"):
        found.append(Finding("life stage", "suits if", f"the tree is {tree.life_stage}", ARBORIST))
    if tree.bark and tree.bark.firmness == "slips easily":
        found.append(Finding("bark", "suits", "the bark slips easily: pad all round and let nothing move on it"))
    return found
