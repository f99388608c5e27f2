"""The planned line: two anchors, what hangs on it, how tight, how it is tied."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from siteassess.records.fields import (
    Bearing,
    ClockTime,
    Code,
    Force,
    HeightOnTrunk,
    Hours,
    IsoDate,
    LeashLength,
    Mass,
    MassPerLength,
    OffMiddle,
    Offset,
    Part,
    SiteLength,
    Slope,
    SmallLength,
    SpanLength,
    Stiffness,
    StrandAngle,
    Strength,
    Stretch,
    Text,
    Width,
    YesNo,
    asks,
)
from siteassess.records.site import North

Use = Literal["hammock", "low line", "trick line", "long line", "high line", "aerial equipment"]
GearKind = Literal["shackle", "connector", "leash ring", "leash", "pulley", "rope", "line lock", "webbing grip",
                   "brake", "ratchet", "other", "unknown"]  # fmt: skip
GearPlace = Literal["at the anchor", "in the line", "redirect", "leash", "hauling", "hauling left in", "backup",
                    "unknown"]  # fmt: skip
Stage = Annotated[int, Field(strict=True, ge=1, le=10)]
Wrap = Literal["basket", "doubled basket", "choker", "turns", "friction turns", "unknown"]


class Span(Part):
    taped: SpanLength = asks("Taped distance between the trunks' centres", ..., quick=True)
    along: Literal["horizontal", "slope"] = asks("Tape held level, or along the ground", "horizontal", quick=True)
    slope: Slope | None = asks("Slope of the tape, B higher positive")
    how: Literal["taped", "laser", "paced", "estimated", "unknown"] = asks("How it was measured", "unknown")


class Compass(Part):
    """Bearings read from A to B and back."""

    out: Bearing | None = asks("Bearing read from A to B")
    back: Bearing | None = asks("Bearing read from B to A")
    north: North = asks("North it was read against", "magnetic")
    device: Literal["sighting compass", "phone", "map", "unknown"] = asks("What it was read with", "unknown")


class StretchPoint(Part):
    """One row of a webbing's own stretch table."""

    tension: Force = asks("Tension", ..., example="5 kN")
    stretch: Stretch = asks("Stretch at that tension, of the slack length", ...)


class Webbing(Part):
    kind: Text | None = asks("Class of webbing, see: siteassess tables webbing", quick=True)
    width: Width | None = asks("Width")
    mass: MassPerLength | None = asks("Mass a metre")
    stiffness: Stiffness | None = asks("Stiffness EA: pull over stretch, as if it could double its length")
    stretch: tuple[StretchPoint, ...] = asks("Or its stretch by tension, from the maker's sheet or a test, rising", ())
    strength: Strength | None = asks("Rated breaking strength")
    held_by: Text | None = asks("What holds its ends: sewn eye, webbing lock or a knot, see: siteassess tables knots")
    length: SiteLength | None = asks("Length of the piece, slack", example="30 m")


class Standing(Part):
    """How tight the line stands with nobody on it."""

    tension: Force | None = asks("Standing tension, nobody on the line", quick=True)
    how: Literal["load cell", "estimate", "hauling sum", "maker's figure", "guess"] = asks(
        "How the tension was got", "guess", quick=True
    )
    sag: SiteLength | None = asks("Or: sag under a known walker, measured at the walker", example="1.4 m")
    sag_under: Mass | None = asks("Mass of that walker")

    @classmethod
    def misfit(cls, present: set[str]) -> tuple[str, str, str] | None:
        if {"tension", "sag"} <= present:
            return "both tension and sag", "either tension or sag", "Leave one out."
        if "sag" in present and "sag_under" not in present:
            return "sag without sag_under", "the mass of the walker the sag was measured under", "Add `sag_under:`."
        return None


