"""What the program answers: plain frozen shapes, SI floats, codes. Papers and the command line only read them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from siteassess.advice.care_results import Protection
from siteassess.advice.finding import Finding, Limit, conditions_of, told_first, weight
from siteassess.advice.verdict import Brief, Verdict
from siteassess.mechanics.gear import PartCheck
from siteassess.records.line import EndName
from siteassess.records.record import Record
from siteassess.reference.constants import constant
from siteassess.reference.findings import English, Said, in_words, said, word
from siteassess.reference.tables import Flag

if TYPE_CHECKING:
    from siteassess.advice.crossings import Met
    from siteassess.advice.packing import PackItem
    from siteassess.advice.tightness import Tightness

LOOSE_POSITIONS = constant("loose positions")
Answered = Literal["not met", "cannot tell", "met"]  # in the order papers tell them
Agrees = Literal["agrees", "note", "flag", "reject", "not checked"]


@dataclass(frozen=True)
class Clause:
    """One clause of the land manager's rules, answered."""

    clause: str  # its kind
    answer: Answered
    asks: Said
    shows: Said
    cites: Said
    off_m: float = 0.0  # by how much a size that was read misses what is asked

    wanted, measured, source = English("asks"), English("shows"), English("cites")

    def in_words(self, language: str = "en", system: str = "metric") -> dict[str, str]:
        """Its parts by name in a language; the answer stays a word to decide by."""
        told = {"wanted": self.asks, "measured": self.shows, "source": self.cites}
        return {"clause": word(self.clause, language), "answer": self.answer,
                **{name: one.in_words(language, system) for name, one in told.items()}}  # fmt: skip


@dataclass(frozen=True)
class RuleCheck:
    """The rules of the place, kept apart from the verdict."""

    name: str
    as_of: str
    source: str
    check_current_text: str
    clauses: tuple[Clause, ...]


NO_TAG = "none recorded"  # nobody may have looked for one


@dataclass(frozen=True)
class Load:
    """What one load case does at one anchor."""

    case: str
    tension_n: float
    horizontal_n: float
    vertical_n: float  # positive pulls the anchor down
    bearing_true_deg: float
    moment_nm: float  # at the ground, horizontal part times tie height
    drop_m: float
    ln_sd: float
    calibrated: bool
    rests: Said  # what the figure rests on
    basis = English("rests")


def chance_limits(loads: Iterable[Load]) -> Said:
    """What a probability leaves out, to stand beside every one that is told."""
    rough = tuple(dict.fromkeys(load.case for load in loads if not load.calibrated))
    return said("by-the-scatter-alone", rough=(said("and-cases-outside-the-measured", cases=rough),) if rough else ())


@dataclass(frozen=True)
class Evidence:
    """How many of the deciding things were looked at."""

    deciding: tuple[str, ...]
    missing: tuple[str, ...]
    estimated: tuple[str, ...] = ()  # looked at, but estimated or guessed, or nobody said how
    copied: tuple[str, ...] = ()  # from a list, not read on the spot

    @property
    def known(self) -> int:
        return len(self.deciding) - len(self.missing)

    @property
    def told(self) -> Said:
        count = {"known": self.known, "of": len(self.deciding)}
        doubts = [said("of-them-estimated", count=len(self.estimated))] if self.estimated else []
        doubts += [said("of-them-copied", count=len(self.copied))] if self.copied else []
        return said("things-looked-at", doubts=tuple(doubts), **count) if doubts else said("things-measured", **count)


@dataclass(frozen=True)
class Remedy:
    """One change of one thing, and what it reaches. `reaches` was found by judging again, not by guess."""

    what: Said
    field: str
    value: float | None
    unit: str
    reaches: Verdict
    for_limit: str
    solved: bool = True
    still: tuple[Said, ...] = ()  # conditions that come with it
    with_standing_n: float | None = None  # standing tension that goes with a shorter span

    @property
    def change(self) -> str:
        """The change, in English."""
        return self.what.in_words()

    @property
    def conditions(self) -> tuple[str, ...]:
        """The conditions that come with it, in English."""
        return tuple(one.in_words() for one in self.still)

    @property
    def in_full(self) -> Said:
        """The change and the conditions that come with it, as one."""
        return said("and-then", change=self.what, still=self.still) if self.still else self.what


