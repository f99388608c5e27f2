"""A desk survey of an invented inventory with something wrong in every way, and what is told of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from siteassess.papers.sketch import sketch_page
from siteassess.papers.survey_text import survey_text
from siteassess.reference.findings import Said, codes, names_of
from siteassess.survey.desk import Options, desk_survey
from siteassess.survey.importing import read_inventory
from siteassess.survey.pairs import PairWindow
from siteassess.survey.proposal import Proposal, propose
from siteassess.survey.rulelimits import limits_of
from siteassess.survey.screen import Wish

Wrote = Callable[[str], str]
KINDS = ("Quercus robur", "Acer platanoides", "", "Fagus sylvatica")
HEAD = "id,lat,lon,dbh_cm,height_m,species,location type,condition,park"


def _rows(wrote: Wrote) -> list[str]:
    rows = []
    for at in range(60):
        lat, lon = 52 + at % 10 * 2.7e-4, 9 + at // 10 * 4.4e-4
        size, height = (12, 25, 40, 60, 80, 0)[at % 6], (10, 15, "", 400)[at % 4]
        setting, condition = ("street", "park", "park")[at % 3], ("good", "good", "poor", "dead", "good")[at % 5]
        kind = wrote("Nonsense") if at == 7 else KINDS[at % 4]
        rows.append(f"t{at},{lat:.6f},{lon:.6f},{size},{height},{kind},{setting},{condition},{wrote('Green')}")
    return [*rows, "bad,row", "z1,0,0,40,10,Quercus robur,park,good,", "z2,,,40,10,Quercus robur,park,good,"]


def made(folder: Path, wrote: Wrote = str) -> Proposal:
    """The proposal; how the file was read names its columns, and is left to `every_code`."""
    from made_rules import rules

    (folder / "inventory.csv").write_text("\n".join([HEAD, *_rows(wrote)]), encoding="utf-8")
    way = {"type": "LineString", "coordinates": [[9.003, 52.0], [9.003, 52.004]]}
    feature = {"type": "Feature", "properties": {}, "geometry": way}
    (folder / "way.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    read = replace(read_inventory(folder / "inventory.csv"), name=wrote("inventory"), title=wrote("Trees"), remarks=[])
    limits = limits_of(rules(wrote, status="named places only"), "low line")
    wish = Wish(pull_n=2500.0, rules=replace(limits, least_diameter_m=0.3, longest_span_m=None, only=frozenset()))
    found = desk_survey(read, wish, PairWindow(20, 100), Options(lines=2), avoid={"path": [folder / "way.geojson"]})
    # the notes of constants are in English to everybody
    found.remarks = [Said(one.code, tuple({**dict(one.values), "note": wrote("n")}.items())) for one in found.remarks]
    return propose(found)


def told(proposal: Proposal, language: str = "en") -> list[str]:
    """What is printed."""
    return list(survey_text(proposal, [Path("1")], (), language))


def page(proposal: Proposal, language: str = "en") -> str:
    """The sketch."""
    return sketch_page(proposal, language)


def every_code(language: str = "en", wrote: Wrote = str) -> list[str]:
    """All that may be told of an inventory and a desk survey, worded."""
    values = {"least": 0.2, "kinds": ("path", "power line"), "count": 3, "names": (wrote("Nonsense"),), "pull": 5000.0,
              "how": "as asked", "tie": 1.0, "name": "scatter of a tree height copied from an inventory", "value": 0.1,
              "low": 0.05, "high": 0.2, "flag": "judgement", "note": wrote("note"), "place": wrote("Green"),
              "month": "2026-03", "current": wrote("Ask."), "status": "posts only", "kind": "path",
              "file": wrote("file"), "what": Said("rule-required", (("more", ()),)), "others": 2,
              "why": Said("ds-reads-as-utf-8"), "mark": "tab", "encoding": wrote("code"), "byte": 7, "cells": 3,
              "driver": wrote("driver"), "crs": wrote("grid"), "header": 4, "mapping": wrote("own"), "unit": "cm",
              "reason": Said("ds-own-geometry"), "field": Said("ds-field-species"), "column": wrote("size"),
              "latitude": wrote("lat"), "longitude": wrote("lon"), "commas": 5, "points": 6, "genus": wrote("genus"),
              "species": wrote("species"), "could": "cm or mm", "columns": wrote("columns"), "of": 9,
              "size": Said("ds-size-as", (("kind", "girth"), ("unit", "cm"))), "share": 0.05, "over": 2.5,
              "also": (Said("ds-size-as", (("kind", "diameter"), ("unit", "cm"))),),
              "beside": (Said("ds-reach", (("unit", "mm"), ("share", 0.09))),),
              "tried": (Said("ds-names-share", (("column", wrote("Species")), ("share", 0.5))),),
              "taken": (Said("name-taken-for", (("name", wrote("Gingko")), ("accepted", "Acer platanoides"))),),
              "wrote": wrote("Linde"), "layer": wrote("trees"), "layers": (wrote("roads"),), "day": wrote("day"),
              "key": wrote("height"), "x": wrote("x"), "y": wrote("y"),
              "inventory": wrote("file"), "group": wrote("Green"), "number": 2, "pair": "L1", "tree": "T1",
              "across": 0.4, "trunk": Said("ds-trunk-unknown"),
              "mates": (Said("ds-mate", (("pair", "L1"), ("tree", "T2"))),),
              "to_do": Said("ds-to-do"), "new": (wrote("file"), "none"), "cause": wrote("full"), "span": 30.0,
              "bearing": 7.0, "a": "T1", "b": "T2", "title": wrote("Trees"), "line": 3,
              "where": Said("swapped-in-country", (("country", "Germany"),)), "other": wrote("dbh"),
              "licence": "not known: ask whoever gave you the file"}  # fmt: skip
    ours = [code for code in codes() if code.startswith("ds-")]
    assert all(names_of(code) <= set(values) for code in ours)
    return [Said(code, tuple(values.items())).in_words(language) for code in ours]
