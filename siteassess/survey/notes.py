"""What can befall one row of an inventory: set aside with a reason, repaired with a note, or kept with a remark.

One flag word a row keeps five million rows cheap, and makes the three counts add up by construction: a row with
any reason is set aside, else a row with any repair is repaired, else it is kept. Remarks change nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntFlag
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from siteassess.reference.findings import Said

NoteFlags: TypeAlias = NDArray[np.int64]  # of `Note`, one a row


class Note(IntFlag):
    NOTHING = 0
    # reasons to set a row aside
    TORN = 1 << 0
    NOT_A_POINT = 1 << 1
    NOT_A_TREE = 1 << 2
    NO_POSITION = 1 << 3
    ZERO_POSITION = 1 << 4
    OFF_GLOBE = 1 << 5
    OUT_OF_BOUNDS = 1 << 6
    POSITIONS_DISAGREE = 1 << 7
    FAR_FROM_ALL = 1 << 8
    DEAD = 1 << 9
    STUMP = 1 << 10
    SIZE_BEYOND = 1 << 11
    SIZE_AGAINST_HEIGHT = 1 << 12
    DUPLICATE = 1 << 13
    SHARED_POINT = 1 << 14
    NEAR_A_POLE = 1 << 15
    OTHER_GRID = 1 << 32
    LETTER_O = 1 << 33
    # repairs
    SWAPPED = 1 << 16
    SIZE_ZERO = 1 << 17
    SIZE_UNREADABLE = 1 << 18
    UNIT_IN_CELL = 1 << 19
    DECIMAL_SIGN = 1 << 20
    HEIGHT_DROPPED = 1 << 21
    CROWN_DROPPED = 1 << 22
    DATE_DROPPED = 1 << 23
    ODD_LETTERS = 1 << 24
    SEVERAL_TREES = 1 << 25
    # remarks
    SPECIES_BLANK = 1 << 26
    SIZE_BLANK = 1 << 27
    SAME_ID = 1 << 28
    HEIGHT_IS_CLASS = 1 << 29
    POOR_CONDITION = 1 << 30
    MAYBE_NO_TREE = 1 << 31


SET_ASIDE = Note((1 << 16) - 1) | Note.OTHER_GRID | Note.LETTER_O
REPAIRS = Note((1 << 26) - (1 << 16))

TOLD = {note: Said(f"ds-{note.name.lower().replace('_', '-')}") for note in Note if note.name}


def notes_told(flags: int) -> tuple[Said, ...]:
    """What is told of one row's flags, reasons first."""
    return tuple(one for flag, one in TOLD.items() if int(flags) & int(flag))


def is_set_aside(flags: NoteFlags) -> NDArray[np.bool_]:
    return (flags & int(SET_ASIDE)).astype(bool)


def is_repaired(flags: NoteFlags) -> NDArray[np.bool_]:
    """True where a row was repaired and not set aside."""
    repaired: NDArray[np.bool_] = ~is_set_aside(flags) & (flags & int(REPAIRS)).astype(bool)
    return repaired


def count_notes(flags: NoteFlags) -> dict[Said, int]:
    """How many rows bear each note, the common ones first; a row can bear several."""
    counts = {told: int(np.count_nonzero(flags & int(flag))) for flag, told in TOLD.items()}
    return dict(sorted(((told, n) for told, n in counts.items() if n), key=lambda pair: -pair[1]))


def in_english(counts: Mapping[Said, int]) -> dict[str, int]:
    """Counts by their English sentence, for other programs."""
    return {told.in_words(): count for told, count in counts.items()}
