"""Distances, bearings and local metres on the WGS84 ellipsoid.

Bearings are degrees clockwise from true north in [0, 360). A bearing between two points that coincide does not
exist and is NaN, never 0.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Generic, TypeVar, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pyproj import Geod, Proj

from siteassess.errors import OutsideModel
from siteassess.units import show

Array = NDArray[np.float64]
Given = TypeVar("Given", bound=float | Array, covariant=True)  # numbers as they went in: one, or arrays

WGS84 = Geod(ellps="WGS84")

# Within about 55 km of a pole a true bearing turns by whole degrees over a park, so none is given (judgement).
POLE_LATITUDE_DEG = 89.5
# The azimuthal plane stretches lengths across the radius by (r/R)^2 / 6: 4 mm in 100 m at 100 km (derived).
FRAME_RADIUS_M = 100_000.0
# Closer than this two points have no bearing worth the name (judgement: below any tape's reading).
COINCIDENT_M = 0.001


@dataclass(frozen=True)
class Course(Generic[Given]):
    """The way from one point to another [m, deg]; floats, or arrays when arrays were given."""

    distance_m: Given
    bearing_true_deg: Given
    back_bearing_true_deg: Given


@overload
def wrap360(angle_deg: float) -> float: ...
@overload
def wrap360(angle_deg: ArrayLike) -> Array: ...
def wrap360(angle_deg: ArrayLike) -> float | Array:
    """Turn an angle into [0, 360) [deg].

    Parameters
    ----------
    angle_deg : one angle or an array of them [deg]

    Examples
    --------
    By hand, with the tiny negative angle whose remainder rounds to 360:

    >>> [wrap360(angle) for angle in (-90.0, 720.0, -1e-17)]
    [270.0, 0.0, 0.0]
    """
    turned = np.mod(np.asarray(angle_deg, dtype=float), 360.0)
    return _as_given(np.where(turned >= 360.0, 0.0, turned))


@overload
def wrap180(angle_deg: float) -> float: ...
@overload
def wrap180(angle_deg: ArrayLike) -> Array: ...
def wrap180(angle_deg: ArrayLike) -> float | Array:
    """Turn a difference of angles into (-180, 180] [deg].

    Parameters
    ----------
    angle_deg : one difference or an array of them [deg]

    Examples
    --------
    From 350 to 10 degrees and back, and half a turn, by hand:

    >>> wrap180([10.0 - 350.0, 350.0 - 10.0, -180.0]).tolist()
    [20.0, -20.0, 180.0]
    """
    return _as_given(180.0 - np.asarray(wrap360(180.0 - np.asarray(angle_deg, dtype=float))))


def median_place(latitudes_deg: ArrayLike, longitudes_deg: ArrayLike) -> tuple[float, float]:
    """Latitude and longitude in the midst of some places: a mistyped one does not drag it away [deg].

    Parameters
    ----------
    latitudes_deg, longitudes_deg : of at least one place, all known [deg]

    Examples
    --------
    On both sides of the antimeridian, by hand:

    >>> median_place([-17.8, -17.8], [179.5, -179.0])
    (-17.8, -179.75)
    """
    lat, lon = np.asarray(latitudes_deg, dtype=float), np.asarray(longitudes_deg, dtype=float)
    first = float(lon[0])
    return float(np.median(lat)), wrap180(first + float(np.median(wrap180(lon - first))))


def reverse_bearing(bearing_deg: float) -> float:
    """The same straight line read the other way over a short distance, in [0, 360) [deg].

    Parameters
    ----------
    bearing_deg : as read [deg]

    Examples
    --------
    92 degrees and its back azimuth, 272 (notes of a forestry course, Penn State FORT 130, read):

    >>> reverse_bearing(92.0)
    272.0
    """
    return wrap360(bearing_deg + 180.0)


def mean_bearing(bearings_deg: ArrayLike, sigmas_deg: ArrayLike | None = None) -> float:
    """Mean of bearings as unit vectors, so that 359 and 1 average to 0.

    Parameters
    ----------
    bearings_deg : bearings of the same line in the same direction, shape (n,) [deg]
    sigmas_deg : their standard errors, shape (n,); equal weights when left out [deg]

    Returns
    -------
    The mean bearing in [0, 360), NaN where the readings cancel [deg].

    Examples
    --------
    10, 20, 30 give 20, and 350, 10 give 0 (Rosetta Code, task on mean angles, read); by hand, two that cancel:

    >>> round(mean_bearing([10.0, 20.0, 30.0]), 9), round(wrap180(mean_bearing([350.0, 10.0])), 9) + 0.0
    (20.0, 0.0)
    >>> mean_bearing([0.0, 180.0])
    nan
    """
    angles = np.radians(np.atleast_1d(np.asarray(bearings_deg, dtype=float)))
    weights = np.ones_like(angles) if sigmas_deg is None else np.asarray(sigmas_deg, dtype=float) ** -2.0
    weights = weights / weights.sum()
    east, north = float(weights @ np.sin(angles)), float(weights @ np.cos(angles))
    if not np.hypot(east, north) > 1e-9:
        return float("nan")
    return wrap360(float(np.degrees(np.arctan2(east, north))))


@overload
def bearing_distance(lat1: float, lon1: float, lat2: float, lon2: float, *, ellipsoid: Geod = ...) -> Course[float]: ...
@overload
def bearing_distance(
    lat1: ArrayLike, lon1: ArrayLike, lat2: ArrayLike, lon2: ArrayLike, *, ellipsoid: Geod = ...
) -> Course[Array]: ...
def bearing_distance(
    lat1: ArrayLike, lon1: ArrayLike, lat2: ArrayLike, lon2: ArrayLike, *, ellipsoid: Geod = WGS84
) -> Course[float | Array]:
    """Geodesic distance and both bearings between points (the inverse problem).

    Parameters
    ----------
    lat1, lon1 : first point, scalars or arrays that broadcast [deg]
    lat2, lon2 : second point, scalars or arrays that broadcast [deg]
    ellipsoid : another figure of the earth, for checks against old tables

    Returns
    -------
    Course with the distance [m], the true bearing at the first point towards the second and the true bearing at
    the second point towards the first [deg]. Unknown coordinates (NaN) give NaN; points closer than 1 mm have
    a distance and NaN bearings.

    Raises
    ------
    OutsideModel : a latitude within half a degree of a pole, or one that is no latitude at all.

    Notes
    -----
    The back bearing is not the bearing plus 180 exactly: meridians converge (under 0.001 deg at 100 m up to
    latitude 60).

    References
    ----------
    1. C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013) 43-55, as carried by PROJ (memory).
    2. Geoscience Australia, worked example Flinders Peak to Buninyong (read in a copy).

    Examples
    --------
    54 972.271 m, at 306 52 05.37 and back at 127 10 25.07 [2]_:

    >>> flinders, buninyong = (-37.95103341667, 144.42486788889), (-37.65282113889, 143.92649552778)
    >>> course = bearing_distance(*flinders, *buninyong)
    >>> f"{course.distance_m:.3f} {course.bearing_true_deg:.5f} {course.back_bearing_true_deg:.5f}"
    '54972.271 306.86816 127.17363'
    """
    lat1, lon1, lat2, lon2 = np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in (lat1, lon1, lat2, lon2)))
    refuse_poles(lat1)
    refuse_poles(lat2)
    ahead, back, distance = ellipsoid.inv(lon1.ravel(), lat1.ravel(), lon2.ravel(), lat2.ravel())
    ahead, back, distance = (np.asarray(x, dtype=float).reshape(lat1.shape) for x in (ahead, back, distance))
    apart = distance >= COINCIDENT_M
    return Course(
        _as_given(distance), _as_given(np.where(apart, wrap360(ahead), np.nan)),
        _as_given(np.where(apart, wrap360(back), np.nan)),
    )


def destination(lat: float, lon: float, bearing_true_deg: float, distance_m: float) -> tuple[float, float]:
    """Where a true bearing and a horizontal distance lead (the direct problem).

    Parameters
    ----------
    lat, lon : start [deg]
    bearing_true_deg : true bearing at the start [deg]
    distance_m : distance along the ellipsoid [m]

    Returns
    -------
    (latitude, longitude) [deg].

    Raises
    ------
    OutsideModel : a latitude within half a degree of a pole.

    References
    ----------
    1. Geoscience Australia, worked example Flinders Peak to Buninyong (read in a copy).

    Examples
    --------
    From Flinders Peak to 37 39 10.1561 S, 143 55 35.3839 E [1]_:

    >>> place = destination(-37.95103341667, 144.42486788889, 306.868158333, 54972.271)
    >>> f"{place[0]:.6f} {place[1]:.6f}"
    '-37.652821 143.926496'
    """
    refuse_poles(lat)
    lon2, lat2, _ = WGS84.fwd(lon, lat, bearing_true_deg, distance_m)
    return float(lat2), float(lon2)


def refuse_poles(latitude_deg: ArrayLike) -> None:
    """Raise where no true bearing can be given; NaN passes, for unknown stays unknown.

    Parameters
    ----------
    latitude_deg : one latitude or an array of them [deg]

    Raises
    ------
    OutsideModel : |latitude| above 89.5, named in the message.
    """
    latitude = np.atleast_1d(np.asarray(latitude_deg, dtype=float))
    beyond = latitude[np.abs(latitude) > POLE_LATITUDE_DEG]
    if not beyond.size:
        return
    worst = float(beyond[np.argmax(np.abs(beyond))])
    if abs(worst) > 90.0:
        raise OutsideModel(f"latitude {show(float(worst), 'deg g')} does not exist; latitudes run from -90 to 90",
                           "latitude-does-not-exist", latitude=float(worst))
    raise OutsideModel(
        f"latitude {show(float(worst), 'deg g')} is too near a pole: bearings from true north turn too fast there to "
        f"be used; positions up to {show(POLE_LATITUDE_DEG, 'deg g')} north or south are covered",
        "too-near-a-pole", latitude=float(worst), most=POLE_LATITUDE_DEG,
    )


class LocalFrame:
    """East and north metres on a plane that touches the ellipsoid at a chosen point.

    Azimuthal equidistant: distances and true bearings from the origin are exact, lengths elsewhere within
    (r/R)^2 / 6 of the truth, r being the distance from the origin (derived).

    Parameters
    ----------
    lat0, lon0 : the origin [deg]

    Raises
    ------
    OutsideModel : an origin within half a degree of a pole.
    """

    def __init__(self, lat0: float, lon0: float):
        refuse_poles(lat0)
        self.lat0, self.lon0 = float(lat0), float(lon0)
        self._plane = _azimuthal(self.lat0, self.lon0)

    def __repr__(self) -> str:
        return f"LocalFrame({self.lat0!r}, {self.lon0!r})"

    @classmethod
    def around(cls, latitudes_deg: ArrayLike, longitudes_deg: ArrayLike) -> LocalFrame:
        """A frame centred on the data; points on both sides of the antimeridian stay together.

        Raises
        ------
        OutsideModel : no known point, a pole, or points spread more than 100 km from their centre.
        """
        lat, lon = np.broadcast_arrays(np.asarray(latitudes_deg, dtype=float), np.asarray(longitudes_deg, dtype=float))
        known = np.isfinite(lat) & np.isfinite(lon)
        if not known.any():
            raise OutsideModel("no position is known, so there is nothing to draw a plan around",
                               "nothing-to-draw-around")
        lat, lon = lat[known], lon[known]
        refuse_poles(lat)
        lat0 = float((lat.min() + lat.max()) / 2.0)
        # a straight mean of 179.9 and -179.9 would land on the other side of the world
        first = float(lon[0])
        offsets = wrap180(lon - first)
        lon0 = wrap180(first + float(np.min(offsets) + np.max(offsets)) / 2.0)
        reach = float(np.max(bearing_distance(lat0, lon0, lat, lon).distance_m))
        if reach > FRAME_RADIUS_M:
            raise OutsideModel(
                f"the points lie up to {show(float(reach), 'km 0')} from their centre; one flat plan covers "
                f"{show(FRAME_RADIUS_M, 'km 0')} at most. Look for a mistyped position, or split the site",
                "points-too-far-apart", reach=float(reach), most=FRAME_RADIUS_M,
            )
        return cls(lat0, lon0)

    @overload
    def to_metres(self, latitude_deg: float, longitude_deg: float) -> tuple[float, float]: ...
    @overload
    def to_metres(self, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> tuple[Array, Array]: ...
    def to_metres(self, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> tuple[float | Array, float | Array]:
        """(east, north) of points, floats or arrays that broadcast [m]; NaN stays NaN.

        Examples
        --------
        A second of arc at 48 N is 20.73 m east and 30.89 m north (a degree on WGS84, Wikimedia Commons, read):

        >>> [round(metres, 2) for metres in LocalFrame(48.0, 37.8).to_metres(48 + 1 / 3600, 37.8 + 1 / 3600)]
        [20.73, 30.89]
        """
        lat, lon = np.broadcast_arrays(np.asarray(latitude_deg, dtype=float), np.asarray(longitude_deg, dtype=float))
        east, north = self._plane(lon.ravel(), lat.ravel())
        return _as_given(np.reshape(east, lat.shape)), _as_given(np.reshape(north, lat.shape))

    @overload
    def to_degrees(self, east_m: float, north_m: float) -> tuple[float, float]: ...
    @overload
    def to_degrees(self, east_m: ArrayLike, north_m: ArrayLike) -> tuple[Array, Array]: ...
    def to_degrees(self, east_m: ArrayLike, north_m: ArrayLike) -> tuple[float | Array, float | Array]:
        """(latitude, longitude) of points on the plane, floats or arrays that broadcast [deg]."""
        east, north = np.broadcast_arrays(np.asarray(east_m, dtype=float), np.asarray(north_m, dtype=float))
        lon, lat = self._plane(east.ravel(), north.ravel(), inverse=True)
        return _as_given(np.reshape(lat, east.shape)), _as_given(np.reshape(lon, east.shape))

    def convergence_deg(self, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> Array:
        """Angle from true north to the plane's north, positive clockwise: plane bearing = true bearing - this [deg]."""
        lat, lon = np.broadcast_arrays(np.asarray(latitude_deg, dtype=float), np.asarray(longitude_deg, dtype=float))
        return np.reshape(self._plane.get_factors(lon.ravel(), lat.ravel()).meridian_convergence, lat.shape)


@functools.lru_cache(maxsize=64)
def _azimuthal(lat0: float, lon0: float) -> Proj:
    return Proj(proj="aeqd", lat_0=lat0, lon_0=lon0, ellps="WGS84")


def _as_given(values: ArrayLike) -> float | Array:
    """A plain float when a scalar went in, the array otherwise."""
    array = np.asarray(values, dtype=float)
    return array if array.shape else float(array)
