"""Writing a record so that reading it gives the same record, in the order and the units of whoever filled it in."""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml
from pydantic import BaseModel

from siteassess.records.files import write_whole
from siteassess.records.record import Record
from siteassess.records.site import Position
from siteassess.records.yaml_lines import DECIMAL, NOT_FINITE, WHOLE_NUMBER, YAML_WORDS
from siteassess.units import Quantity

_WIDTH = 110


def write_text(record: Record) -> str:
    """The record as YAML: only what was filled in, keys in the order of the form, units as typed.

    Parameters
    ----------
    record : whole

    Raises
    ------
    yaml.YAMLError
        The land manager's own rules hold something YAML of this kind has no word for.
    """
    return yaml.dump(
        as_plain(record), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=_WIDTH, default_flow_style=False
    )


def scalar_text(value: str | int | float | bool) -> str:
    """One value as it stands behind its key, quoted where it would else be read as something other.

    Parameters
    ----------
    value : of a field
    """
    if isinstance(value, str) and "\n" in value:
        return json.dumps(value, ensure_ascii=False)
    written: str = yaml.dump(value, Dumper=_Dumper, allow_unicode=True, width=math.inf)
    return written.removesuffix("...\n").rstrip("\n")


def write_record(record: Record, path: str | Path) -> None:
    """Write a record so that a crash in mid-write leaves the old file whole.

    Parameters
    ----------
    record : whole
    path : of the file

    Raises
    ------
    OSError : the folder cannot be written to; the old file, if any, is untouched
    """
    write_whole(write_text(record), path)


def as_plain(value: Any) -> Any:
    """A record or a part of it as dictionaries, lists, texts and numbers, without what was never filled in.

    Parameters
    ----------
    value : of a record, or one of its values

    Returns
    -------
    Fit for YAML and JSON.
    """
    if isinstance(value, Position) and len(value.fixes) == 1 and not value.ties:
        return as_plain(value.fixes[0])  # the common case is written without the list
    if isinstance(value, Position) and not value.fixes and not value.ties:
        return {"fixes": []}
    if isinstance(value, BaseModel):
        filled = ((name, getattr(value, name)) for name in type(value).model_fields if name in value.model_fields_set)
        return {name: as_plain(content) for name, content in filled if content is not None}
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, (tuple, list)):
        return [as_plain(item) for item in value]
    if isinstance(value, Mapping):
        return {key: as_plain(item) for key, item in value.items()}
    return value.item() if hasattr(value, "item") else value  # a number of an array


class _Dumper(yaml.SafeDumper):
    """Quotes exactly what the strict reader would not read back as text; makes no aliases."""

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}

    def ignore_aliases(self, data: object) -> bool:
        return True

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:
        return super().increase_indent(flow, False)  # dashes stand under their key, indented


def _text(dumper: _Dumper, text: str) -> yaml.ScalarNode:
    # several lines stay readable as a block; the emitter falls back to quotes where a block could not hold them
    style = "|" if "\n" in text and not text.startswith((" ", "\n", "\t")) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


def _short_list(dumper: _Dumper, items: list[object]) -> yaml.SequenceNode:
    pair = len(items) == 2 and all(isinstance(item, (int, float)) for item in items)
    return dumper.represent_sequence("tag:yaml.org,2002:seq", items, flow_style=pair or not items)


def _any_of(*patterns: str, flags: int = 0) -> re.Pattern[str]:
    return re.compile(f"^(?:{'|'.join(patterns)})$", flags)


def _words_for(*meanings: object) -> list[str]:
    return [word for word, meaning in YAML_WORDS.items() if meaning in meanings]


_STARTS = list("+-.0123456789iInN")
_Dumper.add_representer(str, _text)
_Dumper.add_representer(list, _short_list)
for _tag, _pattern, _first in (
    ("null", _any_of(*_words_for(None)), ["~", "n", ""]),
    ("bool", _any_of(*_words_for(True, False)), ["t", "f"]),
    ("int", _any_of(WHOLE_NUMBER.pattern), _STARTS),
    ("float", _any_of(DECIMAL.pattern, NOT_FINITE.pattern, flags=re.IGNORECASE), _STARTS),
    ("merge", _any_of("<<"), ["<"]),
):
    _Dumper.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", _pattern, _first)
