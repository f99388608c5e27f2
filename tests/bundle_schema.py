"""JSON Schema of the three texts in a bundle: its manifest, its features, and an entry of its history."""

from typing import Any

from schema_head import headed

from siteassess.register.bundle import BUNDLE_FORMAT
from siteassess.register.events import ENTRY_FORMAT
from siteassess.register.map_files import FACTS_KEY

_TEXT = {"type": "string"}
_HASH = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_FACTS = dict.fromkeys(("title", "layer", "licence", "made_on", "copy_valid_until", "heads", "cautions"), _TEXT)
_PLACE = {"type": "array", "items": {"type": "number"}, "minItems": 2}  # longitude, latitude [deg]


def bundle_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a bundle; shipped as data/schemas/bundle-N.json, N the version of its form.

    Returns
    -------
    A bundle is a zip: the schema itself is that of `manifest.json`, `features` in its `$defs` that of
    `features.geojson`, and `entry` that of each line of `events.jsonl`, which officers' copies alone carry.
    """
    photo = {"type": "object", "required": ["sha256"], "properties": {"sha256": _HASH}}
    manifest = {
        "siteassess_bundle": {"const": BUNDLE_FORMAT}, **_FACTS,
        "files": {"type": "object", "additionalProperties": _HASH},
        "photos": {"type": "object", "additionalProperties": {"type": "array", "items": photo}},
    }  # fmt: skip
    feature = _object({
        "type": {"const": "Feature"}, "id": _TEXT, "geometry": {"anyOf": [{"type": "null"}, _geometry()]},
        "properties": {"type": "object", "required": ["record"], "properties": {"record": {"type": "object"}}},
    })  # fmt: skip
    features = _object({"type": {"const": "FeatureCollection"}, FACTS_KEY: _object(_FACTS),
                        "features": {"type": "array", "items": feature}})  # fmt: skip
    names = {"type": "array", "items": _HASH}
    entry = _object({
        "format": {"const": ENTRY_FORMAT},
        **dict.fromkeys(("kind", "subject", "who", "recorded", "why", "salt"), _TEXT),
        "parents": names, "replaces": names, "body": {"type": "object"},
    })  # fmt: skip
    return headed("bundle", BUNDLE_FORMAT, "The manifest of a bundle.",
                  {**_object(manifest), "$defs": {"entry": entry, "features": features}})  # fmt: skip


def _geometry() -> dict[str, Any]:
    kinds = {"Point": _PLACE, "LineString": {"type": "array", "items": _PLACE}}
    return {"anyOf": [_object({"type": {"const": kind}, "coordinates": places}) for kind, places in kinds.items()]}


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}
