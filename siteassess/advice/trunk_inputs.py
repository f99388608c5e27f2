"""What the readings of one trunk tell beside its size: forks, copies and guesses against a tape, its roots' size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from siteassess.advice.finding import Finding, found
from siteassess.advice.verdict import VERDICTS, Verdict, worst
from siteassess.mechanics.rootplate import joint_diameter
from siteassess.mechanics.scatter import READING_LN_SD
from siteassess.mechanics.taper import diameter_at
from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.trunk import (
    BREAST_HEIGHT,
    FLARE_UP_TO,
    MEASURED,
    TrunkHere,
    above_flare,
    diameter_m,
    limb_readings,
    most_under,
    nearer_copies,
    nearest_reading,
    on_a_limb,
    one_place,
    parts_at,
    steeper,
    without_copies,
)
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said

NEAR_TIE = constant("fork near tie")
# the scatter of a reading by how it was got; where that was not said, as if estimated
DIAMETER_HOW = {"taped": "taped", "calipers": "taped", "copied": "copied", "estimated": "estimated",
                "unknown": "estimated"}  # fmt: skip
ASKS_FOR_A_SLING = ("bark-pressed-mended", "bark-pressed-by-ours")


def how_read(tree: Tree, here: TrunkHere) -> str:
    """How the size judged was read; listed stems do not say it: no better than anything else that was read there."""
    if isinstance(here.reading, TrunkReading):
        return here.reading.how
    return max((one.how for one in tree.trunk if one.how != "copied"), key=size_ln_sd, default="taped")


def size_ln_sd(how: str) -> float:
    """Ln sd of a diameter by how it was read [-]."""
    return READING_LN_SD["diameter", DIAMETER_HOW[how]].value


def judged_ln_sd(tree: Tree, here: TrunkHere, how: str) -> float:
    """Ln sd of the size judged [-]: a guess of a place of one trunk that a tape went round too has the tape's."""
    if not isinstance(here.reading, TrunkReading) or tree.stems not in ("single", "fork above tie"):
        return size_ln_sd(how)
    at, parts = here.reading.read_at.si, parts_at(tree)
    beside = [sorted((one.read_at.si, at)) for one in tree.trunk if one.how in MEASURED]
    taped = any(one_place(low, high) and (high < parts or parts <= low) for low, high in beside)
    return min(size_ln_sd(how), size_ln_sd("taped")) if taped else size_ln_sd(how)


def thicker_tapes(tree: Tree, here: TrunkHere, how: str) -> list[Finding]:
    """Told of readings of which both cannot be right: of one place, or thinner above than any taper leaves a trunk."""
    if not isinstance(here.reading, TrunkReading):
        return []
    at = here.reading.read_at
    told: list[Finding] = []
    for one in tree.trunk:
        if one.read_at.si == at.si and here.diameter < diameter_m(one):
            steep = [other for other in without_copies(tree.trunk) if steeper(one, other, parts_at(tree))]
            if thin := min(steep, key=lambda other: most_under(other, at.si), default=None):
                told = [found("steeper-than-any-taper", "suits if", looked_at=False, thick=diameter_m(one),
                              there=at.text, thin=diameter_m(thin), at=thin.read_at.text, most=here.diameter)]
    again = [one for one in tree.trunk if one.how in MEASURED and one_place(*sorted((one.read_at.si, at.si)))]
    thick = max(again, key=diameter_m, default=here.reading)
    if told or math.log(diameter_m(thick) / here.diameter) <= math.hypot(size_ln_sd(how), size_ln_sd(thick.how)):
        return told
    return [found("thinner-tape-counts", "suits", thin=here.diameter, at=at.text,
                  thick=diameter_m(thick), there=thick.read_at.text)]  # fmt: skip


def thinner_copied(tree: Tree, here: TrunkHere, how: str, tie: float) -> tuple[Finding, Tree] | None:
    """What is told of the number copied that lies furthest under what was read, and the tree as it was copied."""
    if how == "copied":
        return None
    copies = nearer_copies(tree.trunk, tie)
    # a root plate goes by the trunk at breast height, where inventories read
    copies += [one for one in nearer_copies(tree.trunk, BREAST_HEIGHT.value) if one not in copies]
    copies += [one for one in tree.trunk if one.how == "copied" and one not in copies
               and isinstance(here.reading, TrunkReading) and steeper(here.reading, one, parts_at(tree))]  # fmt: skip
    if (one := _furthest_under(here, copies)) is None:
        return None
    told = found("copied-under-what-was-read", "cannot say", looked_at=False, at=one.read_at.text,
                 copied=diameter_m(one), read=_read(here, one))  # fmt: skip
    return told, tree.model_copy(update={"trunk": tuple(copies), "each_stem": ()})


