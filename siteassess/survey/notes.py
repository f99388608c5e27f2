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
    # remarks
    SPECIES_BLANK = 1 << 26
    SIZE_BLANK = 1 << 27
    SAME_ID = 1 << 28
    HEIGHT_IS_CLASS = 1 << 29
    POOR_CONDITION = 1 << 30


SET_ASIDE = Note((1 << 16) - 1)
REPAIRS = Note((1 << 26) - (1 << 16))

TOLD: dict[Note, Said] = {
    Note.TORN: Said("ds-torn"),
    Note.NOT_A_POINT: Said("ds-not-a-point"),
    Note.NOT_A_TREE: Said("ds-not-a-tree"),
    Note.NO_POSITION: Said("ds-no-position"),
    Note.ZERO_POSITION: Said("ds-zero-position"),
    Note.OFF_GLOBE: Said("ds-off-globe"),
    Note.OUT_OF_BOUNDS: Said("ds-out-of-bounds"),
    Note.POSITIONS_DISAGREE: Said("ds-positions-disagree"),
    Note.FAR_FROM_ALL: Said("ds-far-from-all"),
    Note.DEAD: Said("ds-dead"),
    Note.STUMP: Said("ds-stump"),
    Note.SIZE_BEYOND: Said("ds-size-beyond"),
    Note.SIZE_AGAINST_HEIGHT: Said("ds-size-against-height"),
    Note.DUPLICATE: Said("ds-duplicate"),
    Note.SHARED_POINT: Said("ds-shared-point"),
    Note.SWAPPED: Said("ds-swapped"),
    Note.SIZE_ZERO: Said("ds-size-zero"),
    Note.SIZE_UNREADABLE: Said("ds-size-unreadable"),
    Note.UNIT_IN_CELL: Said("ds-unit-in-cell"),
    Note.DECIMAL_SIGN: Said("ds-decimal-sign"),
    Note.HEIGHT_DROPPED: Said("ds-height-dropped"),
    Note.CROWN_DROPPED: Said("ds-crown-dropped"),
    Note.DATE_DROPPED: Said("ds-date-dropped"),
    Note.ODD_LETTERS: Said("ds-odd-letters"),
    Note.SPECIES_BLANK: Said("ds-species-blank"),
    Note.SIZE_BLANK: Said("ds-size-blank"),
    Note.SAME_ID: Said("ds-same-id"),
    Note.HEIGHT_IS_CLASS: Said("ds-height-is-class"),
    Note.POOR_CONDITION: Said("ds-poor-condition"),
}


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
