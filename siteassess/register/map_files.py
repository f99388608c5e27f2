"""A copy as GeoJSON, GPX and KML, and back: which of its fields stand where. The formats are `places/exchange`."""

from __future__ import annotations

import json
from typing import Any

from siteassess.places import exchange
from siteassess.places.exchange import Exchanged
from siteassess.places.exchange_xml import gpx_text, kml_text, read_xml
from siteassess.reference.look import look
from siteassess.register.columns import described, flat
from siteassess.register.incoming import Incoming, taken_in
from siteassess.register.share import Copy, Shared

FACTS_KEY = "siteassess_copy"
FACT_OF_OURS = "copy_valid_until"


def geojson(copy: Copy) -> str:
    """A FeatureCollection with the facts of the copy beside it."""
    features = (exchange.geojson_feature(one.points, _properties(one, copy), one.id) for one in copy.features)
    return exchange.geojson_text(exchange.geojson(features, **{FACTS_KEY: copy.facts()}))


def _properties(feature: Shared, copy: Copy) -> dict[str, Any]:
    properties = {key: value for key, value in flat(feature, copy).items() if value is not None}
    return {**properties, "record": json.loads(properties["record"]), "description": described(feature, copy)}


def gpx(copy: Copy) -> str:
    """Anchors and sites as waypoints, lines as routes of two points; what has no position is left out."""
    placed = [feature for feature in copy.features if feature.points]
    points = (_told(feature, copy) for feature in placed if feature.kind != "line")
    routes = (
        (_told(feature, copy), [Exchanged(places=[place]) for place in feature.points or ()])
        for feature in placed
        if feature.kind == "line"
    )
    return gpx_text(_about(copy), points, routes, copy.made_on)


def kml(copy: Copy) -> str:
    """Every feature as a place."""
    return kml_text(_about(copy), {"": (_told(feature, copy) for feature in copy.features)},
                    ["may_rig_now", "verdict"])  # fmt: skip


def _about(copy: Copy) -> Exchanged:
    return Exchanged(copy.title, copy.in_words(), fields=copy.facts())


def _told(feature: Shared, copy: Copy) -> Exchanged:
    # only a line is ever rigged: a tree or park of which nothing else is said looks like one nobody judged
    alone = look().words_of("may_rig_codes").get(feature.may_rig_codes)
    return Exchanged(feature.code, described(feature, copy), feature.kind, feature.points, flat(feature, copy),
                     word=alone.word if alone else feature.may_rig_now)  # fmt: skip


def from_geojson(text: str, source: str, kind: str = "other") -> Incoming:
    """Features of a GeoJSON text; as `taken_in`."""
    return taken_in(exchange.read_geojson(text, source, FACTS_KEY), kind)


def from_xml(data: bytes, source: str, form: str, kind: str = "other") -> Incoming:
    """Features of a file in the form "GPX" or "KML"; as `taken_in`."""
    return taken_in(read_xml(data, source, form, FACT_OF_OURS), kind)
