"""What the site map shows, as plain data and sentences; the page's script sets every text as text."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from siteassess.advice.finding import conditions_of
from siteassess.advice.results import AnchorResult, Assessment, LineResult, TreeAlone
from siteassess.advice.verdict import VERDICTS
from siteassess.papers import wording
from siteassess.papers.as_json import jsonable
from siteassess.papers.language import Words, cautions_told, emergency_told, trunk_here
from siteassess.papers.scene import Scene, Shape, Spot
from siteassess.places.exchange import rounded_place
from siteassess.places.geodesy import LocalFrame
from siteassess.reference.findings import word
from siteassess.reference.look import NOT_JUDGED, look
from siteassess.reference.measures import known, lat_long
from siteassess.reference.pages import plain
from siteassess.units import FOOT_M

MAP_LAYERS = {  # name: whether it is shown at first
    "surroundings": True, "root zones": True, "crowns": True, "fall strips": True, "lines": True, "anchors": True,
    "labels": True,
    "position errors": False,
}  # fmt: skip
SCRIPT_TEXTS = ("colon", "decimal-mark",
                *(f"map-js-{key}" for key in ("course", "course-magnetic", "first", "second", "unworded",
                                       "unworded-printed")))  # fmt: skip


def site_data(assessment: Assessment, scene: Scene) -> dict[str, Any]:
    """The data block of the map page."""
    style = look()
    data: dict[str, Any] = jsonable(
        {
            "anchors": [_anchor(code, assessment, scene) for code in (a.code for a in assessment.record.anchors)],
            "lines": [_line(line, assessment, scene) for line in assessment.lines],
            "surroundings": [_surrounding(shape, scene) for shape in scene.shapes],
            "declination_deg": scene.declination_deg,
            "foot_m": FOOT_M,
            "bounds": _bounds(scene),
            "urgent": [*reversed(VERDICTS), NOT_JUDGED],
            "verdicts": {
                word: {"fill": how.fill, "shape": how.shape, "dash": how.dash} for word, how in style.verdicts.items()
            },
            "features": style.features,
            "symbols": style.symbols,
            "colours": style.colours,
            "texts": {key: scene.words(key) for key in SCRIPT_TEXTS},
        }
    )
    return data


def page_texts(assessment: Assessment, words: Words) -> dict[str, Any]:
    """Texts of the page around the map."""
    record = assessment.record
    return {
        "site": {"name": plain(record.site.name), "invented": record.site.invented},
        "surveyed_on": record.survey.date.isoformat(),
        "surveyed_by": plain(record.survey.by),
        "judged_for": str(assessment.one_day or words("own-days")),
        "credit": plain(record.site.credit or ""),
        "emergency": emergency_told(record.site.emergency, words),
        "cautions": [plain(c) for c in cautions_told(assessment, words)],
    }


def frame_of(scene: Scene) -> LocalFrame:
    """The scene's frame; a map of nothing is centred where nothing is."""
    return scene.frame or LocalFrame(0.0, 0.0)


def _unwrapped(longitude: float, scene: Scene) -> float:
    """A longitude on the same side of the antimeridian as the map's centre."""
    lon0 = frame_of(scene).lon0
    return lon0 + (longitude - lon0 + 180.0) % 360.0 - 180.0


def _place(latitude: float, longitude: float, scene: Scene) -> list[float]:
    return rounded_place((_unwrapped(longitude, scene), latitude))[::-1]


def _bounds(scene: Scene) -> list[list[float]]:
    if not scene.spots:
        return [[-60.0, -170.0], [70.0, 170.0]]
    west, south, east, north = scene.bounds_m()
    corners = [frame_of(scene).to_degrees(x, y) for x, y in ((west, south), (east, north))]
    return [_place(*corner, scene) for corner in corners]


