"""A limit as an answer: the demand beside what we allow, why it cannot be judged, and what to do then, as codes."""

from __future__ import annotations

from dataclasses import dataclass, field

from siteassess.mechanics.limit import Outside
from siteassess.reference.findings import Said, in_words, said

BY_REASON: dict[Outside, str] = {
    Outside.MISSING: "look-at-what-is-missing",
    Outside.IMPOSSIBLE: "measure-again",
    Outside.THIN_WALL: "ask-an-arborist",
    Outside.WIDE_OPENING: "ask-an-arborist",
    Outside.SLENDER: "ask-an-arborist",
    Outside.ROOTS_LOST_OVER_LIMIT: "ask-an-arborist",
    Outside.ROOTS_LOST_OVER_HALF: "take-another-tree",
    Outside.DIGGING_BEHIND: "look-behind-the-pull",
    Outside.STEEP: "ask-an-arborist",
    Outside.EDGE_NEAR: "take-another-anchor",
    Outside.FOOTING_DOUBTFUL: "take-another-anchor",
}
"""By why a limit cannot be judged; all refusals of `Outside` are here."""


def steps_for(outside: int) -> tuple[Said, ...]:
    """What to do about a limit that cannot be judged: each step once, in the order of the flags.

    Parameters
    ----------
    outside : int
        The limit's `outside`, flags of `Outside`; to look at what is missing where no flag says more.
    """
    flags = Outside(outside)
    steps = dict.fromkeys(step for reason, step in BY_REASON.items() if reason in flags)
    return tuple(said(step) for step in steps or (BY_REASON[Outside.MISSING],))


def why_outside(outside: int) -> tuple[Said, ...]:
    """Why a limit cannot be judged, and what a reader of its number must know: each flag of `Outside` as a code."""
    flags = Outside(int(outside))
    return tuple(said(f"outside-{str(flag.name).lower().replace('_', '-')}") for flag in Outside if flag in flags)


@dataclass(frozen=True)
class Limit:
    """A demand beside what we allow. `use` is None where the model cannot say; `told` then says why."""

    name: str  # "stem", "root plate", "bark", "wind", "boulder sliding", "boulder tipping"
    unit: str
    case: str
    demand: float | None
    allowable: float | None
    use: float | None
    probability: float | None = None
    capacity_median: float | None = None
    capacity_p05: float | None = None
    divisor: float | None = None
    ln_sd_demand: float | None = None
    ln_sd_capacity: float | None = None
    matters_most: str = ""
    variance_shares: dict[str, float] = field(default_factory=dict)
    use_p05: float | None = None  # use that 5 and 95 of 100 such cases stay under, both demand and capacity scattering
    use_p95: float | None = None
    outside: int = 0  # flags of `mechanics.limit.Outside`: why it cannot be judged, or what a reader must know
    case_told: Said | None = None  # the case, where it is no word of the table
    why: Said | None = None  # of a limit that has no such flags

    @property
    def told(self) -> tuple[Said, ...]:
        """Why it cannot be judged, or what a reader of the number must know."""
        return (self.why,) if self.why else why_outside(self.outside)

    @property
    def reason(self) -> str:
        """The same in English."""
        return "; ".join(in_words(self.told))

    @property
    def do_next(self) -> str:
        """What to do where it cannot be judged, in English."""
        return "; ".join(in_words(steps_for(self.outside))) if self.use is None and not self.why else ""
