"""The second round of cleaning: each row against all the others of its inventory."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from siteassess.errors import refused
from siteassess.places.geodesy import LocalFrame, median_place
from siteassess.records.fields import Diameter, accepted
from siteassess.reference.faults import any_of
from siteassess.reference.findings import Said, Worded, said, worded
from siteassess.survey.cells import Floats
from siteassess.survey.mapping import SIZE_UNITS, Mapping, Size
from siteassess.survey.notes import Note, NoteFlags, is_set_aside, notes_told
from siteassess.units import DEGREE_M, si_factor

# All of these are judgement.
BELIEVED_MEDIAN_M = (0.03, 1.6)  # median trunk diameter of an inventory; lists of remarkable trees are stout
_, LARGEST_DIAMETER_M = accepted(Diameter)
DOUBTED_FROM_M = 1.5  # below this the rest of the column cannot make a size unbelievable
DOUBTED_TIMES_P99 = 3.0
MIXED_UNIT_DIAMETER_M, MIXED_UNIT_SHARE = 2.5, 0.02
SLENDERNESS_RANGE = (2.0, 250.0)
MEDIAN_SLENDERNESS = (8.0, 120.0)
ENOUGH_ROWS = 30
SAME_SPOT_M = 0.10
SHARED_BY = 3
BULK_DATE_ROWS, BULK_DATE_SHARE = 50, 0.05
NULL_DATE_BEFORE_YEAR = 1750  # no inventory knows a planting day so old; the year 1700 is a known filler
FAR_M, FAR_TIMES_MEDIAN, WIDEST_MEDIAN_M = 100_000.0, 10.0, 300_000.0
SIZE_READINGS = [(kind, unit) for kind in ("diameter", "girth") for unit in SIZE_UNITS]


def judge_against_all(trees: pd.DataFrame, mapping: Mapping, source: str) -> list[Said]:
    """Judge every row against the others, in place.

    Parameters
    ----------
    trees : all rows, as `Cleaner.clean` made them

    Returns
    -------
    Remarks on whole columns.

    Raises
    ------
    FaultyInput : no row has a position, or the size column cannot be what the mapping says
    """
    flags = trees["flags"].to_numpy(dtype=np.int64, copy=True)
    trees["same_as"] = np.int64(0)
    remarks: list[Said] = []
    _second_positions(flags, remarks)
    _any_left(flags, source)
    _far_away(trees, flags, source)
    _size_column(trees, mapping, flags, source, remarks)
    _sizes(trees, flags, remarks)
    _same_spot(trees, flags)
    _same_id(trees, flags, remarks)
    _dates(trees, flags, remarks)
    trees["flags"] = flags
    return remarks


def _second_positions(flags: NoteFlags, remarks: list[Said]) -> None:
    """Where most rows disagree with their own second position, it is the grid's name that is wrong, not the rows."""
    differ = (flags & int(Note.POSITIONS_DISAGREE)) != 0
    if differ.sum() > 0.5 * len(flags):
        flags[differ] &= ~int(Note.POSITIONS_DISAGREE)
        remarks.append(said("ds-second-doubtful", count=int(differ.sum()), of=len(flags)))


def _any_left(flags: NoteFlags, source: str) -> None:
    lost = Note.NO_POSITION | Note.ZERO_POSITION | Note.OFF_GLOBE | Note.OUT_OF_BOUNDS | Note.TORN | Note.NOT_A_POINT
    lost |= Note.NEAR_A_POLE | Note.OTHER_GRID | Note.LETTER_O
    bad = flags & int(lost)
    if (bad != 0).all():
        common = max(set(bad.tolist()), key=bad.tolist().count)
        read = worded("read-no-usable-position", count=len(flags), why=notes_told(common))
        wanted, mend = worded("want-positions-on-grid"), worded("mend-check-position-columns")
        raise refused(source, worded("the-position"), read, wanted, mend)


