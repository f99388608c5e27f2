"""From a tree's name to its wood and bark, saying what was matched and which fallback was used."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any

from siteassess.errors import UnknownName
from siteassess.reference import names
from siteassess.reference.barks import BarkRow, genus_bark, species_bark, unknown_bark
from siteassess.reference.findings import Said, said
from siteassess.reference.languages import TREES, own_file
from siteassess.reference.tables import rows
from siteassess.reference.wood import WoodRow, genus_wood, leaf_type_wood, untested_wood, wood_of


@dataclass(frozen=True)
class SpeciesMatch:
    """What a name was taken to mean."""

    asked: str  # the name as given
    accepted: str  # scientific name, "Quercus spp." for a genus, "any broadleaf" for a leaf type
    genus: str  # "" for a leaf type
    leaf_type: str  # broadleaf, conifer, palm or unknown
    matched_by: str  # species, synonym, common name, genus or leaf type
    wood: WoodRow | None  # green wood; None for a palm, which is outside the model
    wood_basis: Said  # which row or fallback the wood rests on
    bark: BarkRow  # NaN thickness where none is known
    note: Said | None = None  # what the reader should know about the match


NAME_COLUMN = {"en": "english", "de": "german", "fr": "french", "es": "spanish"}


def common_names(row: Any, language: str) -> str:
    """The common names of a kind of tree in a language, parted by semicolons.

    Parameters
    ----------
    row : of the table of species
    language : to tell them in
    """
    told: str = own_file(language).get(TREES, {}).get(row.scientific_name, "")
    return told or str(getattr(row, NAME_COLUMN.get(language, "english")))


@cache
def common_name(scientific: str, language: str) -> str:
    """The first common name of a species or genus in a language; empty where the table has none.

    Parameters
    ----------
    scientific : accepted name, a genus with or without "spp."
    language : to tell it in
    """
    found = (row for row in rows("species") if scientific in (row.scientific_name, row.rank == "genus" and row.genus))
    return next((common_names(row, language).split(";")[0] for row in found), "")


@lru_cache(maxsize=4096)
def find_species(name: str) -> SpeciesMatch:
    """The tree a name means, with its wood and bark.

    Parameters
    ----------
    name : scientific name (hybrid signs, authors, cultivars, 'sp.' are understood), synonym, common name in English,
        German, French or Spanish, genus, or a leaf type ('unknown conifer')

    Returns
    -------
    With the fallback used: own row, genus, leaf type.

    Raises
    ------
    UnknownName : if no row has the name, naming the near ones, or if trees of several genera share it
    """
    match = _looked_up(name)
    if match is None:
        raise names.unknown(name)
    return match


def known_species(name: str) -> SpeciesMatch | None:
    """The tree a name means, as `find_species` finds it; None where it raises, without seeking near names.

    Parameters
    ----------
    name : as for `find_species`
    """
    try:
        return _looked_up(name)
    except UnknownName:
        return None


@lru_cache(maxsize=4096)
def _looked_up(name: str) -> SpeciesMatch | None:
    whole = names.key(name)
    if leaf_type := names.leaf_type_index().get(whole):
        return _leaf_type(name, leaf_type)
    genus, epithet = names.binomial(name)
    if not epithet and len(_named_species().get(genus, ())) > 1:
        return _genus(name, genus)  # even where one of them goes by the genus as its common name
    for candidate in (whole, names.key(names.without_cultivar(name)), names.key(f"{genus} {epithet}")):
        if candidate and (entries := names.index().get(candidate)):
            return _indexed(name, entries)
    if genus in _genera():
        note = said("species-without-row", name=f"{genus} {epithet}") if len(epithet) > 2 else None
        return _genus(name, genus, note)
    return None


@cache
def species_names() -> tuple[str, ...]:
    """Accepted names of all species with a row, genera left out."""
    return tuple(row.scientific_name for row in rows("species") if row.rank == "species")


def _indexed(name: str, entries: tuple[tuple[int, str, Any], ...]) -> SpeciesMatch:
    """A key's entries: a scientific name wins over a synonym, that over a common name."""
    for how in ("species", "synonym", "common name"):
        found = [rows("species")[number] for number, named_as, _ in entries if named_as == how]
        if len({row.scientific_name for row in found}) == 1:
            row = found[0]
            return _genus(name, row.genus) if row.rank == "genus" else _species(name, row, how)
        if found and len({row.genus for row in found}) == 1:
            return _shared_within_genus(name, found)
        if found:
            raise names.ambiguous(name, sorted({row.scientific_name for row in found}))
    raise names.unknown(name)


def _species(name: str, row: Any, matched_by: str) -> SpeciesMatch:
    palm = row.leaf_type == "palm"
    wood = None if palm else wood_of(row.scientific_name) or genus_wood(row.genus) or untested_wood(row.leaf_type)
    bark = species_bark(row.bark) if row.bark else genus_bark(row.genus) or unknown_bark(row.leaf_type)
    return SpeciesMatch(name, row.scientific_name, row.genus, row.leaf_type, matched_by, wood, _basis(wood), bark)


def _genus(name: str, genus: str, note: Said | None = None) -> SpeciesMatch:
    line = _genera()[genus]
    # of a genus without a figure nothing is known but its leaf type: no kinder than a tree nobody named more closely
    wood = None if line.leaf_type == "palm" else genus_wood(genus) or leaf_type_wood(line.leaf_type)
    bark = genus_bark(genus) or unknown_bark(line.leaf_type)
    return SpeciesMatch(name, f"{genus} spp.", genus, line.leaf_type, "genus", wood, _basis(wood), bark, note)


def _shared_within_genus(name: str, found: list[Any]) -> SpeciesMatch:
    """A name that several species of one genus share: the genus, or the weakest of them if that is weaker."""
    several = tuple(row.scientific_name for row in found)
    match = _genus(name, found[0].genus, said("name-used-for", names=several))
    woods = [wood for row in found if row.rank == "species" and (wood := _species(name, row, "").wood)]
    weakest = min((wood for wood in (match.wood, *woods) if wood), key=lambda wood: wood.mor_pa, default=None)
    if weakest is None or weakest is match.wood:
        return match
    return replace(match, wood=weakest, wood_basis=said("wood-weakest-of", names=several, basis=weakest.basis))


def _leaf_type(name: str, leaf_type: str) -> SpeciesMatch:
    wood = leaf_type_wood(leaf_type)
    accepted = "any tree" if leaf_type == "unknown" else f"any {leaf_type}"
    note = said("species-not-named")
    bark = unknown_bark(leaf_type)
    return SpeciesMatch(name, accepted, "", leaf_type, "leaf type", wood, _basis(wood), bark, note)


def _basis(wood: WoodRow | None) -> Said:
    return wood.basis if wood else said("wood-of-a-palm")


@cache
def _named_species() -> dict[str, list[str]]:
    named: dict[str, list[str]] = {}
    for row in rows("species"):
        if row.rank == "species":
            named.setdefault(row.genus, []).append(row.scientific_name)
    return named


@cache
def _genera() -> dict[str, Any]:
    """From genus to its own line, else to the line of its first species (for the leaf type)."""
    lines: dict[str, Any] = {}
    for row in rows("species"):
        if row.genus not in lines or row.rank == "genus":
            lines[row.genus] = row
    return lines
