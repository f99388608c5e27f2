"""Anchors, lines and root zones for other map programs: GeoJSON, KML, GPX and GeoPackage.

Names of fields, words and days are those of other programs, whatever the language; sentences are told in it.
"""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from siteassess.advice.finding import Finding, conditions_of
from siteassess.advice.results import Assessment, LineResult
from siteassess.errors import UnknownName
from siteassess.papers.as_json import jsonable
from siteassess.papers.language import Words, cautions_told, words_in
from siteassess.papers.scene import LineStretch, Scene, Spot, build
from siteassess.places.exchange import Exchanged, Place, closed_ring, geojson, geojson_feature, geojson_text, one_text
from siteassess.places.exchange_xml import gpx_text, kml_text
from siteassess.places.geopackage import announce, geometry_blob, run_statements, widen, write_frame, write_styles
from siteassess.places.map_styles import ROOT_ZONE
from siteassess.records.files import write_whole
from siteassess.reference.findings import word
from siteassess.reference.look import NOT_JUDGED
from siteassess.reference.texts import known_language, text

DATED = ("surveyed", "assessed_for", "until")
NUMERIC_ENDINGS = ("_m", "_deg")  # what the names of fields that hold them end in


@dataclass(frozen=True)
class MapTable:
    """One table of a map file: what kind of shape it holds, and its rows, each with its code and its places."""

    name: str
    shape: str  # "POINT", "LINESTRING" or "POLYGON"
    rows: Sequence[tuple[list[Place] | None, dict[str, Any]]]


def map_tables(assessment: Assessment, language: str = "en") -> tuple[MapTable, MapTable, MapTable]:
    """Anchors, lines and root zones with what other programs want to know of each.

    Parameters
    ----------
    assessment : of one record
    language : of the conditions

    Raises
    ------
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    return _tables(assessment, build(assessment), language)


def _tables(assessment: Assessment, scene: Scene, language: str) -> tuple[MapTable, MapTable, MapTable]:
    surveyed = assessment.record.survey.date
    anchors = [(_places(spot), _anchor(spot, assessment, language, surveyed)) for spot in scene.spots]
    unplaced = [(None, {"kind": "anchor", "code": code, "surveyed": surveyed}) for code in scene.unplaced]
    lines = [(_places(one.a, one.b), _line(one, assessment, language, surveyed)) for one in scene.stretches]
    zones = [(_zone(scene, spot), _of_the_tree(spot, surveyed) | {"kind": ROOT_ZONE, "radius_m": radius})
             for spot in scene.spots if (radius := spot.root_zone_radius_m)]  # fmt: skip
    return (MapTable("anchors", "POINT", [*anchors, *unplaced]), MapTable("lines", "LINESTRING", lines),
            MapTable("root_zones", "POLYGON", zones))  # fmt: skip


def _places(*spots: Spot) -> list[Place]:
    return [(spot.longitude_deg, spot.latitude_deg) for spot in spots]


def _zone(scene: Scene, spot: Spot) -> list[Place]:
    latitudes, longitudes = scene.root_zone_deg(spot)
    return list(zip(longitudes.tolist(), latitudes.tolist()))


def _of_the_tree(spot: Spot, surveyed: datetime.date) -> dict[str, Any]:
    return {"code": spot.code, "tag": spot.tag, "species": spot.species, "surveyed": surveyed}


def _anchor(spot: Spot, assessment: Assessment, language: str, surveyed: datetime.date) -> dict[str, Any]:
    ends = [end for line in assessment.lines for end in line.anchors if end.code == spot.code]
    alone = [tree for tree in assessment.trees if tree.code == spot.code] if not ends else []
    found = [one for end in ends for one in end.findings] + [one for tree in alone for one in tree.findings]
    trunk = spot.trunk
    return _of_the_tree(spot, surveyed) | {
        "kind": "anchor", "anchor_kind": spot.kind, "verdict": spot.verdict,
        "conditions": _conditions(found, spot.verdict, language), "lines": spot.line_ids,
        "trunk_diameter_m": trunk.diameter if trunk else None, "trunk_read_at_m": trunk.read_at if trunk else None,
        "accuracy_m": spot.accuracy_m, "position_how": spot.how, "crown_radius_m": spot.crown_radius_m,
        "root_zone_radius_m": spot.root_zone_radius_m,
    }  # fmt: skip


def _conditions(found: Sequence[Finding], verdict: str | None, language: str) -> tuple[str, ...]:
    """What is left to be done, where that is all that stands in the way."""
    return conditions_of(found, language) if verdict == "suits if" else ()


def _line(stretch: LineStretch, assessment: Assessment, language: str, surveyed: datetime.date) -> dict[str, Any]:
    result, geometry = stretch.result, stretch.result.geometry
    found = [one for _, one in result.all_ordered]
    planned = next(line.planned for line in assessment.record.lines if line.id == result.id)
    return {
        "kind": "line", "code": result.id, "title": result.name, "use": result.use, "verdict": result.verdict,
        "conditions": _conditions(found, result.verdict, language), "assessed_for": result.day,
        "until": planned.until if planned else None, "surveyed": surveyed, "weaker_anchor": result.weaker_anchor,
        "a": stretch.a.code, "b": stretch.b.code,
        "distance_m": geometry.distance_m, "taped_m": geometry.taped_m,
        "bearing_true_deg": geometry.bearing_true_deg, "back_bearing_true_deg": geometry.back_bearing_true_deg,
        "bearing_magnetic_deg": geometry.bearing_magnetic_deg, "declination_deg": geometry.declination_deg,
        **_rules(result, language),
    }


def _rules(result: LineResult, language: str) -> dict[str, Any]:
    """Clauses of the place's rules that are not met, and those that nobody can tell yet; None where it has none."""
    held = [end.rules.clauses for end in result.anchors if end.rules]
    return {name: tuple(dict.fromkeys(word(one.clause, language) for clauses in held for one in clauses
                                      if one.answer == answer)) if held else None
            for name, answer in (("rules_not_met", "not met"), ("rules_cannot_tell", "cannot tell"))}  # fmt: skip