def copied_finding(told: Finding, by_read: Sequence[Finding], by_copy: Sequence[Finding]) -> Finding:
    """What is told of a copied number thinner than what was read, with the word that it leaves the trunk.

    Trees outgrow inventories, so it costs no more than what is asked for by it alone, and rejects nothing.

    Parameters
    ----------
    told : Finding
        Of the copied number.
    by_read, by_copy : sequence of Finding
        By what was read, and by the copied number in its place.
    """
    already = {_asked_by(one) for one in by_read}
    word = worst(one.effect for one in by_copy if _asked_by(one) not in already)
    return replace(told, effect=min(word, told.effect, key=VERDICTS.index))


def _asked_by(one: Finding) -> tuple[str, Verdict, Said | None]:
    """What makes two findings the same: of the sling also which one is asked for, since what does for the thick trunk
    may press the thin one too hard."""
    return one.code, one.effect, one.met_by if one.code in ASKS_FOR_A_SLING else None


def _furthest_under(here: TrunkHere, others: Sequence[TrunkReading]) -> TrunkReading | None:
    """The reading thinnest for what was read, of those thinner by more than both may miss, were it taped.

    A guess, which may miss by more, explains nothing away that a tape in its place does not.
    """
    under = {math.log(_read(here, one) / diameter_m(one)) - math.hypot(size_ln_sd("taped"), size_ln_sd(one.how)): one
             for one in others}  # fmt: skip
    most = max(under, default=0.0)
    return under[most] if most > 0 else None


def _read(here: TrunkHere, one: TrunkReading) -> float:
    """What was read, carried to the height of another reading [m]."""
    return float(diameter_at(here.diameter, here.read_at, one.read_at.si))


def root_diameter(tree: Tree, stems: np.ndarray, told: list[Finding]) -> float:
    """Diameter a root plate goes by [m]: the reading nearest to breast height, carried up to it where it lies lower.

    Where no tape went round above the flare it is the thinnest of what there is.
    """
    joint = float(joint_diameter(stems)) if stems.size > 1 else math.nan
    reading = nearest_reading(tree.trunk, None, parts_at(tree))
    if reading is None or tree.stems == "several" and stems.size > 1:
        return joint
    if reading.read_at.si < FLARE_UP_TO.value:
        told.append(found("read-in-the-flare", "suits if", at=reading.read_at.text))
    stem = above_flare(tree.trunk)
    known = [reading] if any(one.how in MEASURED for one in stem) else [reading, *stem]
    read = [diameter_at(diameter_m(one), one.read_at.si, max(one.read_at.si, BREAST_HEIGHT.value)) for one in known]
    return float(np.fmin(min(read), joint))  # of a forked trunk either was read, and the less counts


def forked(tree: Tree, tie_height: float | None, told: list[Finding], missing: list[str]) -> float:
    """1 for a fork below or near the tie, 0 for none, NaN where nobody looked [-]."""
    if on_a_limb(tree, tie_height):
        read = bool(tree.each_stem or limb_readings(tree, tie_height))
        told.append(found("limb-as-read", "suits if") if read else found("limb-unread", "cannot say", looked_at=False))
    if tree.stems == "unknown":
        missing.append("stems and forks")
        return math.nan
    if tree.stems in ("single", "fork above tie") and len(tree.each_stem) > 1:
        told.append(found("single-yet-several", "cannot say", looked_at=False, stems=len(tree.each_stem)))
    if tree.stems == "several" and len(tree.each_stem) > 1:
        return 1.0  # each leaves the common foot as at a fork
    if tree.stems == "several":
        told.append(found("girths-not-given", "cannot say", looked_at=False))
        return math.nan
    fork = tree.fork_height
    near = fork is not None and (tie_height is None or fork.si <= tie_height + NEAR_TIE.value + 1e-9)
    if tree.stems == "fork above tie":
        if fork is None:
            told.append(found("fork-height-unsaid", "suits", looked_at=False))
        return 1.0 if near or fork is None else 0.0
    if tree.stems == "single" and fork is not None and near:
        told.append(found("single-yet-forked", "suits", fork=fork.text))
        return 1.0
    return 1.0 if tree.stems == "fork below tie" else 0.0
