"""The anchor: a tree, a boulder, or something else, as it was seen.

Stop signs and softer signs are asked one by one; "not looked" is an answer and never counts as "no".
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from siteassess.records.characters import forbidden_character
from siteassess.records.fields import (
    Angle,
    Answer,
    Bearing,
    BoulderSize,
    Code,
    Diameter,
    Force,
    Girth,
    Gust,
    HeightOnTrunk,
    IsoDate,
    Lean,
    Part,
    Sector,
    SiteLength,
    Slope,
    SmallLength,
    Text,
    Tilt,
    TreeHeight,
    asks,
    either,
    fault,
    shares,
)
from siteassess.records.site import Position
from siteassess.reference.findings import worded

How = Literal["taped", "calipers", "estimated", "copied", "unknown"]
BarkForm = Literal[
    "smooth", "papery", "flaking", "plated", "fine fissured", "deep ridged", "fibrous", "warty", "unknown"
]
RootState = Literal[
    "covered", "tips", "ridges up to 5 cm", "ridges over 5 cm", "undercut", "cut", "hard surface", "not looked"
]
Wetness = Literal["dry", "moist", "wet", "standing water", "frozen", "unknown"]
Texture = Literal["sand", "loam", "clay", "peat", "made ground", "rock", "unknown"]
Rock = Literal["granite", "limestone", "sandstone", "basalt", "schist", "other", "unknown"]
TreeStatus = Literal["ordinary", "heritage", "veteran", "memorial", "preservation order", "unknown"]
OUT_OF_THE_ORDINARY: tuple[TreeStatus, ...] = ("heritage", "veteran", "memorial", "preservation order")
Bed = Literal["rock", "gravel", "soil", "grass", "wet soil", "unknown"]


class TrunkReading(Part):
    """Girth or diameter with the height it was read at."""

    girth: Girth | None = shares("Girth over the bark, tape level", quick=True)
    diameter: Diameter | None = shares("Diameter over the bark, if no girth was taken")
    read_at: HeightOnTrunk = shares("Height above ground of the reading", ..., quick=True)
    how: How = shares("How it was read", "unknown", quick=True)

    @classmethod
    def misfit(cls, present: set[str]) -> tuple[str, str, str] | None:
        read = either(present, "girth", "diameter")
        wanted = worded("want-either", one="girth", other="diameter") if read else ""
        return (read, wanted, worded("mend-prefer-girth")) if read else None


class Stem(Part):
    """One of several stems on one foot, all inside the sling."""

    girth: Girth = shares("Girth over the bark at the height of the tie", ...)


class Species(Part):
    """Which kind of tree it is, and how sure that is."""

    name: Text = shares("Species or genus, scientific or common name; or: unknown", ..., quick=True)
    certainty: Literal["sure", "think so", "guess"] = shares("How sure", "guess", quick=True)
    leaf_type: Literal["broadleaf", "conifer", "palm", "unknown"] = shares(
        "Leaf type, if the kind is unknown", "unknown"
    )


class Bark(Part):
    form: BarkForm = shares("Form of the bark where the sling sits", "unknown", quick=True)
    thickness: SmallLength | None = shares(
        "Thickness of the bark, if it could be read at a wound or edge", example="15 mm"
    )
    firmness: Literal["tight", "slips easily", "unknown"] = shares("Firmness; do not peel to test", "unknown")
    resin: Literal["none", "some", "heavy", "unknown"] = shares("Resin or sap", "unknown")


class Hollow(Part):
    """What is known of decay inside, at one height."""

    height: HeightOnTrunk = shares("Height of the cavity above ground", ...)
    sound_wall: SmallLength | None = shares("Thickness of sound wood at its thinnest", example="12 cm")
    opening: Angle | None = shares("Opening, as degrees of the trunk's round")


class HardEdge(Part):
    """A kerb, trench or bank that cuts the root plate on one side."""

    what: Literal["kerb", "wall", "trench", "digging", "bank", "hard surface", "water"] = shares("What it is", ...)
    side: Sector = shares("Side of the tree it lies on", ...)
    distance: SiteLength = shares("Distance from the trunk's centre", ...)


class Roots(Part):
    """Root exposure by eight compass sectors."""

    N: RootState = shares("Roots to the north", "not looked", quick=True)
    NE: RootState = shares("Roots to the north-east", "not looked", quick=True)
    E: RootState = shares("Roots to the east", "not looked", quick=True)
    SE: RootState = shares("Roots to the south-east", "not looked", quick=True)
    S: RootState = shares("Roots to the south", "not looked", quick=True)
    SW: RootState = shares("Roots to the south-west", "not looked", quick=True)
    W: RootState = shares("Roots to the west", "not looked", quick=True)
    NW: RootState = shares("Roots to the north-west", "not looked", quick=True)
    flare: Literal["all round", "part", "none", "not looked"] = shares("Root flare visible", "not looked")


class Ground(Part):
    """What the trunk stands in: slope, soil, wetness, and an edge near it."""

    slope: Slope | None = shares("Slope of the ground at the trunk", quick=True)
    downhill: Bearing | None = shares("Bearing of the downhill direction, true", quick=True)
    texture: Texture = shares("Soil", "unknown")
    shallow: Answer = shares("Shallow soil over rock", "not looked")
    wetness: Wetness = shares("Wetness of the soil today", "unknown", quick=True)
    bare: Literal["none", "worn grass", "bare under 2 m2", "bare over 2 m2", "unknown"] = shares(
        "Worn ground", "unknown"
    )
    bank_distance: SiteLength | None = shares("Distance to an edge, bank or water")
    bank_side: Sector | None = shares("Side of that edge")


class Signs(Part):
    """Stop signs: any one "yes" beats every size."""

    dead_tree: Answer = shares("Dead tree: no leaves or live buds in most of the crown", "not looked", quick=True)
    soil_heave: Answer = shares("Soil mound, gap or cracks at the base", "not looked", quick=True)
    fresh_lean: Answer = shares("Fresh lean: leaning without having grown straight again", "not looked", quick=True)
    bracket_fungus: Answer = shares("Bracket fungus on the base or the root flare", "not looked", quick=True)
    stem_crack: Answer = shares("Crack through the stem or fork", "not looked", quick=True)
    undercut_roots: Answer = shares("Root plate undercut, by a stream, bank or digging", "not looked", quick=True)
    wide_opening: Answer = shares("Opening in the trunk over a third of its round", "not looked", quick=True)
    hanging_limb: Answer = shares("Hanging or dead limb over the line or standing place", "not looked", quick=True)
    nest_in_use: Answer = asks("Nest, hole or roost in use", "not looked", quick=True)
    posted_no: Answer = shares("Posted prohibition at this tree or place", "not looked", quick=True)


class SofterSigns(Part):
    """Signs that call for a closer look; none stops by itself."""

    hollow_sound: Answer = shares("Hollow sound, hole or cavity in the trunk", "not looked")
    loose_bark: Answer = shares("Loose, sunken or missing bark, or ooze", "not looked")
    old_damage: Answer = shares("Old line damage: polished, dented, bald or grown-in", "not looked")
    toadstools: Answer = shares("Toadstools within two or three metres", "not looked")
    thin_crown: Answer = shares("Thin crown or dead top", "not looked")
    corrected_lean: Answer = shares("Old lean, grown straight again", "not looked")


def _stays_beside_the_record(path: str) -> str:
    # records are shared: a path must not reach into another folder of whoever opens it
    if path.startswith(("/", "~")) or any(mark in path for mark in ("\\", ":")) or ".." in path.split("/"):
        raise fault(path, worded("want-path-below"), worded("mend-move-photo"))
    if bad := forbidden_character(path):
        raise fault(worded("read-character", name=bad), worded("want-plain-path"), worded("mend-rename-photo"))
    return path


class Trial(Part):
    """A trial load: how hard the tree was pulled, and how far the trunk's foot tilted under it."""

    date: IsoDate = shares("Day of the trial", ...)
    pull: Force = shares("Level pull at the tie, read off a load cell", ...)
    tie_height: HeightOnTrunk = shares("Height of the tie above ground in the trial", ...)
    toward: Bearing | None = shares("Bearing the tree was pulled toward, true", example="95 deg")
    tilt: Tilt | None = shares("Tilt of the trunk's foot under that pull, if any was read")
    finest: Tilt | None = shares("Least tilt the reading could have shown", example="0.1 deg")
    moved: Answer = shares("Soil lifted or cracked, roots or the trunk's foot moved", "not looked")
    wetness: Wetness = shares("Wetness of the soil that day", "unknown")


