"""`siteassess survey`: candidate trees and pairs from a tree inventory."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Container, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from siteassess.cli.shared import QuantityType, WordsOf, answer, day, json_switch, note, quantity, refuse_over
from siteassess.units import show, show_bearing

if TYPE_CHECKING:
    from siteassess.records.line import Use

PAIRS_TOLD = 20  # the rest is in the tables


@click.command("survey", short_help="Desk survey of a tree inventory: candidate trees and pairs.")
@click.argument("inventory", type=click.Path())
@click.option("--mapping", help="A shipped mapping's name or a mapping file; recognised or guessed if not given.")
@click.option("--span", nargs=2, required=True, type=QuantityType("length", low=1.0, high=500.0),
              help='Shortest and longest span, as: --span "20 m" "100 m".')
@click.option("--park", "park", type=click.Path(),
              help="Outlines of parks; both trees and the line lie in one of them.")
@click.option("--avoid", nargs=2, multiple=True, type=(WordsOf("survey.layers.KINDS"), click.Path()),
              help="Kind and file of things to keep clear of.")
@click.option("--same-park", is_flag=True,
              help="Without --park: both trees bear the same park's name in the inventory.")
@click.option("--terrain", type=click.Path(), help="Terrain grid in plain ASCII form.")
@click.option("--terrain-crs", default="EPSG:4326", show_default=True, help="Grid of the terrain file.")
@click.option("--steepest", default=0.15, show_default=True, type=click.FloatRange(0, 2),
              help="Rise over span, where terrain is known.")
@click.option("--rules", help="A rule set's id or file: least trunk, barred kinds, longest span.")
@click.option("--use", type=WordsOf("records.line.Use"), default="low line", show_default=True, help="Planned use.")
@quantity("--pull", "force", "Horizontal pull at an anchor; a stand-in for the use if not given.", low=100.0,
          high=60_000.0)
@quantity("--tie", "length", "Tie height; a stand-in for the use if not given.", low=0.1, high=12.0)
@quantity("--corridor", "length", "Free width wanted to each side of the line.", low=0.0, high=20.0,
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
@json_switch
def survey(
    inventory: str, mapping: str | None, span: tuple[float, float], park: str | None,
    avoid: tuple[tuple[str, str], ...], same_park: bool, terrain: str | None, terrain_crs: str, steepest: float,
    rules: str | None, use: Use, pull: float | None, tie: float | None, corridor: float, crowns_block: bool,
    known_sizes_only: bool, no_street_trees: bool, top: int, per_tree: int, lines: int, workers: int, engine: str,
    out: str | None, date: datetime.date | None, as_json: bool,
) -> None:
    """Propose trees and pairs of INVENTORY (CSV, GeoJSON, GeoPackage, Shapefile, GeoParquet) that are worth the walk.

    Nothing here was looked at: every candidate is to be surveyed on site.
    """
    shortest, longest = span
    if shortest > longest:
        raise click.UsageError("--span wants the shortest span first, then the longest")
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
    read = read_inventory(inventory, mapping, progress=lambda rows: note(f"{rows} rows read"))
    for remark in read.remarks:
        note(f"note: {remark}")
    kept_clear: dict[str, list[str | Path]] = {}
    for kind, path in avoid:
        kept_clear.setdefault(kind, []).append(path)
    grid = read_terrain(terrain, terrain_crs) if terrain else None
    with click.progressbar(length=1, label="searching for pairs", file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.length = total
            bar.update(1)

        found = desk_survey(
            read, wish, PairWindow(shortest, longest, corridor), options, parks=park, avoid=kept_clear, terrain=grid,
            tiles_folder=None if out is None else f"{out}/tiles", progress=progress,
        )
    proposal = propose(found, top)
    written = [] if out is None else write_all(proposal, out, date or datetime.date.today())
    summary = proposal.summary()
    files = [str(path) for path in written]
    answer(as_json, {**summary, "files": files}, _told(summary, written, told_already=read.remarks))


def _told(summary: Mapping[str, Any], written: Iterable[Path], told_already: Container[str]) -> Iterator[str]:
    yield (
        f"{summary['inventory']}: {summary['rows_read']} rows read, {summary['rows_kept']} kept, "
        f"{summary['rows_repaired']} repaired, {summary['rows_set_aside']} set aside"
    )
    yield from _counts(summary["row_notes"])
    yield f"{summary['candidates_count']} candidate trees; not candidates:"
    yield from _counts(summary["not_candidates"])
    yield f"{summary['pairs_count']} pairs; {len(summary['pairs'])} listed, every one to be surveyed on site:"
    if summary["pairs"]:
        yield "  score for the order of the walk only: in all (hold, care, evidence), each from 0 to 1"
    for pair in summary["pairs"][:PAIRS_TOLD]:
        parts = ", ".join(f"{pair[f'score_{part}']:.2f}" for part in ("hold", "care", "evidence"))
        yield (
            f"  {pair['id']}  {pair['a']} to {pair['b']}  {show(pair['span_m'], 'm 1'):>8}"
            f"  {show_bearing(pair['bearing_true_deg'])} deg true"
            f"  score {pair['score']:.3f} ({parts})  {pair['park']}"
        )
    alike = sum(pair["score"] == summary["pairs"][0]["score"] for pair in summary["pairs"])
    if alike > 1:
        yield f"  {alike} of these share the best score: among them the order says nothing"
    if len(summary["pairs"]) > PAIRS_TOLD:
        yield f"  and {len(summary['pairs']) - PAIRS_TOLD} more, in --json and in the tables of --out"
    if _on_streets(summary):
        yield "Pairs of street trees may cross a road: look on site."
    for remark in summary["remarks"]:
        if remark not in told_already:
            yield f"note: {remark}"
    for circuit in summary["circuits"]:
        yield f"  {circuit['id']}: {len(circuit['lines'])} lines, {show(circuit['walk_m'], 'm 0')} to walk between them"
    yield from (f"wrote {path}" for path in written)
    yield from summary["cautions"]


def _counts(counts: Mapping[str, int]) -> Iterator[str]:
    for text, count in counts.items():
        yield f"  {count:>8}  {text}"
    if len(counts) > 1:
        yield "            a row may have several of these, so they need not add up"


def _on_streets(summary: Mapping[str, Any]) -> bool:
    """Whether a listed pair uses a tree the inventory calls a street tree."""
    streets = {tree["code"] for tree in summary["candidates"] if tree["on_street"]}
    return any(streets & {pair["a"], pair["b"]} for pair in summary["pairs"])
