"""The webbing of a line as numbers: its class, its own stiffness or stretch table, or several pieces joined."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from siteassess.advice.finding import Finding, found, whys
from siteassess.errors import OutsideModel, UnknownName
from siteassess.mechanics.hauling import SETTLING, Range
from siteassess.mechanics.series import in_series, shares_of
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.records.line import Webbing
from siteassess.reference.constants import constant
from siteassess.reference.tables import rows
from siteassess.reference.webbing import classes_like, tension_strain, webbing_class

DEFAULT_MASS_PER_LENGTH = constant("webbing mass")
WIDTHS_MAY_DIFFER = constant("webbing widths may differ")
WIDTHS_TOO_FAR = constant("webbing widths too far")
LENGTHS_MAY_DIFFER = constant("webbing lengths may differ")


@dataclass(frozen=True)
class WebbingNumbers:
    """What is known of a webbing. None where nothing is."""

    stiffness: float | StretchTable | None  # EA [N], or a table
    mass: float  # [kg/m]
    strength: float | None  # rated [N]
    class_strength: tuple[float, float] | None  # plausible range of the class [N]
    settles: Range  # share of the tension lost at the first walk [-]
    basis: str
    held_by: str | None = None
    length: float | None = None  # of the piece [m]


def stiffness_of_class(name: str) -> tuple[float | StretchTable, str]:
    """Stretch of a class: its table where one was read, else its one stiffness; and the words for it.

    Raises
    ------
    UnknownName
        With the near names.
    """
    row, points = webbing_class(name), tension_strain(name)
    basis = f"class {row.name} ({row.flag}; plausible {row.ea_low_kn:g} to {row.ea_high_kn:g} kN)"
    if len(points) > 2:  # with one point beside nought the table says no more than the stiffness
        return stretch_table(points), f"{basis}, by its stretch table"
    return row.ea_kn * 1e3, basis


def stiffness_ends_of_class(name: str) -> tuple[float | StretchTable, float | StretchTable]:
    """The soft and the stiff end of a class: its stiffness, or its whole table, scaled to the plausible range."""
    row, (known, _) = webbing_class(name), stiffness_of_class(name)
    soft, stiff = row.ea_low_kn / row.ea_kn, row.ea_high_kn / row.ea_kn
    if isinstance(known, StretchTable):
        return tuple(StretchTable(known.tension, known.rows / share) for share in (soft, stiff))
    return soft * known, stiff * known


@lru_cache(maxsize=64)
def stretch_table(points: tuple[tuple[float, float], ...]) -> StretchTable:
    """A table from (tension [N], stretch [-]) rows; the same rows give the same table, for caches that hold it."""
    return StretchTable([point[0] for point in points], [point[1] for point in points])


def settles_of_class(name: str | None) -> Range:
    """Share of the tension a class loses at its first walk [-]; the unknown one's for no class."""
    if name is None:
        return SETTLING["unknown"]
    row = webbing_class(name)
    if row.fibre in SETTLING:
        return SETTLING[row.fibre]
    low, high = row.settles_10min_low_pct / 100, row.settles_10min_high_pct / 100
    return Range(low, (low + high) / 2, high)


def webbing_numbers(webbing: Webbing | None, told: list[Finding]) -> WebbingNumbers:
    """Numbers of one webbing; what is doubtful goes into `told`."""
    row, known = None, webbing.kind if webbing else None
    if known:
        try:
            row = webbing_class(known)
        except UnknownName:
            told.append(found("webbing-unknown", "suits", kind=known, names=classes_like(known)))
            known = None
    width_over = 1.0
    if row is not None and webbing.width:
        row, width_over = _of_width(row, webbing.width.si, told)
        known = row.name
    stiffness, basis = _stiffness(webbing, known, width_over, told)
    mass = webbing.mass.si if webbing and webbing.mass else None
    if mass is None:
        mass = width_over * row.mass_g_per_m / 1e3 if row and row.mass_g_per_m else DEFAULT_MASS_PER_LENGTH
    return WebbingNumbers(
        stiffness, mass, webbing.strength.si if webbing and webbing.strength else None,
        tuple(min(width_over, 1.0) * kn * 1e3 for kn in (row.strength_low_kn, row.strength_high_kn)) if row else None,
        settles_of_class(known), basis, webbing.held_by if webbing else None,
        webbing.length.si if webbing and webbing.length else None,
    )  # fmt: skip


