"""Answers as frames: tidy tables of pandas, and frames with a place in each row."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from siteassess.advice.finding import Finding, Limit
from siteassess.advice.results import AnchorResult, Assessment, LineResult, Load, Remedy
from siteassess.errors import UnknownName

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd

    from siteassess.papers.scene import Scene

DEGREES = "EPSG:4326"


@dataclass(frozen=True)
class _Row:
    """What a row of a frame is about: a line, and of that an end, a load, a limit, a finding or a remedy."""

    line: LineResult
    end: AnchorResult | None = None
    load: Load | None = None
    limit: Limit | None = None
    finding: Finding | None = None
    remedy: Remedy | None = None
    order: int = 0

    @property
    def anchor(self) -> str:
        """Code of the anchor; empty for the line as a whole."""
        return self.end.code if self.end else ""

    @property
    def deciding(self) -> Finding | None:
        """Of the end, or of the line."""
        return self.end.deciding_finding if self.end else (self.line.deciding_finding or ("", None))[1]

    @property
    def deciding_at(self) -> str:
        return (self.line.deciding_finding or ("", None))[0]

    @property
    def things(self) -> int | None:
        """How many things decide at the end."""
        return len(self.end.evidence.deciding) if self.end else None

    @property
    def change(self) -> str | None:
        return self.remedy.in_full.in_words() if self.remedy else None

    def of(self, way: str) -> Any:
        """What stands at a way of attributes; None where one of them is not there."""
        found: Any = self
        for name in way.split("."):
            found = None if found is None else getattr(found, name)
        return found


def _lines(assessment: Assessment) -> Iterator[_Row]:
    return map(_Row, assessment.lines)


def _ends(assessment: Assessment) -> Iterator[_Row]:
    return (_Row(line, end) for line in assessment.lines for end in line.anchors)


def _loads(assessment: Assessment) -> Iterator[_Row]:
    return (_Row(row.line, row.end, load=one) for row in _ends(assessment) for one in (row.of("end.loads")))


def _limits(assessment: Assessment) -> Iterator[_Row]:
    return (_Row(row.line, row.end, limit=one) for row in _ends(assessment) for one in row.of("end.limits"))


def _findings(assessment: Assessment) -> Iterator[_Row]:
    for line in assessment.lines:
        ends = {end.code: end for end in line.anchors}
        for order, (at, one) in enumerate(line.all_ordered, 1):
            yield _Row(line, ends.get(at), finding=one, order=order)


def _remedies(assessment: Assessment) -> Iterator[_Row]:
    for row in _ends(assessment):
        yield from (_Row(row.line, row.end, remedy=one) for one in row.of("end.remedies"))
    for line in assessment.lines:
        yield from (_Row(line, remedy=one) for one in line.remedies)


Columns = dict[str, str]
_DECIDES = {"deciding": "deciding.code", "deciding_says": "deciding.says"}
_AT = {"line": "line.id", "end": "end.end", "anchor": "anchor"}


def _same(of: str, *names: str) -> Columns:
    return {name: f"{of}.{name}" for name in names}


FRAMES: dict[str, tuple[Callable[[Assessment], Iterator[_Row]], Columns]] = {
    "lines": (_lines, {
        "line": "line.id", **_same("line", "name", "use", "day", "verdict", "weaker_anchor"), **_DECIDES,
        "deciding_at": "deciding_at", "probability": "line.probability",
        **_same("line.geometry", "distance_m", "taped_m", "bearing_true_deg", "bearing_magnetic_deg"),
        "lowest_m": "line.clearance.lowest_m",
    }),
    "anchors": (_ends, {
        **_AT, **_same("end", "kind", "tag", "species", "verdict", "hold_use", "care_use", "probability"), **_DECIDES,
        **_same("end", "tie_height_m", "pull_bearing_true_deg", "take_down_wind_m_s"),
        "things_known": "end.evidence.known", "things_deciding": "things",
    }),
    "loads": (_loads, {
        **_AT, **_same("load", "case", "tension_n", "horizontal_n", "vertical_n", "bearing_true_deg", "moment_nm",
                       "drop_m", "ln_sd", "calibrated"),
    }),
    "limits": (_limits, {
        **_AT, "limit": "limit.name",
        **_same("limit", "case", "demand", "allowable", "unit", "use", "use_p05", "use_p95", "probability"),
    }),
    "findings": (_findings, {
        "line": "line.id", "anchor": "anchor", "order": "order",
        **_same("finding", "code", "effect", "looked_at", "says"),
    }),
    "remedies": (_remedies, {
        "line": "line.id", "anchor": "anchor", **_same("remedy", "field", "value", "unit", "reaches"),
        "says": "change",
    }),
}  # fmt: skip


def frame(assessment: Assessment, of: str) -> pd.DataFrame:
    """See `ParkAnswer.to_frame`.

    Parameters
    ----------
    assessment : all answers
    of : a key of `FRAMES`

    Raises
    ------
    UnknownName : there is no frame of that.
    """
    import pandas as pd

    rows, columns = _chosen(FRAMES, of)
    told = [[row.of(way) for way in columns.values()] for row in rows(assessment)]
    made = pd.DataFrame(told, columns=list(columns))
    made.attrs["cautions"] = assessment.cautions
    return made.astype({name: float for name in made if made[name].isna().all()})  # numbers that are not known


def _chosen(of_all: dict[str, Any], of: str) -> Any:
    if not isinstance(of, str) or of not in of_all:
        raise UnknownName(f"no frame of {of!r}; known: {', '.join(of_all)}")
    return of_all[of]


def geoframe(assessment: Assessment, of: str, crs: Any) -> gpd.GeoDataFrame:
    """See `ParkAnswer.to_geodataframe`.

    Parameters
    ----------
    assessment : all answers
    of : a key of `PLACED`
    crs : any that pyproj knows, or "UTM"

    Raises
    ------
    UnknownName : there is no such frame, or no such reference system.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    import geopandas as gpd
    import pyproj

    from siteassess.papers.scene import build

    rows = _chosen(PLACED, of)(build(assessment))
    names = list(rows[0]) if rows else ["geometry"]
    made = gpd.GeoDataFrame(rows, columns=names, geometry="geometry", crs=DEGREES)
    made.attrs["cautions"] = assessment.cautions
    if isinstance(crs, str) and crs.upper() == "UTM":
        return made.to_crs(_zone_of(made))
    try:
        return made.to_crs(pyproj.CRS.from_user_input(crs))
    except pyproj.exceptions.CRSError as error:
        raise UnknownName(f"no reference system {crs!r}; wanted one such as 'EPSG:4326', or 'UTM': {error}") from None


