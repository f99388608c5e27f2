"""One plain record for the tests of advice, and small edits of it.

The base is two middling oaks and an easy low line: everything looked at, everything well. A test names what it changes:
`record({"T1.height": "9 m"})`; `None` takes a field out.
"""

from __future__ import annotations

import copy

from siteassess.records.record import Record

SIGNS = ("dead_tree", "soil_heave", "fresh_lean", "bracket_fungus", "stem_crack", "undercut_roots", "wide_opening",
         "hanging_limb", "nest_in_use", "posted_no")  # fmt: skip
SOFTER = ("hollow_sound", "loose_bark", "old_damage", "toadstools", "thin_crown")
SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def own_rules(*clauses: dict) -> dict:
    """A place's own rules, with some clauses."""
    return {
        "format": "land-managers-rules/1", "id": "own", "place": "Testing Green (invented)", "country": "GB",
        "status": "allowed with conditions", "uses": ["slackline"], "flag": "judgement",
        "source": {"title": "Invented card"}, "as_of": "2026-03", "check_current_text": "Ask.",
        "clauses": list(clauses),
    }  # fmt: skip


def _tree(code: str, lon: float) -> dict:
    return {
        "kind": "tree", "code": code, "tag": f"X-{code}",
        "position": {"lat": 54.5, "lon": lon, "accuracy": "2 m", "accuracy_means": "68 %", "how": "receiver"},
        "species": {"name": "Quercus robur", "certainty": "sure"},
        "trunk": [{"girth": "188.5 cm", "read_at": "1.3 m", "how": "taped"}],
        "stems": "single", "height": "18 m", "height_how": "measured", "crown_base": "4 m", "crown_spread": "8 m",
        "condition": "sound", "use_so_far": "occasional", "bark": {"form": "deep ridged", "firmness": "tight"},
        "lean": "0 deg", "roots": dict.fromkeys(SECTORS, "covered"), "hard_edge_near": "no",
        "ground": {"slope": "2 deg", "downhill": "180 deg", "shallow": "no", "wetness": "moist"},
        "signs": dict.fromkeys(SIGNS, "no"), "softer_signs": dict.fromkeys(SOFTER, "no"),
    }  # fmt: skip


def _end(code: str) -> dict:
    return {
        "anchor": code, "tie_height": "1.2 m",
        "sling": {"wrap": "doubled basket", "width": "75 mm", "link_distance": "1 m"},
        "padding": {"material": "carpet", "thickness": "10 mm", "width": "30 cm", "goes_round": "whole trunk"},
    }  # fmt: skip


# 20 m apart on one parallel of latitude, so that B lies due east of A
BASE = {
    "siteassess_record": 1, "site": {"name": "Testing Green (invented)", "invented": True},
    "survey": {"by": "N. Body (invented)", "date": "2026-04-18"},
    "anchors": [_tree("T1", 2.5), _tree("T2", 2.5 + 20.0 / 64_790.0)],
    "lines": [{
        "id": "L1", "use": "low line", "a": _end("T1"), "b": _end("T2"),
        "span": {"taped": "20 m", "along": "horizontal", "how": "taped"},
        "compass": {"out": "90 deg", "back": "270 deg", "north": "true"},
        "webbing": {"stiffness": "60 kN", "mass": "70 g/m"},
        "standing": {"tension": "2 kN", "how": "load cell"}, "walkers": {"mass": "75 kg", "at_once": 1},
        "power_line": "no",
        "ground": [{"at": "0 m", "height": "0 m"}, {"at": "10 m", "height": "-1 m"}, {"at": "20 m", "height": "0 m"}],
        "planned": {"date": "2026-04-20", "attended": "always"},
    }],
}  # fmt: skip


def data(edits: dict | None = None) -> dict:
    """The base as plain data, with edits by path: `T1` and `L1` name an anchor and a line, the rest are keys."""
    made = copy.deepcopy(BASE)
    for path, value in (edits or {}).items():
        _put(made, path.split("."), value)
    return made


def record(edits: dict | None = None) -> Record:
    return Record.model_validate(data(edits))


def _put(made: dict, path: list[str], value) -> None:
    named = {one["code"]: one for one in made["anchors"]} | {one["id"]: one for one in made["lines"]}
    at, keys = (named[path[0]], path[1:]) if path[0] in named else (made, path)
    for key in keys[:-1]:
        at = at[int(key)] if isinstance(at, list) else at.setdefault(key, {})
    last = int(keys[-1]) if isinstance(at, list) else keys[-1]
    if value is None:
        at.pop(last, None)
    else:
        at[last] = copy.deepcopy(value)  # later edits go into it, and its owner keeps his own
