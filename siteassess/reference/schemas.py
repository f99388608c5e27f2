"""JSON Schemas of what goes in and comes out, as they are shipped in `data/schemas`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, cast

from siteassess.errors import UnknownName
from siteassess.reference.locate import data_folder

SCHEMA_FORMS = ("record", "answer", "bundle")


def schema_files() -> dict[str, Path]:
    """The shipped files, the newest version of each.

    Returns
    -------
    By the name of their form.
    """
    files = sorted((data_folder() / "schemas").glob("*-*.json"), key=lambda file: int(file.stem.rpartition("-")[2]))
    # of one form the newest comes last, and stays
    return {file.stem.rpartition("-")[0]: file for file in files}


def schema(name: str) -> dict[str, Any]:
    """A shipped JSON Schema (2020-12).

    Parameters
    ----------
    name : "record" (what `read` takes), "answer" (what `assess --json` gives) or "bundle" (a group's zip)

    Returns
    -------
    As `json.load` gives it.

    Raises
    ------
    UnknownName : there is none of that form.

    Examples
    --------
    >>> schema("record")["$id"]
    'urn:siteassess:record:1'
    """
    files = schema_files()
    if name not in files:
        raise UnknownName(f"no schema of {name!r}; known: {', '.join(files)}")
    return cast("dict[str, Any]", json.loads(files[name].read_text(encoding="utf-8")))