def _of_width(row, width: float, told: list[Finding]):
    """The class of the same fibre that is as wide as was taped, else the named one and how much wider this is [-]."""
    if abs(width / (row.width_mm / 1e3) - 1) <= WIDTHS_MAY_DIFFER:
        return row, 1.0
    for other in rows("webbing"):
        if other.fibre == row.fibre and abs(width / (other.width_mm / 1e3) - 1) <= WIDTHS_MAY_DIFFER:
            told.append(found("webbing-taken-as", "suits", name=row.name, width=width, other=other.name))
            return other, 1.0
    over = width / (row.width_mm / 1e3)
    values = {"fibre": row.fibre, "width": width, "name": row.name, "times": over}
    if 1 / WIDTHS_TOO_FAR <= over <= WIDTHS_TOO_FAR:
        told.append(found("webbing-by-width", "suits", **values))
    else:
        told.append(found("webbing-width-too-far", "cannot say", looked_at=False, **values))
    return row, over


def _stiffness(webbing: Webbing | None, known: str | None, width_over: float, told: list[Finding]):
    """The most particular of own table, own stiffness and class; None where there is none."""
    if webbing and webbing.stretch:
        try:
            table = stretch_table(tuple((row.tension.si, row.stretch.si) for row in webbing.stretch))
            return table, "its own stretch table"
        except OutsideModel as error:
            told.append(found("stretch-table-unusable", "cannot say", looked_at=False, why=whys(error)))
            return None, ""
    if webbing and webbing.stiffness:
        return webbing.stiffness.si, "its own stiffness"
    if not known:
        return None, ""
    stiffness, basis = stiffness_of_class(known)
    if width_over == 1.0:
        return stiffness, basis
    if isinstance(stiffness, StretchTable):
        pairs = zip(width_over * stiffness.tension, stiffness.rows)
        stiffness = stretch_table(tuple((float(tension), float(strain)) for tension, strain in pairs))
    else:
        stiffness = width_over * stiffness
    return stiffness, f"{basis}, {width_over:.2f} times by its width"


def joined_numbers(
    sections: Sequence[Webbing], chord: float | None, standing: float, told: list[Finding]
) -> WebbingNumbers:
    """Numbers of webbings joined end to end, as one.

    Parameters
    ----------
    sections : sequence of Webbing
        From A to B; one may be without a length, the rest of the line.
    chord : float or None
        Straight distance between the anchors [m].
    standing : float
        Tension the line stands at; 0 where unknown [N].
    """
    pieces = [webbing_numbers(section, told) for section in sections]
    shares = _shares(pieces, chord, standing, told)
    if shares is None:
        stiffness, mass = None, DEFAULT_MASS_PER_LENGTH
    else:
        stiffness = in_series(shares, [piece.stiffness for piece in pieces])
        mass = sum(share * piece.mass for share, piece in zip(shares, pieces))
    strengths = [piece.strength for piece in pieces]
    known = [piece.class_strength for piece in pieces if piece.class_strength]
    even = shares or (1 / len(pieces),) * len(pieces)
    settles = Range(*(sum(s * piece.settles[i] for s, piece in zip(even, pieces)) for i in range(3)))
    basis = " joined to ".join(piece.basis or "a webbing not known" for piece in pieces)
    return WebbingNumbers(stiffness, mass, None if None in strengths else min(strengths),
                          min(known) if len(known) == len(pieces) else None, settles, basis)  # fmt: skip


def _shares(pieces, chord, standing, told) -> tuple[float, ...] | None:
    if chord is None or any(piece.stiffness is None for piece in pieces):
        return None
    lengths = [piece.length for piece in pieces]
    try:
        shares = shares_of(chord, standing, lengths, [piece.stiffness for piece in pieces])
    except OutsideModel as error:
        told.append(found("joined-webbings-unusable", "cannot say", looked_at=False, why=whys(error)))
        return None
    if None not in lengths and abs(sum(lengths) / chord - 1) > LENGTHS_MAY_DIFFER:
        told.append(found("joined-webbings-miss-span", "suits", together=sum(lengths), span=chord))
    return shares


def words_of(stiffness: float | StretchTable | None, secant: float) -> str:
    """How stiff a webbing is, for a reader."""
    if stiffness is None or not math.isfinite(secant):
        return "not known"
    if isinstance(stiffness, StretchTable):
        last = min(stiffness.tension[-1], 10e3) / 1e3
        return f"EA {secant / 1e3:.0f} kN up to {last:.1f} kN, by its stretch table"
    return f"EA {secant / 1e3:.0f} kN"