@dataclass(frozen=True, repr=False)
class AnchorResult(Brief):
    line_id: str
    end: EndName
    code: str
    kind: str
    tag: str
    species: str
    verdict: Verdict
    loads: tuple[Load, ...]
    limits: tuple[Limit, ...]
    hold_use: float | None
    care_use: float | None
    evidence: Evidence
    stop_signs: tuple[str, ...]
    findings: tuple[Finding, ...]
    remedies: tuple[Remedy, ...]
    protection: Protection | None
    rules: RuleCheck | None
    tie_height_m: float | None
    pull_bearing_true_deg: float | None
    probability: float | None
    trial: tuple[Said, ...]  # steps of the trial load, where one is asked for
    use_by_sector: dict[str, float | None] = field(default_factory=dict)  # root-plate use if pulled that way
    take_down_wind_m_s: float | None = None
    every_step: tuple[Said, ...] = ()  # for --explain
    downhill_angle_deg: float | None = None  # between the pull and straight downhill
    trial_load, steps = English("trial"), English("every_step")

    @property
    def ordered(self) -> tuple[Finding, ...]:
        """Its findings as they are told: what decides first."""
        return told_first(self.findings)

    @property
    def deciding_finding(self) -> Finding | None:
        """The finding to tell first; None where there is none."""
        return next(iter(self.ordered), None)

    @property
    def conditions(self) -> tuple[str, ...]:
        """What completes "suits if", in English."""
        return conditions_of(self.findings)

    @property
    def reasons(self) -> tuple[str, ...]:
        return tuple(finding.says for finding in self.ordered)

    @property
    def probability_limits(self) -> Said:
        """What its probability leaves out."""
        return chance_limits(self.loads)

    @property
    def hold_told(self) -> Said:
        return said("hold-use-unknown") if self.hold_use is None else said("hold-uses", use=self.hold_use)

    @property
    def care_told(self) -> Said:
        return said("care-use-unknown") if self.care_use is None else said("care-uses", use=self.care_use)


@dataclass(frozen=True)
class PairGeometry:
    """Where the two anchors lie to one another."""

    distance_m: float | None
    taped_m: float | None  # horizontal, after any slope correction
    bearing_true_deg: float | None
    back_bearing_true_deg: float | None
    declination_deg: float | None
    bearing_magnetic_deg: float | None
    told: Said  # how they agree
    level: Agrees
    rise_m: float | None
    notes: tuple[Said, ...] = ()
    grid_convergence_deg: float | None = None  # UTM grid north less true north, where a grid bearing was read
    off_m: float = 0.0  # how far the two positions may lie off each other, one standard deviation

    @property
    def loose(self) -> bool:
        """Whether the positions are too loose to tell the way or the length of a line between them."""
        return self.distance_m is not None and not self.off_m <= LOOSE_POSITIONS.value * self.distance_m

    @property
    def span_m(self) -> float | None:
        """Distance of the positions, where it may stand for a tape."""
        return None if self.loose else self.distance_m

    @property
    def agreement(self) -> str:
        """How they agree, in English."""
        return self.told.in_words()


@dataclass(frozen=True)
class Clearance:
    """The line over the ground. `x_m` from A, `ground_m` and `line_m` over the ground at A."""

    x_m: tuple[float, ...]
    ground_m: tuple[float, ...]
    unloaded_m: tuple[float, ...]
    walker_m: tuple[float, ...]  # the line at the walker, for each place of the walker
    mid_height_loaded_m: float
    lowest_m: float
    lowest_at_m: float
    touches: bool
    standing_to_clear_n: float | None
    told: tuple[Said, ...]
    says = English("told")
    touching_m: tuple[tuple[float, float], ...] = ()  # stretches, from A, where the feet reach the ground
    margin_m: float = constant("ground margin")  # height the feet are to keep
    lift_to_clear_m: float | None = None  # by which both ties must rise to keep it, at the present tension
    ties_may_rise_m: float | None = None  # under the height limits of the place's rules; None without one


@dataclass(frozen=True)
class Sweep:
    """A curve for a picture: the walker moved along the line, or the line tightened with the walker at the worst."""

    x: tuple[float, ...]
    x_words: str
    tension_n: tuple[float, ...]  # at the harder pulled of the two anchors
    height_m: tuple[float, ...] | None  # of the feet over the ground
    planned: float | None  # the planned place on the x axis


