"""JSON Schemas of what goes in and comes out, as they are shipped in `data/schemas`."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, cast

from siteassess.errors import UnknownName
from siteassess.reference.locate import data_folder

SCHEMA_FORMS = ("record", "answer", "bundle")
SCHEMA_DRAFT = "https://json-schema.org/draft/2020-12/schema"


def headed(name: str, version: int, description: str, schema: Mapping[str, Any]) -> dict[str, Any]:
    """A schema under its head.

    Parameters
    ----------
    name : of the form it is of
    version : of that form
    description : what the form is
    schema : the rest

    Returns
    -------
    JSON Schema (2020-12); its `$id` names form and version, and is no address.
    """
    title = f"siteassess {name}, version {version}"
    head = {"$schema": SCHEMA_DRAFT, "$id": f"urn:siteassess:{name}:{version}", "title": title}
    return {**head, "description": description, **{key: one for key, one in schema.items() if key not in head}}


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
