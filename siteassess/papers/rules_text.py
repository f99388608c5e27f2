"""What `siteassess rules` prints: the shipped sets, one set clause by clause, and a record held against one.

What a set itself says in words (its place, source, names, notes and demands to look) stands as it was compiled.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import get_args

from siteassess.advice.results import AnchorResult, Answered, Clause, LineResult
from siteassess.advice.rule_hours import hours_asked, months_of
from siteassess.advice.rule_sizes import count_asked, size_asked
from siteassess.advice.rule_things import NAMES_ASKED, thing_asked
from siteassess.advice.rules import dated_told
from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import said, word
from siteassess.reference.rules import (
    CountClause,
    HoursClause,
    ListClause,
    LookClause,
    MonthsClause,
    RuleClause,
    RuleSet,
    RulesStatus,
    SizeClause,
)

EndClauses = tuple[LineResult, AnchorResult, Sequence[Clause]]


def sets_text(sets: Iterable[RuleSet], language: str = "en") -> Iterator[str]:
    """The sets, a line each: id, status, date, place and what it holds for.

    Parameters
    ----------
    sets : in their order
    language : to tell it in
    """
    t = words_in(language)
    width = max(len(word(status, language)) for status in get_args(RulesStatus))
    for one in sets:
        hand = t("ru-second-hand") if one.second_hand else ""
        uses = ", ".join(word(use, language) for use in one.uses)
        yield f"{one.id:<28} {word(one.status, language):<{width}} {one.as_of}  {one.place} ({uses}{hand})"
    yield t("ru-apart")


def set_text(found: RuleSet, language: str = "en") -> Iterator[str]:
    """One set, clause by clause.

    Parameters
    ----------
    found : the set
    language : to tell it in
    """
    t = words_in(language)
    uses = ", ".join(word(use, language) for use in found.uses)
    name = f"{found.place} ({found.id}, {found.country})"
    yield t("ru-set", name=name, status=word(found.status, language), uses=uses)
    address = f", {found.source.url}" if found.source.url else ""
    yield f"{t.with_colon('ru-from')} {found.source.title}{address}"
    hand = t("ru-second-hand") if found.second_hand else ""
    dated = dated_told(found).in_words(language)
    yield t("ru-as-of", month=found.as_of, flag=word(found.flag, language), hand=hand, dated=dated)
    yield word(found.check_current_text, language)
    if found.excerpt_note:
        yield f"{t.with_colon('ru-seen')} {found.excerpt_note}"
    for clause in found.clauses:
        yield f"  {clause.id}{t('colon')} {_clause(clause, t)}"
    if not found.clauses:
        yield f"  {t('ru-no-clause')}"
    yield t("ru-apart")


def _clause(clause: RuleClause, t: Words) -> str:
    """One clause in words, with what it holds for."""
    uses = t("ru-only", uses=", ".join(word(use, t.language) for use in clause.uses)) if clause.uses else ""
    note = f" ({clause.note})" if clause.note else ""
    return _demand(clause, t) + uses + note + (t("ru-at-second-hand") if clause.second_hand else "")


def _demand(clause: RuleClause, t: Words) -> str:
    kind, lang = word(clause.kind, t.language), t.language
    if isinstance(clause, SizeClause):
        return t("ru-demand", kind=kind, wanted=size_asked(clause).in_words(lang))
    if isinstance(clause, CountClause):
        return t("ru-demand", kind=kind, wanted=count_asked(clause).in_words(lang))
    if isinstance(clause, ListClause):
        wanted = said(NAMES_ASKED[clause.asks], names=clause.names).in_words(lang)
        return t("ru-demand", kind=kind, wanted=wanted)
    if isinstance(clause, MonthsClause):
        months = ", ".join(word(month, lang) for month in months_of(clause))
        return t("ru-months-closed" if clause.asks == "closed" else "ru-months-care", months=months)
    if isinstance(clause, HoursClause):
        return f"{kind}{t('colon')} {hours_asked(clause).in_words(lang)}"
    if isinstance(clause, LookClause):
        return f"{t.with_colon('ru-look')} {clause.wording}"
    return t("ru-demand", kind=kind, wanted=thing_asked(clause).in_words(lang))


def held_text(rules: RuleSet, ends: Iterable[EndClauses], language: str = "en") -> Iterator[str]:
    """A record held against a set: by end how many clauses are met, then each with what was found.

    Parameters
    ----------
    rules : of the place
    ends : clauses by line and end, as `advice.rules` answers them
    language : to tell it in
    """
    t = words_in(language)
    width = 1 + max(len(t.of(answer)) for answer in get_args(Answered))
    yield f"{rules.place}, {rules.source.title}{t('rp-as-of', month=rules.as_of)}"
    yield word(rules.check_current_text, language)
    for line, end, clauses in ends:
        answers = [clause.answer for clause in clauses]
        counted = [f"{answers.count(one)} {t.of(one)}" for one in get_args(Answered) if one in answers]
        yield t("ru-end", line=line.id, end=end.end, code=end.code, counted=", ".join(counted))
        for clause in clauses:
            answer = t.of(clause.answer) + t("colon")
            told = clause.in_words(language)
            told["source"] = told["source"].removeprefix(f"{rules.source.title}, ")  # it stands above them all
            yield f"  {answer:<{width}} {t('ru-clause', **told)}"
    yield t("ru-apart")