class Stood(Part):
    """The wind the tree has stood: a test it has passed, as long as nothing changed since."""

    exposed: Answer = shares("Stands in the open, nothing half its height within five heights", "not looked")
    changed: Answer = shares("Roots, trunk, crown or ground changed since that wind", "not looked")
    in_leaf: Answer = shares("In leaf in that wind; an evergreen always is", "not looked")
    gust: Gust | None = shares("Strongest gust at the nearest weather station, if looked up")
    station: Text | None = shares("That weather station, and the day")


class Photo(Part):
    path: Annotated[str, Field(min_length=1, max_length=300), AfterValidator(_stays_beside_the_record)] = asks(
        "Path, relative to the record", ...
    )
    shows: Text | None = asks("What it shows: whole tree, base, sling place, along the line")


class Tree(Part):
    """A tree."""

    kind: Literal["tree"] = shares("Kind of anchor", ..., quick=True)
    code: Code = shares("Own short code, unique in the record", ..., quick=True)
    tag: Text | None = shares("The manager's own tag number")
    name: Text | None = shares("Name or how to find it")
    status: TreeStatus = shares("Standing of the tree", "unknown")
    designated: Answer = shares("Named by the manager for lines", "not looked")
    position: Position | None = asks("Where it stands", quick=True)
    species: Species | None = asks("What kind of tree", quick=True)
    trunk: tuple[TrunkReading, ...] = asks("Girth or diameter readings, the one at the sling first", (), quick=True)
    stems: Literal["single", "fork above tie", "fork below tie", "several", "unknown"] = shares(
        "Stems", "unknown", quick=True
    )
    each_stem: tuple[Stem, ...] = asks("Each stem inside the sling, where there are several", ())
    fork_height: HeightOnTrunk | None = shares("Height of the lowest fork", example="3.5 m")
    height: TreeHeight | None = shares("Height of the tree", quick=True)
    height_how: Literal["measured", "estimated", "copied", "unknown"] = shares("How the height was got", "unknown")
    crown_base: SiteLength | None = shares("Height of the lowest branch", example="4 m")
    crown_spread: SiteLength | None = shares("Crown width, the mean of two paced widths")
    life_stage: Literal["young", "semi-mature", "early mature", "mature", "over-mature", "veteran", "unknown"] = shares(
        "Life stage", "unknown"
    )
    condition: Literal["sound", "stressed", "unknown"] = shares(
        "Condition; drought, pests or a thin crown make it stressed", "unknown"
    )
    use_so_far: Literal["none", "occasional", "weekly", "unknown"] = shares("How often lines hang here", "unknown")
    bark: Bark | None = asks("Bark", quick=True)
    lean: Lean | None = shares("Lean of the trunk off the plumb line", quick=True)
    lean_toward: Bearing | None = shares("Bearing it leans toward, true", quick=True)
    hollow: Hollow | None = asks("Cavity, if one is known")
    roots: Roots | None = asks("Root exposure by eight sectors", quick=True)
    hard_edges: tuple[HardEdge, ...] = asks("Kerbs, walls, trenches, banks near the trunk", ())
    hard_edge_near: Answer = shares(
        "Kerb, wall, trench, bank or digging within three trunk widths", "not looked", quick=True
    )
    ground: Ground | None = asks("Ground at the trunk", quick=True)
    signs: Signs = asks("Stop signs, each by itself", Signs, quick=True)
    softer_signs: SofterSigns = asks("Softer signs", SofterSigns)
    trial: Trial | None = asks("Trial load, if one was done")
    stood: Stood | None = asks("Wind the tree has stood, as it is now")
    photos: tuple[Photo, ...] = asks("Photos by relative path", ())
    source: Text | None = asks("Source of a copied row")
    notes: Text | None = asks("Notes")


