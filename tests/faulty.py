"""Faulty records, inventories and maps, each in one way: what is refused, and what that says in English.

Import as `from faulty import ...`; the tests folder is on the path (see pyproject.toml).

    python tests/faulty.py      writes anew what they say
"""

# ruff: noqa: E402
from __future__ import annotations

import datetime
import re
import sys
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import faulty_entries
import yaml
from parks import data, own_rules

from siteassess.advice.rules import read_rule_file
from siteassess.errors import Fault, FaultyInput
from siteassess.places.exchange import read_geojson
from siteassess.places.exchange_csv import read_rows
from siteassess.places.exchange_xml import read_xml
from siteassess.places.geodesy import LocalFrame
from siteassess.places.network_model import position_of
from siteassess.places.position_text import read_position
from siteassess.places.positions import Located, axis_sigma, mean_of_fixes
from siteassess.places.readings import Sighting
from siteassess.places.surroundings import read_surroundings
from siteassess.records.csv_rows import csv_record
from siteassess.records.loading import load_record
from siteassess.records.reading import read_text
from siteassess.reference.rules import read_rule_set
from siteassess.survey.desk import desk_survey
from siteassess.survey.importing import read_inventory
from siteassess.survey.layers import read_layers, read_terrain
from siteassess.survey.pairs import PairWindow
from siteassess.survey.rulelimits import RuleLimits, read_rules
from siteassess.survey.screen import Wish

FILE = Path(__file__).with_suffix(".txt")
TODAY, FRAME = datetime.date(2026, 5, 1), LocalFrame(60, 24)
EDITS: dict[str, object] = {
    "T1.height": "18", "T1.height ": "1,800 m", "T1.height  ": "12 cmm", "T1.height   ": "tall", "T1.lean": "3 kg",
    "T1.crown_spread": "5 ft 13 in", "T1.lean ": "12 mm", "T1.trunk.0.girth": "90 m", "L1.standing.tension": "300 kg",
    "L1.standing.tension ": "3 kn", "T1.bark.form": "warts", "T1.bark.form ": True, "T1.kind": "tre",
    "T1.kind ": None,
    "T1.heigth": "4 m", "T1.zzz": 1, "T1.bark.zzz": 1, "T1.roots": "cut", "T1.roots ": ["cut"],
    "T1.trunk": {"girth": "1 m"}, "T1.trunk.0.read_at": None, "T1.trunk.0.diameter": "40 cm",
    "T1.trunk.0.girth ": None, "T1.code": "T 1",
    "T1.code ": 12, "T1.tag": "  ", "T1.tag ": "", "T1.tag  ": "x" * 2001, "T1.tag   ": "a\u202eb",
    "T1.photos": [{"file": "../x.jpg", "shows": "x"}],
    "T2.code": "T1", "L1.a.anchor": "T9", "L1.a.anchor ": "T2", "L1.span.taped": "20", "L1.walkers.at_once": "2",
    "L1.walkers.at_once ": "1,5", "L1.walkers.at_once  ": 99, "L1.standing.sag": "1 m", "L1.standing": {"sag": "1 m"},
    "L1.planned.until": "2026-04-19", "L1.planned.date": "20 May 2026", "L1.ground": "flat", "L1.use": "lowline",
    "survey.date": "2027-01-01", "survey.date ": "1980-01-01", "survey.by": None, "survey": None,
    "siteassess_record": 2,
    "site.invented": "maybe", "site.country": "Norway", "site.time_zone": "Oslo", "site.rule_set": "berlin",
    "site.rule_set ": "zzzz", "site.outline": [[54.5]], "site.outline ": [[54.5, 2.5]],
    "T1.position.lat": 95.0, "T1.position.lat ": "54.5 N", "T1.position.at": "x", "T1.position.lat  ": None,
    "T1.position": {"accuracy": "2 m"}, "T1.position ": {"ties": [{"landmark": "T1", "distance": "5 m"}]},
    "T1.position  ": {"ties": [{"landmark": "T9", "distance": "5 m"}]},
    "measured_pairs": [{"a": "T1", "b": "T1"}, {"a": "T1", "b": "T9"}],
    "T1.trial": {"date": "2026-07-01", "pull": "3 kN", "tie_height": "1 m"},
    "T1.crown_base": "25 m", "T1.height    ": "1.8 m", "T1.height     ": "-3 m",
    "T1.trunk.0.girth  ": "1885 cm", "L1.webbing.mass": "70 mm",
    "T1.trunk.0.girth   ": "18.85 m", "L1.webbing.stiffness": "60000000 kN", "T1.crown_spread ": "180 m",
}  # fmt: skip
TEXTS = {
    "nothing": "", "a list": "- 1\n", "a text": "abc\n", "a tab": "a:\n\tb: 1\n", "two colons": "a: b: c\n",
    "no colon": "a: 1\nb\n", "out of step": "a: 1\n  b: 2\n c: 3\n", "backslash": 'a: "\\q"\n',
    "open quote": 'a: "b\n',
    "open bracket": "a: [1, 2\n", "no comma": "a: [1 2: 3: 4]\n", "alias": "a: &x 1\nb: *x\n", "tag": "a: !t 1\n",
    "merge": "<<: 1\n",
    "twice": "a: 1\na: 2\n", "two documents": "a: 1\n---\nb: 2\n", "deep": "a: " + "[" * 30 + "]" * 30 + "\n",
    "block key": "? [a]\n: 1\n", "digits": "a: 123456789012345678901\n", "huge": "a: 1e999\n",
    "not finite": "a: .inf\n",
    "a control": "a: \x07\n", "an escaped control": 'a: "\\u0007"\n', "percent": "a: %b\n", "odd mark": "a: b\n}\n",
    "very many": "".join(f"k{n}: 1\n" for n in range(1003)),
}  # fmt: skip
SHEETS = {
    "no tree": "code,height\n", "odd column": "code,heigth\nT1,5 m\n", "unlike any": f"code,{'q' * 50}\nT1,1\n",
    "a column twice": "code,height,height\nT1,5 m,6 m\n", "an extra cell": "code\nT1,5\n", "open": 'code\n"T1\n',
    "two sites": "code,site.name\nT1,A\nT2,B\n", "a number": "code,position.lat\nT1,.inf\n",
    "a fault": "code,height\nT1,5\n",
    "no code": "height\n5 m\n",
}  # fmt: skip
POSITIONS = ("", "abc", "40 30 N 73 30", "40 N, 41 N", "100, 20", "95 N, 20 E", "40 N, 190 E", "40,73", "40.1 73.2 5",
             "40 30.5 20 N, 73 W", "40 75 N, 73 W", "40 30 75 N, 73 W", "-40 N, 73 W", "N40S, 73 W", "0, 0",
             "UTM 18 A 587297 4515172", "UTM 18 S 587297 4000000", "UTM 99 north 587297 4515172",
             "UTM 18 north 99999 4515172", "UTM 18 north 587297 99999999", "18TZZ8729715172", "99TWL8729715172",
             "18TWL872971517", "5 m at 10 deg from X", "87G8Q2M+5R", "87G8Q2MM+5", "FFFFFFFF+",
             "5 m at 10 deg magnetic from X", "5,0 m at 10 deg magnetic from X", "x, y, z", "40 .5, 3",
             "40 N, 73 O")  # fmt: skip
