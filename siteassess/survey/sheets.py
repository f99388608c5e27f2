"""Field sheets: one record a group of pairs, pre-filled with what the inventory says, blank where one must look.

The main job reads such a record as it stands and answers "cannot say" throughout, until it is measured.
"""

from __future__ import annotations

import datetime
import math
from typing import Any

import numpy as np

from siteassess.records.anchor import Species, Tree, TrunkReading
from siteassess.records.fields import Diameter, TreeHeight, accepted
from siteassess.records.line import End, Line
from siteassess.records.record import Record
from siteassess.records.site import Fix, Position, Site
from siteassess.records.site import Survey as SurveyPart
from siteassess.reference.findings import said, word
from siteassess.reference.measures import COARSE, lat_long
from siteassess.reference.texts import text
from siteassess.survey.proposal import Proposal, plain_text
from siteassess.units import quantity

GROUP_CELL_M = 1000.0
LEAST_DIAMETER_M, MOST_DIAMETER_M = accepted(Diameter)
LEAST_HEIGHT_M, MOST_HEIGHT_M = accepted(TreeHeight)
MOST_PAIRS = 12  # of one sheet: a day's walk (judgement)


def groups(proposal: Proposal, language: str = "en") -> list[tuple[str, list[int]]]:
    """Chosen pairs by park or, without parks, by square kilometre: a name, and places in `proposal.pairs`.

    Parameters
    ----------
    proposal : of a desk survey
    language : for names of squares

    Returns
    -------
    (name, places in `proposal.pairs`), one a sheet.
    """
    survey = proposal.survey
    found: dict[tuple[str, *tuple[int, ...]], list[int]] = {}
    for number, index in enumerate(survey.chosen):
        a = survey.pairs[index, 0]
        park = int(survey.trees["park_number"].iloc[a])
        square = (math.floor(survey.trees[axis].iloc[a] / GROUP_CELL_M) for axis in ("east_m", "north_m"))
        found.setdefault(("park", park) if park >= 0 else ("square", *square), []).append(number)
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    middle = xy[survey.pairs[survey.chosen]].mean(axis=1) if len(survey.chosen) else np.empty((0, 2))
    named = []
    for members in found.values():
        parts = _parted(members, middle)
        for number, part in enumerate(parts, 1):
            name = _name(proposal, part, language)
            if len(parts) > 1:
                name = said("ds-sheet", group=name, number=number).in_words(language)
            named.append((name, part))
    return named


def _parted(members: list[int], middle: np.ndarray) -> list[list[int]]:
    """Members in parts of a day's walk at most, cut across the longer way so that each part lies close together."""
    if len(members) <= MOST_PAIRS:
        return [members]
    spot = middle[members]
    axis = int(np.argmax(np.ptp(spot, axis=0)))
    order = np.argsort(spot[:, axis], kind="stable")
    half = len(members) // 2
    near, far = (sorted(members[n] for n in part) for part in (order[:half], order[half:]))
    return [*_parted(near, middle), *_parted(far, middle)]


def _name(proposal: Proposal, members: list[int], language: str) -> str:
    if park := str(proposal.pairs[members[0]]["park"]):
        return park
    survey = proposal.survey
    a = survey.pairs[survey.chosen[members[0]], 0]
    lat, lon = survey.trees["lat_deg"].iloc[a], survey.trees["lon_deg"].iloc[a]
    return said("ds-about", place=lat_long(lat, lon, COARSE)).in_words(language)


def record_of_pairs(
    proposal: Proposal, name: str, members: list[int], date: datetime.date, language: str = "en"
) -> Record:
    """The pre-filled record of one group of pairs.

    Parameters
    ----------
    proposal : Proposal
    name : what to call the site until it has its own name
    members : places in `proposal.pairs`
    date : day of the desk survey
    language : of its notes; keys and answers are those of any record
    """
    survey = proposal.survey
    pairs = [proposal.pairs[number] for number in members]
    codes = list(dict.fromkeys(code for pair in pairs for code in (pair["a"], pair["b"])))
    rows = {code: row for row, code in proposal.codes.items()}
    whose = survey.inventory.title, word(survey.inventory.licence, language)
    return Record(
        siteassess_record=1,
        note=said("ds-sheet-note").in_words(language),
        site=Site(name=name, credit=plain_text(text("between", language).join(whose))),
        survey=SurveyPart(
            by=said("ds-by-nobody").in_words(language), date=date, level=said("ds-level").in_words(language)
        ),
        anchors=tuple(_tree(proposal, rows[code], code, language) for code in codes),
        lines=tuple(_line(proposal, pair, language) for pair in pairs),
    )


def _tree(proposal: Proposal, row: int, code: str, language: str) -> Tree:
    survey = proposal.survey
    tree = survey.trees.loc[row]
    inventory, line = survey.inventory, int(tree["line"])
    source = said("ds-row", title=inventory.title, file=inventory.name, line=line, licence=inventory.licence)
    whose = plain_text(source.in_words(language))
    # the name that a record knows; what the inventory wrote stands in the tables of the survey
    wrote = plain_text(tree["species"]) or plain_text(tree["common"])
    name = str(tree["kind"]) if tree["genus"] else wrote
    height, crown = float(tree["height_m"]), float(tree["crown_m"])
    known_height = LEAST_HEIGHT_M <= height <= MOST_HEIGHT_M
    return Tree(
        kind="tree",
        code=code,
        tag=plain_text(tree["id"]) or None,
        position=Position(
            fixes=(
                Fix(
                    lat=round(float(tree["lat_deg"]), 7), lon=round(float(tree["lon_deg"]), 7), how="inventory",
                    source=whose,
                ),
            )
        ),
        species=Species(name=name, certainty="guess") if name else None,
        trunk=_trunk(survey.inventory.read_at_m, float(tree["diameter_m"])),
        height=quantity(height, "m", "length") if known_height else None,
        height_how="copied" if known_height else "unknown",
        crown_spread=quantity(crown, "m", "length") if math.isfinite(crown) else None,
        source=whose,
        notes=said("ds-written-as", wrote=wrote).in_words(language) if wrote and wrote != name else None,
    )


def _trunk(read_at_m: float, diameter: float) -> tuple[TrunkReading, ...]:
    if not LEAST_DIAMETER_M <= diameter <= MOST_DIAMETER_M:
        return ()
    return (
        TrunkReading(
            diameter=quantity(diameter, "cm", "length"), read_at=quantity(read_at_m, "m", "length"), how="copied"
        ),
    )


def _line(proposal: Proposal, pair: dict[str, Any], language: str) -> Line:
    # the span stays blank on purpose: two copied positions are no tape
    told = said("ds-line-note", span=pair["span_m"], bearing=pair["bearing_true_deg"], a=pair["a"], b=pair["b"])
    return Line(
        id=pair["id"],
        use=proposal.survey.wish.use,
        a=End(anchor=pair["a"]),
        b=End(anchor=pair["b"]),
        notes=told.in_words(language),
    )
