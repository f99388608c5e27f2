"""`siteassess map`, `plan`, `report`: one paper each."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from siteassess.cli.shared import (
    OutFile,
    WordsOf,
    beside_or_named,
    file_argument,
    give,
    json_switch,
    language_option,
    line_option,
    note,
    read_with,
    refuse_over,
    surroundings_option,
    surroundings_read,
    units_option,
    wrote,
)

if TYPE_CHECKING:
    from siteassess.advice.results import Assessment
    from siteassess.records.record import Record


def _assessed(record: Record, file: Path, surroundings: tuple[Path, ...]) -> Assessment:
    from siteassess.advice.assess import assess

    return assess(surroundings_read(record, file, surroundings), looks=False)  # neither map nor plan shows them


def _say(written: list[Path], as_json: bool) -> None:
    give(as_json, {"written": [str(path) for path in written]}, ())
    wrote(written)


@click.command("map")
@file_argument
@click.option("--out", type=OutFile(".html", ".htm", dash=True),
              help="File to write, - for the standard output; by default beside the record, ending in -map.html.")
@click.option("--tiles", metavar="URL",
              help="Background tiles: an https address with {z}, {x}, {y}, or a known server by name.")
@click.option("--credit", help="Credit line the tiles ask for.")
@click.option("--geojson", type=OutFile(".geojson", ".json"),
              help="Also write anchors, lines, root zones and surroundings as GeoJSON.")
@click.option("--map-file", "map_files", multiple=True, type=OutFile(".gpkg", ".kml", ".gpx", ".geojson", ".json"),
              help="Also write anchors, lines and root zones for another map program, styled by verdict: .gpkg, "
                   ".kml, .gpx (no root zones) or .geojson; may be repeated.")
@surroundings_option
@language_option
@json_switch
def site_map(
    file: Path, out: Path | None, tiles: str | None, credit: str | None, geojson: Path | None,
    map_files: tuple[Path, ...], surroundings: tuple[Path, ...], lang: str, as_json: bool,
) -> None:
    """Site map, one HTML file that opens with no network."""
    from siteassess.papers.exports import write_map_file
    from siteassess.papers.sitemap import write_map
    from siteassess.records.loading import load_record

    target, record = out or beside_or_named(file, "-map.html"), load_record(file)
    beside = [path for path in (geojson, *map_files) if path]
    refuse_over(read_with(record, file, surroundings), (target, *beside))
    result = _assessed(record, file, surroundings)
    written = [write_map(result, target, tiles=tiles, tiles_credit=credit, language=lang)]
    _say([*written, *(write_map_file(result, path, lang) for path in beside)], as_json)


@click.command("plan")
@file_argument
@click.option("--out", type=OutFile(".svg"), help="SVG file to write; the PDF stands beside it.")
@click.option("--paper", type=click.Choice(["A4", "A3", "Letter", "Tabloid"]), default="A4", show_default=True,
              help="Size of the sheet; Letter and Tabloid come with scales in feet.")
@click.option("--landscape/--portrait", default=True, help="Way the sheet lies.")
@click.option("--scale", help='Scale, such as 1:200, 1:1250 or 1"=20\'; chosen to fill the sheet if not given.')
@click.option("--errors", is_flag=True, help="Draw how far from its mark each anchor may truly stand.")
@surroundings_option
@language_option
@json_switch
def plan(
    file: Path, out: Path | None, paper: str, landscape: bool, scale: str | None, errors: bool,
    surroundings: tuple[Path, ...], lang: str, as_json: bool,
) -> None:
    """Printable plan to a true round scale, SVG and PDF from the same drawing."""
    from siteassess.papers.plan import write_plan
    from siteassess.records.loading import load_record
    from siteassess.reference.findings import said

    target = out or beside_or_named(file, "-plan.svg")
    drawn = write_plan(
        _assessed(load_record(file), file, surroundings), target, target.with_suffix(".pdf"), paper=paper, scale=scale,
        orientation="landscape" if landscape else "portrait", feet=paper in ("Letter", "Tabloid"),
        errors=errors, language=lang,
    )
    note(said("plan-drawn", scale=drawn.scale, count=drawn.sheets).in_words(lang))
    _say([*drawn.svg, *([drawn.pdf] if drawn.pdf else [])], as_json)


@click.command("report")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--kind", type=WordsOf("papers.write.PAPER_KINDS"),
              default="officer", show_default=True, help="Which paper.")
@click.option("--out", type=OutFile(".html", ".htm"), help="HTML file; by default beside FILE.")
@line_option
@click.option("--register", "register_file", type=click.Path(path_type=Path), help="The group's register.")
@click.option("--site", help="care, year: the site, where no record names it and the register lists several.")
@click.option("--tree", metavar="CODE", help="care, incident: only this tree, by its code or tag.")
@click.option("--year", type=click.IntRange(1900, 2200), help="care, year: calendar year; this year if not given.")
@language_option
@units_option
@click.option("--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True, help="Size of the plan.")
@click.option("--pdf", is_flag=True, help="Also as PDF; needs the extra 'pdf'.")
@json_switch
def report(
    file: Path | None, kind: str, out: Path | None, line_id: str | None, register_file: Path | None, site: str | None,
    tree: str | None, year: int | None, lang: str, units: str, paper: str, pdf: bool, as_json: bool,
) -> None:
    """Papers that change hands, each one HTML file with a print style.

    \b
    officer   the report for the land manager
    request   request for permission with plan, tree schedule, method statement, rule check
    card      of a session: on a phone a screen an end, printed one A5 page a line
    care      trees' year for their manager, ten to a page, and the log in full
    year      a site's year for the land manager, from the register
    incident  a note to fill in; without FILE it is blank

    FILE is a record. For care and year a register may stand in its place. The blank field form: siteassess form.
    """
    from siteassess.papers.handover import manner
    from siteassess.papers.write import FROM_REGISTER, PaperAsked, write_paper
    from siteassess.records.loading import load_record
    from siteassess.reference.findings import said, worded

    if file is None and not (kind == "incident" or (kind in FROM_REGISTER and register_file)):
        raise click.UsageError(worded("option-wants-file", kind=kind))
    if kind in FROM_REGISTER and file is not None and file.suffix.lower() == ".gpkg":
        register_file, file = file, None
    if kind in FROM_REGISTER and register_file is None:
        raise click.UsageError(worded("option-wants-register", kind=kind))
    record = load_record(file) if file is not None else None
    asked = PaperAsked(kind, record, file.parent if file else None, register_file, site, line_id, tree, year, paper)
    beside = file or register_file
    name = "report" if kind == "officer" else kind
    target = out or (beside_or_named(beside, f"-{name}.html") if beside else Path(f"{name}.html"))
    if kind == "officer" and units != "metric":
        note(said("units-of-the-decision").in_words(lang))
    _say(write_paper(asked, manner(lang, units), target, pdf), as_json)
