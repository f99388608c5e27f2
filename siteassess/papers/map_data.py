"""What the site map shows, as plain data and sentences; the page's script sets every text as text."""

from __future__ import annotations

from typing import Any

import numpy as np

from siteassess.advice.results import AnchorResult, Assessment, LineResult, TreeAlone
from siteassess.papers import wording
from siteassess.papers.as_json import jsonable
from siteassess.papers.look import look, plain
from siteassess.papers.scene import Scene, Shape, Spot

LAYERS = {  # name: whether it is shown at first
    "surroundings": True, "root zones": True, "crowns": True, "fall strips": True, "lines": True, "anchors": True,
    "labels": True,
    "position errors": False,
}  # fmt: skip
NOWHERE = [0.0, 0.0]
EMERGENCY_WORDS = {
    "number": "call",
    "place": "say we are at",
    "gate": "gate",
    "key": "gate key",
    "access": "access",
    "signal": "phone signal",
    "meeting_point": "helper waits",
    "defibrillator": "defibrillator",
}


def site_data(assessment: Assessment, scene: Scene) -> dict[str, Any]:
    """The data block of the map page."""
    style = look()
    return jsonable(
        {
            "anchors": [_anchor(code, assessment, scene) for code in (a.code for a in assessment.record.anchors)],
            "lines": [_line(line, assessment, scene) for line in assessment.lines],
            "surroundings": [_surrounding(shape, scene) for shape in scene.shapes],
            "declination_deg": scene.declination_deg,
            "bounds": _bounds(scene),
            "verdicts": {
                word: {"fill": how.fill, "shape": how.shape, "dash": how.dash} for word, how in style.verdicts.items()
            },
            "features": style.features,
            "symbols": style.symbols,
            "colours": style.colours,
        }
    )


def page_texts(assessment: Assessment) -> dict[str, Any]:
    """Texts of the page around the map."""
    record = assessment.record
    return {
        "site": {"name": plain(record.site.name), "invented": record.site.invented},
        "surveyed_on": record.survey.date.isoformat(),
        "surveyed_by": plain(record.survey.by),
        "judged_for": assessment.day_words(),
        "credit": plain(record.site.credit or ""),
        "emergency": emergency_rows(record.site.emergency),
        "cautions": [plain(c) for c in assessment.cautions],
    }


def emergency_rows(emergency) -> list[tuple[str, str]]:
    """What is known for an emergency, as (word, text)."""
    if emergency is None:
        return []
    return [
        (words, plain(getattr(emergency, name))) for name, words in EMERGENCY_WORDS.items() if getattr(emergency, name)
    ]


def _unwrapped(longitude: float, scene: Scene) -> float:
    """A longitude on the same side of the antimeridian as the map's centre."""
    return scene.frame.lon0 + (longitude - scene.frame.lon0 + 180.0) % 360.0 - 180.0


def _place(latitude: float, longitude: float, scene: Scene) -> list[float]:
    return [round(latitude, 7), round(_unwrapped(longitude, scene), 7)]


def _bounds(scene: Scene) -> list[list[float]]:
    if not scene.spots:
        return [[-60.0, -170.0], [70.0, 170.0]]
    west, south, east, north = scene.bounds_m()
    corners = [scene.frame.to_degrees(x, y) for x, y in ((west, south), (east, north))]
    return [_place(*corner, scene) for corner in corners]


def _surrounding(shape: Shape, scene: Scene) -> dict[str, Any]:
    return {
        "kind": shape.kind,
        "name": shape.name,
        "closed": shape.closed,
        "width_m": shape.width_m,
        "points": [
            _place(lat, lon, scene) for lat, lon in np.column_stack([shape.latitudes_deg, shape.longitudes_deg])
        ],
    }


def _anchor(code: str, assessment: Assessment, scene: Scene) -> dict[str, Any]:
    spot = scene.spot(code)
    results = [end for line in assessment.lines for end in line.anchors if end.code == code]
    alone = next((tree for tree in assessment.trees if tree.code == code), None)
    anchor = assessment.record.anchor(code)
    verdict = spot.verdict if spot else None
    rows = [("kind", plain(anchor.kind)), *_spot_rows(spot)]
    sentences: list[str] = []
    for result in results:
        rows += _result_rows(result)
        sentences += [f"{result.line_id}: {plain(text)}" for text in _result_sentences(result)]
    if not results and alone:
        sentences += _alone_sentences(alone)
    known = [word for word in (spot.tag if spot else "", spot.species if spot else "") if word]
    lines = f"lines {', '.join(spot.line_ids)}" if spot and spot.line_ids else "no line planned"
    return {
        "code": code,
        "verdict": verdict,
        "place": _place(spot.latitude_deg, spot.longitude_deg, scene) if spot else None,
        "trunk_radius_m": spot.trunk_radius_m if spot else None,
        "crown_radius_m": spot.crown_radius_m if spot else None,
        "root_zone_radius_m": spot.root_zone_radius_m if spot else None,
        "summary": ", ".join([*known, lines] if spot else [*known, "position not known"]),
        "rows": rows,
        "sentences": sentences,
        "error_outline": _error_outline(spot, scene) if spot else [],
        "as_read": _place(*spot.as_read_deg, scene) if spot and spot.as_read_deg else None,
    }