class Boulder(Part):
    """A boulder, held by its own weight."""

    kind: Literal["boulder"] = shares("Kind of anchor", ..., quick=True)
    code: Code = shares("Own short code, unique in the record", ..., quick=True)
    name: Text | None = shares("Name or how to find it")
    position: Position | None = asks("Where it stands", quick=True)
    along_pull: BoulderSize | None = shares("Size along the pull")
    across_pull: BoulderSize | None = shares("Size across the pull")
    upright: BoulderSize | None = shares("Height above its bed")
    rock: Rock = shares("Rock", "unknown")
    bed: Bed = shares("What it lies on", "unknown")
    slope: Slope | None = shares("Slope of its bed")
    downhill: Bearing | None = shares("Bearing of the downhill direction, true")
    embedded: Literal["no", "partly", "deeply", "unknown"] = shares("Whether it is embedded", "unknown")
    edge_distance: SiteLength | None = shares("Distance to an edge it could slide over")
    edge_bearing: Bearing | None = shares("Bearing from the boulder to that edge, true")
    rocks_when_pushed: Answer = shares("Moves or rocks when pushed", "not looked")
    cracked: Answer = shares("Cracked or flaking where the sling sits", "not looked")
    posted_no: Answer = shares("Posted prohibition at this place", "not looked")
    photos: tuple[Photo, ...] = asks("Photos by relative path", ())
    notes: Text | None = asks("Notes")


class Other(Part):
    """A post, wall, rail, bolt or anything this program cannot judge."""

    kind: Literal["other"] = shares("Kind of anchor", ..., quick=True)
    code: Code = shares("Own short code, unique in the record", ..., quick=True)
    what: Text = shares("What it is: post, wall, rail, bolt", ...)
    position: Position | None = asks("Where it stands", quick=True)
    photos: tuple[Photo, ...] = asks("Photos by relative path", ())
    notes: Text | None = asks("Notes")


Anchor = Annotated[Tree | Boulder | Other, Field(discriminator="kind")]

# kept here so that readers of a record need not know pydantic
ANCHOR_KINDS: dict[str, type[Tree] | type[Boulder] | type[Other]] = {"tree": Tree, "boulder": Boulder, "other": Other}

__all__ = [
    "ANCHOR_KINDS", "Anchor", "Bark", "Boulder", "Ground", "HardEdge", "Hollow", "Other", "Photo",
    "Roots", "Signs", "SofterSigns", "Species", "Stem", "Stood", "Tree", "Trial", "TrunkReading",
]