def _far_away(trees: pd.DataFrame, flags: NoteFlags, source: str) -> None:
    """Rows far from all the rest; where only a swap of latitude and longitude explains it, the swap is undone."""
    rows = np.flatnonzero(~is_set_aside(flags))
    if len(rows) == 0:
        return
    lat, lon = trees["lat_deg"].to_numpy(copy=True), trees["lon_deg"].to_numpy(copy=True)
    centre = median_place(lat[rows], lon[rows])
    distance = _rough_m(lat[rows], lon[rows], *centre)
    usual = float(np.median(distance))
    if usual > WIDEST_MEDIAN_M:
        read, mend = worded("read-trees-far-apart", away=usual), worded("mend-split-inventory")
        raise refused(source, worded("the-position"), read, worded("want-one-region"), mend)
    limit = max(FAR_M, FAR_TIMES_MEDIAN * usual)
    far = rows[distance > limit]
    back = far[(np.abs(lon[far]) <= 90) & (_rough_m(lon[far], lat[far], *centre) <= limit)]
    lat[back], lon[back] = lon[back], lat[back]
    flags[back] |= Note.SWAPPED
    flags[np.setdiff1d(far, back)] |= Note.FAR_FROM_ALL
    trees["lat_deg"], trees["lon_deg"] = lat, lon


def _rough_m(lat: Floats, lon: Floats, lat0: float, lon0: float) -> Floats:
    around = (lon - lon0 + 180.0) % 360.0 - 180.0
    apart: Floats = DEGREE_M * np.hypot(lat - lat0, around * np.cos(np.radians(lat0)))
    return apart


# --- sizes ----------------------------------------------------------------------------------------------------


def _size_column(trees: pd.DataFrame, mapping: Mapping, flags: NoteFlags, source: str, remarks: list[Said]) -> None:
    """Refuse a size column that cannot be what the mapping says: wrong column, wrong unit, girth for diameter."""
    spec = mapping.size
    if spec is None:
        return
    name, stated = worded("the-size-column", columns=any_of(*spec.column)), _size_in(spec.kind, spec.unit)
    filled = int(np.count_nonzero((flags & int(Note.SIZE_BLANK | Note.TORN)) == 0))
    unreadable = int(np.count_nonzero(flags & Note.SIZE_UNREADABLE))
    if filled >= ENOUGH_ROWS and unreadable > 0.5 * filled:
        read = worded("read-no-lengths", count=unreadable, of=filled)
        raise refused(source, name, read, stated, worded("mend-wrong-column"))
    own = ((flags & int(Note.UNIT_IN_CELL)) == 0) & ~is_set_aside(flags)
    size = trees["diameter_m"].to_numpy()[own]
    height = trees["height_m"].to_numpy()[own]
    if np.count_nonzero(~np.isnan(size)) < ENOUGH_ROWS:
        return
    if _believed(size, height):
        also = tuple(
            said("ds-size-as", kind=k, unit=u)
            for k, u in SIZE_READINGS
            if (k, u) != (spec.kind, spec.unit) and _believed(_reread(size, spec, k, u), height)
        )
        if also:
            remarks.append(said("ds-also-pass", size=said("ds-size-as", kind=spec.kind, unit=spec.unit), also=also))
        return
    fitting = tuple(_size_in(k, u).said for k, u in SIZE_READINGS if _believed(_reread(size, spec, k, u), height))
    read = worded("read-median-trunk", across=float(np.nanmedian(size)), size=stated)
    if np.isfinite(height / size).any():
        read = worded("read-trunk-high", trunk=read, times=float(np.nanmedian(height / size)))
    mend = worded("mend-would-pass", sizes=fitting) if fitting else worded("mend-no-unit-fits")
    low, high = BELIEVED_MEDIAN_M
    raise refused(source, name, read, worded("want-median-between", low=low, high=high), mend)


def _size_in(kind: str, unit: str) -> Worded:
    return worded("size-in", kind=kind, unit=unit)


def _reread(size: Floats, spec: Size, kind: str, unit: str) -> Floats:
    stated = size * (np.pi if spec.kind == "girth" else 1.0) / si_factor("length", spec.unit)
    return stated * si_factor("length", unit) / (np.pi if kind == "girth" else 1.0)


def _believed(size: Floats, height: Floats) -> bool:
    low, high = BELIEVED_MEDIAN_M
    if not low <= np.nanmedian(size) <= high:
        return False
    slender = (height / size)[np.isfinite(height / size)]
    return len(slender) < ENOUGH_ROWS or MEDIAN_SLENDERNESS[0] <= float(np.median(slender)) <= MEDIAN_SLENDERNESS[1]