class Walkers(Part):
    mass: Mass | None = asks("Mass of the heaviest walker with gear", quick=True)
    at_once: Annotated[int, Field(strict=True, ge=1, le=20)] = asks("People on the line at once", 1)
    movement: Literal["walk only, no bouncing", "bounced or jumped on", "unknown"] = asks(
        "What is done on it", "unknown", quick=True
    )
    leash: LeashLength | None = asks("Length of the leash, high lines")
    leash_kind: Literal["dynamic rope", "low-stretch rope", "webbing", "unknown"] = asks(
        "What the leash is made of, high lines", "unknown"
    )


class Sling(Part):
    """What holds the line to one anchor."""

    kind: Literal["round sling", "flat sling", "rope", "webbing", "unknown"] = asks("What it is", "unknown")
    wrap: Wrap = asks("How it goes round the trunk", "unknown", quick=True)
    width: Width | None = asks("Bearing width of one strand", quick=True)
    strands: Annotated[int, Field(strict=True, ge=1, le=12)] = asks("Strands that all run to the link", 1)
    link_distance: SiteLength | None = asks("Distance from the trunk's centre to the link", example="0.8 m")
    length: SiteLength | None = asks("Length, end to end in use", example="3 m")
    off_middle: OffMiddle | None = asks("Angle of the pull off the middle of the legs, if the link cannot slide")
    choke_angle: StrandAngle | None = asks("Angle between leg and loop at a choker's eye, if it is pulled down tight")
    rating: Strength | None = asks("Rated strength")
    rating_is: Literal["working load limit", "breaking strength", "unknown"] = asks("What the rating means", "unknown")


class Padding(Part):
    material: Text | None = asks("Material, see: siteassess tables pads", quick=True)
    thickness: SmallLength | None = asks("Thickness", example="10 mm")
    width: SmallLength | None = asks("Height along the trunk", example="30 cm")
    goes_round: Literal["whole trunk", "contact only", "unknown"] = asks("How far it goes round", "unknown")
    slats: Annotated[int, Field(strict=True, ge=0, le=60)] = asks("Number of slats", 0)
    slat_width: SmallLength | None = asks("Width of a slat")
    slat_thickness: SmallLength | None = asks("Thickness of a slat", example="15 mm")
    slat_length: SmallLength | None = asks("Length of a slat along the trunk", example="20 cm")


class End(Part):
    """One end of a line."""

    anchor: Code = asks("Code of the anchor", ..., quick=True)
    tie_height: HeightOnTrunk | None = asks("Height of the tie above ground", quick=True)
    sling: Sling | None = asks("Sling planned", quick=True)
    padding: Padding | None = asks("Padding planned", quick=True)


class GroundPoint(Part):
    at: SiteLength = asks("Distance from A along the span", ...)
    height: Offset = asks("Height of the ground there over the ground at A; below is negative", ...)


class GroundBelow(Part):
    at: SiteLength = asks("Distance from A along the span", ...)
    down: SiteLength = asks("Taped from the string straight down to the ground", ..., example="1.6 m")


class Planned(Part):
    date: IsoDate | None = asks("Day the line is up", quick=True)
    until: IsoDate | None = asks("Last day, if more than one")
    start: ClockTime | None = asks("Time it goes up, 24 hours")
    end: ClockTime | None = asks("Time it comes down, 24 hours")
    attended: Literal["always", "not always", "unknown"] = asks("Somebody at the line all the time", "unknown")
    time_under_tension: Hours | None = asks("Time it stands tight")


class Gear(Part):
    """One rated piece in the line, held against the load of its own place."""

    what: Text | None = asks("What it is, in own words")
    kind: GearKind = asks("Kind of piece, see: siteassess tables gear", "unknown")
    place: GearPlace = asks(
        "Where it sits, which decides its load; hauling gear is taken out unless left in", "unknown"
    )
    end: Literal["A", "B", "unknown"] = asks("End of the line it sits at", "unknown")
    strand_angle: StrandAngle | None = asks("Angle between the two strands that pull on a redirect; 0 is side by side")
    stage: Stage | None = asks("Pulley system it is in, 1 at the hands")
    rating: Strength | None = asks("Rated strength")
    rating_is: Literal["working load limit", "breaking strength", "unknown"] = asks("What the rating means", "unknown")
    knot: Text | None = asks("Knot in it, see: siteassess tables knots")

    @property
    def name(self) -> str:
        """What to call it."""
        return self.what or (self.kind if self.kind != "unknown" else "piece of gear")


