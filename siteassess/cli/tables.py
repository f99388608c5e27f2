"""`siteassess tables`: the reference rows with their sources."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from siteassess.cli.shared import give, json_switch, names_for_a_shell

SOURCE_FIELDS = ("id", "author", "title", "year", "doi", "clause", "licence", "note")


@click.command("tables")
@click.argument("name", required=False, shell_complete=names_for_a_shell("reference.tables.table_names"))
@click.option("--find", metavar="TEXT", help="Only rows that hold this text.")
@json_switch
def tables(name: str | None, find: str | None, as_json: bool) -> None:
    """List the reference tables, or print the rows of one with source and flag.

    Flags: read (seen in the source), derived (worked out from read values), judgement (ours), memory (recalled, not
    checked).
    """
    from siteassess.reference.tables import rows, table_names

    if name is None:
        names = list(table_names())
        return give(as_json, {"tables": names, "sources": len(rows("sources"))}, names)
    plain = [_as_dict(row) for row in rows(name)]
    if name == "sources":
        plain = [{key: str(row.get(key, "")) for key in SOURCE_FIELDS} for row in plain]
    if find:
        plain = [row for row in plain if find.casefold() in " ".join(map(str, row.values())).casefold()]
    none = f"no row of {name}" + (f" holds {find!r}" if find else "")
    give(as_json, {"table": name, "rows": plain}, [text for row in plain for text in (*_lines(row), "")] or [none])


def _lines(row: Mapping[str, Any], indent: str = "") -> list[str]:
    """A row with one field a line, its names in one column; what is not known is left out."""
    known = {key: value for key, value in row.items() if value not in (None, "", (), [], {})}
    width = max((len(key) for key in known), default=0)
    lines = []
    for key, value in known.items():
        shown = [value] if not isinstance(value, list) else value
        if any(isinstance(item, dict) for item in shown):
            lines.append(f"{indent}{key}:")
            for item in shown:
                lines += _lines(item, indent + "    ") if isinstance(item, dict) else [f"{indent}    {item}"]
        else:
            lines.append(f"{indent}{key:<{width}}  {', '.join(map(_word, shown))}")
    return lines


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _as_dict(row: Any) -> dict[str, Any]:
    """A named tuple of a CSV table or a mapping of a YAML one."""
    items = row._asdict() if hasattr(row, "_asdict") else row
    return {key: _thaw(value) for key, value in items.items()}


def _thaw(value: Any) -> Any:
    """Plain lists and dicts out of the tables' read-only views."""
    if hasattr(value, "items"):
        return {key: _thaw(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_thaw(item) for item in value]
    return value
