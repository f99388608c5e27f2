"""Which columns of an unknown inventory name the trees: candidates are tried against the table of names, best first.

A column called "Species" may hold numbers of a city's own list while another holds names, and names may stand in two
columns, genus and epithet. What is in the cells decides; what a column is called only breaks a tie.
"""

from __future__ import annotations

from collections.abc import Mapping as Columns
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteassess.reference.findings import Said, said
from siteassess.reference.written_names import is_no_name, joined, written_species
from siteassess.survey import cells
from siteassess.survey.guessing_sizes import without_unit
from siteassess.survey.mapping import NameColumn, column_key

SPECIES = (
    "speciesname", "scientificname", "scientific", "botanicalname", "latinname", "spclatin", "artbot", "qspecies",
    "baumartlat", "botanischername", "nombrecientifico", "nomcientific", "nomscientifique", "specie", "species",
    "taxon", "baumart", "art", "especie", "espece", "essence", "acceptedscientificname", "specieslatin", "botanic",
    "gattungartlatein", "gattungart", "gattungartlat", "baumartbotanisch", "nomlatin", "nombotanique", "latin",
    "treespecies",
)  # fmt: skip
GENUS = ("genus", "genrearbre", "genre", "gattung", "genusname", "genero", "gattunglat")
EPITHET = ("especearbre", "species", "specie", "speciesname", "espece", "especie", "art", "epithet", "specificepithet",
           "artepithet")  # fmt: skip
COMMON = (
    "commonname", "common", "spccommon", "artdtsch", "treename", "nomcommun", "nombrecomun", "vernacularname",
    "deutschername", "libellefrancais", "artdeutsch", "nomcommu", "nombre", "treetype", "baumartdeutsch",
    "nomfrancais", "nomvernaculaire", "essencefrancais", "nombrevulgar", "taxonen", "taxonde", "taxonfr", "taxones",
    "speciesen", "speciesde", "speciesfr", "specieses", "genusen", "genusde", "genusfr", "genuses",
)  # fmt: skip
# what a place, a street or a picture is called may be a tree's name too, as "oak corner": never taken for a kind
OTHER_NAMES = (
    "name", "title", "label", "desc", "description", "cmt", "address", "street", "park", "parkname", "site", "sitename",
    "strasse", "rue", "calle", "photo", "sym", "type",
)  # fmt: skip
CALLED = (*SPECIES, *GENUS, *COMMON)
NOT_CALLED_SO = 999  # in place of the place of a column's name among these
# all of these are judgement
TRIED_ROWS, TRIED_NAMES = 2000, 60  # rows looked at, and distinct names of them that are looked up
LEAST_SHARE = 0.5  # of the names of a column that must be trees, to be taken for what its own name does not say


@dataclass(frozen=True)
class NamesTried:
    """One candidate: its columns, and which shares of its names are trees, and species [-]."""

    columns: tuple[str, ...]
    join: bool
    trees: float
    species: float
    called: int  # how well its own name fits, the less the better

    @property
    def rank(self) -> tuple[float, float, int]:
        return (-round(self.trees, 2), -round(self.species, 2), self.called)