RULES: tuple[dict, ...] = (
    {"country": "Norway"}, {"as_of": "yesterday"}, {"status": "perhaps"}, {"place": None}, {"place": {}},
    {"uses": "all"},
    {"zzz": 1}, {"id": "A B"}, {"source": {"title": "x", "url": "ftp://x"}},
    {"clauses": [{"id": "a", "kind": "zzz"}]}, {"clauses": [{"id": "a"}]}, {"clauses": [{"id": "a",
    "kind": "smallest_trunk"}]},
    {"clauses": [{"id": "a", "kind": "most_lines", "most": "x"}]}, {"clauses": [{"id": "a", "kind": "most_lines",
    "most": -1}]},
    {"clauses": [{"id": "a", "kind": "distance", "operator": ">=", "value": 5, "unit": "m"}]},
)  # fmt: skip
HEAD, MAPPING = "id,lat,lon,dbh_cm", "siteassess_mapping: 1\nname: n\ntitle: t\nsource: s\nlicence: l\n"
GRID = MAPPING + "position: {x: lon, y: lat, crs: 'EPSG:99999'}\n"


def _trees(size: object = 30, more: str = "", head: str = HEAD, step: float = 1e-4, at: float = 60) -> str:
    rows = (f"t{n},{at + n * step:.4f},24.{n:02d},{size}{more}" for n in range(40))
    return "\n".join([head, *rows]) + "\n"


