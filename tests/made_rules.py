"""A land manager's rules by hand: a clause of every kind, all that may stand beside one, and what is told of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from types import SimpleNamespace
from typing import get_args

from siteassess.advice.results import Answered, Clause
from siteassess.papers.rules_text import held_text, set_text, sets_text
from siteassess.reference.findings import said
from siteassess.reference.rules import (
    CountClause,
    ListClause,
    RuleSet,
    RulesStatus,
    RuleUse,
    SizeClause,
    ThingClause,
    rule_ids,
    rule_set,
)

SHIPPED = rule_set(rule_ids()[0]).check_current_text  # the same in every shipped set
Wrote = Callable[[str], str]


def _kinds(clause: type) -> tuple[str, ...]:
    return get_args(clause.model_fields["kind"].annotation)


def _clauses(wrote: Wrote) -> Iterator[dict]:
    size = {"operator": ">=", "value": 1.5, "unit": "m"}
    for kind in _kinds(SizeClause):
        yield {"kind": kind, **size, **({"distance_to": "play area"} if kind == "distance" else {})}
    high = {"value": 1.3, "unit": "m"}
    for place in ({"place": "attachment"}, {"place": "mid-span", "loaded": True}, {"place": "ground up"},
                  {"place": "ground up", "height": high}):  # fmt: skip
        yield {"kind": "trunk diameter", **size, "measured_at": place}
    yield {"kind": "pad width", "operator": ">", "value": 3, "unit": "sling widths"}
    yield from ({"kind": kind, "operator": "<=", "value": 2} for kind in _kinds(CountClause))
    yield from ({"kind": kind, "asks": "required"} for kind in _kinds(ThingClause))
    yield {"kind": "choker", "asks": "barred", "when": wrote("in spring"), "over": {"value": 22.5, "unit": "ft"}}
    for kind in _kinds(ListClause):
        yield {"kind": kind, "asks": "only", "names": [wrote("Acer"), wrote("Tilia")]}
    yield from ({"kind": "genera", "asks": asks, "names": [wrote("Acer")]} for asks in ("barred", "preferred"))
    yield {"kind": "months", "asks": "closed", "months": list(range(1, 7))}
    yield {"kind": "months", "asks": "care", "months": list(range(7, 13)), "second_hand": True}
    for event in ("sunrise", "dawn", "park opening"):
        yield {"kind": "hours", "start": {"event": event, "offset_min": 30}, "end": {"event": "sunset"}}
    for event in ("dusk", "park closing"):
        yield {"kind": "hours", "start": {"event": "sunrise"}, "end": {"event": event, "offset_min": -30}}
    yield {"kind": "look", "wording": wrote("Is the grass long?"), "note": wrote("ask at the hut"),
           "uses": ["slackline", "hammock"]}  # fmt: skip


def rules(wrote: Wrote = str, **more: object) -> RuleSet:
    """The set."""
    return RuleSet.model_validate({
        "format": "land-managers-rules/1", "id": "o1", "place": wrote("Testing Green"), "country": "GB",
        "status": "allowed with conditions", "uses": get_args(RuleUse), "flag": "judgement", "second_hand": True,
        "source": {"title": wrote("Invented card")}, "as_of": "2026-03", "check_current_text": SHIPPED,
        "excerpt_note": wrote("points 1 to 3"),
        "clauses": [{"id": f"c{at}", **clause} for at, clause in enumerate(_clauses(wrote))], **more,
    })  # fmt: skip


def told(language: str = "en", wrote: Wrote = str) -> list[str]:
    """What is printed of it, of a set of every status, of one without a clause, and of a record held against it."""
    own = rules(wrote)
    asks, shows, cites = said("rule-required", more=()), said("rule-no-permit"), said("rule-no-tree")
    answers = [Clause("trunk diameter", answer, asks, shows, cites) for answer in get_args(Answered)]
    end = (SimpleNamespace(id="L1"), SimpleNamespace(end="A", code="T1"), (*answers, answers[0]))
    return [
        *sets_text([rules(wrote, status=status) for status in get_args(RulesStatus)], language),
        *set_text(own, language),
        *set_text(rules(wrote, clauses=[], second_hand=False, excerpt_note=None), language),
        *held_text(own, [end], language),
    ]
