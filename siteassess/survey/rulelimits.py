"""The few clauses of a land manager's rule set that an inventory row can be held against.

Everything else in a rule set (padding, hours, heights) belongs to the line on site, and is not looked at here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from siteassess.errors import Fault, FaultyInput, UnknownName
from siteassess.reference.languages import load_yaml
from siteassess.reference.rules import RuleSet, read_rule_set, rule_ids, rule_set

LINES_ON_FOOT = ("low line", "trick line", "long line", "high line")
ASK_FIRST = ("prohibited", "posts only", "superseded", "named places only", "named trees and posts only")
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
    remarks: tuple[str, ...] = ()

    def bars(self, kinds) -> np.ndarray:
        """Rows the rules bar by their kind. A row of unknown kind is not barred: look on site."""
        matches = [self._bars_one(match) for match in kinds.matches]
        return np.array(matches, dtype=bool)[kinds.which] if matches else np.zeros(len(kinds.which), bool)

    def _bars_one(self, match) -> bool:
        if self.no_conifers and match.leaf_type == "conifer":
            return True
        if not match.genus:
            return False
        names = {match.genus.casefold(), f"{match.genus} spp.".casefold(), match.accepted.casefold()}
        return bool(names & self.barred) or (bool(self.only) and not names & self.only)


def read_rules(name_or_path: str, use: str) -> RuleLimits:
    """Limits for one use from a shipped rule set (by id) or a file in the same form.

    Raises
    ------
    UnknownName
        Neither a shipped id nor a file.
    FaultyInput
        The file is no rule set; all faults are listed.
    """
    if name_or_path in rule_ids():
        return limits_of(rule_set(name_or_path), use)
    path = Path(name_or_path)
    if not path.is_file():
        raise UnknownName(f"no rule set '{name_or_path}', shipped or as a file; see: siteassess rules list")
    try:
        content = load_yaml(path)
    except Exception as error:  # the YAML library raises many kinds, all of them "no rule set" to the user
        raise FaultyInput(
            path.name, [Fault(0, "file", str(error).splitlines()[0][:120], "a rule set in YAML")]
        ) from None
    return limits_of(read_rule_set(content, path.name), use)


def limits_of(rules: RuleSet, use: str) -> RuleLimits:
    """The limits in one rule set that hold for a use."""
    mine = "hammock" if use == "hammock" else "slackline" if use in LINES_ON_FOOT else "any line"
    clauses = [c for c in rules.clauses if not c.uses or mine in c.uses or "any line" in c.uses]
    remarks = [f"rules of {rules.place}, {rules.as_of}: {rules.check_current_text}"]
    if rules.status in ASK_FIRST:
        remarks.append(
            f"rules of {rules.place}: status '{rules.status}'; ask the land manager before any survey on site"
        )
    remarks += [f"rules of {rules.place}: {c.kind} {c.asks}; look on site" for c in clauses if c.kind in LOOK_FOR]
    sizes = [_least(c) for c in clauses if c.kind in ("trunk diameter", "trunk girth") and c.operator in (">=", ">")]
    spans = [c.value_m for c in clauses if c.kind in ("span", "line length") and c.operator in ("<=", "<")]
    return RuleLimits(
        rules.place,
        max(sizes, default=None),
        min(spans, default=None),
        _names(clauses, "barred"),
        _names(clauses, "only"),
        any(c.kind == "conifers" and c.asks == "barred" for c in clauses),
        tuple(remarks),
    )


def _least(clause) -> float:
    diameter = clause.value_m / math.pi if clause.kind == "trunk girth" else clause.value_m
    # "more than a foot" bars a trunk of just a foot, which whole inches often are
    return diameter + 1e-6 if clause.operator == ">" else diameter


def _names(clauses, asks: str) -> frozenset[str]:
    return frozenset(
        name.casefold() for c in clauses if c.kind in ("genera", "species") and c.asks == asks for name in c.names
    )