INVENTORIES: dict[str, tuple[str, ...]] = {
    "none": (), "empty": ("",), "no header": ("\n1\n",), "no rows": (HEAD + "\n",),
    "no position": ("id,x,y\n1,2,3\n",), "many columns": (",".join(f"c{n}" for n in range(50)) + "\n1\n",),
    "zero": (HEAD + "\n1,0,0,30\n",), "all over": (_trees(step=1.5, at=10),), "of letters": (_trees("abc"),),
    "too stout": (_trees(9000),), "stout and low": (_trees(150, ",1.6", HEAD + ",height_m"),),
    "no yaml": (_trees(), "a: ["), "a list": (_trees(), "[]"),
    "no mapping": (_trees(), "size: {column: c, kind: bole, unit: stone}\nposition: {x: a}\n"),
    "no system": (_trees(), GRID.replace(", crs: 'EPSG:99999'", "")),
    "no place": (_trees(), MAPPING + "position: {order: 'lat, lon'}\n"),
    "own geometry": (_trees(), MAPPING + "position: {geometry: true}\n"),
    "near column": (_trees(), MAPPING + "position: {latitude: latt, longitude: lon}\n"),
    "far column": (_trees(), MAPPING + "position: {latitude: [qqq, vvv], longitude: lon}\n"),
}  # fmt: skip
SHAPE = '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {}, "geometry": %s}]}'
LAYERS = {"a point": SHAPE % '{"type": "Point", "coordinates": [1, 2]}', "nothing": SHAPE % "null"}
MAPS: dict[str, str | bytes] = {
    "trees.xyz": "", "trees": "", "a.geojson": "", "b.geojson": "{", "c.geojson": "[]",
    "d.geojson": '{"a": ' + "1" * 6000 + "}", "e.geojson": '{"type": "Topology"}', "f.geojson": b'{"a": "\xff"}',
    "g.geojson": '{"type": "FeatureCollection", "features": [], "crs": 4}',
    "h.geojson": SHAPE % '{"type": "Point", "coordinates": [500000, 6000000]}',
    "i.geojson": SHAPE.replace("{", '{"crs": {"properties": {"name": "LOCAL_CS[\\"hall\\",UNIT[\\"m\\",1]]"}}, ', 1)
    % '{"type": "Point", "coordinates": [1, 2]}',
    "j.kml": "<kml><!ENTITY></kml>",
}
COPIES = {
    "a system": SHAPE.replace("{", '{"crs": 4, ', 1) % "null",
    "no feature": '{"type": "FeatureCollection", "features": [5]}',
    "no properties": (SHAPE % "null").replace("{}", "5"), "no geometry": SHAPE % "5",
    "no place": SHAPE % '{"type": "Point", "coordinates": ["a", 1]}',
}
TRACKS = {
    "another form": "<kml/>", "no lat": '<gpx><wpt lat="a" lon="3"/></gpx>', "no UTF-8": b"\xff", "deep": "<a>" * 99,
    "a type": "<!DOCTYPE x><gpx/>", "latin": '<?xml version="1.0" encoding="latin-1"?><gpx/>', "cut": "<gpx>",
}
PLACEMARK = b"<kml><Placemark><Point><coordinates>a,b</coordinates></Point></Placemark></kml>"
TABLES = {"a formula": "lat,lon,name\n1,2,=A1\n", "few cells": "lat,lon\n1\n", "a long cell": '"' + "x" * 1_000_001}
TERRAINS = {"no grid": "ncols 2\n", "one node": "ncols 1\nnrows 1\nxllcorner 0\nyllcorner 0\ncellsize 0.1\n5\n"}


