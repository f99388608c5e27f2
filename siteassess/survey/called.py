"""What a row calls itself: a tree, one that no longer lives, none at all, or several at once.

Waypoints have a name, a symbol and a type, inventories a kind and a count. A short text decides: "dead oak", "souche de
chêne", "bench". Where it stands does not count: "oak by the bench" is an oak. What a text only may mean, as "dead top
oak" or "wooden bench", leaves the row in and is told.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import NDArray

from siteassess.reference.names import NO_LONGER_ALIVE, words_outside
from siteassess.reference.written_names import (
    is_no_tree,
    is_several,
    named_itself,
    names_a_tree,
    thing_named,
    written_species,
)
from siteassess.survey import cells
from siteassess.survey.notes import Note, NoteFlags

# names of columns, compared after `column_key`; what a point is called, and what kind of thing it is
CALL = ("name", "title", "label", "cmt", "waypoint", "bezeichnung", "titel", "wegpunkt", "nom", "titre", "nombre",
          "titulo")  # fmt: skip
KIND = ("sym", "symbol", "markersymbol", "type", "typ", "tipo", "kind", "category", "kategorie", "categorie",
        "categoria", "folder", "objekt", "objektart", "featuretype", "denotation")  # fmt: skip
COUNT = (
    "count", "treecount", "numberoftrees", "nooftrees", "numtrees", "ntrees", "trees", "quantity", "qty",
    "individualcount", "anzahl", "anzahlbaume", "anzahlbaeume", "baumanzahl", "stuck", "stueck", "stuckzahl",
    "stueckzahl", "menge", "nbarbres", "nombrearbres", "nombredarbres", "quantite", "effectif", "cantidad",
    "numarboles", "numerodearboles", "narboles", "unidades",
)  # fmt: skip
COUNTRY = ("country", "countrycode", "land", "pays", "pais", "staat", "nation", "addrcountry")
# of the words for what no longer lives; what was felled or taken out
STUMPS = ("stump", "stub", "stumpf", "stumpfe", "souche", "tocon", "tocones")
FELLED = ("removed", "felled", "gefallt", "gerodet", "entfernt", "abattu", "abattue", "arrache", "supprime",
          "essouche", "talado", "talada", "apeado", "retirado", "eliminado", "retired")  # fmt: skip
GONE_WORDS = (*NO_LONGER_ALIVE, *FELLED, "stumpfe", "tocones")
MOST_OF_A_STATUS, MOST_OF_A_CALL = 3, 4  # words that tell of a whole tree
PARTS_OF_A_TREE = {"wood", "branch", "branches", "limb", "limbs", "top", "tip", "tips", "crown", "not", "no", "nicht",
                   "non", "partly", "part", "teilweise", "sans", "sin", "ohne", "krone", "ast", "äste", "astwerk",
                   "branche", "cime", "rama", "ramas", "copa", "%"}  # fmt: skip
# what may be a place's name: "Dead End", "Sec 4", "Log cabin", "Rue de la Souche"
_A_PLACE = re.compile(r"\bdead[ -]?(?:end|man|men|horse|sea)|\bsec\.?\s*\d|\blog\s|\b(?:rue|avenue|allée|chemin|place|"
                      r"street|road|lane|straße|strasse|weg|gasse|platz|calle|plaza|avenida|camino)\b")


@cache
def befell(text: str) -> Note:
    """What a tree's name or status says of one that no longer stands alive, or does not stand.

    Parameters
    ----------
    text : of a name of a kind, or of a status
    """
    if is_no_tree(text):
        return Note.NOT_A_TREE
    word = words_outside(text, GONE_WORDS)
    return Note.STUMP if word.endswith(STUMPS) or word in FELLED else Note.DEAD if word else Note.NOTHING


def of_a_part(text: str, most: int = MOST_OF_A_STATUS) -> bool:
    """Whether a text is too long to tell of a whole tree, or names a part of one: "dead wood in the crown".

    Parameters
    ----------
    text : in small letters
    most : words of a text that tells of a whole tree
    """
    words = text.replace("%", " % ").split()
    return len(words) > most or not PARTS_OF_A_TREE.isdisjoint(words)


@cache
def called(text: str) -> Note:
    """What the name of a point says: that no live tree stands there, or that none may.

    Parameters
    ----------
    text : as written
    """
    itself = named_itself(text).casefold()
    if gone := befell(itself):
        unsure = gone != Note.NOT_A_TREE and (of_a_part(itself, MOST_OF_A_CALL) or _A_PLACE.search(itself))
        return Note.MAYBE_NO_TREE if unsure else gone
    thing, alone = thing_named(itself)
    if not thing or (not alone and names_a_tree(itself)):
        return Note.NOTHING
    return Note.NOT_A_TREE if alone else Note.MAYBE_NO_TREE


def judge_called(
    names: list[NDArray[np.object_]], kinds: list[NDArray[np.object_]], species: list[NDArray[np.object_]],
    flags: NoteFlags,
) -> None:
    """Flag each row by what it is called. A thing's name is the place of a tree whose species is told beside it.

    Parameters
    ----------
    names, kinds : columns of names, and of symbols, types and folders
    species : columns that tell the tree's
    flags : of the rows, changed in place
    """
    trees = _any_row(species, lambda one: (match := written_species(one)) is not None and match.genus != "", len(flags))
    by_name = _any_row(names, lambda one: names_a_tree(named_itself(one)), len(flags))
    for column, a_name in (*((one, True) for one in names), *((one, False) for one in kinds)):
        for one in filter(None, set(column.tolist())):
            says, rows = called(one), column == one
            if says in (Note.DEAD, Note.STUMP) or is_no_tree(one):
                flags[rows] |= says
            elif says:
                flags[rows & ~trees & ~by_name] |= says
                flags[rows & ~trees & by_name] |= says if a_name else Note.MAYBE_NO_TREE


def _any_row(columns: list[NDArray[np.object_]], asked: Callable[[str], bool], rows: int) -> NDArray[np.bool_]:
    """Rows of which any column holds a text of which something is true."""
    found = np.zeros(rows, bool)
    for column in columns:
        if true := [one for one in set(column.tolist()) if one and asked(one)]:
            found |= np.isin(column, true)
    return found


def several(texts: list[NDArray[np.object_]], kinds: list[NDArray[np.object_]],
            counts: list[NDArray[np.object_]], rows: int) -> NDArray[np.bool_]:
    """Rows that are more than one tree, by a word or a count.

    Parameters
    ----------
    texts, kinds : columns of any texts, and of what a row is
    counts : columns of how many trees a row is
    rows : of each column [-]
    """
    found = _any_row(texts, is_several, rows) | _any_row(kinds, lambda one: is_several(one, True), rows)
    for column in counts:
        with np.errstate(invalid="ignore"):
            found |= cells.grid_column(column, ".") > 1
    return found
