"""Texts that try to run, to load, to hide or to push, and records, map files, inventories and registers full of them.

Import as `from hostile import ...`; the tests folder is on the path. Every text starts with a label of its own and its
family's payload follows, so that a page can be searched for each text whole.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable

from parks import data
from pydantic import BaseModel

from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.record import Record
from siteassess.records.schema import members
from siteassess.records.site import Position

RAN = "window.PWNED=1"
BEACON = "http://pwned.invalid/"
# family: payload. The two last hold characters that no record may hold: they are refused, or taken out, never shown.
PAYLOADS = {
    "script tags": f"<script>{RAN}</script><img src=x onerror={RAN}><iframe srcdoc='<script>parent.{RAN}</script>'>",
    "attribute breakout": f"\" onfocus=\"{RAN}\" autofocus onmouseover='{RAN}' x='></title></textarea><b>",
    "script address": f"javascript:{RAN}//{BEACON}a.png ${{{RAN}}}` [x](javascript:{RAN})",
    "template value": "{{ 7 * 191 }}{{ cycler.__init__.__globals__.os.popen('echo 13'+'37').read() }}${7*191}",
    "template block": "{% set x = 7 * 191 %}{% for i in range(3) %}PW{{ x }}{% endfor %}{% raw %}",
    "template note": "{# never rig here #} <!-- never rig here --> /* never rig here */",
    "style": f"</style><style>body{{display:none;background:url({BEACON}c)}}@import '{BEACON}i';</style>;x:url(x)",
    "picture": f"<svg onload={RAN}><image href={BEACON}s.png /><animate onbegin={RAN} /></svg><img src={BEACON}p.png>",
    "closing": f"</script></td></table></main></body><script>{RAN}</script><!--",
    "long word": "W" * 110,
    "direction marks": "fo\u202eelbatnuocca\u2066 \u200fx",
    "terminal marks": "\x1b[2J\x1b]0;owned\x07\x1b[31mred\x9b2J",
}
REFUSED = ("direction marks", "terminal marks")
SHOWN = [family for family in PAYLOADS if family not in REFUSED]

# texts that are read as something: a zone, a name of a file, a place; and texts the program looks up
_SHAPED = {"time_zone", "country", "rule_set", "at", "file", "path"}
_MINIMAL = {
    "Landmark": {"code": "LM1"}, "Feature": {"kind": "path", "points": [[54.4999, 2.4999], [54.4999, 2.5005]]},
    "Photo": {"path": "photos/a.jpg"}, "Crew": {"people": 2}, "HaulStage": {"ratio": 3},
    "Gear": {"rating": "30 kN"}, "SurroundingsFile": None, "StretchPoint": None, "Stem": None, "Webbing": None,
}  # fmt: skip


class Planter:
    """Puts a labelled payload into every text field of a record and remembers which."""

    def __init__(self, payload: str):
        self.payload = payload
        self.planted: dict[str, str] = {}

    def text(self, where: str) -> str:
        return self.planted.setdefault(where, f"q{len(self.planted):03d}q {self.payload}")

    def fill(self, model: type[BaseModel], filled: dict, where: str) -> dict:
        for asked in members(model):
            here = f"{where}.{asked.name}"
            if asked.kind == "text" and asked.name not in _SHAPED:
                filled[asked.name] = self.text(here)
            elif asked.name == "anchors":
                for anchor in filled["anchors"]:
                    self.fill(ANCHOR_KINDS[anchor["kind"]], anchor, f"{anchor['kind']}")
            elif asked.kind in ("part", "parts") and len(asked.models) == 1:
                self._below(asked, filled, here)
        return filled

    def _below(self, asked, filled: dict, here: str) -> None:
        (model,) = asked.models
        there = filled.get(asked.name)
        if there is None:
            if _MINIMAL.get(model.__name__, {}) is None or not _asks_texts(model):
                return
            there = dict(_MINIMAL.get(model.__name__, {}))
            filled[asked.name] = [there] if asked.kind == "parts" else there
        if model is Position and not {"fixes", "ties"} & there.keys():
            filled[asked.name] = there = {"fixes": [there]}  # the short form of one fix
        for one in there if isinstance(there, list) else [there]:
            self.fill(model, one, here)


def _asks_texts(model: type[BaseModel]) -> bool:
    needs = {asked.name for asked in members(model) if asked.required and asked.kind != "text"}
    return any(a.kind == "text" for a in members(model)) and needs <= set(_MINIMAL.get(model.__name__) or {})


def planted_record(family: str, payload: str | None = None) -> tuple[dict, dict[str, str]]:
    """Plain data of a record with every text field planted, and the texts by field; `payload` replaces a family's."""
    planter = Planter(PAYLOADS[family] if payload is None else payload)
    made = data({"site.emergency": {}, "site.permission": {"basis": "permit"}, "L1.backup_line": {}, "L1.crew": None})
    made["anchors"].append({"kind": "boulder", "code": "B1", "position": {"lat": 54.5002, "lon": 2.5001}})
    made["anchors"].append({"kind": "other", "code": "O1", "position": {"lat": 54.5002, "lon": 2.5003}})
    made["site"]["rules"] = rules(planter)
    return planter.fill(Record, made, "record"), planter.planted


