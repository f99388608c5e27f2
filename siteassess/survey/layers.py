"""Parks and things a line must keep clear of, read from vector files and laid on the plane of the survey."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely

from siteassess.errors import refused
from siteassess.places.geodesy import LocalFrame
from siteassess.reference.constants import constants
from siteassess.reference.faults import any_of
from siteassess.reference.findings import Said, said, worded

LAYER_KINDS = ("path", "building", "water", "power line", "road", "other")
# Free distance wanted between the line and each kind of thing, beyond the half width of the corridor (judgement).
EXTRA_CLEARANCE_M = constants("extra clearance")


@dataclass
class Layers:
    """Plane geometries: parks with their names, and things to keep clear of by kind."""

    parks: np.ndarray = field(default_factory=lambda: np.empty(0, dtype=object))
    park_names: list[str] = field(default_factory=list)
    avoid: dict[str, np.ndarray] = field(default_factory=dict)
    remarks: list[Said] = field(default_factory=list)

    @property
    def have_parks(self) -> bool:
        return len(self.parks) > 0

    def park_of(self, xy: np.ndarray) -> np.ndarray:
        """Index of the park each point stands in, the largest where several overlap; -1 for none."""
        found = np.full(len(xy), -1, dtype=np.int64)
        if not self.have_parks:
            return found
        points = shapely.points(xy)
        point, park = shapely.STRtree(self.parks).query(points, predicate="intersects")
        # an outline within another (a playground in a park) must not part the trees: the largest is written last
        order = np.argsort(shapely.area(self.parks)[park], kind="stable")
        found[point[order]] = park[order]
        return found

    def near(self, box: Sequence[float]) -> Layers:
        """The part of the layers that touches a box, parks kept whole with their numbers."""
        area = shapely.box(*box)
        avoid = {}
        for kind, shapes in self.avoid.items():
            own = shapes[
                np.sort(shapely.STRtree(shapes).query(area, predicate="dwithin", distance=EXTRA_CLEARANCE_M[kind]))
            ]
            if len(own):
                avoid[kind] = own
        return Layers(self.parks, self.park_names, avoid)


def read_layers(
    frame: LocalFrame, parks: str | Path | None = None, avoid: Mapping[str, Sequence[str | Path]] | None = None
) -> Layers:
    """Read outlines of parks and things to avoid.

    Parameters
    ----------
    frame : plane of the survey
    parks : polygons; other shapes in the file are passed over and counted
    avoid : files by kind: path, building, water, power line, road, other

    Raises
    ------
    FaultyInput : a file that cannot be read or holds no usable shape
    """
    layers = Layers()
    if parks is not None:
        shapes, names = _read(Path(parks), frame)
        area = np.isin(shapely.get_type_id(shapes), (3, 6))
        if not area.any():
            raise refused(Path(parks).name, worded("the-park"), worded("read-no-outline"), worded("want-outlines"))
        layers.parks = shapes[area]
        layers.park_names = [name for name, kept in zip(names, area) if kept]
        outlines, others = int(area.sum()), int((~area).sum())
        layers.remarks.append(said("ds-park-outlines", file=Path(parks).name, count=outlines, others=others))
    for kind, paths in (avoid or {}).items():
        if kind not in LAYER_KINDS:
            raise refused("avoid", "kind", kind, any_of(*LAYER_KINDS))
        layers.avoid[kind] = np.concatenate([_read(Path(path), frame)[0] for path in paths])
        layers.remarks.append(said("ds-shapes", count=len(layers.avoid[kind]), kind=kind))
    return layers


def _refuse_missing(path: Path, wanted: str) -> None:
    if not path.exists():
        raise refused(path.name, worded("the-file"), worded("read-no-file"), wanted)


def _read(path: Path, frame: LocalFrame) -> tuple[np.ndarray, list[str]]:
    import warnings

    import geopandas

    _refuse_missing(path, worded("want-gdal-layer"))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            table = geopandas.read_file(path)
    except Exception as error:  # pyogrio raises many kinds, all of them "cannot be read" to the user
        raise refused(path.name, worded("the-file"), str(error), worded("want-gdal-layer")) from None
    if table.crs is not None:
        table = table.to_crs("EPSG:4326")
    elif not np.all(np.abs(table.total_bounds) <= (180, 90, 180, 90)):
        raise refused(path.name, worded("the-grid"), worded("read-no-grid"), worded("want-stated-grid"))
    known = ~(table.geometry.isna() | table.geometry.is_empty)
    if not known.any():
        raise refused(path.name, worded("the-shapes"), worded("none"), worded("want-one-shape"))
    table = table[known]
    names = [
        "" if not isinstance(name, str) else name for name in (table["name"] if "name" in table else [""] * len(table))
    ]
    shapes = shapely.make_valid(table.geometry.to_numpy())
    return shapely.transform(shapes, lambda lonlat: np.column_stack(frame.to_metres(lonlat[:, 1], lonlat[:, 0]))), names


def inside_park(parks: np.ndarray, park: np.ndarray, lines: np.ndarray) -> np.ndarray:
    """Whether each line runs wholly inside its own park (number `park`, never -1)."""
    inside = np.zeros(len(lines), bool)
    for number in np.unique(park):
        own = np.flatnonzero(park == number)
        outline = parks[number]
        shapely.prepare(outline)
        inside[own] = shapely.covers(outline, lines[own])
    return inside


def clear_of(avoid: Mapping[str, np.ndarray], lines: np.ndarray, half_width_m: float) -> np.ndarray:
    """Whether each line keeps its half width and the kind's clearance from everything to avoid."""
    clear = np.ones(len(lines), bool)
    for kind, shapes in avoid.items():
        if len(shapes) == 0 or len(lines) == 0:
            continue
        hit, _ = shapely.STRtree(shapes).query(
            lines, predicate="dwithin", distance=half_width_m + EXTRA_CLEARANCE_M[kind]
        )
        clear[hit] = False
    return clear


