"""Sling and webbing of a line as numbers, from the record's words and the tables.

What was not planned or not named is marked, or taken over its whole range, so that a plan can be proposed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from siteassess.advice.finding import Finding, found, whys
from siteassess.errors import OutsideModel, UnknownName
from siteassess.mechanics.hauling import SETTLING, Range
from siteassess.mechanics.series import in_series, shares_of
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.records.line import End, Padding, Sling, Webbing
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.names import is_nothing
from siteassess.reference.tables import rows
from siteassess.reference.webbing import classes_like, tension_strain, webbing_class
from siteassess.units import Quantity

# how the record's words for a wrap are called in mechanics
WRAP = {
    "basket": "basket", "doubled basket": "doubled", "choker": "choker", "turns": "turns",
    "friction turns": "friction", "unknown": "basket",
}
USUAL_LINK_RADII = constant("usual link")
UNPLANNED_WIDTH = constant("unplanned width")


@dataclass(frozen=True)
class SlingInputs:
    wrap: str  # a wrap of mechanics.bark
    wrap_known: bool
    width: float | None  # bearing width of one strand [m]
    strands: int | None
    link_distance: float | None  # from the trunk's centre [m]
    pad_material: str | None  # of the table of pads; None for no pad and for one that is in no table
    pad_thickness: float | None  # [m]
    pad_width: float | None  # along the trunk [m]
    slats: int
    slat_width: float | None  # [m]
    slat_thickness: float | None  # [m]
    slat_length: float | None  # [m]
    rating: float | None = None  # of one strand [N]; a working load limit is taken as it stands, which is careful
    kind: str = "unknown"
    length: float | None = None  # the sling at hand, end to end [m]
    pad_in_no_table: str | None = None  # as typed: nobody knows what it bears, so it counts as no pad
    proposed: bool = False  # by us, since none was planned
    off_middle: float = 0.0  # of the pull from the middle of the legs [deg]; a link that can slide settles there

    @property
    def planned(self) -> bool:
        return self.wrap_known and self.width is not None

    @property
    def pad_too_narrow(self) -> bool:
        """Whether the pad is narrower than all the strands that lie on it: bark rubs beside it as without one."""
        strands = self.strands or (2 if self.wrap == "doubled" else 1)
        lies = UNPLANNED_WIDTH.value if self.width is None else strands * self.width
        return self.pad_width is not None and self.pad_width < lies - 1e-9

    @property
    def slat_sizes(self) -> tuple[float, float, float] | None:
        """Width, length and thickness of a slat [m]; None without slats, or where a size was not read."""
        if not (self.slats and self.slat_width and self.slat_length and self.slat_thickness):
            return None
        return self.slat_width, self.slat_length, self.slat_thickness


def sling_inputs(end: End) -> SlingInputs:
    """Numbers of the sling and padding planned at one end of a line."""
    sling, pad = end.sling or Sling(), end.padding or Padding()
    wrap = sling.wrap
    strands = sling.strands if sling.strands > 1 else None
    if wrap in ("turns", "friction turns"):
        strands = None  # turns do not share the pull, whatever was written
    nothing = 0.0 in (_si(pad.thickness), _si(pad.width)) or is_nothing(pad.material or "")
    named = None if nothing else pad.material
    known = named is not None and pad_row(named) is not None
    read = SlingInputs(
        wrap=WRAP[wrap], wrap_known=wrap != "unknown",
        width=_si(sling.width), strands=strands, link_distance=_si(sling.link_distance),
        pad_material=named if known else None, pad_thickness=_si(pad.thickness), pad_width=_si(pad.width),
        slats=pad.slats, slat_width=_si(pad.slat_width), slat_thickness=_si(pad.slat_thickness),
        slat_length=_si(pad.slat_length), rating=_si(sling.rating), kind=sling.kind, length=_si(sling.length),
        pad_in_no_table=None if known else named, off_middle=sling.off_middle.si if sling.off_middle else 0.0,
    )  # fmt: skip
    return replace(read, pad_material=None) if read.pad_too_narrow else read


def pad_planned(end: End) -> Padding | None:
    """The pad of one end of a line; none where what was named for it is no pad."""
    pad = end.padding
    return None if pad and pad.material and not sling_inputs(end).pad_material else pad


def usual_link_distance(diameter: float) -> float:
    """Distance of the link from the trunk's centre where none was planned [m]."""
    return max(USUAL_LINK_RADII * diameter / 2, 0.4) if math.isfinite(diameter) else 0.8


