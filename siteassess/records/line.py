"""The planned line: two anchors, what hangs on it, how tight, how it is tied."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from siteassess.records.fields import (
    Answer,
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
    shares,
)
from siteassess.records.site import North
from siteassess.reference.findings import worded

EndName = Literal["A", "B"]
ENDS: tuple[EndName, EndName] = ("A", "B")
Use = Literal["hammock", "low line", "trick line", "long line", "high line", "aerial equipment"]
ON_FOOT: tuple[Use, ...] = ("low line", "trick line", "long line", "high line")
FROM_HEIGHT: tuple[Use, ...] = ("high line", "aerial equipment")  # a failure means a fall from height
GearKind = Literal["shackle", "connector", "leash ring", "leash", "pulley", "rope", "line lock", "webbing grip",
                   "brake", "ratchet", "other", "unknown"]
GearPlace = Literal["at the anchor", "in the line", "redirect", "leash", "hauling", "hauling left in", "backup",
                    "unknown"]
RatingIs = Literal["working load limit", "breaking strength", "unknown"]
Footing = Literal["feet braced", "standing", "slippery ground", "unknown"]
StageNumber = Annotated[int, Field(strict=True, ge=1, le=10)]
Wrap = Literal["basket", "doubled basket", "choker", "turns", "friction turns", "unknown"]


class Span(Part):
    """The taped distance between two anchors."""

    taped: SpanLength = shares("Taped distance between the trunks' centres", ..., quick=True)
    along: Literal["horizontal", "slope"] = shares("Tape held level, or along the ground", "horizontal", quick=True)
    slope: Slope | None = shares("Slope of the tape, B higher positive")
    how: Literal["taped", "laser", "paced", "estimated", "unknown"] = shares("How it was measured", "unknown")


class Compass(Part):
    """Bearings read from A to B and back."""

    out: Bearing | None = shares("Bearing read from A to B")
    back: Bearing | None = shares("Bearing read from B to A")
    north: North = shares("North it was read against", "magnetic")
    device: Literal["sighting compass", "phone", "map", "unknown"] = shares("What it was read with", "unknown")


class StretchPoint(Part):
    """One row of a webbing's own stretch table."""

    tension: Force = shares("Tension", ..., example="5 kN")
    stretch: Stretch = shares("Stretch at that tension, of the slack length", ...)


class Webbing(Part):
    """What the line is made of; of several pieces each is one."""

    kind: Text | None = shares("Class of webbing", quick=True, table="webbing")
    width: Width | None = shares("Width")
    mass: MassPerLength | None = shares("Mass a metre")
    stiffness: Stiffness | None = shares("Stiffness EA: pull over stretch, as if it could double its length")
    stretch: tuple[StretchPoint, ...] = asks("Or its stretch by tension, from the maker's sheet or a test, rising", ())
    strength: Strength | None = shares("Rated breaking strength")
    held_by: Text | None = shares("What holds its ends: sewn eye, webbing lock or a knot", table="knots")
    length: SiteLength | None = shares("Length of the piece, slack", example="30 m")


class Standing(Part):
    """How tight the line stands with nobody on it."""

    tension: Force | None = shares("Standing tension, nobody on the line", quick=True)
    how: Literal["load cell", "estimate", "hauling sum", "maker's figure", "guess"] = shares(
        "How the tension was got", "guess", quick=True
    )
    # a sag tells a tension only with the walker's mass, and no mass of a person leaves the officers
    sag: SiteLength | None = asks("Or: sag under a known walker, measured at the walker", example="1.4 m")
    sag_under: Mass | None = asks("Mass of that walker")

    @classmethod
    def misfit(cls, present: set[str]) -> tuple[str, str, str] | None:
        if {"tension", "sag"} <= present:
            both = {"one": "tension", "other": "sag"}
            return worded("read-both", **both), worded("want-either", **both), worded("mend-leave-one-out")
        if "sag" in present and "sag_under" not in present:
            read = worded("read-without", one="sag", other="sag_under")
            return read, worded("want-sag-under"), worded("mend-add-key", key="sag_under")
        return None


