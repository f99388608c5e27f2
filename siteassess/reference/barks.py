"""Bark form and thickness of a tree by species, else genus; where nothing is known, taken at its worst."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import rows

TABLE_SPREAD = constant("bark table spread")


@dataclass(frozen=True)
class BarkCurve:
    """Thickness of bark as a function of the stem's diameter: constant + share d + curve d^2 [m].

    A curve that bends over is held at its peak: bark does not thin as a trunk grows.
    """

    constant_m: float
    share: float
    curve_per_m: float = 0.0
    factor: float = 1.0

    def at(self, diameter_m: ArrayLike) -> Any:
        """Thickness [m] at a diameter over bark [m]."""
        d = np.asarray(diameter_m, dtype=float)
        if self.curve_per_m < 0.0:
            d = np.minimum(d, -self.share / (2.0 * self.curve_per_m))
        return self.factor * np.maximum(self.constant_m + self.share * d + self.curve_per_m * d**2, 0.0)

    def times(self, factor: float) -> BarkCurve:
        return replace(self, factor=self.factor * factor)


@dataclass(frozen=True)
class BarkRow:
    """Bark of one tree; curves are empty where nothing is known.

    The low end is the thinnest of `low`, the high end the thickest of `high`, the likely one the median of `likely`.
    """

    form: str  # of the table `bark_forms`; "unknown" where nothing is known
    smooth: bool  # whether the form counts as thin or smooth, whatever the thickness
    low: tuple[BarkCurve, ...]
    likely: tuple[BarkCurve, ...]
    high: tuple[BarkCurve, ...]
    contact_share: float  # of the area under a sling that really carries; NaN for a palm
    source: str  # of the thickness
    flag: str
    form_flag: str
    basis: Said  # what was used

    def thickness_m(self, diameter_m: ArrayLike) -> tuple[Any, Any, Any]:
        """Low, likely and high thickness [m] at a diameter over bark [m]; NaN where not known.

        The low one is careful for pressure on the bark, the high one for the wood left under it.
        """
        if not self.likely:
            unknown = np.full_like(np.asarray(diameter_m, dtype=float), np.nan)[()]
            return unknown, unknown, unknown
        ends = ((np.min, self.low), (np.median, self.likely), (np.max, self.high))
        low, likely, high = (one([curve.at(diameter_m) for curve in curves], axis=0)[()] for one, curves in ends)
        return low, likely, high


@cache
def species_bark(row_id: str) -> BarkRow:
    """Bark of a species or genus that has its own row; thickness from the genus where its own is not known."""
    row = next(row for row in rows("bark") if row.id == row_id)
    own = _bark(row.form, [row], row.form_flag, said("bark-own-row", name=row.scientific_name))
    genus = row.scientific_name.split()[0]
    if not own.likely and row.rank == "species" and (relatives := genus_bark(genus)) and relatives.likely:
        return replace(
            own, low=relatives.low, likely=relatives.likely, high=relatives.high,
            source=relatives.source, flag="judgement",
            basis=said("bark-thickness-of-genus", genus=genus),
        )
    return own


@cache
def genus_bark(genus: str) -> BarkRow | None:
    """Bark of a genus: its own row, else its species' median thickness; ends and form of what asks for most care."""
    species = [row for row in rows("bark") if row.scientific_name.split()[0] == genus]
    if not species:
        return None
    own = [row for row in species if row.rank == "genus"]
    forms = Counter(row.form for row in species)
    careful = [form for form, _ in forms.most_common() if _form(form).thin_or_smooth == "yes"]
    form = careful[0] if careful else forms.most_common(1)[0][0]
    basis = said("bark-of-genus-row", genus=genus) if own else said("bark-of-genus", genus=genus, count=len(species))
    bark = _bark(form, own or species, "judgement", basis)
    every = _bark(form, species, "", basis)
    return replace(bark, low=every.low, likely=bark.likely or every.likely, high=every.high)


@cache
def unknown_bark(leaf_type: str) -> BarkRow:
    """Bark of a tree of which no form and no thickness is known."""
    form = "not_applicable_monocot" if leaf_type == "palm" else "unknown"
    return _bark(form, [], "judgement", said("bark-of-a-palm" if leaf_type == "palm" else "bark-not-known"))


def _bark(form: str, used: list[Any], form_flag: str, basis: Said) -> BarkRow:
    known = [row for row in used if row.thickness_share is not None]
    words = _form(form)
    share = math.nan if words.contact_share is None else words.contact_share
    likely = tuple(_curve(row) for row in known)
    flags = [row.flag for row in known]
    return BarkRow(
        form, words.thin_or_smooth == "yes",
        (*(curve.times(1.0 - TABLE_SPREAD) for curve in likely), *_listed(known, "thickness_low_share")), likely,
        (*(curve.times(1.0 + TABLE_SPREAD) for curve in likely), *_listed(known, "thickness_high_share")), share,
        known[0].source if known else "", "judgement" if len(flags) > 1 else "".join(flags), form_flag, basis,
    )


def _curve(row: Any) -> BarkCurve:
    return BarkCurve((row.thickness_constant_mm or 0.0) / 1e3, row.thickness_share, row.thickness_curve_per_m or 0.0)


def _listed(known: list[Any], end: str) -> tuple[BarkCurve, ...]:
    """The low or high shares that the table lists beside its value."""
    return tuple(BarkCurve(0.0, share) for row in known if (share := getattr(row, end)))


def _form(form: str) -> Any:
    return next(row for row in rows("bark_forms") if row.form == form)