def rules(planter: Planter) -> dict:
    """A land manager's own rules, as a person writes them beside a record."""
    text = planter.text
    return {
        "format": "land-managers-rules/1", "id": "made-up", "place": text("rules.place")[:400], "country": "NL",
        "status": "allowed with conditions", "uses": ["slackline"], "source": {"title": text("rules.source")[:400]},
        "flag": "memory", "as_of": "2026-04", "check_current_text": text("rules.check")[:400],
        "excerpt_note": text("rules.excerpt")[:400],
        "clauses": [
            {"id": "a", "kind": "look", "wording": text("rules.look")[:400], "note": text("rules.note")[:400]},
            {"id": "b", "kind": "distance", "operator": ">=", "value": 3, "unit": "m",
             "distance_to": text("rules.distance")[:400]},
            {"id": "c", "kind": "padding", "asks": "required", "when": text("rules.when")[:400]},
            {"id": "d", "kind": "genera", "asks": "barred", "names": [text("rules.names")[:400]]},
        ],
    }  # fmt: skip


def inventory(text: Callable[[str], str]) -> str:
    """An inventory as CSV whose every free cell is a text; sixteen trees on a grid of some 20 m."""
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(["id", "lat", "lon", "dbh_cm", "species", "common", "park", "status", "notes"])
    for n in range(16):
        lat, lon = f"{54.5 + n // 4 * 1.9e-4:.6f}", f"{2.5 + n % 4 * 3.1e-4:.6f}"
        words = [text(f"cell {name} {n % 2}") for name in ("species", "common", "park", "status", "notes")]
        rows.writerow([f"i{n}", lat, lon, 45 + n, words[0] if n % 2 else "Quercus robur", *words[1:]])
    return out.getvalue()


def surroundings(text: Callable[[str], str]) -> str:
    """A map file whose names, credit and licence are texts."""
    place = [[2.4998, 54.4999], [2.5005, 54.4998]]
    rows = [
        ({"highway": "path", "name": text("path name"), "ref": text("path ref")}, "LineString", place),
        ({"natural": "tree", "name": text("tree name"), "species": text("tree species"), "ref": text("tree ref")},
         "Point", [2.5001, 54.5001]),
        ({"barrier": "gate", "name": text("gate name")}, "Point", [2.5002, 54.4999]),
    ]  # fmt: skip
    features = [
        {"type": "Feature", "properties": tags, "geometry": {"type": kind, "coordinates": points}}
        for tags, kind, points in rows
    ]
    whole = {"type": "FeatureCollection", "attribution": text("credit"), "license": text("licence")}
    return json.dumps(whole | {"features": features})
