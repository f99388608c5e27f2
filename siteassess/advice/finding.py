"""What is found of a line and its anchors: a code with values, and the best verdict it still allows.

A limit as an answer stands here too: the demand beside what we allow, why it cannot be judged, and what to do then.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from siteassess.advice.verdict import VERDICTS, Verdict
from siteassess.errors import SiteassessError, UnknownName, WordedError
from siteassess.mechanics.limit import Outside
from siteassess.reference.findings import Said, in_words, names_of, row_of, said, said_by, wording
from siteassess.reference.texts import text


@dataclass(frozen=True)
class Finding:
    """One thing that bears on a verdict: a code of the table `findings` and what its wordings name.

    `effect` is the best verdict it still allows; a finding of effect "suits" is only told. `looked_at` is False where
    the finding is that something was not looked at. `more` are clauses that its wording is followed by, such
    as what it rests on. Nothing is decided on a wording.
    """

    code: str
    effect: Verdict
    values: tuple[tuple[str, Any], ...] = ()
    looked_at: bool = True
    more: tuple[Said, ...] = ()
    asked: Said | None = None  # what meets it, where the table cannot know

    @property
    def about(self) -> str:
        """What it is about: one word or two, the same for all findings on one thing."""
        return self.in_words(part="about")

    @property
    def short(self) -> str:
        """One short line of it beside its part and its verdict word, in English."""
        return self.in_words(part="short")

    @property
    def rank(self) -> int:
        """Its class among findings of the same effect, the least told first: see the head of the table."""
        return int(row_of(self.code)["rank"])

    @property
    def says(self) -> str:
        """The whole of it, in English."""
        return self.in_words()

    @property
    def condition(self) -> str:
        """What completes "suits if ...", in English."""
        return self.in_words(part="condition")

    @property
    def met_by(self) -> Said | None:
        """What completes "suits if ...", as a code; None where it asks for nothing."""
        return self.asked or said_by(self.code, "condition", self.values)

    @property
    def do_next(self) -> str:
        """What somebody can do about a "cannot say", in English."""
        return self.in_words(part="action")

    def in_words(self, language: str = "en", part: str = "full", system: str = "metric") -> str:
        """One of its wordings in a language; empty where it has none of that kind."""
        if part == "condition" and self.asked:
            return self.asked.in_words(language, system)
        told = wording(self.code, dict(self.values), part, language, system)
        return told + "".join(in_words(self.more, language, system)) if part == "full" else told

    def adding(self, code: str, **values: Any) -> Finding:
        """The same with one more clause."""
        return replace(self, more=(*self.more, said(code, **values)))


def found(code: str, effect: Verdict, *, looked_at: bool = True, more: tuple[Said, ...] = (),
          **values: Any) -> Finding:  # fmt: skip
    """A finding with the values that its wordings name.

    Raises
    ------
    UnknownName
        The table has no such code or no rank for it, or its wordings name what was not given.
    """
    if "rank" not in row_of(code):
        raise UnknownName(f"{code!r} has no rank in findings.yaml: it is said within a finding, and is none")
    if lacking := names_of(code) - values.keys():
        raise UnknownName(f"finding {code!r} lacks {', '.join(sorted(lacking))}")
    return Finding(code, effect, tuple(values.items()), looked_at, more)


def told_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings as they are told: the worst effect first, then by rank; of equal rank the larger use of a limit.

    Parameters
    ----------
    findings : of a line or an end
    """
    return tuple(sorted(findings, key=weight))


def weight(finding: Finding) -> tuple[int, int, float]:
    """What findings are ordered by: the least is told first."""
    use = dict(finding.values).get("use")
    known = use if use is not None and math.isfinite(use) else -math.inf
    return -VERDICTS.index(finding.effect), finding.rank, -known


def whys(error: SiteassessError) -> tuple[Said, ...]:
    """Why something lies outside its model or in no table, as codes; an error without one is told as it is.

    Parameters
    ----------
    error : that was raised
    """
    told = tuple(said(code, **error.values) for code in error.codes) if isinstance(error, WordedError) else ()
    return told or (said("told-as-is", why=str(error)),)


def conditions_of(findings: Iterable[Finding], language: str = "en", system: str = "metric") -> tuple[str, ...]:
    """What still completes "suits if", each once.

    Parameters
    ----------
    findings : of any effect and order
    language : to tell them in
    system : "metric" or "us"
    """
    asked = (one.in_words(language, "condition", system) for one in told_first(findings) if one.effect == "suits if")
    return tuple(dict.fromkeys(condition for condition in asked if condition))


def conditions_in_words(findings: Iterable[Finding], language: str = "en", system: str = "metric") -> str:
    """The same in a row; empty for none.

    Parameters
    ----------
    findings : as for `conditions_of`
    language, system : as there
    """
    return text("between", language).join(conditions_of(findings, language, system))


def met_by(findings: Iterable[Finding]) -> tuple[Said, ...]:
    """What still completes "suits if" as codes, each once."""
    asked: list[Said] = []
    for one in findings:
        if one.effect == "suits if" and one.met_by is not None and one.met_by not in asked:
            asked.append(one.met_by)
    return tuple(asked)


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
    Outside.WAY_UNKNOWN: "take-the-way-of-the-pull",
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
    if Outside.WAY_UNKNOWN in flags:  # the others hold only if it pulls that way
        flags = Outside.WAY_UNKNOWN
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
    def exceeded(self) -> bool:
        """Whether it is known to be exceeded."""
        return self.use is not None and self.use > 1

    @property
    def told(self) -> tuple[Said, ...]:
        """Why it cannot be judged, or what a reader of the number must know."""
        return (self.why,) if self.why else why_outside(self.outside)

    @property
    def reason(self) -> str:
        """The same in English."""
        return text("between").join(in_words(self.told))

    @property
    def do_next(self) -> str:
        """What to do where it cannot be judged, in English."""
        steps = steps_for(self.outside) if self.use is None and not self.why else ()
        return text("between").join(in_words(steps))


def greatest_use(limits: Sequence[Limit]) -> float | None:
    """The greatest use of some limits; None where there are none, or one of them cannot be judged."""
    uses = [limit.use for limit in limits if limit.use is not None]
    return max(uses) if uses and len(uses) == len(limits) else None


def least_used(limits: Iterable[Limit]) -> dict[str, Limit]:
    """Of the limits that can be judged, by name that with the least use."""
    least: dict[str, tuple[float, Limit]] = {}
    for limit in limits:
        if limit.use is not None and (limit.name not in least or limit.use < least[limit.name][0]):
            least[limit.name] = limit.use, limit
    return {name: limit for name, (_, limit) in least.items()}