@dataclass(frozen=True)
class Terrain:
    """A terrain grid: heights at the nodes of a regular grid of degrees or plane metres.

    `x0`, `y0` is the lower left node; rows run from south to north.
    """

    heights_m: np.ndarray
    x0: float
    y0: float
    step: float
    crs: str = "EPSG:4326"

    def at(self, frame: LocalFrame, xy: np.ndarray) -> np.ndarray:
        """Height of the ground at plane points, between the four nodes around each [m]; NaN off the grid."""
        from pyproj import Transformer
        from scipy.interpolate import RegularGridInterpolator

        lat, lon = frame.to_degrees(xy[:, 0], xy[:, 1])
        x, y = (
            (lon, lat)
            if self.crs == "EPSG:4326"
            else Transformer.from_crs("EPSG:4326", self.crs, always_xy=True).transform(lon, lat)
        )
        column, row = (np.asarray(x) - self.x0) / self.step, (np.asarray(y) - self.y0) / self.step
        nodes = tuple(map(np.arange, self.heights_m.shape))
        heights: np.ndarray = RegularGridInterpolator(nodes, self.heights_m, bounds_error=False)((row, column))
        return heights


def read_terrain(path: str | Path, crs: str = "EPSG:4326") -> Terrain:
    """Read a terrain grid in the plain ASCII form (ncols, nrows, xllcorner or xllcenter, cellsize, NODATA_value).

    Parameters
    ----------
    path : of the grid
    crs : its coordinate system, as pyproj takes it

    Raises
    ------
    FaultyInput : not such a grid
    """
    path, wanted = Path(path), worded("want-terrain-grid")
    _refuse_missing(path, wanted)
    try:
        lines = path.read_text(encoding="ascii").splitlines()
        head, used = {}, 0
        while lines[used].split()[0][0].isalpha():
            word, value = lines[used].split()[:2]
            head[word.casefold()] = float(value)
            used += 1
        heights = np.array([float(cell) for line in lines[used:] for cell in line.split()])
        heights = heights.reshape(int(head["nrows"]), int(head["ncols"]))[::-1]
        step = head["cellsize"]
        x0 = head["xllcenter"] if "xllcenter" in head else head["xllcorner"] + step / 2
        y0 = head["yllcenter"] if "yllcenter" in head else head["yllcorner"] + step / 2
    except OSError as error:
        raise refused(path.name, worded("the-file"), error.strerror or error, wanted) from None
    except (ValueError, KeyError, IndexError, OverflowError) as error:
        raise refused(path.name, worded("the-terrain"), str(error), wanted) from None
    if min(heights.shape) < 2 or not (math.isfinite(step) and step > 0):
        read = worded("read-nodes", shape=str(heights.shape), step=str(step))
        raise refused(path.name, worded("the-terrain"), read, worded("want-two-by-two"))
    missing = head.get("nodata_value")
    heights = np.where(heights == missing, np.nan, heights) if missing is not None else heights
    return Terrain(heights, x0, y0, step, crs)
