"""`siteassess new`, `check`, `pack`: the record itself."""

from __future__ import annotations

import functools
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from siteassess.cli.shared import (
    OutFile,
    WordsOf,
    day,
    file_argument,
    files_argument,
    give,
    json_switch,
    kept_unless,
    language_option,
    line_option,
    messages_option,
    note,
    refuse_over,
    surroundings_option,
    surroundings_read,
    wrote,
)

if TYPE_CHECKING:
    import datetime

    from siteassess.advice.packing import PackItem
    from siteassess.advice.stock import Stock
    from siteassess.reference.findings import Said


@click.command("new")
@file_argument
@click.option("--full", is_flag=True, help="Every field instead of the quick form.")
@click.option("--from", "sources", multiple=True, type=click.Path(path_type=Path), metavar="FILE",
              help="Take trees from FILE, and say it again for more: GPX, KML or GeoJSON waypoints, geotagged photos, "
                   "OpenStreetMap XML, occurrences in Darwin Core, a tree inventory or a spreadsheet (CSV, XLSX).")
@click.option("--diameter-unit", type=WordsOf("reference.rules.LengthUnit"),
              help="With --from: unit of a column of girths or diameters that does not tell it.")
@click.option("--grid", metavar="EPSG:CODE",
              help="With --from: grid of columns of x and y, or of a map file in metres, that does not tell it.")
@click.option("--name", help="With --from: name of the site; without it, about where it is.")
@click.option("--by", "by", help="With --from: who looks; without it, nobody yet.")
@click.option("--date", "date", type=day, help="With --from: day of the survey; today if not given.")
@click.option("--usual", "usual_file", type=click.Path(path_type=Path), envvar="SITEASSESS_USUAL",
              help="What your group writes alike in every record, a YAML file; else usual.yaml in siteassess's folder "
                   "of your settings, where there is one. Copied into the record, never taken while judging.")
@click.option("--no-usual", is_flag=True, help="Copy nothing of the kind.")
@click.option("--force", is_flag=True, help="Write over an existing file.")
@messages_option
def new(
    file: Path, full: bool, sources: tuple[Path, ...], diameter_unit: str | None, grid: str | None,
    name: str | None, by: str | None, date: datetime.date | None, usual_file: Path | None, no_usual: bool, force: bool,
    lang: str,
) -> None:
    """Write a commented record to fill in: about a dozen questions a tree, then each stop sign by itself.

    A name ending in .csv gives the spreadsheet template, one row a tree; lines between them need the YAML form. With
    --from the trees of other files stand in it already: where each was read, its size as a copied one, and every sign
    still not looked at, with notes in the language of --lang. Each row that is not taken is told with its reason.
    """
    from siteassess.records.files import write_whole
    from siteassess.reference.findings import said, worded

    as_table = file.suffix.lower() == ".csv"
    if not sources and any(one is not None for one in (diameter_unit, grid, name, by, date)):
        raise click.UsageError(worded("option-only-with-from"))
    if sources and (as_table or full):
        raise click.UsageError(worded("option-from-quick-yaml"))
    kept_unless(force, file)
    usual = {} if no_usual or as_table else _usual(usual_file, lang)
    if sources:
        refuse_over(sources, [str(file)])
        text = _begun(file, sources, usual, name=name, by=by, on=date, diameter_unit=diameter_unit, grid=grid,
                      language=lang)  # fmt: skip
    elif as_table:
        from siteassess.records.csv_rows import blank_csv

        text = blank_csv(full=full)
    else:
        from siteassess.records.blank import blank_record

        text = blank_record(full, usual)
    write_whole(text, file)
    if file.is_file() and not as_table:
        _schema_beside(file, lang)
    note(said("file-written-to-fill-in", path=str(file), then=f"siteassess check {file}").in_words(lang))
    if as_table:
        note(said("spreadsheet-holds-trees").in_words(lang))


def _begun(file: Path, sources: tuple[Path, ...], usual: dict[str, Any], *, language: str, **given: Any) -> str:
    """The text of a record with the trees of other files; how they were read is told on stderr."""
    from siteassess.records.blank import filled_record
    from siteassess.records.loading import record_with_rules
    from siteassess.records.yaml_lines import document_of
    from siteassess.survey.begun import begun, photos_beside

    folder = file.parent if str(file) != "-" else Path()
    kept, copied = photos_beside(sources, folder)
    country = usual.get("site", {}).get("country")
    record, told = begun(kept, folder, country=country, language=language, **given)
    for one in (*copied, *told):
        note(one.in_words(language))
    record_with_rules(document_of(record), file.name)  # what was read is held to what a record takes
    return filled_record(record, usual)


def _usual(named: Path | None, language: str) -> dict[str, Any]:
    """What the group writes alike, by the file that was named or the one of the user's settings."""
    from siteassess.records.usual import read_usual
    from siteassess.reference.findings import said

    path = named or Path(click.get_app_dir("siteassess")) / "usual.yaml"
    if named is None and not path.is_file():
        return {}
    usual = read_usual(path)
    fields = tuple(f"{part}.{name}" for part, given in usual.items() for name in given)
    if fields:
        note(said("usual-filled-in", path=str(path), fields=fields).in_words(language))
    return usual


