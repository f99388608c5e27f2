"""`siteassess schema`: the JSON Schemas of what goes in and comes out."""

from __future__ import annotations

from pathlib import Path

import click

from siteassess.cli.shared import OutFile, WordsOf, give, wrote


@click.command("schema")
@click.argument("name", type=WordsOf("reference.schemas.SCHEMA_FORMS"))
@click.option("--out", type=OutFile(".json"), help="Write it here instead of printing it.")
def schema(name: str, out: Path | None) -> None:
    """Print the JSON Schema (2020-12) of a form: record, answer (of assess --json) or bundle (of register export).

    Editors complete a record by it: siteassess new writes it beside the record, whose first line names it.
    """
    from siteassess.records.files import write_whole
    from siteassess.reference.schemas import schema as shipped_schema
    from siteassess.reference.schemas import schema_files

    if out is None:
        return give(True, shipped_schema(name), ())
    wrote([write_whole(schema_files()[name].read_text(encoding="utf-8"), out)])