def _surrounding(shape: Shape, scene: Scene) -> dict[str, Any]:
    return {
        "kind": shape.kind,
        "kind_words": scene.words.of(shape.kind),
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
    t = scene.words
    rows = [(t("map-kind"), word(anchor.kind, t.language)), *_spot_rows(spot, scene)]
    sentences: list[str] = []
    for result in results:
        rows += _result_rows(result, scene)
        sentences += [f"{result.line_id}{t('colon')} {plain(text)}" for text in _result_sentences(result, t)]
    if not results and alone:
        sentences += _alone_sentences(alone, scene)
    known = [one for one in (spot.tag, word(spot.species, t.language)) if one] if spot else []
    ids = spot.line_ids if spot else ()
    several = t("map-lines", ids=", ".join(ids)) if ids else t("map-no-line")
    lines = t("map-line", id=ids[0]) if len(ids) == 1 else several
    return {
        "code": code,
        "verdict": verdict,
        "verdict_words": t.of(verdict or NOT_JUDGED),
        "place": _place(spot.latitude_deg, spot.longitude_deg, scene) if spot else None,
        "trunk_radius_m": spot.trunk_radius_m if spot else None,
        "crown_radius_m": spot.crown_radius_m if spot else None,
        "root_zone_radius_m": spot.root_zone_radius_m if spot else None,
        "summary": ", ".join([*known, lines] if spot else [t("map-no-position")]),
        "rows": rows,
        "sentences": sentences,
        "error_outline": _error_outline(spot, scene) if spot else [],
        "as_read": _place(*spot.as_read_deg, scene) if spot and spot.as_read_deg else None,
    }


def _error_outline(spot: Spot, scene: Scene) -> list[list[float]]:
    if spot.ellipse is None:
        return []
    outline = spot.ellipse.outline_m(24)
    degrees = frame_of(scene).to_degrees(spot.east_m + outline[:, 0], spot.north_m + outline[:, 1])
    return [_place(lat, lon, scene) for lat, lon in np.column_stack(degrees)]


def _strip(line: LineResult, scene: Scene) -> list[list[float]]:
    stretch = next((stretch for stretch in scene.stretches if stretch.result is line), None)
    if stretch is None:
        return []
    outline = stretch.strip_m()
    degrees = frame_of(scene).to_degrees(outline[:, 0], outline[:, 1])
    return [_place(lat, lon, scene) for lat, lon in np.column_stack(degrees)]


def _spot_rows(spot: Spot | None, scene: Scene) -> list[tuple[str, str]]:
    t, m = scene.words, scene.measures
    if spot is None:
        return [(t("em-position"), t("not-known"))]
    accuracy = t("map-within", radius=m.length(spot.accuracy_m, 0)) if spot.accuracy_m else t("map-accuracy-unsaid")
    if spot.apart_m:
        accuracy = t("map-readings-apart", apart=m.length(spot.apart_m))
    at = f"{lat_long(spot.latitude_deg, spot.longitude_deg)} ({word(spot.how, t.language)}, {accuracy})"
    rows = [(t("em-position"), at)]
    if spot.ellipse:
        rows.append((t("map-true-place"), t("map-95-of-100", radius=m.length(spot.ellipse.semi_major_m))))
    if spot.trunk:
        through = t("map-through", size=m.trunk(spot.trunk.diameter))
        rows.append((t("map-trunk"), f"{through} ({trunk_here(spot.trunk, t, spot.at_ties)})"))
    if spot.tag:
        rows.append((t("map-tag"), spot.tag))
    if spot.root_zone_radius_m:
        rows.append((t.of("root zone"), t("round-the-trunk", radius=m.length(spot.root_zone_radius_m))))
    return rows


def _result_rows(result: AnchorResult, scene: Scene) -> list[tuple[str, str]]:
    t, m = scene.words, scene.measures
    uses = (one.in_words(t.language) for one in (result.hold_told, result.care_told))
    rows = [(t("map-line", id=result.line_id), t("between").join((t.of(result.verdict), *uses)))]
    if result.loads:
        worst = max(result.loads, key=lambda load: load.tension_n)
        pull = replace(m, both=True).force(worst.tension_n)
        rows.append((t("map-greatest-pull"), f"{pull}, {word(worst.case, t.language)}"))
    rows.append((t("pl-tie"), m.length(result.tie_height_m, 2)))
    rows.append((t("map-looked-at"), result.evidence.told.in_words(t.language)))
    return rows


def _result_sentences(result: AnchorResult, t: Words) -> list[str]:
    asked = conditions_of(result.findings, t.language) if result.verdict == "suits if" else ()
    return [
        *(wording.suits_if(condition).in_words(t.language) for condition in asked),
        *(f.in_words(t.language) for f in result.ordered),
        *(f"{r.what.in_words(t.language)}{t('colon')} {t.of(r.reaches)}" for r in result.remedies[:2]),
    ]


def _alone_sentences(tree: TreeAlone, scene: Scene) -> list[str]:
    t, m = scene.words, scene.measures
    told = [plain(f.in_words(t.language)) for f in tree.ordered]
    if not any(known(row.pull_n) for row in tree.pulls):
        return [*told, t("map-no-pull")]
    for row in tree.pulls:
        pull = t("map-up-to", pull=m.force(row.pull_n)) if known(row.pull_n) else ""
        by = plain(t("between").join(one.in_words(t.language) for one in row.limited_by))
        told.append(t("map-tied-at", height=m.length(row.tie_height_m), pull=pull or t.of("cannot say"), by=by))
    return told


def _line(line: LineResult, assessment: Assessment, scene: Scene) -> dict[str, Any]:
    geometry, t, m = line.geometry, scene.words, scene.measures
    ends = [next((a.code for a in line.anchors if a.end == end), "") for end in ("A", "B")]
    spots = [scene.spot(code) for code in ends]
    places = [_place(spot.latitude_deg, spot.longitude_deg, scene) if spot else None for spot in spots]
    true, back, with_feet = geometry.bearing_true_deg, geometry.back_bearing_true_deg, replace(m, both=True)
    span, both = wording.span(line, m), wording.course(true, back, language=t.language, unknown="te-no-bearing")
    rows = [
        (t("map-from-to"), f"{ends[0]}, {ends[1]}"),
        (t("map-use"), t.of(line.use)),
        *([(t("map-judged-for"), line.day.isoformat())] if line.day else []),
        (t("map-taped"), with_feet.length(geometry.taped_m)),
        (t("map-by-position"), with_feet.length(geometry.distance_m)),
        (t("pl-bearing"), wording.true_and_magnetic(true, geometry.bearing_magnetic_deg, t.language)),
        (t("map-back-bearing"), wording.course(back, language=t.language)),
        (t("map-weaker-end"), line.weaker_anchor or t("map-not-told")),
    ]
    sentences = [
        plain(geometry.told.in_words(t.language)),
        *(plain(one.in_words(t.language)) for one in line.ordered),
        *(plain(says) for says in wording.over_ground(line, t.language)),
        *(plain(says) for says in wording.gear(line, t.language)),
    ]
    name = plain(line.name)
    return {
        "id": line.id,
        "verdict": line.verdict,
        "verdict_words": t.of(line.verdict),
        "a_place": places[0],
        "b_place": places[1],
        "strip": _strip(line, scene),
        "short_words": f"{span}, {both}",
        "summary": ", ".join([*([name] if name else []), t("chk-from-to", a=ends[0], b=ends[1]), span, both]),
        "rows": rows,
        "sentences": [s for s in sentences if s],
    }
