"""The few clauses of a land manager's rule set that an inventory row can be held against.

Everything else in a rule set (padding, hours, heights) belongs to the line on site, and is not looked at here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from siteassess.advice.rule_things import thing_asked
from siteassess.advice.rules import use_words
from siteassess.errors import UnknownName, refused
from siteassess.records.line import Use
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.languages import load_yaml
from siteassess.reference.rules import (
    ListClause,
    RuleClause,
    RuleSet,
    SizeClause,
    ThingClause,
    read_rule_set,
    rule_ids,
    rule_set,
)
from siteassess.reference.species import SpeciesMatch
from siteassess.survey.kinds import Kinds

ASK_FIRST = ("prohibited", "posts only", "superseded", "named places only", "named trees and posts only")
TRUNKS, SPANS = ("trunk diameter", "trunk girth"), ("span", "line length")
LOOK_FOR = ("rough bark", "thick bark", "smooth bark", "named tree", "heritage trees")


@dataclass(frozen=True)
class RuleLimits:
    """Limits on the tree and the span; None or empty where the rule set names none."""

    place: str = ""
    least_diameter_m: float | None = None
    longest_span_m: float | None = None
    barred: frozenset[str] = frozenset()
    only: frozenset[str] = frozenset()
    no_conifers: bool = False
    remarks: tuple[Said, ...] = ()

    def bars(self, kinds: Kinds) -> NDArray[np.bool_]:
        """Rows the rules bar by their kind. A row of unknown kind is not barred: look on site."""
        matches = [self._bars_one(match) for match in kinds.matches]
        return np.array(matches, dtype=bool)[kinds.which] if matches else np.zeros(len(kinds.which), bool)

    def _bars_one(self, match: SpeciesMatch) -> bool:
        if self.no_conifers and match.leaf_type == "conifer":
            return True
        if not match.genus:
            return False
        names = {match.genus.casefold(), f"{match.genus} spp.".casefold(), match.accepted.casefold()}
        return bool(names & self.barred) or (bool(self.only) and not names & self.only)


def read_rules(name_or_path: str, use: Use) -> RuleLimits:
    """Limits for one use from a shipped rule set (by id) or a file in the same form.

    Parameters
    ----------
    name_or_path : id of a shipped set, or a path
    use : that the limits are for

    Raises
    ------
    UnknownName : neither a shipped id nor a file
    FaultyInput : the file is no rule set; all faults are listed
    """
    if name_or_path in rule_ids():
        return limits_of(rule_set(name_or_path), use)
    path = Path(name_or_path)
    if not path.is_file():
        raise UnknownName(worded("no-such-rule-set", name=name_or_path))
    try:
        content = load_yaml(path)
    except Exception as error:  # the YAML library raises many kinds, all of them "no rule set" to the user
        read = str(error).splitlines()[0]
        raise refused(path.name, worded("the-file"), read, worded("want-rule-set-yaml")) from None
    return limits_of(read_rule_set(content, path.name), use)


def limits_of(rules: RuleSet, use: Use) -> RuleLimits:
    """The limits in one rule set that hold for a use."""
    clauses = [c for c in rules.clauses if c.holds_for(use_words(use))]
    remarks = [said("ds-rules", place=rules.place, month=rules.as_of, current=rules.check_current_text)]
    if rules.status in ASK_FIRST:
        remarks.append(said("ds-rules-status", place=rules.place, status=rules.status))
    things = [c for c in clauses if isinstance(c, ThingClause)]
    asked: list[tuple[str, Said]] = [
        (c.kind, thing_asked(c))
        for c in things
        if c.kind in LOOK_FOR
    ]
    least, longest = [], []
    for c in clauses:
        if not isinstance(c, SizeClause) or c.kind not in (*TRUNKS, *SPANS):
            continue
        if c.value_m is None:
            asked.append((c.kind, said("rule-size", operator=c.operator, value=c.value, unit=c.unit, where=())))
        elif c.kind in TRUNKS and c.operator in (">=", ">"):
            # "more than a foot" bars a trunk of just a foot, which whole inches often are
            hair = 1e-6 if c.operator == ">" else 0.0
            least.append(c.value_m / (math.pi if c.kind == "trunk girth" else 1.0) + hair)
        elif c.kind in SPANS and c.operator in ("<=", "<"):
            longest.append(c.value_m)
    return RuleLimits(
        rules.place, max(least, default=None), min(longest, default=None), _names(clauses, "barred"),
        _names(clauses, "only"), any(c.kind == "conifers" and c.asks == "barred" for c in things),
        (*remarks, *(said("ds-rules-look", place=rules.place, kind=kind, what=what) for kind, what in asked)),
    )


def _names(clauses: Iterable[RuleClause], asks: str) -> frozenset[str]:
    return frozenset(
        name.casefold()
        for c in clauses
        if isinstance(c, ListClause) and c.kind in ("genera", "species") and c.asks == asks
        for name in c.names
    )