class HaulStage(Part):
    """One pulley system; several in series pull on one another."""

    ratio: Annotated[int, Field(strict=True, ge=1, le=20)] = asks("Strands that pull on the line: 3 for 3 to 1", ...)
    sheave: Text | None = asks("What the rope runs over, see: siteassess tables sheaves")
    redirect: YesNo | None = asks("Pulled through one more sheave that only turns the rope")


class Crew(Part):
    """Who tightens the line, with what."""

    people: Annotated[int, Field(strict=True, ge=1, le=20)] = asks("People pulling", ...)
    stages: tuple[HaulStage, ...] = asks("Pulley systems in series, from the hands to the line", ())
    footing: Literal["feet braced", "standing", "slippery ground", "unknown"] = asks("How they stand", "unknown")
    pull_each: Force | None = asks("Pull of one person, if it was ever weighed", example="400 N")
    friction_grip: YesNo | None = asks("A friction grip holds the line while pulling")
    re_tensioned: Annotated[int, Field(strict=True, ge=0, le=10)] = asks("Times it is pulled up again after a walk", 0)


class BackupLine(Part):
    """The line that catches if the main one fails."""

    extra_length: SiteLength | None = asks("How much longer it is than the straight way across", example="2 m")
    kind: Text | None = asks("Class of webbing, see: siteassess tables webbing")
    stiffness: Stiffness | None = asks("Stiffness EA, if it is in no class")


class Line(Part):
    """A planned line."""

    id: Code = asks("Own short code, unique in the record", ..., quick=True, example="L1")
    name: Text | None = asks("Name")
    use: Use = asks("What it is for", ..., quick=True)
    a: End = asks("End A", ..., quick=True)
    b: End = asks("End B", ..., quick=True)
    span: Span | None = asks("Span", quick=True)
    compass: Compass | None = asks("Bearings read with a compass")
    webbing: Webbing | None = asks("Webbing", quick=True)
    sections: tuple[Webbing, ...] = asks("Webbings joined end to end, from A, instead of one webbing", ())
    standing: Standing | None = asks("How tight it stands", quick=True)
    crew: Crew | None = asks("Who tightens it, with what")
    walkers: Walkers | None = asks("Who is on it", quick=True)
    ground_between: Literal["level or rising, no dip", "dips somewhere", "unknown"] = asks(
        "Ground under the line, from foot to foot", "unknown", quick=True
    )
    open_below: SiteLength | None = asks(
        "High lines: how deep it is open under the line, at the deepest", quick=True, example="8 m"
    )
    ground: tuple[GroundPoint, ...] = asks("Ground profile under the line, taped from A", ())
    ground_below: tuple[GroundBelow, ...] = asks("Or: taped down from a string between the ties, last at B", ())
    mid_height: SiteLength | None = asks(
        "Height of the line over ground at mid-span with the walker on, if measured", example="0.5 m"
    )
    keep_clear: SmallLength | None = asks("Height the feet are to keep over the ground everywhere", example="30 cm")
    backup: Literal["none", "same tree", "other tree", "unknown"] = asks("Backup anchor", "unknown")
    backup_line: BackupLine | None = asks("Backup line")
    gear: tuple[Gear, ...] = asks("Rated pieces", ())
    planned: Planned | None = asks("When", quick=True)
    notes: Text | None = asks("Notes")

    @property
    def ends(self) -> tuple[End, End]:
        return (self.a, self.b)


class MeasuredPair(Part):
    """Tape and compass between two places that no planned line joins: a diagonal to check the others by."""

    a: Code = asks("Code of an anchor or landmark", ...)
    b: Code = asks("Code of the other", ...)
    span: Span | None = asks("Distance between the two")
    compass: Compass | None = asks("Bearings read between the two")
