"""Do the positions of two anchors, the tape and the compass between them agree?

Positions, tape and compass each say what the vector from one anchor to the other is. The check compares them with
their own standard errors and, where they disagree, tries the usual slips of the pen one by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtrc  # the chi-square tail without the third of a second scipy.stats takes to load

from siteassess.places.agreement_words import agreement_told
from siteassess.places.geodesy import Array, Course, bearing_distance, mean_bearing, reverse_bearing, wrap180
from siteassess.places.magnetics import Declination
from siteassess.places.positions import Located
from siteassess.places.readings import PairReadings, Sighting, Tape
from siteassess.places.slips import alternatives
from siteassess.reference.constants import constants
from siteassess.reference.findings import Said, said

NOTE_BELOW, FLAG_BELOW, REJECT_BELOW = constants("disagreement by chance").values()
LEVELS = ("cannot say", "agree", "note", "flag", "reject")


@dataclass(frozen=True)
class Comparison:
    """Readings against positions; NaN wherever a side of the comparison is missing."""

    course: Course[float]
    tape_horizontal_m: float
    tape_sigma_m: float
    compass_true_deg: float
    compass_sigma_deg: float
    distance_residual_m: float
    distance_z: float
    bearing_residual_deg: float
    bearing_z: float
    back_residual_deg: float
    back_z: float
    position_distance_sigma_m: float
    position_bearing_sigma_deg: float
    statistic: float
    dof: int

    @property
    def probability(self) -> float:
        """Chance of so large a statistic where nothing is wrong; NaN where nothing can be compared."""
        return float(chdtrc(self.dof, self.statistic)) if self.dof else math.nan

    @property
    def back_probability(self) -> float:
        """The same for compass out against compass back."""
        return float(chdtrc(1, self.back_z**2)) if math.isfinite(self.back_z) else math.nan

    @property
    def probability_of_all(self) -> float:
        """The same for positions, tape, compass out and compass back together."""
        has_back = math.isfinite(self.back_z)
        dof = self.dof + has_back
        total = (self.statistic if self.dof else 0.0) + (self.back_z**2 if has_back else 0.0)
        return float(chdtrc(dof, total)) if dof else math.nan


@dataclass(frozen=True)
class Explanation:
    """A slip that would make the readings agree."""

    slip: Said
    probability: float


@dataclass(frozen=True)
class PairAgreement:
    """The outcome for one pair.

    `level` is the worse of `position_level` (positions against tape and compass) and `back_level` (compass out
    against back): "agree", "note", "flag", "reject" or "cannot say".
    """

    names: tuple[str, str]
    comparison: Comparison
    position_level: str
    back_level: str
    level: str
    span_m: float
    span_from: str
    explanations: tuple[Explanation, ...] = ()
    told: tuple[Said, ...] = ()


def check_pair(
    a: Located, b: Located, *, tape: Tape | None = None, out: Sighting | None = None, back: Sighting | None = None,
    declination: Declination | None = None, convergence_deg: float | None = None, names: tuple[str, str] = ("A", "B"),
) -> PairAgreement:
    """Compare the positions of two anchors with the tape and the compass between them.

    Parameters
    ----------
    a, b : the positions with their standard errors
    tape : the taped length, if any
    out, back : the bearing read at a towards b and at b towards a, if any
    declination : for magnetic readings, at the date they were read
    convergence_deg : for grid readings, grid north minus true north, east positive [deg]
    names : what the anchors are called in the messages

    Returns
    -------
    PairAgreement with residuals, standardised residuals, the chi-square statistic (two degrees of freedom with tape
    and compass, one with either), the level, the span to use (the tape's wherever one was laid), the slips that
    would explain a disagreement and the outcome as codes.

    Notes
    -----
    With tape and compass the statistic is that of the difference between two plane vectors, which stays right where
    positions are as loose as the span is long; over long spans it equals the sum of the two squared z values.
    A disagreement is named only as far as it can be told: slips that explain it equally are listed together.

    References
    ----------
    1. Levels at 95, 99 and 99.9 % of chi-square (judgement; the distribution from scipy).

    Examples
    --------
    100 m of equator, 100 / 6 378 137 radians, taped as 110 m, each end and the tape known to 1 m: less the 0.01 m that
    loose ends add, by hand -10.01 / sqrt 3:

    >>> a, b = Located.at(0.0, 0.0, 1.0), Located.at(0.0, math.degrees(100 / 6378137), 1.0)
    >>> found = check_pair(a, b, tape=Tape(110.0, 1.0))
    >>> f"{found.comparison.distance_residual_m:.3f} m, {found.comparison.distance_z:.3f}, {found.level}"
    '-10.000 m, -5.779, reject'
    """
    readings = PairReadings(a, b, tape, out, back, declination, convergence_deg)
    found = compare(readings)
    position_level, back_level = level_of(found.probability), level_of(found.back_probability)
    level = max(position_level, back_level, key=LEVELS.index)
    explanations = _explain(readings, found, names) if LEVELS.index(level) >= LEVELS.index("flag") else ()
    if math.isfinite(found.tape_horizontal_m):
        span, span_from = found.tape_horizontal_m, "tape"
    else:
        span, span_from = found.course.distance_m, "positions"
    agreement = PairAgreement(names, found, position_level, back_level, level, span, span_from, explanations)
    return replace(agreement, told=tuple(agreement_told(agreement, readings)))


def compare(readings: PairReadings) -> Comparison:
    """Residuals and the chi-square statistic of one set of readings; the sums behind `check_pair`.

    Parameters
    ----------
    readings : positions, tape and compass of one pair
    """
    one, two = readings.a, readings.b
    course = bearing_distance(one.latitude_deg, one.longitude_deg, two.latitude_deg, two.longitude_deg)
    covariance = _difference_covariance(readings)
    tape, tape_sigma = readings.tape.horizontal() if readings.tape else (math.nan, math.nan)
    compass, compass_sigma, back_residual, back_z = _compass(readings)
    ahead, aside = _axes(_known_bearing(course))
    along_var, across_var = float(ahead @ covariance @ ahead), float(aside @ covariance @ aside)
    span = tape if math.isfinite(tape) else course.distance_m
    position_bearing_sigma = math.degrees(math.sqrt(across_var) / span) if span > 0 else math.nan
    distance_residual = course.distance_m - tape
    # two loose fixes look farther apart than they are, by their variance across the line over twice the span
    bias = across_var / (2.0 * tape) if tape > 0 else math.nan
    bearing_residual = wrap180(course.bearing_true_deg - compass)
    sighting_sigma = compass_sigma if span > 0 else math.nan  # there is no way from a place to itself
    statistic, dof = _statistic(course, covariance, tape, tape_sigma, compass, sighting_sigma)
    return Comparison(
        course=course, tape_horizontal_m=tape, tape_sigma_m=tape_sigma, compass_true_deg=compass,
        compass_sigma_deg=compass_sigma, distance_residual_m=distance_residual,
        distance_z=(distance_residual - bias) / math.sqrt(along_var + tape_sigma**2),
        bearing_residual_deg=bearing_residual,
        bearing_z=bearing_residual / math.hypot(position_bearing_sigma, sighting_sigma),
        back_residual_deg=back_residual, back_z=back_z, position_distance_sigma_m=math.sqrt(along_var),
        position_bearing_sigma_deg=position_bearing_sigma, statistic=statistic, dof=dof,
    )


def level_of(probability: float) -> str:
    """The level that a probability of chance stands for: "agree", "note", "flag", "reject", or "cannot say" for NaN.

    Parameters
    ----------
    probability : of so bad a fit where nothing is wrong, 0 to 1 [-]
    """
    if not math.isfinite(probability):
        return "cannot say"
    if probability < REJECT_BELOW:
        return "reject"
    if probability < FLAG_BELOW:
        return "flag"
    return "note" if probability < NOTE_BELOW else "agree"


def _difference_covariance(readings: PairReadings) -> Array:
    covariance = readings.a.covariance() + readings.b.covariance()
    return covariance if np.isfinite(covariance).all() else np.full((2, 2), np.nan)


def _axes(bearing_deg: float) -> tuple[Array, Array]:
    """Unit vectors (east, north) along a bearing and to its right."""
    turn = math.radians(bearing_deg)
    return np.array([math.sin(turn), math.cos(turn)]), np.array([math.cos(turn), -math.sin(turn)])


def _compass(readings: PairReadings) -> tuple[float, float, float, float]:
    """(bearing a to b, its standard error, out minus back, the same standardised) [deg]."""
    residual, z = _out_against_back(readings)
    out, back = readings.true_bearing(readings.out), reverse_bearing(readings.true_bearing(readings.back))
    known = [(v, sight) for v, sight in ((out, readings.out), (back, readings.back)) if sight and math.isfinite(v)]
    if not known:
        return math.nan, math.nan, residual, z
    if math.isfinite(z) and level_of(float(chdtrc(1, z * z))) in ("flag", "reject"):
        # the mean of two readings that contradict each other is no reading
        known = known[:1]
    sigmas = [sight.sigma_deg for _, sight in known]
    mean = mean_bearing([value for value, _ in known], sigmas)
    variance = 1.0 / sum(s**-2.0 for s in sigmas)
    if readings.declination and any(sight.north == "magnetic" for _, sight in known):
        # one declination serves both readings, so its error does not average out
        variance += readings.declination.sigma_deg**2
    return mean, math.sqrt(variance), residual, z


def _out_against_back(readings: PairReadings) -> tuple[float, float]:
    """(bearing out less the bearing back turned round [deg], the same standardised); the same north cancels out."""
    out, back = readings.out, readings.back
    if out is None or back is None:
        return math.nan, math.nan
    if out.north == back.north:
        residual = wrap180(out.bearing_deg - back.bearing_deg - 180.0)
    else:
        residual = wrap180(readings.true_bearing(out) - readings.true_bearing(back) - 180.0)
    return residual, residual / math.hypot(out.sigma_deg, back.sigma_deg)


def _statistic(
    course: Course[float], covariance: Array, tape: float, tape_sigma: float, compass: float, compass_sigma: float
) -> tuple[float, int]:
    """Chi-square of positions against tape and compass with its degrees of freedom (0: nothing to compare)."""
    has_tape, has_compass = math.isfinite(tape), math.isfinite(compass)
    if not np.isfinite(covariance).all() or not (has_tape or has_compass):
        return math.nan, 0
    ahead, aside = _axes(compass if has_compass else _known_bearing(course))
    vector = course.distance_m * _axes(_known_bearing(course))[0]
    along, across = float(ahead @ vector), float(aside @ vector)
    along_var, across_var = float(ahead @ covariance @ ahead), float(aside @ covariance @ aside)
    if not has_compass:
        return (along - math.sqrt(tape**2 + across_var)) ** 2 / (along_var + tape_sigma**2), 1
    reach = tape if has_tape else abs(along)
    across_var += (reach * math.radians(compass_sigma)) ** 2
    if not has_tape:
        # any length would do, but not one in the opposite direction
        return across**2 / across_var + min(0.0, along) ** 2 / along_var, 1
    shared = float(ahead @ covariance @ aside)
    spread = np.array([[along_var + tape_sigma**2, shared], [shared, across_var]])
    miss = np.array([along - tape, across])
    return float(miss @ np.linalg.solve(spread, miss)), 2


def _known_bearing(course: Course[float]) -> float:
    """The bearing, or north for two points in one place, whose vector has no length anyway [deg]."""
    return course.bearing_true_deg if math.isfinite(course.bearing_true_deg) else 0.0


def _explain(readings: PairReadings, found: Comparison, names: tuple[str, str]) -> tuple[Explanation, ...]:
    """Every slip under which all readings agree, the likeliest first."""
    fitting = []
    for slip, other in alternatives(readings, names):
        retold = compare(other)
        if (retold.dof, math.isfinite(retold.back_z)) != (found.dof, math.isfinite(found.back_z)):
            continue
        if retold.probability_of_all >= NOTE_BELOW:
            fitting.append(Explanation(slip, retold.probability_of_all))
    fitting = fitting or list(_lone_misreadings(readings, found, names))
    return tuple(sorted(fitting, key=lambda e: -e.probability))


def _lone_misreadings(readings: PairReadings, found: Comparison, names: tuple[str, str]) -> Iterator[Explanation]:
    """Where out and back contradict each other, the one that the positions contradict too."""
    if level_of(found.back_probability) not in ("flag", "reject"):
        return
    without_back = compare(replace(readings, back=None)).probability
    without_out = compare(replace(readings, out=None)).probability
    if without_back >= NOTE_BELOW and without_out < FLAG_BELOW:
        yield Explanation(said("slip-back-misread", b=names[1]), without_back)
    if without_out >= NOTE_BELOW and without_back < FLAG_BELOW:
        yield Explanation(said("slip-out-misread", a=names[0]), without_out)