def _zone_of(made: gpd.GeoDataFrame) -> Any:
    """The UTM zone of the first place: the middle of a park across 180 degrees lies half round the globe."""
    import geopandas as gpd
    import shapely

    at = made.get_coordinates()
    if at.empty:
        raise UnknownName("no zone 'UTM': nothing of this frame has a place; name a reference system, as 'EPSG:4326'")
    lon, lat = at.iloc[0]
    return gpd.GeoSeries([shapely.Point((lon + 180) % 360 - 180, lat)], crs=DEGREES).estimate_utm_crs()


def _points(scene: Scene) -> list[dict[str, Any]]:
    import shapely

    placed: list[dict[str, Any]] = [{
        "anchor": one.code, "kind": one.kind, "tag": one.tag, "species": one.species, "verdict": one.verdict,
        "lines": ", ".join(one.line_ids), "trunk_diameter_m": one.trunk.diameter if one.trunk else None,
        "crown_radius_m": one.crown_radius_m, "root_zone_radius_m": one.root_zone_radius_m,
        "accuracy_m": one.accuracy_m, "position_how": one.how,
        "geometry": shapely.Point(one.longitude_deg, one.latitude_deg),
    } for one in scene.spots]  # fmt: skip
    return [*placed, *({"anchor": code, "geometry": None} for code in scene.unplaced)]


def _stretches(scene: Scene) -> list[dict[str, Any]]:
    import shapely

    return [{
        **{name: _Row(one.result).of(way) for name, way in FRAMES["lines"][1].items()}, "a": one.a.code,
        "b": one.b.code,
        "geometry": shapely.LineString([(spot.longitude_deg, spot.latitude_deg) for spot in (one.a, one.b)]),
    } for one in scene.stretches]  # fmt: skip


def _root_zones(scene: Scene) -> list[dict[str, Any]]:
    import shapely

    return [{
        "anchor": one.code, "tag": one.tag, "species": one.species, "radius_m": one.root_zone_radius_m,
        "geometry": shapely.Polygon(zip(*reversed(scene.root_zone_deg(one)))),
    } for one in scene.spots if one.root_zone_radius_m]  # fmt: skip


PLACED: dict[str, Callable[[Scene], list[dict[str, Any]]]] = {
    "anchors": _points, "lines": _stretches, "root zones": _root_zones,
}
