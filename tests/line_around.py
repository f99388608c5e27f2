"""The plain line with things drawn about it: `from line_around import ...`."""

from __future__ import annotations

from parks import record

from siteassess.advice.crossings import crossings_of
from siteassess.advice.geometry import Places
from siteassess.advice.verdict import worst
from siteassess.places.geodesy import LocalFrame

FRAME = LocalFrame(54.5, 2.5)  # T1; T2 stands 20 m to the east
SURE = {f"{code}.position.accuracy": "0.1 m" for code in ("T1", "T2")}
CROSSES = [(10, -30), (10, 30)]
LEVEL = {f"{code}.ground": {"slope": "0 deg", "downhill": "180 deg"} for code in ("T1", "T2")}


def at(*points):
    return [[float(v) for v in FRAME.to_degrees(east, north)] for east, north in points]


def around(*features, **edits):
    """Findings on the surroundings of the plain line."""
    made = record(SURE | {"site.surroundings": list(features)} | edits)
    return crossings_of(made, Places(made))["L1"]


def thing(kind, *points, **more):
    return {"kind": kind, "points": at(*points), "name": "Someplace", **more}


def effect(found):
    return worst(finding.effect for finding in found.findings)