class Walkers(Part):
    """Who is on the line, what they do there, and what catches them."""

    mass: Mass | None = asks("Mass of the heaviest walker with gear", quick=True)
    at_once: Annotated[int, Field(strict=True, ge=1, le=20)] | None = shares("People on the line at once")
    movement: Literal["walk only, no bouncing", "bounced or jumped on", "unknown"] = shares(
        "What is done on it", "unknown", quick=True
    )
    leash: LeashLength | None = shares("Length of the leash, high lines")
    leash_kind: Literal["dynamic rope", "low-stretch rope", "webbing", "unknown"] = shares(
        "What the leash is made of, high lines", "unknown"
    )


class Sling(Part):
    """What holds the line to one anchor."""

    kind: Literal["round sling", "flat sling", "rope", "webbing", "unknown"] = shares("What it is", "unknown")
    wrap: Wrap = shares("How it goes round the trunk", "unknown", quick=True)
    width: Width | None = shares("Bearing width of one strand", quick=True)
    strands: Annotated[int, Field(strict=True, ge=1, le=12)] = shares("Strands that all run to the link", 1)
    link_distance: SiteLength | None = shares("Distance from the trunk's centre to the link", example="0.8 m")
    length: SiteLength | None = shares("Length, end to end in use", example="3 m")
    off_middle: OffMiddle | None = shares("Angle of the pull off the middle of the legs, if the link cannot slide")
    choke_angle: StrandAngle | None = shares("Angle between leg and loop at a choker's eye, if it is pulled down tight")
    rating: Strength | None = shares("Rated strength")
    rating_is: RatingIs = shares("What the rating means", "unknown")


class Padding(Part):
    """What lies between sling and bark."""

    material: Text | None = shares("Material", quick=True, table="pads")
    thickness: SmallLength | None = shares("Thickness", example="10 mm")
    width: SmallLength | None = shares("Height along the trunk", example="30 cm")
    goes_round: Literal["whole trunk", "contact only", "unknown"] = shares("How far it goes round", "unknown")
    slats: Annotated[int, Field(strict=True, ge=0, le=60)] = shares("Number of slats", 0)
    slat_width: SmallLength | None = shares("Width of a slat")
    slat_thickness: SmallLength | None = shares("Thickness of a slat", example="15 mm")
    slat_length: SmallLength | None = shares("Length of a slat along the trunk", example="20 cm")


class End(Part):
    """One end of a line."""

    anchor: Code = shares("Code of the anchor", ..., quick=True)
    tie_height: HeightOnTrunk | None = shares("Height of the tie above ground", quick=True)
    sling: Sling | None = asks("Sling planned", quick=True)
    padding: Padding | None = asks("Padding planned", quick=True)


class GroundPoint(Part):
    at: SiteLength = shares("Distance from A along the span", ...)
    height: Offset = shares("Height of the ground there over the ground at A; below is negative", ...)


class GroundBelow(Part):
    at: SiteLength = shares("Distance from A along the span", ...)
    down: SiteLength = shares("Taped from the string straight down to the ground", ..., example="1.6 m")


class Planned(Part):
    """When the line is up, and whether somebody stays with it."""

    date: IsoDate | None = asks("Day the line is up", quick=True)
    until: IsoDate | None = asks("Last day, if more than one")
    start: ClockTime | None = asks("Time it goes up, 24 hours")
    end: ClockTime | None = asks("Time it comes down, 24 hours")
    attended: Literal["always", "not always", "unknown"] = asks("Somebody at the line all the time", "unknown")
    time_under_tension: Hours | None = asks("Time it stands tight")


class Gear(Part):
    """One rated piece in the line, held against the load of its own place."""

    # own words may name whose it is, or a tree: kind, place and rating tell members the rest
    what: Text | None = asks("What it is, in own words")
    kind: GearKind = shares("Kind of piece", "unknown")
    place: GearPlace = shares(
        "Where it sits, which decides its load; hauling gear is taken out unless left in", "unknown"
    )
    end: Literal["A", "B", "unknown"] = shares("End of the line it sits at", "unknown")
    strand_angle: StrandAngle | None = shares(
        "Angle between the two strands that pull on a redirect; 0 is side by side"
    )
    stage: StageNumber | None = shares("Pulley system it is in, 1 at the hands")
    rating: Strength | None = shares("Rated strength")
    rating_is: RatingIs = shares("What the rating means", "unknown")
    knot: Text | None = shares("Knot in it", table="knots")

    @property
    def name(self) -> str:
        """What to call it."""
        return self.what or (self.kind if self.kind != "unknown" else "piece of gear")


