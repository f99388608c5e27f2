"""`siteassess map`, `plan`, `report`: one paper each."""

from __future__ import annotations

from pathlib import Path

import click

from siteassess.cli.shared import emit, json_switch, note, surroundings_option, with_surroundings


def _assessed(file: Path, surroundings: tuple[Path, ...], line_id: str | None = None):
    from siteassess.advice.assess import assess
    from siteassess.records.loading import load_record

    return assess(with_surroundings(load_record(file), file, surroundings), line_id=line_id)


def _say(written: list[Path], as_json: bool) -> None:
    if as_json:
        emit({"written": [str(path) for path in written]})
    for path in written:
        note(f"wrote {path}")


@click.command("map")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path),
              help="File to write; by default beside the record, ending in -map.html.")  # fmt: skip
@click.option("--tiles", metavar="URL", help="Background tiles with {z}, {x}, {y}; needs the network when opened.")
@click.option("--credit", help="Credit line the tiles ask for.")
@click.option("--geojson", type=click.Path(path_type=Path), help="Also write anchors and lines as GeoJSON.")
@surroundings_option
@json_switch
def site_map(file: Path, out, tiles, credit, geojson, surroundings, as_json) -> None:
    """Site map, one HTML file that opens with no network."""
    from siteassess.papers.exports import write_geojson
    from siteassess.papers.sitemap import write_map

    result = _assessed(file, surroundings)
    target = out or file.with_name(f"{file.stem}-map.html")
    written = [write_map(result, target, tiles=tiles, tiles_credit=credit)]
    if geojson:
        written.append(write_geojson(result, geojson))
    _say(written, as_json)


@click.command("plan")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="SVG file to write; the PDF stands beside it.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True,
              help="Size of the sheet.")  # fmt: skip
@click.option("--landscape/--portrait", default=True, help="Way the sheet lies.")
@click.option("--scale", help='Round scale: 1:200, 1:250, 1:500, 1:1000, 1"=20\', 1"=50\'; chosen to fit if not given.')
@surroundings_option
@json_switch
def plan(file: Path, out, paper, landscape, scale, surroundings, as_json) -> None:
    """Printable plan to a true round scale, SVG and PDF from the same drawing."""
    from siteassess.papers.plan import write_plan

    target = out or file.with_name(f"{file.stem}-plan.svg")
    drawn = write_plan(
        _assessed(file, surroundings), target, target.with_suffix(".pdf"), paper=paper, scale=scale,
        orientation="landscape" if landscape else "portrait", feet=paper == "Letter",
    )  # fmt: skip
    note(f"scale {drawn.scale}, {drawn.sheets} sheet{'s' if drawn.sheets != 1 else ''}")
    _say([*drawn.svg, *([drawn.pdf] if drawn.pdf else [])], as_json)


@click.command("report")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="HTML file to write; by default beside the record.")
@click.option("--line", "line_id", metavar="ID", help="Only this line.")
@surroundings_option
@json_switch
def report(file: Path, out, line_id, surroundings, as_json) -> None:
    """Papers for the land manager: one HTML file with a print style."""
    from siteassess.papers.report import write_report

    target = out or file.with_name(f"{file.stem}-report.html")
    _say([write_report(_assessed(file, surroundings, line_id), target)], as_json)
