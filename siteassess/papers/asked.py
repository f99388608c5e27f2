"""What the first page of the report asks for: each line with its verdict, its conditions and the wind that ends it."""

from __future__ import annotations

from dataclasses import dataclass

from siteassess.advice.finding import conditions_of
from siteassess.advice.results import LineResult
from siteassess.papers import wording
from siteassess.papers.language import Words
from siteassess.records.anchor import Anchor
from siteassess.records.line import Planned
from siteassess.records.record import Record
from siteassess.reference.pages import plain


@dataclass(frozen=True)
class Request:
    """One line as the manager is asked for it."""

    result: LineResult
    name: str
    when: str
    trees: str
    conditions: tuple[str, ...]
    take_down: str


def asked_for(line: LineResult, record: Record, t: Words) -> Request:
    """One line as the first page asks for it."""
    trees = t("rp-and").join(_tree_name(record.anchor(end.code), t) for end in line.anchors)
    name = plain(line.name) if line.name != line.id else ""
    when = _when(record.line(line.id).planned, t)
    return Request(line, name, when, trees, _conditions(line, t), _take_down(line, t))


def _conditions(line: LineResult, t: Words) -> tuple[str, ...]:
    """What a line of "suits if" still asks for, each once, with the anchors that ask it."""
    if line.verdict != "suits if":
        return ()
    asked: dict[str, list[str]] = {}
    for end in line.anchors:
        for condition in conditions_of(end.findings, t.language):
            asked.setdefault(plain(condition), []).append(end.code)
    for condition in conditions_of(line.findings, t.language):
        asked.setdefault(plain(condition), [])
    return tuple(f"{', '.join(codes)}{t('colon')} {says}" if codes else says for says, codes in asked.items())


def _take_down(line: LineResult, t: Words) -> str:
    """When it comes down for wind, in words."""
    if line.verdict == "leave it":
        return t("rp-not-rigged")
    return wording.take_down_of(line.anchors, t)


def _when(planned: Planned | None, t: Words) -> str:
    if planned is None or planned.date is None:
        return t("rp-no-day")
    day = t("rp-from-to", a=planned.date, b=planned.until) if planned.until else f"{planned.date}"
    hours = ", " + t("rp-from-to", a=planned.start or "?", b=planned.end or "?") if planned.start or planned.end else ""
    watched = {"always": t("rp-attended"), "not always": t("rp-not-attended")}
    return day + hours + watched.get(planned.attended, "")


def _tree_name(anchor: Anchor, t: Words) -> str:
    tag = plain(getattr(anchor, "tag", None) or "")
    return t("rp-tree", tag=tag, code=anchor.code) if tag else anchor.code