def _sizes(trees: pd.DataFrame, flags: NoteFlags, remarks: list[Said]) -> None:
    """Set aside single sizes no trunk of this inventory can have."""
    size = trees["diameter_m"].to_numpy()
    judged = size[~np.isnan(size) & ~is_set_aside(flags)]
    limit = LARGEST_DIAMETER_M
    if len(judged) >= ENOUGH_ROWS:
        limit = min(limit, max(DOUBTED_FROM_M, DOUBTED_TIMES_P99 * np.quantile(judged, 0.99)))
        mixed = float(np.mean(judged > MIXED_UNIT_DIAMETER_M))
        if mixed > MIXED_UNIT_SHARE:
            limit = min(limit, MIXED_UNIT_DIAMETER_M)
            remarks.append(said("ds-mixed-units", share=mixed, over=MIXED_UNIT_DIAMETER_M))
    with np.errstate(invalid="ignore"):
        flags[size > limit] |= Note.SIZE_BEYOND
        slender = trees["height_m"].to_numpy() / size
        flags[(slender < SLENDERNESS_RANGE[0]) | (slender > SLENDERNESS_RANGE[1])] |= Note.SIZE_AGAINST_HEIGHT


# --- rows that share something --------------------------------------------------------------------------------


def _same_spot(trees: pd.DataFrame, flags: NoteFlags) -> None:
    """Rows on one spot: the later of two is set aside, and all where so many share it that it is an address."""
    rows = np.flatnonzero(~is_set_aside(flags))
    if len(rows) < 2:
        return
    lat, lon = trees["lat_deg"].to_numpy()[rows], trees["lon_deg"].to_numpy()[rows]
    # points given alike are counted first: a city's filler on 40,000 rows would else come to 800 million pairs
    _, point, alike = np.unique(np.round(np.column_stack([lat, lon]), 7), axis=0, return_inverse=True,
                                return_counts=True)  # fmt: skip
    crowd = alike[point] >= SHARED_BY
    flags[rows[crowd]] |= Note.SHARED_POINT
    rows, lat, lon = rows[~crowd], lat[~crowd], lon[~crowd]
    if len(rows) < 2:
        return
    xy = np.column_stack(LocalFrame(*median_place(lat, lon)).to_metres(lat, lon))
    pairs = cKDTree(xy).query_pairs(SAME_SPOT_M, output_type="ndarray")
    if len(pairs) == 0:
        return
    sharing = np.bincount(pairs.ravel(), minlength=len(rows)) + 1
    crowd = sharing >= SHARED_BY
    flags[rows[crowd]] |= Note.SHARED_POINT
    pairs = np.sort(pairs[~crowd[pairs].any(axis=1)], axis=1)
    later, earlier = rows[pairs[:, 1]], rows[pairs[:, 0]]
    flags[later] |= Note.DUPLICATE
    same_as = trees["same_as"].to_numpy(copy=True)
    same_as[later] = trees["line"].to_numpy()[earlier]
    trees["same_as"] = same_as


def _same_id(trees: pd.DataFrame, flags: NoteFlags, remarks: list[Said]) -> None:
    named = (trees["id"] != "").to_numpy()
    repeated = trees["id"].duplicated(keep=False).to_numpy() & named
    flags[repeated] |= Note.SAME_ID
    if repeated.any():
        remarks.append(said("ds-shared-ids", count=int(repeated.sum())))


def _dates(trees: pd.DataFrame, flags: NoteFlags, remarks: list[Said]) -> None:
    """Drop filler years, and days that stand on so many rows that they are the day of an import."""
    planted = trees["planted"]
    filled = planted[planted != ""]
    if filled.empty:
        return
    year = pd.to_numeric(planted.str.extract(r"(?<!\d)(\d{4})(?!\d)")[0], errors="coerce")
    drop = (year < NULL_DATE_BEFORE_YEAR).to_numpy()
    # a bare year rightly stands on many trees; a whole day does not
    days = filled[filled.str.len() > 4]
    counts = days.value_counts()
    bulk = counts[(counts >= BULK_DATE_ROWS) & (counts >= BULK_DATE_SHARE * len(filled))]
    drop = drop | planted.isin(bulk.index).to_numpy()
    remarks.extend(said("ds-bulk-date", day=day, count=int(n)) for day, n in bulk.items())
    flags[drop] |= Note.DATE_DROPPED
    trees["planted"] = planted.mask(drop, "")
