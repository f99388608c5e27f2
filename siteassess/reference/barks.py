"""Bark form and thickness of a tree by species, else genus; where nothing is known, taken at its worst."""

from __future__ import annotations

import math
import statistics
from collections import Counter
from dataclasses import dataclass, replace
from functools import cache

from siteassess.reference.tables import FLAGS, rows


@dataclass(frozen=True)
class BarkRow:
    """Bark of one tree.

    Attributes
    ----------
    form : str
        A form of the table `bark_forms`; 'unknown' where nothing is known.
    smooth : bool
        Whether the form counts as thin or smooth, whatever the thickness.
    k, k_low, k_high : float
        Thickness of the bark over the stem's diameter, likely, low and high; NaN where not known. Where published
        factors differ by more than a third, k is the thinner and k_high the thicker.
    constant_m : float
        Thickness to add to k times the diameter [m].
    contact_share, contact_share_low : float
        Share of the area under a sling that really carries; NaN for a palm.
    source, flag : str
        Of the thickness.
    form_flag : str
        Of the form.
    basis : str
        What was used, in a sentence.
    """

    form: str
    smooth: bool
    k: float
    k_low: float
    k_high: float
    constant_m: float
    contact_share: float
    contact_share_low: float
    source: str
    flag: str
    form_flag: str
    basis: str

    def thickness_m(self, diameter_m: float) -> tuple[float, float, float]:
        """Low, likely and high thickness [m] at a diameter over bark [m].

        The low one is careful for pressure on the bark, the high one for the wood left under it.
        """
        low, value, high = (self.constant_m + k * diameter_m for k in (self.k_low, self.k, self.k_high))
        return low, value, high


@cache
def species_bark(row_id: str) -> BarkRow:
    """Bark of a species or genus that has its own row; thickness from the genus where its own is not known."""
    row = next(row for row in rows("bark") if row.id == row_id)
    own = _bark(row.form, [row], row.form_flag, f"its own row ({row.scientific_name})")
    genus = row.scientific_name.split()[0]
    if math.isnan(own.k) and row.rank == "species" and (relatives := genus_bark(genus)) and relatives.k > 0.0:
        return replace(
            own,
            k=relatives.k, k_low=relatives.k_low, k_high=relatives.k_high,
            source=relatives.source, flag="judgement",
            basis=f"form from its own row, thickness of the genus {genus} as a stand-in",
        )  # fmt: skip
    return own


@cache
def genus_bark(genus: str) -> BarkRow | None:
    """Bark of a genus: its own row, else its species' median thickness and the form that asks for most care."""
    species = [row for row in rows("bark") if row.scientific_name.split()[0] == genus]
    if not species:
        return None
    own = [row for row in species if row.rank == "genus"]
    forms = Counter(row.form for row in species)
    careful = [form for form, _ in forms.most_common() if _form(form).thin_or_smooth == "yes"]
    form = careful[0] if careful else forms.most_common(1)[0][0]
    what = "its own row" if own else f"median thickness of {len(species)} species"
    bark = _bark(form, own or species, "judgement", f"genus {genus}: {what}, form that asks for most care")
    lowest, highest = _bark(form, species, "", "").k_low, _bark(form, species, "", "").k_high
    return replace(bark, k_low=min(bark.k_low, lowest), k_high=max(bark.k_high, highest))


@cache
def unknown_bark(leaf_type: str) -> BarkRow:
    """Bark of a tree of which no form and no thickness is known."""
    form = "not_applicable_monocot" if leaf_type == "palm" else "unknown"
    basis = "a palm has no bark of this kind: outside the model" if leaf_type == "palm" else "not known: at its worst"
    return _bark(form, [], "judgement", basis)


def _bark(form: str, used: list, form_flag: str, basis: str) -> BarkRow:
    known = [row for row in used if row.thickness_share is not None]
    words = _form(form)
    share = math.nan if words.contact_share is None else words.contact_share
    low_share = share if words.contact_low_share is None else words.contact_low_share
    if not known:
        nan = math.nan
        return BarkRow(
            form, words.thin_or_smooth == "yes", nan, nan, nan, 0.0, share, low_share, "", "", form_flag, basis
        )
    constants = [row.thickness_constant_mm or 0.0 for row in known] if len(known) == 1 else [0.0]
    return BarkRow(
        form,
        words.thin_or_smooth == "yes",
        statistics.median(row.thickness_share for row in known),
        min(row.thickness_low_share or row.thickness_share for row in known),
        max(row.thickness_high_share or row.thickness_share for row in known),
        constants[0] / 1000.0,
        share,
        low_share,
        known[0].source,
        max((row.flag for row in known), key=FLAGS.index) if len(known) == 1 else "judgement",
        form_flag,
        basis,
    )


def _form(form: str):
    return next(row for row in rows("bark_forms") if row.form == form)
