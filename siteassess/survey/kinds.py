"""The kinds of tree in an inventory: each distinct name looked up once, then spread over the rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from siteassess.advice.filled import low_heights_of
from siteassess.advice.tree_inputs import UNKNOWN_BARK_SHARE
from siteassess.reference.anchorage import anchorage_of
from siteassess.reference.findings import Said
from siteassess.reference.species import SpeciesMatch, find_species
from siteassess.reference.written_names import written_species
from siteassess.survey.cells import Floats

LEAF_WORDS = {"broadleaved": "unknown broadleaf", "needleleaved": "unknown conifer"}
UNKNOWN_TREE = "unknown tree"


@dataclass
class Kinds:
    """What is known of the kind of each row; arrays of one length, and the matches they point into."""

    matches: list[SpeciesMatch]
    which: NDArray[np.int64]

    def _spread(self, values: Iterable[object], dtype: type = object) -> np.ndarray:
        spread: np.ndarray = np.array(list(values), dtype=dtype)[self.which]
        return spread

    @property
    def genus(self) -> np.ndarray:
        return self._spread(match.genus for match in self.matches)

    @property
    def accepted(self) -> np.ndarray:
        return self._spread(match.accepted for match in self.matches)

    @property
    def leaf_type(self) -> np.ndarray:
        return self._spread(match.leaf_type for match in self.matches)

    @property
    def named(self) -> np.ndarray:
        """Whether a genus at least is known."""
        return self._spread((match.genus != "" for match in self.matches), bool)

    @property
    def bending_strength_pa(self) -> np.ndarray:
        return self._spread((match.wood.mor_pa if match.wood else np.nan for match in self.matches), float)

    @property
    def strength_ln_sd(self) -> np.ndarray:
        return self._spread((match.wood.ln_sd if match.wood else np.nan for match in self.matches), float)

    @property
    def anchorage(self) -> tuple[np.ndarray, np.ndarray]:
        """Turning moment over diameter squared times height [N m/m^3] and its scatter [ln]."""
        found = [anchorage_of(match) for match in self.matches]
        return (self._spread((one.moment_per_d2h for one in found), float),
                self._spread((one.ln_sd for one in found), float))

    def bark_low_m(self, diameter: Floats) -> Floats:
        """A thin guess at the bark, for care [m]."""
        return self._by_kind(lambda match, own: match.bark.thickness_m(own)[0], diameter)

    def bark_high_m(self, diameter: Floats) -> Floats:
        """A thick guess at the bark, for the wood under it [m]; without any, a thick share of the diameter."""
        bark = self._by_kind(lambda match, own: match.bark.thickness_m(own)[2], diameter)
        return np.where(np.isnan(bark), UNKNOWN_BARK_SHARE.value * diameter, bark)

    def low_height_m(self, diameter: Floats) -> Floats:
        """A low fractile of height from the diameter, as `filled_height_of` has it for one tree [m]."""
        return self._by_kind(low_heights_of, diameter)

    def _by_kind(self, of: Callable[[SpeciesMatch, Floats], Floats], diameter: Floats) -> Floats:
        """`of(match, diameters)` for the trees of each kind at once; NaN where the diameter is not known."""
        found = np.full(len(diameter), np.nan)
        for number, match in enumerate(self.matches):
            own = np.flatnonzero((self.which == number) & ~np.isnan(diameter))
            if len(own):
                found[own] = of(match, diameter[own])
        return found


def match_of(species: str, common: str, leaf_type: str) -> SpeciesMatch:
    """The kind a row's names mean: species, else common name, else leaf type, else any tree."""
    matches = [match for name in (species, common) if (match := written_species(name))]
    named = next((match for match in matches if match.genus or match.leaf_type == "palm"), None)
    if named is not None:
        return named
    told = LEAF_WORDS.get(leaf_type)
    return find_species(told) if told else matches[0] if matches else find_species(UNKNOWN_TREE)


def names_taken(trees: pd.DataFrame) -> dict[Said, int]:
    """How many rows bear each name that is taken for another, by what it is taken for, the common ones first."""
    counts = trees["species"].astype(str).value_counts()
    notes = {name: match.note for name in counts.index if (match := written_species(name))}
    return {note: int(counts[name]) for name, note in notes.items() if note and note.code == "name-taken-for"}


def kinds_of(trees: pd.DataFrame) -> Kinds:
    """Kinds of all rows; each distinct set of names is looked up once."""
    names = trees[["species", "common", "leaf_type"]].astype(str)
    codes, distinct = pd.factorize(pd.MultiIndex.from_frame(names))
    found = [match_of(*one) for one in distinct]
    # several spellings of one kind share a match, so that the height is filled once a kind
    seen: dict[tuple[str, str], int] = {}
    number = np.array([seen.setdefault((m.accepted, m.leaf_type), len(seen)) for m in found], dtype=np.int64)
    first = dict(zip(reversed(number.tolist()), reversed(found)))
    matches = [first[n] for n in range(len(seen))]
    return Kinds(matches, number[codes] if len(found) else np.array([], dtype=np.int64))
