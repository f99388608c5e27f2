"""The files of a desk survey: tables, GeoJSON, GPX, field sheets, a sketch, and every row that was not kept."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pandas as pd

from siteassess.places import exchange
from siteassess.places.exchange import Exchanged
from siteassess.places.exchange_csv import csv_text
from siteassess.places.exchange_xml import gpx_text
from siteassess.records.files import write_whole
from siteassess.records.writing import write_text
from siteassess.reference.findings import in_words, said, word, worded
from siteassess.reference.measures import Measures
from siteassess.reference.texts import cautions, text
from siteassess.survey.cleaning import Inventory
from siteassess.survey.notes import is_repaired, notes_told
from siteassess.survey.proposal import Proposal, plain_text, rows_in_words
from siteassess.survey.screen import out_told
from siteassess.survey.sheets import groups, record_of_pairs

# of what is written, all that bears an ending which is read as well; a field sheet never replaces another file
REPLACED = ("pairs.csv", "candidates.csv", "proposal.geojson", "waypoints.gpx", "rows_set_aside.csv",
            "rows_repaired.csv", "not_candidates.csv")


def write_all(
    proposal: Proposal, folder: str | Path, date: datetime.date, sketch: Callable[[Proposal], str], language: str = "en"
) -> list[Path]:
    """Write every file of a proposal.

    Parameters
    ----------
    proposal : Proposal
    folder : made if it is not there; files of the same names are replaced
    date : day of the desk survey, for the field sheets
    sketch : makes the page to take along, which is a paper
    language : of what is told; names of columns, answers of a record and verdicts are those of other programs

    Returns
    -------
    list of Path
        The files, in the order they are best read.

    Raises
    ------
    OSError : a file cannot be written; it says which are new
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    texts = {
        "sketch.html": sketch(proposal), "pairs.csv": table(rows_in_words(proposal.pairs, language)),
        "candidates.csv": table(rows_in_words(proposal.trees, language)),
        "proposal.geojson": exchange.geojson_text(geojson(proposal, language)) + "\n",
        "waypoints.gpx": gpx(proposal, language),
        **{f"field_sheet_{n:02d}.yaml": sheet for n, sheet in enumerate(_sheets(proposal, date, language), 1)},
        "rows_set_aside.csv": table(_rows(proposal, language, aside=True)),
        "rows_repaired.csv": table(_rows(proposal, language, aside=False)),
        "not_candidates.csv": table(_not_candidates(proposal, language)),
    }
    texts = {_free_name(folder, name, whole): whole for name, whole in texts.items()}
    for done, (name, whole) in enumerate(texts.items()):
        try:
            write_whole(whole, folder / name)
        except OSError as error:
            new = tuple(texts)[:done] or ("none",)
            says = worded("ds-not-all-written", cause=error.strerror, new=new)
            raise type(error)(error.errno, says, error.filename) from None
    return [folder / name for name in texts]


def _free_name(folder: Path, name: str, text: str) -> str:
    """The name itself, or for a field sheet the next name that no other sheet bears: one filled in is never lost."""
    if not name.startswith("field_sheet_"):
        return name
    number, free = 2, name
    while (folder / free).exists() and not _same_but_for_the_day((folder / free).read_text(encoding="utf-8"), text):
        free, number = name.replace(".yaml", f"_new{number}.yaml"), number + 1
    return free


def _same_but_for_the_day(one: str, other: str) -> bool:
    first, second = (re.sub(r"(?m)^  date: .*$", "", text) for text in (one, other))
    return first == second


def _sheets(proposal: Proposal, date: datetime.date, language: str) -> Iterable[str]:
    for name, members in groups(proposal, language):
        yield write_text(record_of_pairs(proposal, name, members, date, language))


# --- tables ---------------------------------------------------------------------------------------------------


def table(rows: list[dict[str, Any]]) -> str:
    """Rows as CSV, with their names before them."""
    return csv_text([rows[0], *(row.values() for row in rows)]) if rows else ""


