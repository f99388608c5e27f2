"""The rules of the place: sets read and written, then clause by clause met, not met, or cannot tell.

Never mixed into the verdict. A clause that cannot be held against a measured value answers "cannot tell"; silence of a
rule set is no permission.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from siteassess.advice.care_results import PadsAsked
from siteassess.advice.results import AnchorResult, Answered, Clause, RuleCheck
from siteassess.advice.rule_hours import hours_clause, months_clause
from siteassess.advice.rule_sizes import (
    A_TREE,
    ClauseAnswer,
    HeldAgainst,
    anchor_words,
    answer_whether,
    chosen,
    count_asked,
    count_clause,
    missed_by,
    size_clause,
    written,
)
from siteassess.advice.rule_things import list_clause, permit_held, thing_clause
from siteassess.errors import Fault, FaultyInput
from siteassess.records.line import ON_FOOT
from siteassess.records.reading import file_text
from siteassess.records.record import Record
from siteassess.records.writing import as_plain
from siteassess.records.yaml_lines import load_nodes
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.locate import data_folder
from siteassess.reference.rules import (
    CountClause,
    HoursClause,
    ListClause,
    LookClause,
    MonthsClause,
    RuleClause,
    RuleSet,
    SizeClause,
    ThingClause,
    read_rule_set,
    rule_set,
)

ANSWERED_BY: dict[type, Callable[[Any, HeldAgainst], ClauseAnswer]] = {  # each takes clauses of its own kind
    SizeClause: size_clause, CountClause: count_clause, ThingClause: thing_clause, ListClause: list_clause,
    MonthsClause: months_clause, HoursClause: hours_clause,
}  # fmt: skip

DESIGNATED_ANSWERS: dict[str, Answered] = {"yes": "met", "no": "not met"}


def use_words(use: str) -> tuple[str, ...]:
    """What rules call a use of the record.

    Parameters
    ----------
    use : of a line of the record
    """
    own = ("slackline", "tightrope") if use in ON_FOOT else ("hammock",) if use == "hammock" else ()
    return (*own, "any line")


def rule_set_of(record: Record) -> RuleSet | None:
    """The record's own rules, else the shipped set it names; None where neither is given.

    Parameters
    ----------
    record : whole

    Raises
    ------
    UnknownName
        No shipped set has the name.
    FaultyInput
        The record's own rules are faulty, with all faults.
    """
    if record.site.rules is not None:
        return read_rule_set(as_plain(record.site.rules), "site.rules")
    return rule_set(record.site.rule_set) if record.site.rule_set else None


def pads_asked(rules: RuleSet | None, use: str) -> PadsAsked:
    """What a rule set asks of pads and slings for a use; nothing where there is none, or it says nothing of them."""
    if rules is None:
        return PadsAsked()
    clauses = [one for one in rules.clauses if one.holds_for(use_words(use))]
    least = [one for one in clauses if isinstance(one, SizeClause) and one.operator in (">=", ">")]
    most = [one for one in clauses if isinstance(one, SizeClause) and one.operator in ("<=", "<")]
    high = [one for one in least if one.kind == "pad width"]
    return PadsAsked(
        all_round=any(one.kind == "pad all round" and one.asks == "required" for one in clauses),
        height_m=max((one.value_m for one in high if one.value_m is not None), default=0.0),
        height_in_slings=max((one.value for one in high if one.value_m is None), default=0.0),
        thickness_m=max((one.value_m or 0.0 for one in least if one.kind == "pad thickness"), default=0.0),
        sling_width_m=max((_least(size, one.operator) for one in least
                           if one.kind == "strap width" and (size := one.value_m)), default=0.0),  # fmt: skip
        most_sling_width_m=min((size * (1 - 1e-6 * (one.operator == "<")) for one in most
                                if one.kind == "strap width" and (size := one.value_m)), default=math.inf),
        closed=tuple(month for one in clauses if isinstance(one, MonthsClause) and one.asks == "closed"
                     for month in one.months),
        place=rules.place,
    )  # fmt: skip


def limits_on_a_tree(rules: RuleSet | None, use: str) -> tuple[Said, ...]:
    """What to tell with one more rope round a tree: the limits a place sets to its lines, or that nobody knows them."""
    if rules is None:
        return (said("guy-under-rules-unknown"),)
    limits = tuple(count_asked(clause) for clause in rules.clauses
                   if isinstance(clause, CountClause) and clause.kind == "lines per tree"
                   and clause.holds_for(use_words(use)))  # fmt: skip
    return (said("guy-under-a-limit", limits=limits),) if limits else ()


def _least(size: float, operator: str) -> float:
    """The least size that meets a clause; "over 50 mm" is not met by 50 mm [m]."""
    return size * (1 + 1e-6) if operator == ">" else size


def check_end(rules: RuleSet, held: HeldAgainst) -> RuleCheck:
    """Every clause that bears on one end of a line, in the set's own order, its status first."""
    words = use_words(held.line.use)
    cited = {"title": rules.source.title, "dated": dated_told(rules)}
    whole = said("rule-source", hand=_second_hand(rules.second_hand), **cited)
    status = _status(rules, held)
    answers = [Clause("status", *status, whole)] if status else []
    if not set(rules.uses) & set(words):
        asks = said("rule-for-uses", uses=rules.uses)
        answers.append(Clause("use", "cannot tell", asks, chosen(held.line.use), whole))
    for clause in rules.clauses:
        if not clause.holds_for(words):
            continue
        hand = _second_hand(clause.second_hand or rules.second_hand)
        cites = said("rule-source-clause", clause=clause.id, hand=hand, **cited)
        off = missed_by(clause, held) if isinstance(clause, SizeClause) else 0.0
        answers.append(Clause(clause.kind, *clause_answer(clause, held), cites, off))
    return RuleCheck(rules.place, rules.as_of, rules.source.title, rules.check_current_text, tuple(answers))


