"""What a desk survey proposes, as plain rows for tables, JSON and papers: numbers in SI, and what is to be done."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from siteassess.mechanics.loadcases import USES
from siteassess.records.characters import forbidden_character
from siteassess.reference.findings import Said, in_words
from siteassess.reference.texts import cautions
from siteassess.survey.desk import DeskSurvey
from siteassess.survey.notes import in_english, notes_told
from siteassess.survey.screen import TO_DO, VERDICT, WALKED_LINE_UNDER_M, out_tally

LONGEST_TEXT = 200


def plain_text(text: object) -> str:
    """A text of an inventory fit for any paper: no control or direction marks, one line, not too long."""
    plain = " ".join(str(text).split())
    while forbidden_character(plain):
        plain = "".join(" " if forbidden_character(letter) else letter for letter in plain).strip()
    return plain[:LONGEST_TEXT]


@dataclass(frozen=True)
class Proposal:
    """Rows of the proposed trees, pairs and circuits; what is told of one is codes, see `rows_in_words`.

    `codes` gives the code of each proposed tree by its place in the survey's table.
    """

    survey: DeskSurvey
    codes: dict[int, str]
    trees: list[dict[str, Any]]
    pairs: list[dict[str, Any]]
    circuits: list[dict[str, Any]]

    def summary(self) -> dict[str, Any]:
        """The answer of the command, one object: counts, rows, remarks, cautions."""
        survey = self.survey
        return {
            "inventory": survey.inventory.name, "title": survey.inventory.title, "licence": survey.inventory.licence,
            **survey.inventory.counts, "row_notes": in_english(survey.inventory.tally), "use": survey.wish.use,
            "pull_n": survey.wish.pull, "tie_height_m": survey.wish.tie, "span_shortest_m": survey.window.shortest_m,
            "span_longest_m": survey.window.longest_m, "corridor_half_width_m": survey.window.half_width_m,
            "candidates_count": int(survey.trees["candidate"].sum()),
            "not_candidates": in_english(out_tally(survey.trees["out"].to_numpy())), "pairs_count": len(survey.pairs),
            "pairs_dropped": survey.dropped, "candidates": rows_in_words(self.trees),
            "pairs": rows_in_words(self.pairs), "circuits": self.circuits,
            "verdict": VERDICT, "to_do": TO_DO.in_words(), "remarks": list(in_words(survey.remarks)),
            "cautions": list(cautions(on="desk survey")),
        }


def rows_in_words(rows: list[dict[str, Any]], language: str = "en") -> list[dict[str, Any]]:
    """Rows for tables, with their codes in words; names of columns and verdicts are those of other programs."""
    return [{key: _in_words(value, language) for key, value in row.items()} for row in rows]


def _in_words(value: Any, language: str) -> Any:
    if isinstance(value, tuple):
        return list(in_words(value, language))
    return value.in_words(language) if isinstance(value, Said) else value


def propose(survey: DeskSurvey, top: int = 100) -> Proposal:
    """The trees of the chosen pairs, then the best of the other candidates up to `top`, with codes of their own.

    Parameters
    ----------
    survey : of an inventory
    top : how many trees to show [-]
    """
    in_pairs = list(dict.fromkeys(survey.pairs[survey.chosen].ravel().tolist()))
    rest = survey.candidates
    rest = rest[~rest.index.isin(in_pairs)].sort_values(["hold_n", "line"], ascending=[False, True], na_position="last")
    shown = in_pairs + rest.index[: max(0, top - len(in_pairs))].tolist()
    codes = {row: f"T{number:04d}" for number, row in enumerate(shown, 1)}
    trees = [_tree(survey, row, code) for row, code in codes.items()]
    pairs = _pairs(survey, codes)
    name_of = {int(index): pair["id"] for index, pair in zip(survey.chosen, pairs)}
    return Proposal(survey, codes, trees, pairs, _circuits(survey, name_of))


def _number(value: Any, digits: int) -> float | None:
    return round(float(value), digits) if value is not None and math.isfinite(float(value)) else None


def _tree(survey: DeskSurvey, row: int, code: str) -> dict[str, Any]:
    tree = survey.trees.loc[row]
    return {
        "code": code, "inventory_id": plain_text(tree["id"]), "inventory_line": int(tree["line"]),
        "species": plain_text(tree["species"]) or plain_text(tree["common"]) or "unknown",
        "taken_as": plain_text(tree["kind"]), "latitude_deg": _number(tree["lat_deg"], 7),
        "longitude_deg": _number(tree["lon_deg"], 7), "diameter_m": _number(tree["diameter_m"], 4),
        "height_recorded_m": _number(tree["height_m"], 2), "height_used_m": _number(tree["height_used_m"], 2),
        "height_how": str(tree["height_how"]), "allowable_pull_estimate_n": _number(tree["hold_n"], 0),
        "share_of_planned_pull": _number(tree["hold_share"], 3), "care": _number(tree["care"], 3),
        "evidence": _number(tree["evidence"], 3), "park": plain_text(tree["park"]),
        "on_street": tree["setting"] == "street", "row_notes": _notes(survey, tree), "verdict": VERDICT, "to_do": TO_DO,
    }


def _notes(survey: DeskSurvey, tree: Any) -> tuple[Said, ...]:
    thin = not USES[survey.wish.use].hung and tree["diameter_m"] < WALKED_LINE_UNDER_M
    more = [Said("ds-thin-for-walking")] * bool(thin) + [Said("ds-on-a-street")] * (tree["setting"] == "street")
    return (*notes_told(int(tree["flags"])), *more)


def _pairs(survey: DeskSurvey, codes: dict[int, str]) -> list[dict[str, Any]]:
    chosen, bearings = survey.chosen, survey.bearings(survey.chosen)
    hold = survey.trees["hold_n"].to_numpy(dtype=float)
    shown = []
    for number, (index, bearing) in enumerate(zip(chosen, bearings), 1):
        a, b = survey.pairs[index]
        shown.append(
            {
                "id": f"L{number:03d}", "a": codes[int(a)], "b": codes[int(b)],
                "span_m": _number(survey.span_m[index], 2), "bearing_true_deg": _number(bearing % 360, 1),
                "rise_m": _number(survey.rise_m[index], 2), "ground_above_chord_m": _number(survey.hump_m[index], 2),
                "weaker_pull_estimate_n": _number(np.minimum(hold[a], hold[b]), 0),
                "score": _number(survey.scores.total[index], 3), "score_hold": _number(survey.scores.hold[index], 3),
                "score_care": _number(survey.scores.care[index], 3),
                "score_evidence": _number(survey.scores.evidence[index], 3),
                "park": plain_text(survey.trees["park"].iloc[a]), "verdict": VERDICT, "to_do": TO_DO,
            }
        )
    return shown


def _circuits(survey: DeskSurvey, name_of: dict[int, str]) -> list[dict[str, Any]]:
    lat, lon = survey.trees["lat_deg"].to_numpy(), survey.trees["lon_deg"].to_numpy()
    shown = []
    for number, circuit in enumerate(survey.circuits, 1):
        lines = [
            {
                "pair": name_of.get(index, ""),
                "span_m": _number(survey.span_m[index], 2),
                "a_inventory_line": int(survey.trees["line"].iloc[a]),
                "b_inventory_line": int(survey.trees["line"].iloc[b]),
                "middle_latitude_deg": _number((lat[a] + lat[b]) / 2, 7),
                "middle_longitude_deg": _number((lon[a] + lon[b]) / 2, 7),
            }
            for index in circuit.pairs
            for a, b in [survey.pairs[index]]
        ]
        shown.append(
            {
                "id": f"C{number}", "lines": lines, "walk_m": _number(circuit.walk_m, 1),
                "score": _number(circuit.score, 3),
            }
        )
    return shown
