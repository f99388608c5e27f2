"""`siteassess survey`: candidate trees and pairs from a tree inventory."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from siteassess.cli.shared import (
    QuantityType,
    WordsOf,
    day,
    give,
    json_switch,
    language_option,
    measured,
    note,
    refuse_over,
)

if TYPE_CHECKING:
    from siteassess.records.line import Use


@click.command("survey", short_help="Desk survey of a tree inventory: candidate trees and pairs.")
@click.argument("inventory", type=click.Path())
@click.option("--mapping", help="A shipped mapping's name or a mapping file; recognised or guessed if not given.")
@click.option("--diameter-unit", type=WordsOf("reference.rules.LengthUnit"),
              help="Unit of the column of girths or diameters, where the file does not tell it.")
@click.option("--grid", metavar="EPSG:CODE",
              help="Grid of columns of x and y, or of a map file in metres, where the file does not tell it.")
@click.option("--span", nargs=2, required=True, type=QuantityType("length", low=1.0, high=500.0),
              help='Shortest and longest span, as: --span "20 m" "100 m".')
@click.option("--park", "park", type=click.Path(),
              help="Outlines of parks; both trees and the line lie in one of them.")
@click.option("--avoid", nargs=2, multiple=True, type=(WordsOf("survey.layers.LAYER_KINDS"), click.Path()),
              help="Kind and file of things to keep clear of.")
@click.option("--same-park", is_flag=True,
              help="Without --park: both trees bear the same park's name in the inventory.")
@click.option("--terrain", type=click.Path(), help="Terrain grid in plain ASCII form.")
@click.option("--terrain-crs", default="EPSG:4326", show_default=True, help="Grid of the terrain file.")
@click.option("--steepest", default=0.15, show_default=True, type=click.FloatRange(0, 2),
              help="Rise over span, where terrain is known.")
@click.option("--rules", help="A rule set's id or file: least trunk, barred kinds, longest span.")
@click.option("--use", type=WordsOf("records.line.Use"), default="low line", show_default=True, help="Planned use.")
@measured("--pull", "force", "Horizontal pull at an anchor; a stand-in for the use if not given.", low=100.0,
          high=60_000.0)
@measured("--tie", "length", "Tie height; a stand-in for the use if not given.", low=0.1, high=12.0)
@measured("--corridor", "length", "Free width wanted to each side of the line.", low=0.0, high=20.0,
          default="1.5 m", show_default=True)
@click.option("--crowns-block", is_flag=True, help="Keep recorded crowns, not only trunks, out of the corridor.")
@click.option("--known-sizes-only", is_flag=True, help="Drop trees whose trunk size is not recorded.")
@click.option("--no-street-trees", is_flag=True, help="Drop trees the inventory calls street trees.")
@click.option("--top", default=100, show_default=True, type=click.IntRange(1, 5000), help="Pairs and trees listed.")
@click.option("--per-tree", default=2, show_default=True, type=click.IntRange(1, 50), help="Pairs listed on one tree.")
@click.option("--circuit", "lines", default=0, type=click.IntRange(0, 30),
              help="Propose circuits of so many lines near each other.")
@click.option("--workers", default=1, show_default=True, type=click.IntRange(1, 64), help="Processes.")
@click.option("--engine", type=click.Choice(["processes", "dask"]), default="processes", show_default=True,
              help="What the workers run on.")
@click.option("--out", type=click.Path(file_okay=False),
              help="Folder for tables, GeoJSON, GPX, field sheets and the sketch.")
@click.option("--date", "date", type=day, help="Day to write on the field sheets; today if not given.")
@language_option
@json_switch
def survey(
    inventory: str, mapping: str | None, diameter_unit: str | None, grid: str | None, span: tuple[float, float],
    park: str | None, avoid: tuple[tuple[str, str], ...], same_park: bool, terrain: str | None, terrain_crs: str,
    steepest: float, rules: str | None, use: Use, pull: float | None, tie: float | None, corridor: float,
    crowns_block: bool, known_sizes_only: bool, no_street_trees: bool, top: int, per_tree: int, lines: int, workers:
    int, engine: str, out: str | None, date: datetime.date | None, lang: str, as_json: bool,
) -> None:
    """Propose trees and pairs of INVENTORY worth the walk: CSV, XLSX, GeoJSON, GeoPackage, GeoParquet, Shapefile.

    Nothing here was looked at: every candidate is to be surveyed on site.
    """
    shortest, longest = span
    if shortest > longest:
        from siteassess.reference.findings import worded

        raise click.UsageError(worded("option-span-order"))
    from siteassess.papers.language import words_in
    from siteassess.papers.sketch import sketch_page
    from siteassess.papers.survey_text import survey_text
    from siteassess.survey.desk import Options, desk_survey
    from siteassess.survey.files import REPLACED, write_all
    from siteassess.survey.importing import read_inventory
    from siteassess.survey.layers import read_terrain
    from siteassess.survey.pairs import PairWindow
    from siteassess.survey.proposal import propose
    from siteassess.survey.rulelimits import RuleLimits, read_rules
    from siteassess.survey.screen import Wish

    if out is not None:
        read_too = [inventory, park, terrain, *(path for _, path in avoid)]
        refuse_over(read_too, (f"{out}/{name}" for name in REPLACED))
    limits = read_rules(rules, use) if rules else RuleLimits()
    wish = Wish(use, pull, tie, limits, known_sizes_only, no_street_trees)
    options = Options(
        steepest=steepest, top=top, per_tree=per_tree, lines=lines, same_named_park=same_park,
        crowns_block=crowns_block, workers=workers, engine=engine,
    )
    t = words_in(lang)
    read = read_inventory(inventory, mapping, diameter_unit=diameter_unit, grid=grid,
                          progress=lambda rows: note(t("sv-read", count=rows)))  # fmt: skip
    for remark in read.remarks:
        note(t("chk-note", says=remark.in_words(lang)))
    kept_clear: dict[str, list[str | Path]] = {}
    for kind, path in avoid:
        kept_clear.setdefault(kind, []).append(path)
    heights = read_terrain(terrain, terrain_crs) if terrain else None
    with click.progressbar(length=1, label=t("sv-searching"), file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.length = total
            bar.update(1)

        found = desk_survey(
            read, wish, PairWindow(shortest, longest, corridor), options, parks=park, avoid=kept_clear, terrain=heights,
            tiles_folder=None if out is None else f"{out}/tiles", progress=progress,
        )
    proposal = propose(found, top)
    day_written = date or datetime.date.today()
    written = [] if out is None else write_all(proposal, out, day_written, lambda made: sketch_page(made, lang), lang)
    files = [str(path) for path in written]
    told = survey_text(proposal, written, read.remarks, lang)
    give(as_json, lambda: {**proposal.summary(), "files": files}, told)