def to_geojson(assessment: Assessment, language: str = "en") -> dict[str, Any]:
    """Anchors as points, lines as lines, root zones as areas, and the surroundings as they lie.

    Parameters
    ----------
    assessment : of one record
    language : of what is told

    Returns
    -------
    A FeatureCollection. Anchors without a position are features with a null geometry.

    Raises
    ------
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    scene = build(assessment)
    features = [geojson_feature(places, _properties(fields), area=table.shape == "POLYGON")
                for table in _tables(assessment, scene, language) for places, fields in table.rows]  # fmt: skip
    return geojson(
        [*features, *_surroundings(scene)], site=assessment.record.site.name,
        date=assessment.one_day.isoformat() if assessment.one_day else None, note=text("no-inspection", language),
        cautions=list(cautions_told(assessment, words_in(language))), credit=assessment.record.site.credit,
    )  # fmt: skip


def _properties(fields: dict[str, Any]) -> dict[str, Any]:
    renamed = {"code": "id", "title": "name"} if fields["kind"] == "line" else {}  # as the first release wrote them
    return dict(jsonable({renamed.get(name, name): value for name, value in fields.items()}))


def _surroundings(scene: Scene) -> list[dict[str, Any]]:
    return [
        geojson_feature(
            list(zip(shape.longitudes_deg.tolist(), shape.latitudes_deg.tolist())),
            jsonable({"kind": shape.kind, "name": shape.name, "width_m": shape.width_m}),
            area=shape.closed,
        )
        for shape in scene.shapes
    ]


def _geojson_bytes(assessment: Assessment, language: str) -> bytes:
    return geojson_text(to_geojson(assessment, language)).encode()


def _kml(assessment: Assessment, language: str) -> bytes:
    folders = {table.name: _things(table, language) for table in map_tables(assessment, language)}
    return kml_text(_about(assessment, language), folders, ["verdict"]).encode()


def _gpx(assessment: Assessment, language: str) -> bytes:
    """Waypoints and routes; the format knows no areas."""
    anchors, lines, _ = map_tables(assessment, language)
    placed = [one for one in _things(anchors, language) if one.places]
    routes = [(one, [Exchanged(places=[place]) for place in one.places or ()]) for one in _things(lines, language)]
    return gpx_text(_about(assessment, language), placed, routes, assessment.date.isoformat()).encode()


def _cautions(assessment: Assessment, language: str) -> str:
    return " ".join(cautions_told(assessment, words_in(language)))


def _about(assessment: Assessment, language: str) -> Exchanged:
    site, surveyed = assessment.record.site, assessment.record.survey.date
    return Exchanged(site.name, _cautions(assessment, language), fields={"surveyed": surveyed, "credit": site.credit})


def _things(table: MapTable, language: str) -> Iterable[Exchanged]:
    words = words_in(language)
    for places, fields in table.rows:
        word_of = ROOT_ZONE if table.shape == "POLYGON" else fields.get("verdict") or NOT_JUDGED
        texts = {name: one_text(value) for name, value in fields.items()}
        yield Exchanged(fields["code"], _told(fields, words), fields["kind"], places, texts,
                        area=table.shape == "POLYGON", word=word_of,
                        day=fields["surveyed"].isoformat())  # fmt: skip


def _told(fields: dict[str, Any], words: Words) -> str:
    """What a map program shows when a thing is touched: the word, its conditions, and that nobody inspected it."""
    language = words.language
    verdict = words.of(fields.get("verdict") or NOT_JUDGED) if fields["kind"] != ROOT_ZONE else words.of(ROOT_ZONE)
    known = [one for one in (fields.get("tag"), word(fields.get("species") or "", language)) if one]
    named = ", ".join([verdict, *known])
    unmet = fields.get("rules_not_met")
    rules = [words("te-rules-not-met", clauses=", ".join(unmet))] if unmet else []
    return "\n".join([named, *fields.get("conditions", ()), *rules, text("no-inspection", language)])


def _geopackage(assessment: Assessment, language: str) -> bytes:
    db = sqlite3.connect(":memory:", isolation_level=None)
    db.execute("BEGIN")
    write_frame(db)
    made = map_tables(assessment, language)
    for table in made:
        _write_table(db, table, _cautions(assessment, language))
    write_styles(db, [(one.name, one.shape, "" if one.shape == "POLYGON" else "verdict", "code")
                      for one in made])  # fmt: skip
    db.execute("UPDATE gpkg_contents SET last_change = ?", (f"{assessment.date.isoformat()}T00:00:00.000Z",))
    db.execute("COMMIT")
    content = db.serialize()
    db.close()
    return content


def _write_table(db: sqlite3.Connection, table: MapTable, about: str) -> None:
    names = max((list(fields) for _, fields in table.rows), key=len, default=["code"])
    columns = ", ".join(f'"{name}" {_type(name)}' for name in names)
    head = f"fid INTEGER PRIMARY KEY AUTOINCREMENT, geom {table.shape}"
    run_statements(db, f"CREATE TABLE {table.name} ({head}, {columns});")
    announce(db, table.name, about, table.shape)
    for places, fields in table.rows:
        if places and table.shape == "POLYGON":
            places = [(lon, lat) for lon, lat in closed_ring(places)]
        values = [_stored(fields.get(name)) for name in names]
        db.execute(f"INSERT INTO {table.name} VALUES (NULL, ?{', ?' * len(names)})",
                   (geometry_blob(places, table.shape), *values))  # fmt: skip
        widen(db, table.name, places or ())


def _type(name: str) -> str:
    return "DATE" if name in DATED else "DOUBLE" if name.endswith(NUMERIC_ENDINGS) else "TEXT"


def _stored(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime.date) else one_text(value)


WRITERS: dict[str, Callable[[Assessment, str], bytes]] = {
    ".geojson": _geojson_bytes, ".json": _geojson_bytes, ".kml": _kml, ".gpx": _gpx, ".gpkg": _geopackage,
}  # fmt: skip


def write_map_file(assessment: Assessment, path: str | Path, language: str = "en") -> Path:
    """Write anchors, lines and root zones for another map program and return the path.

    Parameters
    ----------
    assessment : of one record
    path : of the file, replaced if it is there; its ending names the format
    language : of what is told

    Raises
    ------
    UnknownName : an ending that names no format, or a language that is not spoken.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    OSError : the folder cannot be written to.
    """
    known_language(language)
    ending = Path(path).suffix.lower()
    if ending not in WRITERS:
        raise UnknownName(f"no map file ends in {ending!r} (known are {', '.join(WRITERS)})")
    return write_whole(WRITERS[ending](assessment, language), path)
