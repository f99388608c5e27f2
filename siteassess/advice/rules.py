"""The rules of the place, clause by clause: met, not met, or cannot tell. Never mixed into the verdict.

A clause that cannot be held against a measured value answers "cannot tell"; silence of a rule set is no permission.
"""

from __future__ import annotations

from siteassess.advice.care_results import PadsAsked
from siteassess.advice.rule_answer import A_TREE, Answer, HeldAgainst, anchor_words, chosen, written
from siteassess.advice.rule_results import Clause, RuleCheck
from siteassess.advice.rule_sizes import count_asked, count_clause, size_asked, size_clause
from siteassess.advice.rule_things import list_clause, permit_held, thing_clause
from siteassess.advice.rule_times import hours_asked, hours_clause, months_clause, months_of
from siteassess.records.record import Record
from siteassess.reference.findings import said
from siteassess.reference.rules import (
    CountClause,
    HoursClause,
    ListClause,
    MonthsClause,
    RuleSet,
    SizeClause,
    ThingClause,
    read_rule_set,
    rule_set,
)

USE_WORDS = {"hammock": ("hammock", "any line"), "aerial equipment": ("any line",)}
WALKED_WORDS = ("slackline", "tightrope", "any line")
ANSWERED_BY = {
    SizeClause: size_clause, CountClause: count_clause, ThingClause: thing_clause, ListClause: list_clause,
    MonthsClause: months_clause, HoursClause: hours_clause,
}  # fmt: skip


def use_words(use: str) -> tuple[str, ...]:
    """What rules call a use of the record."""
    return USE_WORDS.get(use, WALKED_WORDS)


def rule_set_of(record: Record) -> RuleSet | None:
    """The record's own rules, else the shipped set it names; None where neither is given.

    Raises
    ------
    UnknownName
        No shipped set has the name.
    FaultyInput
        The record's own rules are faulty, with all faults.
    """
    if record.site.rules is not None:
        return read_rule_set(record.site.rules, "site.rules")
    return rule_set(record.site.rule_set) if record.site.rule_set else None


def pads_asked(rules: RuleSet | None, use: str) -> PadsAsked:
    """What a rule set asks of pads and slings for a use; nothing where there is none, or it says nothing of them."""
    if rules is None:
        return PadsAsked()
    words = set(use_words(use))
    clauses = [one for one in rules.clauses if not one.uses or set(one.uses) & words]
    least = [one for one in clauses if isinstance(one, SizeClause) and one.operator in (">=", ">")]
    high = [one for one in least if one.kind == "pad width"]
    return PadsAsked(
        all_round=any(one.kind == "pad all round" and one.asks == "required" for one in clauses),
        height_m=max((one.value_m for one in high if one.value_m is not None), default=0.0),
        height_in_slings=max((one.value for one in high if one.value_m is None), default=0.0),
        thickness_m=max((one.value_m for one in least if one.kind == "pad thickness"), default=0.0),
        sling_width_m=max((_least(one) for one in least if one.kind == "strap width" and one.value_m), default=0.0),
        place=rules.place,
    )


def _least(clause: SizeClause) -> float:
    """The least size that meets a clause; "over 50 mm" is not met by 50 mm [m]."""
    return clause.value_m * (1 + 1e-6) if clause.operator == ">" else clause.value_m


def check_end(rules: RuleSet, held: HeldAgainst) -> RuleCheck:
    """Every clause that bears on one end of a line, in the set's own order, its status first."""
    words = use_words(held.line.use)
    cited = {"title": rules.source.title, "month": rules.as_of}
    whole, status = said("rule-source", **cited), _status(rules, held)
    answers = [Clause("status", *status, whole)] if status else []
    if not set(rules.uses) & set(words):
        asks = said("rule-for-uses", uses=rules.uses)
        answers.append(Clause("use", "cannot tell", asks, chosen(held.line.use), whole))
    for clause in rules.clauses:
        if clause.uses and not set(clause.uses) & set(words):
            continue
        code = "rule-source-second-hand" if clause.second_hand or rules.second_hand else "rule-source-clause"
        answers.append(Clause(clause.kind, *answer(clause, held), said(code, clause=clause.id, **cited)))
    return RuleCheck(rules.place, rules.as_of, rules.source.title, rules.check_current_text, tuple(answers))


def answer(clause, held: HeldAgainst) -> Answer:
    """(answer, what is wanted, what was measured) of one clause."""
    judged = ANSWERED_BY.get(type(clause))
    return judged(clause, held) if judged else ("cannot tell", written(clause.wording), said("rule-by-a-person"))


def _status(rules: RuleSet, held: HeldAgainst) -> Answer | None:
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
        named = {"yes": "met", "no": "not met"}.get(held.tree.designated, "cannot tell")
        return named, wanted, said("rule-named-by-manager", answer=held.tree.designated)
    if rules.status in ("approval needed", "written permission needed"):
        there, shown = permit_held(held)
        return {True: "met", False: "not met", None: "cannot tell"}[there], wanted, shown
    basis = said("rule-permission", basis=permission.basis if permission else "unknown")
    return "cannot tell", wanted, said("rule-look-at-text", permission=basis)


def clause_words(clause) -> str:
    """One clause in words, with what it holds for."""
    if isinstance(clause, SizeClause):
        told = f"{clause.kind} {size_asked(clause).in_words()}"
    elif isinstance(clause, CountClause):
        told = f"{clause.kind} {count_asked(clause).in_words()}"
    elif isinstance(clause, ThingClause):
        told = f"{clause.kind} {clause.asks}" + (f", if {clause.when}" if clause.when else "")
        told += f", for lines over {clause.over.value:g} {clause.over.unit}" if clause.over else ""
    elif isinstance(clause, ListClause):
        told = f"{clause.kind} {clause.asks}: {', '.join(clause.names)}"
    elif isinstance(clause, MonthsClause):
        told = f"months of {'closure' if clause.asks == 'closed' else 'care'}: {', '.join(months_of(clause))}"
    elif isinstance(clause, HoursClause):
        told = f"hours: {hours_asked(clause).in_words()}"
    else:
        told = f"to be looked at: {clause.wording}"
    uses = f" [{', '.join(clause.uses)} only]" if clause.uses else ""
    note = f" ({clause.note})" if clause.note else ""
    return told + uses + note + (" (second hand)" if clause.second_hand else "")
