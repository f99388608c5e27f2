"""What the first page of the report asks for: each line with its verdict, its conditions and the wind that ends it."""

from __future__ import annotations

from dataclasses import dataclass

from siteassess.advice.results import LineResult
from siteassess.papers import wording
from siteassess.papers.look import plain


@dataclass(frozen=True)
class Request:
    """One line as the manager is asked for it."""

    result: LineResult
    name: str
    when: str
    trees: str
    conditions: tuple[str, ...]
    take_down: str


def asked_for(line: LineResult, record) -> Request:
    """One line as the first page asks for it."""
    planned = next((entry.planned for entry in record.lines if entry.id == line.id), None)
    trees = " and ".join(_tree_name(record.anchor(end.code)) for end in line.anchors)
    name = plain(line.name) if line.name != line.id else ""
    return Request(line, name, _when(planned), trees, _conditions(line), _take_down(line))


def _conditions(line: LineResult) -> tuple[str, ...]:
    """What a line of "suits if" still asks for, each once, with the anchors that ask it."""
    if line.verdict != "suits if":
        return ()
    asked: dict[str, list[str]] = {}
    for end in line.anchors:
        for condition in end.conditions:
            asked.setdefault(plain(condition), []).append(end.code)
    for finding in line.findings:
        if finding.effect == "suits if" and finding.condition:
            asked.setdefault(plain(finding.condition), [])
    return tuple(f"{', '.join(codes)}: {says}" if codes else says for says, codes in asked.items())


def _take_down(line: LineResult) -> str:
    """The least wind any of its trees bears, in words; one tree that cannot be told decides."""
    if line.verdict == "leave it":
        return "not to be rigged"
    winds = [end.take_down_wind_m_s for end in line.anchors if end.kind == "tree"]
    if not winds:
        return "no tree: not worked out"
    return wording.take_down(min(winds) if all(map(wording.known, winds)) else None)


def _when(planned) -> str:
    if planned is None or planned.date is None:
        return "day not planned"
    day = f"{planned.date}" + (f" to {planned.until}" if planned.until else "")
    hours = f", {planned.start or '?'} to {planned.end or '?'}" if planned.start or planned.end else ""
    watched = {"always": ", somebody at the line all the time", "not always": ", not always attended"}
    return day + hours + watched.get(planned.attended, "")


def _tree_name(anchor) -> str:
    tag = plain(getattr(anchor, "tag", None) or "")
    return f"tree {tag} ({anchor.code})" if tag else anchor.code
