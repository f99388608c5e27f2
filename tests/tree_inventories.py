"""Tree inventories as somebody has them who looks for a hidden tree, parks made of their trees, and the search.

The inventories are the street tree census of New York City, 2015 (5,000 rows as published) and an extract of
OpenStreetMap around Helsinki: see tests/published/data/README-inventories.md. The search reads the files of a copy
with nothing of this program but the words of its girth classes.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from random import Random

from siteassess.register.crowd import TREE_NEAR_M, KnownTree, girth_class

DATA = Path(__file__).resolve().parent / "published" / "data"
METRES_A_DEGREE = 111_195.0


def census_trees() -> list[KnownTree]:
    """The street tree census of New York City as an attacker has it: position, genus, girth over bark."""
    with (DATA / "nyc_2015_street_trees_5000.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [
        KnownTree(
            float(row["latitude"]),
            float(row["longitude"]),
            row["spc_latin"].split(" ")[0].lower() or None,
            # diameters there are whole inches at 1.37 m
            math.pi * 0.0254 * float(row["tree_dbh"]) if float(row["tree_dbh"]) > 0 else None,
        )
        for row in rows
    ]


def helsinki_trees() -> list[KnownTree]:
    """Trees of a map whose kinds and girths nobody entered."""
    features = json.loads((DATA / "osm_helsinki_trees_parks.geojson").read_text(encoding="utf-8"))["features"]
    return [
        KnownTree(f["geometry"]["coordinates"][1], f["geometry"]["coordinates"][0], None, None)
        for f in features
        if f["properties"].get("natural") == "tree" and f["geometry"]["type"] == "Point"
    ]


def dense_trees(chance: Random) -> list[KnownTree]:
    """An invented park land, where many trees stand near to each other."""
    kinds, girths = ("tilia", "tilia", "quercus", "acer", "sorbus"), (0.5, 0.9, 1.3, 1.5, 2.0)
    places = [(54.5 + 0.015 * chance.random(), 2.5 + 0.02 * chance.random()) for _ in range(600)]
    return [KnownTree(*place, chance.choice(kinds), chance.choice(girths)) for place in places]


def metres(tree: KnownTree, lat: float, lon: float) -> tuple[float, float]:
    north = (tree.latitude - lat) * METRES_A_DEGREE
    return north, (tree.longitude - lon) * METRES_A_DEGREE * math.cos(math.radians(lat))


def apart(tree: KnownTree, other: KnownTree) -> float:
    return math.hypot(*metres(tree, other.latitude, other.longitude))


def park_of(number: int, trees: list[KnownTree], sensitive: set[int]) -> tuple[dict, list[str]]:
    """A site record of inventory trees, with codes and tags as a city numbers them, and the codes to hide."""
    anchors = [
        {
            "kind": "tree",
            "code": f"NYC-{number}-{place}",
            "tag": f"TAG{number:05d}{place:02d}",
            "position": {"fixes": [{"lat": tree.latitude, "lon": tree.longitude, "accuracy": "3 m"}]},
            "species": {"name": f"{(tree.genus or 'unknown').capitalize()} secreta", "certainty": "sure"},
            "trunk": [{"girth": f"{tree.girth_m:.4f} m", "read_at": "1.37 m"}],
            "height": "17.31 m",
        }
        for place, tree in enumerate(trees)
    ]
    line = [{
        "id": f"{anchors[0]['code']}..{anchors[1]['code']}"[:24], "use": "low line", "span": {"taped": "17.77 m"},
        "a": {"anchor": anchors[0]["code"], "tie_height": "1.23 m", "sling": {"length": "3.21 m"}},
        "b": {"anchor": anchors[1]["code"]}, "compass": {"out": "123.4 deg", "back": "303.4 deg"},
    }] if len(anchors) > 1 else []  # fmt: skip
    record = {
        "siteassess_record": 1, "site": {"name": f"Invented park {number}", "land_status": "mown amenity"},
        "survey": {"by": "Ada", "date": "2026-04-18"}, "anchors": anchors, "lines": line,
    }  # fmt: skip
    return record, [anchors[place]["code"] for place in sensitive]


def candidates_in(features: list[dict], about: dict, census: list[KnownTree]) -> list[KnownTree]:
    """Trees of the census that a hidden one may be, from all that a members' GeoJSON says of it and around it."""
    said = about["properties"]
    left = census
    if about["geometry"]:
        lon, lat = about["geometry"]["coordinates"]
        # half a side and a hair, for cells narrow towards the pole
        half = said["accuracy_m"] / 2**0.5 * 1.005
        left = [t for t in left if all(abs(m) <= half for m in metres(t, lat, lon))]
    if genus := said.get("species"):
        left = [t for t in left if t.genus == genus.lower()]
    if words := said.get("girth_class"):
        left = [t for t in left if girth_class(t.girth_m) == words]
    shown = [
        f["geometry"]["coordinates"]
        for f in features
        if f["properties"]["site_id"] == said["site_id"] and f["properties"]["exact"] == "yes" and f["geometry"]
        and f["properties"]["feature"] == "anchor"
    ]  # fmt: skip
    if shown:
        left = [t for t in left if any(math.hypot(*metres(t, lat, lon)) <= TREE_NEAR_M for lon, lat in shown)]
    # what is shown, in whichever park, is not hidden
    known = [
        f["geometry"]["coordinates"]
        for f in features
        if f["properties"]["exact"] == "yes" and f["properties"]["feature"] == "anchor"
    ]
    return [t for t in left if not any(math.hypot(*metres(t, lat, lon)) < 1 for lon, lat in known)]