def _second_hand(told: bool | None) -> tuple[Said, ...]:
    return (said("rule-second-hand"),) if told else ()


def dated_told(rules: RuleSet) -> Said:
    """The date that the rules' own text bears, whenever somebody looked.

    Parameters
    ----------
    rules : of a place
    """
    dated = rules.source.dated
    return said("rule-dated", date=dated) if dated else said("rule-undated")


Broken = dict[tuple[str, str, str], float]
"""Clauses of the place that are not met, by end, and by how much a size misses what they ask [m]."""


def broken(ends: Iterable[AnchorResult]) -> Broken:
    """Clauses of the place that the ends of a line do not meet."""
    return {(end.end, clause.clause, clause.source): clause.off_m for end in ends if end.rules
            for clause in end.rules.clauses if clause.answer == "not met"}  # fmt: skip


def no_further_broken(after: Broken, before: Broken) -> bool:
    """Whether no clause is broken that was not, or further than it was."""
    return all(off <= before.get(clause, -1.0) + 1e-6 for clause, off in after.items())


def clause_answer(clause: RuleClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, what is wanted, what was measured) of one clause."""
    if isinstance(clause, LookClause):
        return "cannot tell", written(clause.wording), said("rule-by-a-person")
    found, wanted, shown = ANSWERED_BY[type(clause)](clause, held)
    if found == "not met" and isinstance(clause, SizeClause | ThingClause) and clause.when:
        found = "cannot tell"  # whether the condition holds only a person can say; what meets it anyway needs none
    return found, wanted, shown


def _status(rules: RuleSet, held: HeldAgainst) -> ClauseAnswer | None:
    """What the manager allows at all, beside what the record says of its permission and its anchor.

    None where the clauses alone decide: lines are allowed on conditions, or the set is an association's guidance.
    """
    if rules.status in ("allowed with conditions", "guidance"):
        return None
    wanted, permission = chosen(rules.status), held.record.site.permission
    if rules.status in ("prohibited", "posts only"):
        if held.tree is not None:
            return "not met", wanted, A_TREE
        post = rules.status == "posts only" and getattr(held.anchor, "what", "").casefold() == "post"
        return ("met" if post else "cannot tell"), wanted, anchor_words(held.anchor)
    if rules.status == "named trees and posts only":
        if held.tree is None:
            return "cannot tell", wanted, anchor_words(held.anchor)
        named = DESIGNATED_ANSWERS.get(held.tree.designated, "cannot tell")
        return named, wanted, said("rule-named-by-manager", answer=held.tree.designated)
    if rules.status in ("approval needed", "written permission needed"):
        there, shown = permit_held(held)
        return answer_whether(there, "required"), wanted, shown
    basis = said("rule-permission", basis=permission.basis if permission else "unknown")
    return "cannot tell", wanted, said("rule-look-at-text", permission=basis)


def read_rule_file(path: str | Path) -> RuleSet:
    """A land manager's rules from a YAML file, read as strictly as a record.

    Parameters
    ----------
    path : YAML

    Raises
    ------
    FaultyInput
        With every fault and its line.
    """
    source = str(path)
    document = load_nodes(file_text(path))
    if not isinstance(document.root.value, dict):
        first = Fault(document.root.line, worded("the-rule-set", above=""), worded("read-no-block-of-keys"),
                      worded("want-rule-set-block"), worded("mend-rules-new"))  # fmt: skip
        raise FaultyInput(source, document.faults or [first])
    faults = list(document.faults)
    try:
        found = read_rule_set(document.root.plain(), source, document.root.line_at)
    except FaultyInput as error:
        # a break in the grammar leaves the rest unread: what it lacks may well follow
        raise FaultyInput(source, faults or error.faults) from None
    if faults:
        raise FaultyInput(source, faults)
    return found


def is_rule_file(path: str | Path) -> bool:
    """Whether a file calls itself a rule set rather than a record.

    Parameters
    ----------
    path : of any file; one that cannot be read is none
    """
    try:
        root = load_nodes(file_text(path)).root
    except FaultyInput:
        return False
    return isinstance(root.value, dict) and "format" in root.value and "siteassess_record" not in root.value


def named_rules(name: str) -> RuleSet:
    """A shipped set by its id, or a user's own by the name of its file.

    Parameters
    ----------
    name : id, or a path that ends in .yaml or .yml

    Raises
    ------
    UnknownName
        If no shipped set has the id.
    FaultyInput
        If the file is faulty.
    """
    if name.endswith((".yaml", ".yml")):
        return read_rule_file(name)
    return rule_set(name)


def with_rules(record: Record, rules: RuleSet) -> Record:
    """The record, held against these rules instead of its own.

    Parameters
    ----------
    record : whole
    rules : of a place
    """
    plain = rules.model_dump(mode="json", exclude_none=True)
    return record.model_copy(update={"site": record.site.model_copy(update={"rules": plain, "rule_set": None})})


def blank_rules(name: str, month: str) -> str:
    """A commented rule set to fill in.

    Parameters
    ----------
    name : str
        Name of the file it goes to, for its comments.
    month : str
        Year and month of today, as 2026-11.
    """
    return (data_folder() / "rules" / "blank.txt").read_text(encoding="utf-8").format(name=name, month=month)