def _error_outline(spot: Spot, scene: Scene) -> list[list[float]]:
    if spot.ellipse is None:
        return []
    outline = spot.ellipse.outline_m(24)
    degrees = scene.frame.to_degrees(spot.east_m + outline[:, 0], spot.north_m + outline[:, 1])
    return [_place(lat, lon, scene) for lat, lon in np.column_stack(degrees)]


def _strip(line: LineResult, scene: Scene) -> list[list[float]]:
    stretch = next((stretch for stretch in scene.stretches if stretch.result is line), None)
    if stretch is None:
        return []
    outline = stretch.strip_m()
    degrees = scene.frame.to_degrees(outline[:, 0], outline[:, 1])
    return [_place(lat, lon, scene) for lat, lon in np.column_stack(degrees)]


def _spot_rows(spot: Spot | None) -> list[tuple[str, str]]:
    if spot is None:
        return [("position", "not known")]
    accuracy = f"within {spot.accuracy_m:.0f} m as stated" if spot.accuracy_m else "accuracy not stated"
    rows = [("position", f"{spot.latitude_deg:.6f}, {spot.longitude_deg:.6f} ({spot.how}, {accuracy})")]
    if spot.ellipse:
        rows.append(("true place", f"95 times of 100 within {spot.ellipse.semi_major_m:.1f} m of where it is drawn"))
    if spot.trunk_radius_m:
        rows.append(("trunk", f"{spot.trunk_radius_m * 200:.0f} cm through"))
    if spot.tag:
        rows.append(("manager's tag", spot.tag))
    if spot.root_zone_radius_m:
        rows.append(("root zone", f"{spot.root_zone_radius_m:.1f} m round the trunk"))
    return rows


def _result_rows(result: AnchorResult) -> list[tuple[str, str]]:
    rows = [(f"line {result.line_id}", f"{result.verdict}; {result.hold_words()}; {result.care_words()}")]
    if result.loads:
        worst = max(result.loads, key=lambda load: load.tension_n)
        rows.append(("greatest pull", f"{wording.both_forces(worst.tension_n)}, {worst.case}"))
    rows.append(("tie height", wording.metres(result.tie_height_m, 2)))
    rows.append(("looked at", result.evidence.words()))
    return rows


def _result_sentences(result: AnchorResult) -> list[str]:
    return [
        *(f"stop sign: {sign}" for sign in result.stop_signs),
        *(f"suits if {c}" for c in result.conditions if result.verdict == "suits if"),
        *(f.says for f in result.findings if f.about != "stop sign"),
        *(f"{r.change}: {r.reaches}" for r in result.remedies[:2]),
    ]


def _alone_sentences(tree: TreeAlone) -> list[str]:
    if not any(wording.known(row.pull_n) for row in tree.pulls):
        return [*(plain(f.says) for f in tree.findings), "no pull at any tie height"]
    pulls = [
        f"tied at {wording.metres(row.tie_height_m)}: "
        + (f"up to {wording.quantity(row.pull_n, 'N')}" if wording.known(row.pull_n) else "cannot say")
        + f" ({plain(row.limited_by)})"
        for row in tree.pulls
    ]
    return [*(plain(f.says) for f in tree.findings), *pulls]


def _line(line: LineResult, assessment: Assessment, scene: Scene) -> dict[str, Any]:
    geometry = line.geometry
    ends = [next((a.code for a in line.anchors if a.end == end), "") for end in ("A", "B")]
    spots = [scene.spot(code) for code in ends]
    places = [_place(spot.latitude_deg, spot.longitude_deg, scene) if spot else None for spot in spots]
    span = geometry.taped_m if wording.known(geometry.taped_m) else geometry.distance_m
    both = f"{wording.bearing(geometry.bearing_true_deg)} / {wording.bearing(geometry.back_bearing_true_deg)} true"
    rows = [
        ("from, to", f"{ends[0]}, {ends[1]}"),
        ("use", line.use),
        *([("judged for", line.day.isoformat())] if line.day else []),
        ("taped", wording.both_lengths(geometry.taped_m)),
        ("by position", wording.both_lengths(geometry.distance_m)),
        (
            "bearing",
            f"{wording.bearing(geometry.bearing_true_deg)} true, "
            f"{wording.bearing(geometry.bearing_magnetic_deg)} magnetic",
        ),
        ("back bearing", f"{wording.bearing(geometry.back_bearing_true_deg)} true"),
        ("weaker end", line.weaker_anchor or "not told"),
    ]
    sentences = [
        plain(geometry.agreement),
        *(plain(reason) for reason in line.reasons),
        *(plain(says) for says in (line.clearance.says if line.clearance else ())),
        *(plain(says) for says in wording.gear(line)),
    ]
    name = plain(line.name)
    return {
        "id": line.id,
        "verdict": line.verdict,
        "a_place": places[0],
        "b_place": places[1],
        "strip": _strip(line, scene),
        "short_words": f"{wording.metres(span)}, {both}",
        "summary": ", ".join([*([name] if name else []), f"{ends[0]} to {ends[1]}", wording.metres(span), both]),
        "rows": rows,
        "sentences": [s for s in sentences if s],
    }
