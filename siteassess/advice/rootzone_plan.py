"""The ground over the roots: protection radius by the named standard, what stands on it, wet ground and rest."""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteassess.advice.care_results import RootZonePlan
from siteassess.advice.finding import Finding, found
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.rootzone import (
    as4970_structural_radius,
    band_overlap,
    circles_overlap,
    equivalent_diameter,
    protection_radius,
)
from siteassess.records.anchor import Tree
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import document, rows

PEOPLE_HALF_WIDTH_M = constant("people half width")
WATCHERS_RADIUS_M = constant("watchers radius")
# how the record's soils are called in the table of bulk densities; loam and clay at their loosest row
SOIL_ROWS = {"sand": "loamy sand, sand", "loam": "loam", "clay": "clay, silt loam"}
WET = ("wet", "standing water")
BARE = ("bare under 2 m2", "bare over 2 m2")
CRITICAL_RADIUS = {f"critical root radius {feet} ft/in": float(feet) for feet in ("1.0", "1.25", "1.5")}
WORN = {
    "worn grass": "grass-worn", "bare under 2 m2": "ground-bare-in-places", "bare over 2 m2": "ground-bare-all-about",
}  # fmt: skip


def root_zone_radius(tree: TreeInputs, standard: str, stems: tuple[float, ...] = ()) -> float | None:
    """Protection radius by the standard the site names [m]; None where the size it asks for is not known.

    It goes by the trunk at breast height, so that a tree has one, whatever the height of a tie.

    Parameters
    ----------
    stems : tuple of float, optional
        Diameters of several stems on one foot, which stand for one by BS 5837 [m].
    """
    feet = CRITICAL_RADIUS.get(standard, 1.5)
    name = "critical root radius" if standard in CRITICAL_RADIUS else standard
    crown = tree.crown_width / 2 if math.isfinite(tree.crown_width) else None
    diameter = equivalent_diameter(stems) if len(stems) > 1 else tree.root_diameter
    if name == "DIN 18920":
        return None if crown is None else float(protection_radius(name, math.nan, crown_radius=crown))
    if not math.isfinite(diameter):
        return None
    return float(protection_radius(name, diameter, feet_per_inch=feet))


def stems_of(tree: Tree) -> tuple[float, ...]:
    """Diameters of the stems that were measured one by one [m]."""
    return tuple(stem.girth.si / math.pi for stem in tree.each_stem)


def root_zone_plan(
    tree: TreeInputs, recorded: Tree, standard: str, span: float | None, watchers: tuple[float, ...] = (),
) -> RootZonePlan:  # fmt: skip
    """The root zone of one end of a line.

    Parameters
    ----------
    span : float or None
        Of the line [m]; the ground under its own half is people's ground.
    watchers : tuple of float
        Distances of the places marked for watchers from the trunk [m].
    """
    stems = stems_of(recorded)
    radius = root_zone_radius(tree, standard, stems)
    under = watched = share = None
    if radius is not None and span:
        under = float(band_overlap(radius, 0.0, span / 2, PEOPLE_HALF_WIDTH_M))
        share = under / (math.pi * radius**2)
    if radius is not None and watchers:
        watched = sum(float(circles_overlap(radius, WATCHERS_RADIUS_M, apart)) for apart in watchers)
    return RootZonePlan(
        standard=standard, radius_m=radius, area_m2=None if radius is None else math.pi * radius**2,
        structural_radius_m=_structural(tree, stems),
        under_line_m2=under, under_line_share=share, watchers_m2=watched,
        told=tuple(_advice(recorded, standard, radius, span, share, watched, stems)),
        mats=recorded.ground is not None and (recorded.ground.wetness in WET or recorded.ground.bare in BARE),
    )  # fmt: skip


def _structural(tree: TreeInputs, stems: tuple[float, ...]) -> float | None:
    """AS 4970's structural root zone; the size above the root crown is not less than the one read [m]."""
    diameter = equivalent_diameter(stems) if len(stems) > 1 else tree.root_diameter
    return float(as4970_structural_radius(diameter)) if math.isfinite(diameter) else None


def _advice(
    recorded: Tree, standard: str, radius: float | None, span: float | None, share: float | None,
    watched: float | None, stems: tuple[float, ...],
) -> Iterator[Said]:  # fmt: skip
    if radius is None:
        yield said("radius-wants-the-crown" if standard == "DIN 18920" else "radius-wants-the-trunk", standard=standard)
    if recorded.stems == "several" and len(stems) < 2:
        yield said("measure-each-stem")
    elif len(stems) > 1:
        yield said("stems-stand-for-one", stems=len(stems), size=float(equivalent_diameter(stems)))
    if share is not None and radius is not None and span:
        yield said("zone-under-the-line" if radius < span / 2 else "zone-past-the-middle", share=share, radius=radius)
    if watched:
        yield said("watchers-on-the-roots", area=watched)
    yield from _ground(recorded)


def _ground(recorded: Tree) -> Iterator[Said]:
    ground = recorded.ground
    if ground is None:
        yield said("ground-unseen-at-the-trunk")
        return
    if ground.wetness in WET or ground.wetness == "unknown":
        yield from (said("the-table-says", told=row["do"]) for row in document("rootzones")["wet_ground"][:2])
    if ground.bare in WORN:
        yield said(WORN[ground.bare])
    wanted = SOIL_ROWS.get(ground.texture)
    row = next((row for row in rows("soil_bulk_density") if row.texture == wanted), None)
    if row is not None and row.stops_roots_low_g_cm3:
        high = (said("up-to", high=row.stops_roots_high_g_cm3),) if row.stops_roots_high_g_cm3 else ()
        yield said("soil-trodden-to", soil=ground.texture, low=row.stops_roots_low_g_cm3, high=high)


def ground_findings(recorded: Tree) -> list[Finding]:
    """What the state of the ground asks for before a line hangs there."""
    ground = recorded.ground
    told: list[Finding] = []
    if ground is None:
        return told
    if ground.wetness == "standing water":
        told.append(found("water-over-the-roots", "suits if"))
    if ground.bare == "bare over 2 m2":
        told.append(found("roots-trodden-bare", "suits if"))
    return told