def _rows(proposal: Proposal, language: str, aside: bool) -> list[dict[str, Any]]:
    inventory = proposal.survey.inventory
    which = inventory.set_aside if aside else is_repaired(inventory.flags)
    column = "reason" if aside else "note"
    return [
        {
            "line": int(row.line), "id": plain_text(row.id), column: in_words(notes_told(row.flags), language),
            "same_spot_as_line": int(row.same_as) or None,
            "size_as_read": _as_read(inventory, row, language),
            "latitude_deg": _known(row.lat_deg), "longitude_deg": _known(row.lon_deg),
        }
        for row in inventory.trees[which].itertuples()
    ]


def _as_read(inventory: Inventory, row: Any, language: str) -> str:
    """The size as it was read, or of a row that could not be split why."""
    torn = inventory.torn.get(row.line)
    return torn.in_words(language) if torn else plain_text(row.size_text)


def _not_candidates(proposal: Proposal, language: str) -> list[dict[str, Any]]:
    trees = proposal.survey.trees
    return [
        {
            "line": int(row.line), "id": plain_text(row.id), "species": plain_text(row.species),
            "why": in_words(out_told(row.out), language),
        }
        for row in trees[~trees["candidate"]].itertuples()
    ]


def _known(value: float) -> float | None:
    return None if pd.isna(value) else round(float(value), exchange.DIGITS)


# --- open formats ---------------------------------------------------------------------------------------------


def geojson(proposal: Proposal, language: str = "en") -> dict[str, Any]:
    """Trees and pairs as one collection."""
    spot = {tree["code"]: _place(tree) for tree in proposal.trees}
    trees = (
        exchange.geojson_feature([spot[tree["code"]]], _but_place(tree), tree["code"])
        for tree in rows_in_words(proposal.trees, language)
    )
    pairs = (
        exchange.geojson_feature([spot[pair["a"]], spot[pair["b"]]], _but_place(pair), pair["id"])
        for pair in rows_in_words(proposal.pairs, language)
    )
    inventory = proposal.survey.inventory
    whose = text("between", language).join((inventory.title, word(inventory.licence, language)))
    return exchange.geojson((*trees, *pairs), attribution=whose, cautions=list(cautions(language, on="desk survey")))


def _place(row: dict[str, Any], which: str = "") -> exchange.Place:
    return row[f"{which}longitude_deg"], row[f"{which}latitude_deg"]


def _but_place(row: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in ("latitude_deg", "longitude_deg")}


def gpx(proposal: Proposal, language: str = "en") -> str:
    """Trees of the pairs as waypoints and circuits as routes, for the phone."""
    title = plain_text(said("ds-title", inventory=proposal.survey.inventory.name).in_words(language))
    about = Exchanged(title, " ".join(cautions(language, on="desk survey")))
    used = {code for pair in proposal.pairs for code in (pair["a"], pair["b"])}
    trees = (_waypoint(tree, proposal.pairs, language) for tree in proposal.trees if tree["code"] in used)
    routes = (
        (Exchanged(one["id"]), (_stop(line, one["id"], language) for line in one["lines"]))
        for one in proposal.circuits
    )
    return gpx_text(about, trees, routes)


def _waypoint(tree: dict[str, Any], pairs: list[dict[str, Any]], language: str) -> Exchanged:
    code = tree["code"]
    its = (pair for pair in pairs if code in (pair["a"], pair["b"]))
    mates = tuple(
        said("ds-mate", pair=pair["id"], tree=pair["b"] if pair["a"] == code else pair["a"]) for pair in its
    )
    across = tree["diameter_m"]
    trunk = said("ds-trunk-unknown") if across is None else said("ds-trunk", across=across)
    says = said("ds-waypoint", kind=tree["species"], trunk=trunk, mates=mates, to_do=tree["to_do"])
    return Exchanged(code, says.in_words(language), places=[_place(tree)])


def _stop(line: dict[str, Any], circuit: str, language: str) -> Exchanged:
    span = Measures(language).length(line["span_m"], 0)
    return Exchanged(line["pair"] or circuit, span, places=[_place(line, "middle_")])
