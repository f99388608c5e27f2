"""What can befall one row of an inventory: set aside with a reason, repaired with a note, or kept with a remark.

One flag word a row keeps five million rows cheap, and makes the three counts add up by construction: a row with
any reason is set aside, else a row with any repair is repaired, else it is kept. Remarks change nothing.
"""

from __future__ import annotations

from enum import IntFlag
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Flags: TypeAlias = NDArray[np.int64]  # of `Note`, one a row


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

TEXT: dict[Note, str] = {
    Note.TORN: "the row's cells do not match the header (a stray quote or delimiter)",
    Note.NOT_A_POINT: "an outline or a line, not a point",
    Note.NOT_A_TREE: "not a tree by the column that tells",
    Note.NO_POSITION: "no position that could be read",
    Note.ZERO_POSITION: "position is zero, zero",
    Note.OFF_GLOBE: "position lies off the globe or off its grid",
    Note.OUT_OF_BOUNDS: "position lies outside the bounds of this inventory",
    Note.POSITIONS_DISAGREE: "the row's two positions disagree",
    Note.FAR_FROM_ALL: "position lies far from all the rest",
    Note.DEAD: "dead by its status",
    Note.STUMP: "a stump or a removed tree by its status",
    Note.SIZE_BEYOND: "the size is not believable in the stated unit",
    Note.SIZE_AGAINST_HEIGHT: "size and height contradict each other",
    Note.DUPLICATE: "stands on the same spot as an earlier row",
    Note.SHARED_POINT: "three or more rows share this very point: an address, not a trunk",
    Note.SWAPPED: "latitude and longitude were swapped: put right",
    Note.SIZE_ZERO: "size 0 taken as not known",
    Note.SIZE_UNREADABLE: "size could not be read: taken as not known",
    Note.UNIT_IN_CELL: "unit taken from the cell, not from the column",
    Note.DECIMAL_SIGN: "the other decimal sign was read",
    Note.HEIGHT_DROPPED: "height not believable or not readable: taken as not known",
    Note.CROWN_DROPPED: "crown width not believable or not readable: taken as not known",
    Note.DATE_DROPPED: "planting date is a bulk or null date: taken as not known",
    Note.ODD_LETTERS: "letters that do not fit the encoding were replaced",
    Note.SPECIES_BLANK: "species not stated",
    Note.SIZE_BLANK: "size not stated",
    Note.SAME_ID: "another row bears the same id",
    Note.HEIGHT_IS_CLASS: "height is the low end of a class",
    Note.POOR_CONDITION: "in poor condition by the inventory",
}


def sentences(flags: int) -> tuple[str, ...]:
    """The sentences of one row's flags, reasons first."""
    return tuple(text for flag, text in TEXT.items() if int(flags) & int(flag))


def is_set_aside(flags: Flags) -> NDArray[np.bool_]:
    return (flags & int(SET_ASIDE)).astype(bool)


def is_repaired(flags: Flags) -> NDArray[np.bool_]:
    """True where a row was repaired and not set aside."""
    repaired: NDArray[np.bool_] = ~is_set_aside(flags) & (flags & int(REPAIRS)).astype(bool)
    return repaired


def tally(flags: Flags) -> dict[str, int]:
    """How many rows bear each note, by its sentence, the common ones first; a row can bear several."""
    counts = {text: int(np.count_nonzero(flags & int(flag))) for flag, text in TEXT.items()}
    return dict(sorted(((text, n) for text, n in counts.items() if n), key=lambda pair: -pair[1]))
