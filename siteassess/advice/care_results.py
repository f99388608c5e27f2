"""What the plan for a trunk's skin and feet answers: movement, pads, wrap, root zone, season. Plain frozen shapes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from siteassess.reference.findings import English, Said, said


@dataclass(frozen=True)
class Movement:
    """How the sling moves on the bark while the line is in use."""

    swing_deg: float  # of the pull, to either side
    slide_m: float  # along the bark at the touch-down
    rubbed_inwards_deg: float  # from the touch-down, by that slide
    up_down_m: float  # along the stem at the touch-down
    link_sideways_m: float | None  # of the link, to either side
    dip_low_deg: float  # of the pull below level
    dip_high_deg: float
    half_angle_low_deg: float  # between a leg and the line of pull
    half_angle_high_deg: float

    @property
    def rubs(self) -> bool:
        return self.swing_deg > 0.0 or self.rubbed_inwards_deg > 0.0 or self.up_down_m > 0.0

    def told(self) -> tuple[Said, ...]:
        if not self.rubs:
            return (said("nothing-moves"),)
        return (said("pull-swings", swing=self.swing_deg),
                self._dips(), said("sling-creeps-along", slide=self.slide_m))  # fmt: skip

    def _dips(self) -> Said:
        """How the pull lies to level; what would be written as no degrees is no side of it."""
        low, high = (round(dip, 1) for dip in (self.dip_low_deg, self.dip_high_deg))
        if low >= 0:
            return said("pull-dips", low=self.dip_low_deg, high=self.dip_high_deg, moves=self.up_down_m)
        if high <= 0:
            return said("pull-rises", low=-self.dip_high_deg, high=-self.dip_low_deg, moves=self.up_down_m)
        return said("pull-rises-and-dips", above=-self.dip_low_deg, below=self.dip_high_deg, moves=self.up_down_m)


@dataclass(frozen=True)
class PadsAsked:
    """What the rules of the place ask of pads and slings, so that a plan and its packing list meet them."""

    all_round: bool = False
    height_m: float = 0.0
    height_in_slings: float = 0.0  # over the width of the strands
    thickness_m: float = 0.0
    sling_width_m: float = 0.0
    most_sling_width_m: float = math.inf
    closed: tuple[int, ...] = ()  # months
    place: str = ""


@dataclass(frozen=True)
class PadChoice:
    """One material that may go between sling and bark, and what it does to the pressure."""

    material: str
    kind: str  # bought or improvised
    stiffness: str
    thickness_m: float
    pressure_pa: float | None  # under the sling with it
    does: str
    does_not: str


@dataclass(frozen=True)
class SlatChoice:
    """Slats of one kind under the sling: the fewest that help, or why they do not."""

    what: str
    width_m: float
    length_m: float
    thickness_m: float
    count: int | None  # None: no number of them brings the pressure down
    pressure_pa: float | None
    told: Said
    says = English("told")


@dataclass(frozen=True)
class RootZonePlan:
    """Protection area of a tree's roots, and what stands on it."""

    standard: str
    radius_m: float | None
    area_m2: float | None
    structural_radius_m: float | None  # AS 4970: the roots that hold the tree upright
    under_line_m2: float | None  # of the area, where people stand and fall along the line
    under_line_share: float | None
    watchers_m2: float | None  # of the area, where watchers stand; None where no place was marked
    told: tuple[Said, ...]
    advice = English("told")
    mats: bool = False  # whether the ground asks for mats to stand on


@dataclass(frozen=True)
class SeasonWindow:
    """A window of the year that bears on one tree."""

    kind: str
    what: str
    region: str
    start: str  # month-day
    end: str
    open: bool  # on the day of the line
    do: str
    source: str
    flag: str

    @property
    def told(self) -> Said:
        if (self.start, self.end) == ("01-01", "12-31"):
            return said("window-all-year", what=self.what, region=self.region, do=self.do)
        return said("window-of-the-year", what=self.what, region=self.region, start=self.start, end=self.end,
                    do=self.do)  # fmt: skip


@dataclass(frozen=True)
class Hygiene:
    """One thing to keep clean, and what it needs bringing."""

    code: str
    do: str
    brings: Literal["", "disinfectant"] = ""


@dataclass(frozen=True)
class SeasonPlan:
    """The year of one tree: the day of the line, the windows, twelve months for the bar, and what to keep clean."""

    growing: bool
    known: bool  # False: hemisphere or kind not known, taken at its worst
    hemisphere: str
    months: tuple[dict[str, bool], ...]
    windows: tuple[SeasonWindow, ...]
    hygiene: tuple[Hygiene, ...]
    told: tuple[Said, ...]
    advice = English("told")


@dataclass(frozen=True)
class Arc:
    """Part of the trunk's round, clockwise from `start_deg` to `end_deg`, degrees true."""

    kind: Literal["rub", "press", "free"]
    start_deg: float
    end_deg: float


@dataclass(frozen=True)
class Protection:
    """How to tie and pad one trunk. Lengths in metres."""

    trunk_diameter_m: float
    wrap: str
    why_wrapped: tuple[Said, ...]
    sling_length_m: float | None
    sling_width_m: float | None
    strands: int
    link_distance_m: float | None
    leg_angle_deg: float | None
    strand_tension_n: float | None
    pressure_pa: float | None
    peak_pressure_pa: float | None
    reference_pa: float | None
    read: Said
    arcs: tuple[Arc, ...]
    pad_length_m: float | None
    pad_height_m: float | None
    pad_thickness_m: float | None
    pad_material: str
    slats: int
    slat_width_m: float | None
    slat_length_m: float | None
    slat_thickness_m: float | None
    told: tuple[Said, ...]
    root_zone_radius_m: float | None = None
    root_zone_standard: str = ""
    pad_scope: str = ""  # "rub arcs only", "contact" or "whole trunk"
    pad_pieces: int = 1  # each of pad_length_m
    pad_choices: tuple[PadChoice, ...] = ()
    slat_choices: tuple[SlatChoice, ...] = ()
    ridge_pressure_pa: float | None = None  # where rough bark really touches
    movement: Movement | None = None
    sling_kind: str = "unknown"
    rope_length_m: float | None = None  # with two knots and their tails
    better_link_m: float | None = None  # sets the legs 60 degrees apart
    slide_use: float | None = None  # share of the friction that creep along the stem uses
    rub_use: float | None = None  # share of half the bark's bond that dragging friction uses
    root_zone: RootZonePlan | None = None
    season: SeasonPlan | None = None
    pressing_case: str = "standing"  # the load case that `pressure_pa` is of
    instead: Protection | None = None  # the tie that the verdict or the place's rules ask for, where it is another one
    replaced: Said | None = None  # of such a tie: what of the planned one it replaces; None if none was planned
    asker: Said | None = None  # of such a tie: who asks for it
    wrap_reasons, advice = English("why_wrapped"), English("told")
    instead_of, asked_by, reading = English("replaced"), English("asker"), English("read")

    @property
    def asked(self) -> Protection:
        """The tie to bring the gear for: the one asked for, else the planned one."""
        return self.instead or self

    def instead_told(self) -> Said | None:
        """What a tie that is asked for replaces, and who asks; None for the planned one."""
        if self.asker is None:
            return None
        if self.replaced is None:
            return said("as-asked", by=self.asker)
        return said("instead-of-the-planned", planned=self.replaced, by=self.asker)