def name_columns(
    header: list[str], head: Columns[str, NDArray[np.object_]], reasons: list[Said]
) -> tuple[NameColumn | None, NameColumn | None]:
    """The column of scientific names, or the best there is, and that of common names; each with its reason.

    Parameters
    ----------
    header : names of the columns
    head : cells of the first rows, by column
    reasons : added to
    """
    # "Baumart (botanisch)" is called "Baumart"
    keys = {name: key if (key := column_key(name)) in CALLED else column_key(without_unit(name)) for name in header}
    tried = sorted(_candidates(header, keys, head), key=lambda one: one.rank)
    field = said("ds-field-species")
    best = next((one for one in tried if one.trees >= (LEAST_SHARE if one.called == NOT_CALLED_SO else 1e-9)), None)
    if best is None:
        by_name = next((name for word in (*SPECIES, *GENUS) for name in header if keys[name] == word), None)
        if by_name:
            reasons.append(said("ds-by-name", field=field, column=by_name))
        return (NameColumn(column=(by_name,)) if by_name else None), _common(header, keys, by_name, reasons)
    if best.join:
        genus, epithet = best.columns
        reasons.append(said("ds-both-together", field=field, genus=genus, species=epithet))
    else:
        others = tuple(said("ds-names-share", column=" + ".join(one.columns), share=one.trees) for one in tried
                       if one is not best and one.called != NOT_CALLED_SO)[:3]  # fmt: skip
        code = "ds-best-names" if others else "ds-only-names"
        more = {"tried": others} if others else {}
        reasons.append(said(code, field=field, column=best.columns[0], share=best.trees, **more))
    further = [one.columns[0] for one in tried if one.trees and not one.join and one.called != NOT_CALLED_SO
               and one.columns[0] not in best.columns]  # fmt: skip
    return NameColumn(column=best.columns, join=best.join), _common(header, keys, best.columns[0], reasons, further)


def _candidates(
    header: list[str], keys: dict[str, str], head: Columns[str, NDArray[np.object_]]
) -> list[NamesTried]:
    """Columns that are called so, and any other whose cells are words; and a genus with its epithet."""
    found = []
    for name in header:
        called = next((at for at, word in enumerate(CALLED) if keys[name] == word), NOT_CALLED_SO)
        text = cells.tidy(head[name]) if name in head else np.array([], dtype=object)
        if called != NOT_CALLED_SO or keys[name] not in OTHER_NAMES and _wordy(text):
            trees, species = _shares(text)
            found.append(NamesTried((name,), False, trees, species, called))
    genus = next((name for word in GENUS for name in header if keys[name] == word), None)
    for epithet in (name for word in EPITHET for name in header if keys[name] == word):
        if genus and genus in head and epithet in head:
            both = joined(cells.tidy(head[genus]), cells.tidy(head[epithet]))
            trees, species = _shares(both)
            if species:  # codes of a city's own are no epithets
                found.append(NamesTried((genus, epithet), True, trees, species, 0))
    return found


def _wordy(text: NDArray[np.object_]) -> bool:
    """Whether most cells are words without figures, and some are alike, as names are and addresses are not."""
    filled = [cell for cell in text if cell]
    if len(filled) < 2:
        return False
    words = sum(not any(sign.isdigit() for sign in cell) and len(cell) > 3 for cell in filled)
    return words > 0.8 * len(filled) and len(set(filled)) > 1


def _shares(text: NDArray[np.object_]) -> tuple[float, float]:
    """Shares of filled rows whose name is a tree's, and a species' [-]."""
    names, counts = np.unique(np.array([str(cell) for cell in text if cell and not is_no_name(str(cell))]),
                              return_counts=True)  # fmt: skip
    if not len(names):
        return 0.0, 0.0
    most = np.argsort(-counts)[:TRIED_NAMES]
    matches = [written_species(str(name)) for name in names[most]]
    rows = counts[most].sum()
    trees = sum(count for match, count in zip(matches, counts[most]) if match and match.genus)
    species = sum(count for match, count in zip(matches, counts[most])
                  if match and match.genus and match.matched_by in ("species", "synonym"))  # fmt: skip
    return float(trees / rows), float(species / rows)


def _common(
    header: list[str], keys: dict[str, str], taken: str | None, reasons: list[Said], further: Sequence[str] = (),
) -> NameColumn | None:
    """The column of common names, and further ones that name trees, for rows where those before are blank."""
    by_name = next((name for word in COMMON for name in header if keys[name] == word and name != taken), None)
    names = tuple(dict.fromkeys(filter(None, (by_name, *further))))
    reasons += [said("ds-by-name", field="common", column=name) for name in names]
    return NameColumn(column=names) if names else None