def attempts() -> dict[str, Callable[[], object]]:
    """By name what is refused."""
    made: dict[str, Callable[[], object]] = {}
    for path, value in EDITS.items():
        text = yaml.safe_dump(data({path.strip(): value}), allow_unicode=True, sort_keys=False, width=9999)
        made[f"{path.strip()}: {value!r:.60}"] = lambda text=text: _from_file(text, "park.yaml")
    for name, text in TEXTS.items():
        made[name] = lambda text=text: read_text(text, "park.yaml", TODAY)
    for name, text in SHEETS.items():
        made[f"sheet, {name}"] = lambda text=text: csv_record(text, "trees.csv", TODAY)
    for text in POSITIONS:
        made[f"position {text}"] = lambda text=text: read_position(text)
    for edit in RULES:
        made[f"rules {edit!r:.70}"] = lambda edit=edit: read_rule_set({**own_rules(), **edit}, "rules")
    for name, texts in INVENTORIES.items():
        made[f"inventory, {name}"] = lambda texts=texts: _inventory(*texts)
    for name, text in LAYERS.items():
        made[f"outlines, {name}"] = lambda text=text: _read(text, "parks.geojson", partial(read_layers, FRAME))
    for name, text in TERRAINS.items():
        made[f"terrain, {name}"] = lambda text=text: _read(text, "hill.asc", read_terrain)
    for name, text in MAPS.items():
        made[f"map {name}"] = lambda name=name, text=text: _read(text, name, read_surroundings)
    for name, text in COPIES.items():
        made[f"geojson, {name}"] = lambda text=text: read_geojson(text, "copy.geojson", "ours")
    for name, text in TRACKS.items():
        made[f"gpx, {name}"] = lambda text=text: read_xml(_bytes(text), "track.gpx", "GPX", "ours")
    made["an error of nothing"] = lambda: Located.at(54.0, 2.0, 0.0)
    made["an accuracy of another kind"] = lambda: axis_sigma(-1.0, "mostly")  # type: ignore[arg-type]
    made["no fixes"] = lambda: mean_of_fixes([])
    made["a fix of unknown accuracy"] = lambda: position_of("T1", Located.at(54.0, 2.0))
    made["a bearing of nothing"] = lambda: Sighting(float("nan"))
    made["kml, no places"] = lambda: read_xml(PLACEMARK, "places.kml", "KML", "ours")
    for name, text in TABLES.items():
        made[f"table, {name}"] = lambda text=text: list(read_rows(text, "table.csv")[1])
    made["a kind of map"] = lambda: read_surroundings("map.gpx", kind="trail")
    made["a kind of layer"] = lambda: read_layers(FRAME, None, {"bog": []})
    made["trees that are dead"] = lambda: _read("id,lat,lon,status\n1,60,24,dead\n", "trees.csv", _survey)
    made["a span beyond the rules"] = lambda: _read(_trees(), "trees.csv", partial(_survey, longest_m=10.123))
    made["rules that are a list"] = lambda: faulty_entries.read_as("own.yaml", b"- a", read_rule_file)
    made["no rule set"] = lambda: _read("a: [", "own.yaml", lambda path: read_rules(path, "low line"))
    for name in ("no/such/file.yaml", "."):
        made[f"file {name}"] = lambda name=name: load_record(name)
    return made | faulty_entries.attempts()


def _read(text: str | bytes, name: str, reader: Callable[[str], object]) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder, name)
        path.write_bytes(_bytes(text))
        reader(str(path))


def _bytes(text: str | bytes) -> bytes:
    return text.encode("utf-8") if isinstance(text, str) else text


def _inventory(text: str | None = None, mapping: str | None = None) -> None:
    if text is None:
        read_inventory("trees.csv")
    elif mapping is None:
        _read(text, "trees.csv", read_inventory)
    else:
        _read(text, "trees.csv", lambda path: _read(mapping, "own.yaml", partial(read_inventory, path)))


def _survey(path: str, longest_m: float | None = None) -> None:
    wish = Wish(rules=RuleLimits("Testing Green", longest_span_m=longest_m))
    desk_survey(read_inventory(path), wish, PairWindow(20, 100))


def _from_file(text: str, source: str) -> None:
    """As `load_record`, which also reads the rules of a place."""
    from siteassess.records.loading import record_with_rules
    from siteassess.records.yaml_lines import load_nodes

    record_with_rules(load_nodes(text), source, TODAY)


@cache
def refused() -> dict[str, FaultyInput]:
    """By name the errors."""
    errors = {}
    for name, attempt in attempts().items():
        try:
            attempt()
        except FaultyInput as error:
            errors[name] = error
    return errors


def in_english() -> list[str]:
    """What each says, under its name, without the lines of its file; of very many the first and the last."""
    told = []
    for name, error in refused().items():
        lines = re.sub(r"(?m)^(  [\w.]+):\d+:", r"\1:", str(error)).splitlines()
        told += [f"== {name}", *(lines if len(lines) < 30 else [lines[0], lines[1], lines[-1]])]
    return told


def faults() -> list[Fault]:
    """All their faults."""
    return [fault for error in refused().values() for fault in error.faults]


if __name__ == "__main__":
    FILE.write_text("\n".join(in_english()) + "\n", encoding="utf-8")