@dataclass(frozen=True)
class Look:
    """A thing nobody looked at, and how likely its answer changes the word."""

    thing: str
    at: str  # code of the anchor; empty for the line as a whole
    changes: float | None  # share of the answers it may have that bring another word [-]; None where not worked out
    usual: Verdict | None = None  # word of the line with the middling answer to all that was not looked at
    stays: tuple[Said, ...] = ()  # what to do about all that keeps it from a word even then


@dataclass(frozen=True, repr=False)
class LineResult(Brief):
    id: str
    name: str
    use: str
    verdict: Verdict
    weaker_anchor: str | None
    anchors: tuple[AnchorResult, ...]
    geometry: PairGeometry
    clearance: Clearance | None
    findings: tuple[Finding, ...]  # of the line as a whole
    probability: float | None
    gear_told: tuple[Said, ...]
    remedies: tuple[Remedy, ...] = ()
    day: datetime.date | None = None  # judged for
    looks: tuple[Look, ...] = ()  # what was not looked at, first what would most likely change the word
    stiffness_told: Said | None = None
    sweeps: tuple[Sweep, ...] = ()
    hauling: Tightness | None = None  # None where no crew was recorded, or nothing can be worked out
    crossings: tuple[Met, ...] = ()
    gear_checks: tuple[PartCheck, ...] = ()  # the weakest first
    webbing = English("stiffness_told")

    @property
    def gear(self) -> tuple[str, ...]:
        """What is told of its gear, in English."""
        return in_words(self.gear_told)

    @property
    def probability_limits(self) -> Said:
        """What its probability leaves out."""
        return chance_limits(load for end in self.anchors for load in end.loads)

    @property
    def ordered(self) -> tuple[Finding, ...]:
        """Findings of the line as a whole as they are told: what decides first."""
        return told_first(self.findings)

    @property
    def all_ordered(self) -> tuple[tuple[str, Finding], ...]:
        """Those of its ends and its own as they are told, each with the anchor's code, its own with none."""
        where = [(end.code, one) for end in self.anchors for one in end.findings]
        where += [("", one) for one in self.findings]
        return tuple(sorted(where, key=lambda told: weight(told[1])))

    @property
    def deciding_finding(self) -> tuple[str, Finding] | None:
        """The first of these; None where there is none."""
        return next(iter(self.all_ordered), None)

    @property
    def reasons(self) -> tuple[str, ...]:
        return tuple(finding.says for finding in self.ordered)


@dataclass(frozen=True)
class PullRow:
    """The greatest horizontal pull we allow on a tree at one tie height."""

    tie_height_m: float
    pull_n: float | None
    limited_by: tuple[Said, ...]
    pull_without_trial_n: float | None = None  # up to which no trial load is asked for


@dataclass(frozen=True)
class TreeAlone:
    code: str
    tag: str
    species: str
    verdict: Verdict  # never "suits": nothing was planned yet
    findings: tuple[Finding, ...]
    evidence: Evidence
    pulls: tuple[PullRow, ...]
    root_zone_radius_m: float | None

    @property
    def ordered(self) -> tuple[Finding, ...]:
        """Its findings as they are told: what decides first."""
        return told_first(self.findings)

    @property
    def deciding(self) -> tuple[Finding, ...]:
        """What holds the verdict where it is; that no line was planned only where nothing else does."""
        held = tuple(finding for finding in self.ordered if finding.effect == self.verdict)
        return tuple(one for one in held if one.code != "no-line-judged") or held


@dataclass(frozen=True)
class StatedAssumption:
    """A number the verdict rests on, with where it comes from."""

    named: Said
    told: Said  # the number with unit and range
    flag: Flag
    source: str

    name, value = English("named"), English("told")

    def as_dict(self) -> dict[str, str]:
        """For other programs, in English."""
        return {"name": self.name, "value": self.value, "flag": self.flag, "source": self.source}


@dataclass(frozen=True, repr=False)
class Assessment(Brief):
    """All answers to one record; `date` is that of all lines where they share one, else the survey's: then each
    line's own `day` counts.
    """

    record: Record
    date: datetime.date
    lines: tuple[LineResult, ...]
    trees: tuple[TreeAlone, ...]
    packing: tuple[PackItem, ...]
    assumptions: tuple[StatedAssumption, ...]
    cautions: tuple[str, ...]
    warnings: tuple[Said, ...]
    rules: dict[str, RuleCheck] = field(default_factory=dict)

    @property
    def one_day(self) -> datetime.date | None:
        """The day that every line was judged for; None where they differ."""
        return self.date if {line.day for line in self.lines} <= {self.date, None} else None
