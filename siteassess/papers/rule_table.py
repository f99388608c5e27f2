"""The rules of the place as a table: each clause once, with the anchors or lines that got each answer."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import get_args

from siteassess.advice.results import Answered, Assessment, RuleCheck
from siteassess.reference.findings import word
from siteassess.reference.pages import plain
from siteassess.reference.texts import text


@dataclass(frozen=True)
class RuleRow:
    """One clause, with the anchors or lines that got each answer."""

    clause: str
    wanted: str
    source: str
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class RuleTable:
    """The rules of the place with every clause's answers; `source` begins what the clauses cite."""

    name: str
    as_of: str
    source: str
    check: str
    rows: list[RuleRow]


def rule_rows(assessment: Assessment, language: str = "en", system: str = "metric") -> RuleTable | None:
    """The rules of the place, line by line, in a language; None where no rules were given."""
    checks = list(_checks(assessment))
    if not checks:
        return None
    first = checks[0][1]
    rows: dict[tuple[str, str, str], dict[str, dict[str, list[str]]]] = {}
    for who, check in checks:
        for clause in check.clauses:
            told = {part: plain(says) for part, says in clause.in_words(language, system).items()}
            answers = rows.setdefault((told["clause"], told["wanted"], told["source"]), {})
            names = answers.setdefault(clause.answer, {}).setdefault(told["measured"], [])
            if who not in names:
                names.append(who)
    everyone = {who for who, _ in checks}
    common = _common_words([source for _, _, source in rows])
    told_rows = [
        RuleRow(
            clause, wanted, source.removeprefix(common) or source,
            tuple((one, _told(answers[one], everyone, language)) for one in get_args(Answered) if one in answers),
        )
        for (clause, wanted, source), answers in rows.items()
    ]  # fmt: skip
    current = plain(word(first.check_current_text, language))
    return RuleTable(plain(first.name), plain(first.as_of), plain(first.source), current, told_rows)


def _common_words(sources: Sequence[str]) -> str:
    """What all sources begin with, whole words only: it stands above the table once."""
    common = os.path.commonprefix(sources) if len(sources) > 1 else ""
    return common[: common.rfind(" ") + 1]


def _told(measured: dict[str, list[str]], everyone: set[str], language: str) -> str:
    """Who measured what, those with the same reading together; of several all by one word."""
    told = []
    for reading, names in measured.items():
        who = word("all", language) if len(everyone) > 2 and set(names) == everyone else ", ".join(names)
        told.append(f"{who}{text('colon', language)} {reading}")
    return text("between", language).join(told)


def _checks(assessment: Assessment) -> Iterator[tuple[str, RuleCheck]]:
    """Every check of rules with the name of what it was made on."""
    yield from sorted(assessment.rules.items())
    for line in assessment.lines:
        for end in line.anchors:
            if end.rules:
                yield end.code, end.rules