def _schema_beside(file: Path, language: str) -> None:
    """Write the form of a record beside it, by which editors complete what is typed; its first line names it."""
    from siteassess.records.blank import SCHEMA_BESIDE
    from siteassess.records.files import write_whole
    from siteassess.reference.findings import said
    from siteassess.reference.schemas import schema_files

    if not (beside := file.with_name(SCHEMA_BESIDE)).exists():
        write_whole(schema_files()["record"].read_text(encoding="utf-8"), beside)
        note(said("file-for-editors", path=str(beside)).in_words(language))


@click.command("check")
@files_argument
@surroundings_option
@language_option
@json_switch
def check(files: tuple[Path, ...], surroundings: tuple[Path, ...], lang: str, as_json: bool) -> None:
    """Faults with line numbers, doubtful readings, and whether positions, tape and compass agree.

    Every pair that was planned or measured is compared; then all readings of the site are adjusted together, and the
    one most likely wrong is named, or it is said that it cannot be told which. FILE may be - for the standard input.
    """
    from siteassess.advice.check import check_record
    from siteassess.errors import FaultyFiles, FaultyInput
    from siteassess.papers.as_json import jsonable
    from siteassess.papers.check_text import check_text
    from siteassess.records.loading import load_with_lines

    answers, errors = list[dict[str, Any]](), list[FaultyInput]()
    for file in files:
        try:
            read = load_with_lines(file)
        except FaultyInput as error:
            errors.append(error)
            faults = [fault.__dict__ for fault in error.faults]
            answers.append({"file": str(file), "faults": faults, "warnings": [], "pairs": []})
            continue
        found = check_record(surroundings_read(read.record, file, surroundings), read)
        if as_json:
            answers.append({"file": str(file), "faults": [], **jsonable(found.as_dict())})
        else:
            give(False, {}, functools.partial(check_text, str(file), found, lang))
    if as_json:
        give(True, answers[0] if len(files) == 1 else {"files": answers}, ())
        sys.exit(1 if errors else 0)
    if errors:
        raise errors[0] if len(errors) == 1 else FaultyFiles(errors)


@click.command("pack")
@file_argument
@line_option
@click.option("--day", type=day, help="Only lines planned on this day (year-month-day).")
@click.option("--owned", "owned_file", type=click.Path(path_type=Path), help="A YAML list of what you own, to check.")
@click.option("--out", type=OutFile(".html", ".htm", ".txt", dash=True), help="Write the list here: .html or .txt.")
@language_option
@json_switch
def pack(
    file: Path, line_id: str | None, day: datetime.date | None, owned_file: Path | None, out: Path | None, lang: str,
    as_json: bool,
) -> None:
    """Packing list: slings by length and width, pads, slats, links, flags and signs.

    Lines on other days use the same gear again: a plan of several days asks for what its fullest day asks for.
    """
    from siteassess.advice.assess import assess
    from siteassess.advice.packing import lines_on, packing_list, packing_notes, totals
    from siteassess.papers.as_json import jsonable
    from siteassess.papers.language import words_in
    from siteassess.papers.packing_page import packing_text, write_packing
    from siteassess.records.loading import load_record
    from siteassess.reference.findings import in_words, said
    from siteassess.reference.texts import cautions

    record = load_record(file)
    result = assess(record, line_id=line_id, looks=False)
    lines = result.lines
    if day is not None:
        lines = tuple(line for line in lines if line.id in lines_on(record.lines, day))
        if not lines:
            note(said("no-line-that-day", site=record.site.name, day=day.isoformat()).in_words(lang))
    items = packing_list(lines, record.lines)
    left = [line.id for line in lines if line.verdict == "leave it"]
    line = f", {words_in(lang)('pack-line')} {line_id}" if line_id else ""
    title = record.site.name + line + (f", {day.isoformat()}" if day else "")
    stock, uncounted = _stock(items, owned_file)
    notes = (*packing_notes(lines), *uncounted)
    if out is not None:
        wrote([write_packing(out, title, items, left, stock, notes, lang)])
    values = {
        "items": jsonable(items), "totals": totals(items), "left_out_lines": left,
        "notes": list(in_words(notes)), "notes_codes": jsonable(notes),
        "owned": [{**jsonable(row.item), "has": row.has, "lacks": row.lacks, "from_owned": row.from_owned,
                   "notes": row.notes, "notes_codes": jsonable(row.noted)} for row in stock],
        "cautions": cautions(),
    }
    text = () if out else lambda: packing_text(title, items, left, stock, notes, language=lang)
    give(as_json, values, text)


def _stock(items: Iterable[PackItem], owned_file: Path | None) -> tuple[tuple[Stock, ...], tuple[Said, ...]]:
    if owned_file is None:
        return (), ()
    from siteassess.advice.stock import held_against, not_counted
    from siteassess.records.owned import read_owned

    owned = read_owned(owned_file)
    return held_against(items, owned), not_counted(owned)