class HaulStage(Part):
    """One pulley system; several in series pull on one another."""

    ratio: Annotated[int, Field(strict=True, ge=1, le=20)] = shares("Strands that pull on the line: 3 for 3 to 1", ...)
    sheave: Text | None = shares("What the rope runs over", table="sheaves")
    redirect: YesNo | None = shares("Pulled through one more sheave that only turns the rope")


class Crew(Part):
    """Who tightens the line, with what."""

    people: Annotated[int, Field(strict=True, ge=1, le=20)] = shares("People pulling", ...)
    stages: tuple[HaulStage, ...] = asks("Pulley systems in series, from the hands to the line", ())
    footing: Footing = shares("How they stand", "unknown")
    pull_each: Force | None = shares("Pull of one person, if it was ever weighed", example="400 N")
    friction_grip: YesNo | None = shares("A friction grip holds the line while pulling")
    re_tensioned: Annotated[int, Field(strict=True, ge=0, le=10)] = shares(
        "Times it is pulled up again after a walk", 0
    )


class BackupLine(Part):
    """The line that catches if the main one fails."""

    extra_length: SiteLength | None = shares("How much longer it is than the straight way across", example="2 m")
    kind: Text | None = shares("Class of webbing", table="webbing")
    stiffness: Stiffness | None = shares("Stiffness EA, if it is in no class")


class Line(Part):
    """A planned line."""

    id: Code = shares("Own short code, unique in the record", ..., quick=True, example="L1")
    name: Text | None = shares("Name")
    use: Use = shares("What it is for", ..., quick=True)
    a: End = asks("End A", ..., quick=True)
    b: End = asks("End B", ..., quick=True)
    span: Span | None = asks("Span", quick=True)
    compass: Compass | None = asks("Bearings read with a compass")
    webbing: Webbing | None = asks("Webbing", quick=True)
    sections: tuple[Webbing, ...] = asks("Webbings joined end to end, from A, instead of one webbing", ())
    standing: Standing | None = asks("How tight it stands", quick=True)
    crew: Crew | None = asks("Who tightens it, with what")
    walkers: Walkers | None = asks("Who is on it", quick=True)
    ground_between: Literal["level or rising, no dip", "dips somewhere", "unknown"] = shares(
        "Ground under the line, from foot to foot", "unknown", quick=True
    )
    open_below: SiteLength | None = shares(
        "High lines: how deep it is open under the line, at the deepest", quick=True, example="8 m"
    )
    ground: tuple[GroundPoint, ...] = asks("Ground profile under the line, taped from A", ())
    ground_below: tuple[GroundBelow, ...] = asks("Or: taped down from a string between the ties, last at B", ())
    mid_height: SiteLength | None = shares(
        "Height of the line over ground at mid-span with the walker on, if measured", example="0.5 m"
    )
    power_line: Answer = shares(
        "Power line or rail wire over the line, or within 30 m of it", "not looked", quick=True
    )
    keep_clear: SmallLength | None = shares("Height the feet are to keep over the ground everywhere", example="30 cm")
    backup: Literal["none", "same tree", "other tree", "unknown"] = shares("Backup anchor", "unknown")
    backup_line: BackupLine | None = asks("Backup line")
    gear: tuple[Gear, ...] = asks("Rated pieces", ())
    planned: Planned | None = asks("When", quick=True)
    notes: Text | None = asks("Notes")

    @property
    def ends(self) -> tuple[End, End]:
        return (self.a, self.b)

    def at(self, end: EndName) -> End:
        return self.a if end == "A" else self.b


class MeasuredPair(Part):
    """Tape and compass between two places that no planned line joins: a diagonal to check the others by."""

    a: Code = asks("Code of an anchor or landmark", ...)
    b: Code = asks("Code of the other", ...)
    span: Span | None = asks("Distance between the two")
    compass: Compass | None = asks("Bearings read between the two")
