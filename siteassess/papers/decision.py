"""The decision a land manager is asked for, on two pages: what, where, when, who answers, the trees and the rules.

Only a line whose word is "suits" or "suits if" is asked for; of any other its word and the reason are told, no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from siteassess.advice.finding import conditions_of
from siteassess.advice.geometry import Places
from siteassess.advice.results import AnchorResult, Assessment, LineResult
from siteassess.advice.surroundings import things_near_line
from siteassess.advice.verdict import VERDICTS
from siteassess.papers import as_planned, wording
from siteassess.papers.as_planned import IN_ROW
from siteassess.papers.doubts import doubtful, doubts_of
from siteassess.papers.handover import Manner
from siteassess.papers.language import Words, trunk_here
from siteassess.papers.look import shorten
from siteassess.papers.rule_table import RuleRow, rule_rows
from siteassess.records.anchor import Anchor, Tree
from siteassess.records.line import Line, Planned
from siteassess.records.record import Record
from siteassess.records.trunk import at_ties, trunk_at
from siteassess.reference.findings import word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain
from siteassess.reference.species import common_name

ASKED_FOR = ("suits", "suits if")
DOUBTS_SHOWN_HERE = 1  # in a row; the appendix tells all
THINGS_NEAR_M = 50.0  # things farther off are not named (judgement)
MOST_AT_EASE = 17  # lines, trees and clauses that two pages hold in their usual letters (seen in a browser)
MOST_BESIDE_BARS = 8  # of them, beside which the picture of the hardest used end has room on the second
TAG_SHOWN_HERE, NAME_SHOWN_HERE = 40, 60  # characters; in full in the appendix


@dataclass(frozen=True)
class Request:
    """One line as the manager is asked for it."""

    result: LineResult
    name: str
    between: str
    when: str
    what: str
    take_down: str


@dataclass(frozen=True)
class TreeRow:
    """One trunk in the schedule, with what touches it."""

    tag: str
    code: str
    species: str
    size: str
    ties: str
    verdict: str
    padding: str


def only_asked(assessment: Assessment) -> Assessment:
    """The answer with nothing but the lines that are asked for; the record stays whole."""
    lines = tuple(line for line in assessment.lines if line.verdict in ASKED_FOR)
    return replace(assessment, lines=lines, trees=(), rules={})


def decision(assessment: Assessment, how: Manner) -> dict[str, object]:
    """What the two pages tell, as plain values for their template.

    Parameters
    ----------
    assessment : the answers with their record, to all its lines
    how : language and units; lengths and pulls are told in both systems
    """
    record, t, asked = assessment.record, how.words, only_asked(assessment)
    rules = rule_rows(asked, *how.tongue)
    met = [row for row in rules.rows if {answer for answer, _ in row.answers} == {"met"}] if rules else []
    left = _alike_together([row for row in rules.rows if row not in met] if rules else [], t)
    lines, trees = [asked_for(line, record, how) for line in asked.lines], tree_schedule(asked, how)
    filled = len(lines) + len(trees) + len(left)
    dense = filled > MOST_AT_EASE
    return {
        "lines": lines, "conditions": _conditions(asked.lines, how),
        "doubts": _doubts(assessment, asked.lines, how, 0 if dense else DOUBTS_SHOWN_HERE),
        "not_asked": t("between").join(_not_asked(one, t) for one in assessment.lines if one not in asked.lines),
        "where": _where(record, asked, how), "who": _who(record, t), "stop": t("rp-stop"),
        "trees": trees, "dense": dense, "roomy": filled <= MOST_BESIDE_BARS,
        "rules": rules, "open": left,
        "met": t("between").join(f"{t('ru-demand', kind=row.clause, wanted=row.wanted)} ({row.source})" for row in met),
    }  # fmt: skip


def _alike_together(rows: Sequence[RuleRow], t: Words) -> list[RuleRow]:
    """Clauses of one kind with the same answers in one row, each with its source."""
    alike: dict[tuple[object, ...], list[RuleRow]] = {}
    for row in rows:
        alike.setdefault((row.clause, row.answers), []).append(row)
    return [replace(group[0], wanted=t("between").join(row.wanted for row in group),
                    source=t("between").join(row.source for row in group)) for group in alike.values()]  # fmt: skip


def asked_for(line: LineResult, record: Record, how: Manner) -> Request:
    """One line as the first page asks for it."""
    t, m, planned = how.words, how.measures(both=True), record.line(line.id)
    between = t("rp-and").join(_named(record.anchor(end.code), t) for end in line.anchors)
    name = shorten(line.name, NAME_SHOWN_HERE) if line.name != line.id else ""
    what = _what(line, planned, t, m)
    return Request(line, name, between, _when(planned.planned, t), what, _take_down(line, how))


def _what(line: LineResult, planned: Line, t: Words, m: Measures) -> str:
    """Its use, its length, how many are on it, and the greatest pull reckoned with."""
    told, asked = [t.of(line.use), wording.span(line, m)], as_planned.line_conditions(line)
    if planned.walkers and planned.walkers.at_once:
        people = as_planned.figure(asked, as_planned.PEOPLE)
        fewer = m.number(people, 0) if known(people) else None
        told.append(as_planned.planned(t("dc-people", count=planned.walkers.at_once), fewer, False, t, IN_ROW))
    pulls = [load.tension_n for end in line.anchors for load in end.loads]
    if pulls:
        changes = as_planned.changed_by(asked, as_planned.CHANGE_PULL)
        told.append(t("dc-pull", pull=as_planned.planned(m.force(max(pulls)), None, changes, t)))
    return t("between").join(told)


def _conditions(lines: Sequence[LineResult], how: Manner) -> tuple[str, ...]:
    """What lines of "suits if" still ask for, each once, with the anchors or lines that ask it."""
    asked: dict[str, list[str]] = {}
    for line in lines:
        for name, findings in (*((end.code, end.findings) for end in line.anchors), (line.id, line.findings)):
            for condition in conditions_of(findings, *how.tongue) if line.verdict == "suits if" else ():
                names = asked.setdefault(plain(condition), [])
                names += [] if name in names else [name]
    return tuple(f"{', '.join(names)}{how.words('colon')} {says}" for says, names in asked.items())


def _doubts(assessment: Assessment, lines: Sequence[LineResult], how: Manner, most: int) -> str:
    """How many doubtful readings the lines asked for rest on, and so many of them."""
    told = dict.fromkeys(says for line in lines for says in doubts_of(assessment, line, *how.tongue))
    return doubtful(tuple(told), how.words, most)


def _take_down(line: LineResult, how: Manner) -> str:
    """When it comes down for wind, in words."""
    if line.verdict == "leave it":
        return how.words("rp-not-rigged")
    return as_planned.take_down_asked(line, how.words, how.system)


def _not_asked(line: LineResult, t: Words) -> str:
    """A line that is not asked for, with its word and what decides it, in short."""
    why = next((f"{where} {one.in_words(t.language, 'short')}".strip() for where, one in line.all_ordered
                if one.effect == line.verdict), "")  # fmt: skip
    return plain(f"{line.id} ({t.of(line.verdict)}{t('colon') + ' ' + why if why else ''})")


def _when(planned: Planned | None, t: Words) -> str:
    if planned is None or planned.date is None:
        return t("rp-no-day")
    day = t("rp-from-to", a=planned.date, b=planned.until) if planned.until else f"{planned.date}"
    hours = ", " + t("rp-from-to", a=planned.start or "?", b=planned.end or "?") if planned.start or planned.end else ""
    watched = {"always": t("rp-attended"), "not always": t("rp-not-attended")}
    return day + hours + watched.get(planned.attended, "")


def _named(anchor: Anchor, t: Words) -> str:
    tag = shorten(getattr(anchor, "tag", None) or "", TAG_SHOWN_HERE)
    return t("rp-tree", tag=tag, code=anchor.code) if tag else anchor.code


def _where(record: Record, asked: Assessment, how: Manner) -> list[tuple[str, str]]:
    """The place, the way in, and what lies near each line."""
    t, emergency = how.words, record.site.emergency
    told = [(t("em-place"), plain(emergency and emergency.place or record.site.name))]
    if emergency and emergency.gate:
        told.append((t("em-gate"), plain(emergency.gate)))
    near = {line.id: near_line(record, record.line(line.id), how) for line in asked.lines}
    return told + [(f"{t('near')}, {line}", t("between").join(things)) for line, things in near.items() if things]


def near_line(record: Record, planned: Line, how: Manner) -> list[str]:
    """Marked things within reach of a line, nearest first."""
    m = how.measures(both=True)
    things = [thing for thing in things_near_line(Places(record), planned) if thing.distance_m <= THINGS_NEAR_M]
    return [f"{how.words.of(thing.kind)} {plain(thing.name)} {m.length(thing.distance_m, 0)}" for thing in things]


def _who(record: Record, t: Words) -> list[tuple[str, str]]:
    """Who answers on the day, for whom, and by whose leave."""
    survey, site, none = record.survey, record.site, t("not-recorded")
    allowed = site.permission
    parts = (t.of(allowed.basis), allowed.by, allowed.reference, allowed.expires and f"{t('until')} {allowed.expires}",
             allowed.conditions) if allowed else (t("rp-none-recorded"),)  # fmt: skip
    return [
        (t("rp-on-the-day"), plain(f"{survey.contact or t('rp-no-phone')} ({survey.by})")),
        (t("group"), plain(survey.group or none)),
        (t("manager"), plain(", ".join(filter(None, (site.manager, site.manager_contact))) or none)),
        (t("permission"), plain(", ".join(str(part) for part in parts if part))),
        (t("req-cover"), plain(survey.insurance or none)),
    ]


def tree_schedule(assessment: Assessment, how: Manner) -> list[TreeRow]:
    """Each anchor that a line uses, once, under the manager's own tag."""
    t, m, rows = how.words, how.measures(), []
    for anchor in assessment.record.anchors:
        tied = [(line, end) for line in assessment.lines for end in line.anchors if end.code == anchor.code]
        if not tied:
            continue
        ends = [end for _, end in tied]
        worst_end = max(ends, key=lambda end: VERDICTS.index(end.verdict))
        ties = dict.fromkeys(f"{end.line_id}{t('colon')} {_tie(end, line, t, m)}" for line, end in tied)
        padding = dict.fromkeys(wording.padding_words(end, line.verdict, *how.tongue) for line, end in tied)
        tag = shorten(wording.tag(worst_end, t.language), TAG_SHOWN_HERE)
        rows.append(TreeRow(tag, anchor.code, _kind(anchor, worst_end, t),
                            _size(anchor, ends, t, m), t("between").join(ties), worst_end.verdict,
                            t("between").join(padding)))  # fmt: skip
    return rows


def _tie(end: AnchorResult, line: LineResult, t: Words, m: Measures) -> str:
    return as_planned.planned(m.length(end.tie_height_m, 2), as_planned.tie_asked_for(end, line, m), False, t, IN_ROW)


def _kind(anchor: Anchor, end: AnchorResult, t: Words) -> str:
    """Its common name, and in brackets its scientific one, in which a person may know it."""
    if not end.species:
        return word(anchor.kind, t.language)
    common = common_name(end.species, t.language)
    return plain(f"{common} ({end.species})" if common else word(end.species, t.language))


def _size(anchor: Anchor, ends: list[AnchorResult], t: Words, m: Measures) -> str:
    if not isinstance(anchor, Tree):
        return t("rp-not-measured")
    high = t("dc-high", height=m.length(anchor.height.si, 0)) if anchor.height else ""
    tied = at_ties(anchor, (end.tie_height_m for end in ends))
    return trunk_here(trunk_at(anchor, None), t, tied) + high