def pad_row(material: str) -> Any:
    """Row of the table of pads whose name a material is, whole; None where none is.

    Parameters
    ----------
    material : as typed

    Returns
    -------
    By `id` and what the table holds beside it.
    """
    wanted = " ".join(material.casefold().split())
    return next((row for row in rows("pads") if wanted in (row["id"], *row["id"].split(" or "))), None)


def _si(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.si


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
    class_strength: tuple[float, float] | None  # plausible range of the class, where none is rated [N]
    settles: Range  # share of the tension lost at the first walk [-]
    held_by: str | None = None
    length: float | None = None  # of the piece [m]


def stiffness_of_class(name: str) -> tuple[float | StretchTable, Said]:
    """Stretch of a class: its table where one was read, else its one stiffness; and what it is.

    Parameters
    ----------
    name : of a class of webbing

    Returns
    -------
    EA [N] or the table; what it is, as a code.

    Raises
    ------
    UnknownName
        With the near names.
    """
    row, points = webbing_class(name), tension_strain(name)
    basis = said("webbing-of-class", name=row.name, flag=row.flag, low=row.ea_low_kn * 1e3, high=row.ea_high_kn * 1e3)
    if len(points) > 2:  # with one point beside nought the table says no more than the stiffness
        return stretch_table(points), said("webbing-by-its-table", what=basis)
    return row.ea_kn * 1e3, basis


def stiffness_ends_of_class(name: str) -> tuple[float | StretchTable, float | StretchTable]:
    """The soft and the stiff end of a class: its stiffness, or its whole table, scaled to the plausible range.

    Parameters
    ----------
    name : of a class of webbing

    Returns
    -------
    Soft and stiff; EA [N] or a table each.
    """
    row, (known, _) = webbing_class(name), stiffness_of_class(name)
    soft, stiff = row.ea_low_kn / row.ea_kn, row.ea_high_kn / row.ea_kn
    if isinstance(known, StretchTable):
        return StretchTable(known.tension, known.rows / soft), StretchTable(known.tension, known.rows / stiff)
    return soft * known, stiff * known


@lru_cache(maxsize=64)
def stretch_table(points: tuple[tuple[float, float], ...]) -> StretchTable:
    """A table from (tension [N], stretch [-]) rows; the same rows give the same table, for caches that hold it."""
    return StretchTable([point[0] for point in points], [point[1] for point in points])


def settles_of_class(name: str | None) -> Range:
    """Share of the tension a class loses at its first walk [-]; the unknown one's for no class.

    Parameters
    ----------
    name : of a class of webbing, or None
    """
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
    if row is not None and webbing and webbing.width:
        row, width_over = _of_width(row, webbing.width.si, told)
        known = row.name
    stiffness = _stiffness(webbing, known, width_over, told)
    mass = webbing.mass.si if webbing and webbing.mass else None
    if mass is None:
        mass = width_over * row.mass_g_per_m / 1e3 if row and row.mass_g_per_m else DEFAULT_MASS_PER_LENGTH
    rated = webbing.strength.si if webbing and webbing.strength else None
    return WebbingNumbers(
        stiffness, mass, rated,
        tuple(min(width_over, 1.0) * kn * 1e3 for kn in (row.strength_low_kn, row.strength_high_kn))
        if row and not rated else None,
        settles_of_class(known), webbing.held_by if webbing else None,
        webbing.length.si if webbing and webbing.length else None,
    )  # fmt: skip


def widest_alike(webbing: Webbing | None) -> Webbing | None:
    """The webbing as the widest class of its fibre, where nobody said how wide it is; None where that changes nothing.

    Parameters
    ----------
    webbing : of a line
    """
    if webbing is None or not webbing.kind or webbing.width or webbing.stiffness or webbing.stretch:
        return None
    try:
        row = webbing_class(webbing.kind)
    except UnknownName:
        return None
    widest = max((one for one in rows("webbing") if one.fibre == row.fibre), key=lambda one: one.width_mm)
    width_named = any(letter.isdigit() for letter in webbing.kind)
    return None if width_named or widest.width_mm <= row.width_mm else webbing.model_copy(update={"kind": widest.name})


def _of_width(row: Any, width: float, told: list[Finding]) -> tuple[Any, float]:
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


def _stiffness(
    webbing: Webbing | None, known: str | None, width_over: float, told: list[Finding]
) -> float | StretchTable | None:
    """The most particular of own table, own stiffness and class; None where there is none."""
    if webbing and webbing.stretch:
        try:
            return stretch_table(tuple((row.tension.si, row.stretch.si) for row in webbing.stretch))
        except OutsideModel as error:
            told.append(found("stretch-table-unusable", "cannot say", looked_at=False, why=whys(error)))
            return None
    if webbing and webbing.stiffness:
        return webbing.stiffness.si
    if not known:
        return None
    stiffness, _ = stiffness_of_class(known)
    if width_over == 1.0:
        return stiffness
    if isinstance(stiffness, StretchTable):
        pairs = zip(width_over * stiffness.tension, stiffness.rows)
        return stretch_table(tuple((float(tension), float(strain)) for tension, strain in pairs))
    return width_over * stiffness


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
    stiffness: float | StretchTable | None = None
    mass: float = DEFAULT_MASS_PER_LENGTH
    if shares is not None:
        stiffness = in_series(shares, _known_stiffnesses(pieces))
        mass = sum(share * piece.mass for share, piece in zip(shares, pieces))
    # the weakest that is known is no stronger for one beside it of which nothing is
    strengths = [piece.strength for piece in pieces if piece.strength is not None]
    classes = [piece.class_strength for piece in pieces if piece.class_strength]
    even = shares or (1 / len(pieces),) * len(pieces)
    settles = Range(*(sum(s * piece.settles[i] for s, piece in zip(even, pieces)) for i in range(3)))
    return WebbingNumbers(stiffness, mass, min(strengths, default=None), min(classes, default=None), settles)


def _known_stiffnesses(pieces: Sequence[WebbingNumbers]) -> list[float | StretchTable]:
    return [piece.stiffness for piece in pieces if piece.stiffness is not None]


def _shares(
    pieces: Sequence[WebbingNumbers], chord: float | None, standing: float, told: list[Finding]
) -> tuple[float, ...] | None:
    if chord is None or len(stiffnesses := _known_stiffnesses(pieces)) < len(pieces):
        return None
    lengths = [piece.length for piece in pieces]
    try:
        shares = shares_of(chord, standing, lengths, stiffnesses)
    except OutsideModel as error:
        told.append(found("joined-webbings-unusable", "cannot say", looked_at=False, why=whys(error)))
        return None
    together = sum(math.nan if length is None else length for length in lengths)
    if abs(together / chord - 1) > LENGTHS_MAY_DIFFER:  # never with a length that is not known
        told.append(found("joined-webbings-miss-span", "suits", together=together, span=chord))
    return shares


def stiffness_said(stiffness: float | StretchTable | None, secant: float) -> Said:
    """How stiff a webbing is, for a reader."""
    if stiffness is None or not math.isfinite(secant):
        return said("stiffness-not-known")
    if isinstance(stiffness, StretchTable):
        return said("stiffness-by-its-table", ea=secant, last=min(stiffness.tension[-1], 10e3))
    return said("stiffness", ea=secant)
