"""`siteassess new`, `check`, `pack`: the record itself."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from siteassess.cli.shared import emit, json_switch, note


@click.command("new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--full", is_flag=True, help="Every field instead of the quick form.")
@click.option("--force", is_flag=True, help="Write over an existing file.")
def new(file: Path, full: bool, force: bool) -> None:
    """Write a commented record to fill in: about a dozen questions a tree, then each stop sign by itself.

    A name ending in .csv gives the spreadsheet template, one row a tree.
    """
    if file.exists() and not force:
        raise click.UsageError(f"{file} exists; nothing was written (--force writes over it)")
    if file.suffix.lower() == ".csv":
        from siteassess.records.csv_rows import blank_csv as blank
    else:
        from siteassess.records.blank import blank_record as blank
    from siteassess.records.writing import write_whole

    write_whole(blank(full=full), file)
    note(f"wrote {file}; fill it in, then: siteassess check {file}")


@click.command("check")
@click.argument("file", type=click.Path(path_type=Path))
@json_switch
def check(file: Path, as_json: bool) -> None:
    """Faults with line numbers, doubtful readings, and whether positions, tape and compass agree."""
    from siteassess.errors import FaultyInput
    from siteassess.records.loading import load_with_lines

    try:
        read = load_with_lines(file)
    except FaultyInput as error:
        if not as_json:
            raise
        emit({"file": str(file), "faults": [fault.__dict__ for fault in error.faults], "warnings": [], "pairs": []})
        sys.exit(1)
    from siteassess.advice.check import check_record
    from siteassess.papers.check_text import check_text

    found = check_record(read.record, read)
    if as_json:
        emit({"file": str(file), "faults": [], **found.as_dict()})
    else:
        click.echo(check_text(str(file), found), nl=False)


@click.command("pack")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--line", "line_id", metavar="ID", help="Only this line.")
@json_switch
def pack(file: Path, line_id, as_json: bool) -> None:
    """Packing list: slings by length and width, pads, slats, links, flags and signs."""
    from siteassess.advice.assess import assess
    from siteassess.papers.terminal import packing_words
    from siteassess.records.loading import load_record
    from siteassess.reference.texts import cautions

    result = assess(load_record(file), line_id=line_id)
    left = [line.id for line in result.lines if line.verdict == "leave it"]
    if as_json:
        emit({"items": [item.__dict__ for item in result.packing], "left_out_lines": left, "cautions": cautions()})
        return
    click.echo(f"To bring for {result.record.site.name}:")
    for item in result.packing:
        click.echo(f"  [ ] {packing_words(item)}")
    if left:
        click.echo(f"Nothing is listed for lines we say to leave: {', '.join(left)}")
    for caution in cautions():
        click.echo(f"- {caution}")

