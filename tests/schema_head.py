"""What the JSON Schemas of this project begin with."""

from collections.abc import Mapping
from typing import Any

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
