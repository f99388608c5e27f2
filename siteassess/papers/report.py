"""The report for the land manager: one HTML file with a print style, no script, nothing loaded from elsewhere.

Its first page answers a tree officer; the sums, the evidence and what was not looked at follow.
"""

from __future__ import annotations

import base64
import functools
import itertools
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from markupsafe import Markup

from siteassess.advice.care_results import Protection
from siteassess.advice.finding import Finding, conditions_of
from siteassess.advice.packing import packing_notes
from siteassess.advice.results import AnchorResult, Answered, Assessment, LineResult, RuleCheck
from siteassess.advice.verdict import Verdict, worst
from siteassess.papers import picture_line, picture_tie, picture_use, wording
from siteassess.papers.asked import asked_for
from siteassess.papers.drawing import Sheet
from siteassess.papers.language import Words, cautions_told, emergency_told, trunk_here, words_in
from siteassess.papers.look import look
from siteassess.papers.pages import paper
from siteassess.papers.photos import photos_of
from siteassess.papers.plan import DrawnPlan, draw_plan
from siteassess.papers.seasons import planned_season, season_picture
from siteassess.papers.terminal import findings_told
from siteassess.records.anchor import Tree
from siteassess.records.files import write_whole
from siteassess.records.trunk import at_ties, trunk_at
from siteassess.reference.findings import Said, in_words, said, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain
from siteassess.reference.texts import text

PLAN_SHEETS_SHOWN = 4  # further sheets are named; the PDF of the plan holds them all


def write_report(
    assessment: Assessment,
    path: str | Path,
    *,
    paper: str = "A4",
    scale: str | None = None,
    positions: dict[str, tuple[float, float]] | None = None,
    drawn: DrawnPlan | None = None,
    folder: Path | None = None,
    language: str = "en",
) -> Path:
    """Write the report as one self-contained HTML file.

    Parameters
    ----------
    assessment : the answers with their record
    path : file to write
    paper, scale : of the plan within, see `plan.write_plan`
    positions : corrected latitude and longitude by anchor code [deg]
    drawn : a plan drawn already, shown as it is
    folder : where the record and its photos lie; without it photos are only named
    language : what it is told in; what the numbers come from is in English

    Returns
    -------
    The path written.

    Raises
    ------
    FaultyInput : a paper or scale that is not on the list.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    drawn = drawn or draw_plan(assessment, paper=paper, scale=scale, positions=positions, language=language)
    return write_whole(report_page(assessment, drawn.sheets, folder=folder, language=language), path)


def report_page(
    assessment: Assessment, plan_sheets: tuple[Sheet, ...] = (), *, folder: Path | None = None, language: str = "en"
) -> str:
    """The report as text; see `write_report`."""
    record, t = assessment.record, words_in(language)
    used = {end.code for line in assessment.lines for end in line.anchors}
    return paper(
        "report",
        title=f"{record.site.name}{t('colon')} {t('rp-title')}",
        language=language,
        t=t,
        site=record.site,
        survey=record.survey,
        assessed_for=assessment.one_day or t("own-days"),
        w=InWords(t),
        word=word,
        requests=[asked_for(line, record, t) for line in assessment.lines],
        trees=tree_schedule(assessment, t),
        rules=rule_rows(assessment, language),
        lines=[_line_part(line, assessment, t) for line in assessment.lines],
        trees_alone=assessment.trees,
        packing=[plain(item.told().in_words(language)) for item in assessment.packing],
        packing_notes=in_words(packing_notes(assessment.lines), language),
        assumptions=assessment.assumptions,
        cautions=cautions_told(assessment, t),
        photos=photos_of(record, folder, used or None),
        warnings=[one.in_words(language) for one in assessment.warnings],
        emergency=emergency_told(record.site.emergency, t),
        plan=plan_images(plan_sheets, t),
        plan_left_out=max(0, len(plan_sheets) - PLAN_SHEETS_SHOWN),
        verdicts=look().verdicts.values(),
    )


class InWords:
    """What the templates tell, in a language: numbers by `m`, with the other system beside by `both`."""

    def __init__(self, t: Words):
        self.t, self.known = t, known
        self.m, self.both = Measures(t.language), Measures(t.language, both=True)

    def __getattr__(self, name: str) -> Callable[..., str]:
        """A function of `wording`."""
        return functools.partial(getattr(wording, name), language=self.t.language)

    def word(self, english: str) -> str:
        """A word of the tables."""
        return word(english, self.t.language)

    def said(self, codes: Iterable[Said]) -> tuple[str, ...]:
        """Codes in words."""
        return in_words(codes, self.t.language)


@dataclass(frozen=True)
class TreeRow:
    """One trunk in the schedule of the first page."""

    tag: str
    code: str
    species: str
    size: str
    ties: str
    verdict: str | None
    padding: str


def tree_schedule(assessment: Assessment, t: Words) -> list[TreeRow]:
    """Each anchor that a line uses, once, under the manager's own tag."""
    rows = []
    for anchor in assessment.record.anchors:
        tied = [(line, end) for line in assessment.lines for end in line.anchors if end.code == anchor.code]
        ends = [end for _, end in tied]
        if not ends:
            continue
        worst_end = max(ends, key=lambda end: list(look().verdicts).index(end.verdict))
        m, colon = Measures(t.language), t("colon")
        ties = dict.fromkeys(f"{end.line_id}{colon} {m.length(end.tie_height_m, 2)}" for end in ends)
        padding = dict.fromkeys(padding_words(end, line.verdict, t.language) for line, end in tied)
        rows.append(
            TreeRow(
                wording.tag(worst_end, t.language),
                anchor.code,
                word(plain(worst_end.species) or anchor.kind, t.language),
                trunk_here(trunk_at(anchor, None), t, at_ties(anchor, (end.tie_height_m for end in ends)))
                if isinstance(anchor, Tree) else t("rp-not-measured"),
                t("between").join(ties),
                worst_end.verdict,
                t("between").join(padding),
            )
        )
    return rows


def padding_words(
    end: AnchorResult, of_line: Verdict, language: str = "en", system: str = "metric"
) -> str:
    """The tie and padding of one end in a sentence: those the verdict asks for, with what they replace.

    `of_line` is the verdict of the whole line, which may leave open or rule out what suits this end.
    """
    if end.protection is None:
        return said("no-tie-planned").in_words(language)
    plan = end.protection.asked
    parts = [said("wrap-alone", wrap=plan.wrap)]
    if known(plan.sling_width_m):
        parts.append(said("sling-wide", width=plan.sling_width_m))
    if instead := plan.instead_told():
        parts.append(instead)
    if plan.pad_material:
        parts.append(_pads(plan))
    if plan.slats:
        parts.append(said("so-many-slats", slats=plan.slats))
    settled = wording.settled(worst((end.verdict, of_line)), language)
    return plain(", ".join(in_words(parts, language, system)) + (f" ({settled})" if settled else ""))


def _pads(plan: Protection) -> Said:
    pieces = (said("pad-pieces", pieces=plan.pad_pieces),) if plan.pad_pieces > 1 else ()
    high = (said("pad-high", height=plan.pad_height_m),) if known(plan.pad_height_m) else ()
    where = (said("pad-where", scope=plan.pad_scope),) if plan.pad_scope else ()
    return said("pads-on", pieces=pieces, material=plan.pad_material, high=high, where=where)


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


def _line_part(line: LineResult, assessment: Assessment, t: Words) -> dict[str, Any]:
    slug = f"l{assessment.lines.index(line)}"
    month = (line.day or assessment.date).month
    return {
        "result": line,
        "findings": [wording.finding(f, even_suits=True, language=t.language) for f in _line_findings(line)],
        "looks": wording.looks(line, t.language),
        "over_ground": wording.over_ground(line, t.language),
        "gear": t("between").join(in_words(line.gear_told, t.language)) or word("not checked", t.language),
        "profile": Markup(picture_line.profile(line, f"{slug}p", t.language)),
        "sweeps": _sweeps(line, f"{slug}w", t.language),
        "hauling": [f.in_words(t.language) for f in line.findings
                    if f.about == "hauling" and f.effect == "suits"],
        "ends": [_end_part(end, line, assessment, month, f"{slug}{end.end.lower()}", t.language)
                 for end in line.anchors],
    }


def _line_findings(line: LineResult) -> list[Finding]:
    """Findings of the line as a whole; what only tells of its gear or its hauling stands at those places."""
    elsewhere = "hauling" if line.hauling else None
    return [f for f in line.ordered if f.effect != "suits" or f.about != elsewhere]


def _sweeps(line: LineResult, prefix: str, language: str) -> list[Markup]:
    """Pictures of the sweeps that the assessment worked out."""
    return [Markup(picture_line.sweep_picture(one, f"{prefix}{number}", language))
            for number, one in enumerate(line.sweeps)]  # fmt: skip


def _end_part(
    end: AnchorResult, line: LineResult, assessment: Assessment, month: int, prefix: str, language: str
) -> dict[str, Any]:
    drawn = (
        [
            picture_tie.cross_section(end, f"{prefix}c", language),
            picture_tie.elevation(end, f"{prefix}e", language),
            picture_use.sectors(end, f"{prefix}s", language),
        ]
        if end.kind == "tree"
        else []
    )
    return {
        "result": end,
        "conditions": conditions_of(end.findings, language) if end.verdict == "suits if" else (),
        "signs": [f.in_words(language) for f in end.ordered if f.about == "stop sign"],
        "pictures": [Markup(svg) for svg in drawn],
        "findings": [wording.finding(f, conditions=False, language=language) for f in findings_told(end)],
        "advice": _advice(end, language),
        "bars": Markup(picture_use.bars_of_use(end.limits, f"{prefix}b", language)) if end.limits else None,
        "season": Markup(_season(end, assessment, month, f"{prefix}y", language)) if end.kind == "tree" else None,
        "padding": padding_words(end, line.verdict, language),
    }


def _advice(end: AnchorResult, language: str) -> list[str]:
    """Advice on tie and bark; a season that is open on the day is told below the year's picture, with its flag."""
    told = end.protection.asked.told if end.protection else ()
    return [one.in_words(language) for one in told if one.code not in ("window-of-the-year", "window-all-year")]


def _season(end: AnchorResult, assessment: Assessment, month: int, prefix: str, language: str) -> str:
    plan = end.protection.season if end.protection else None
    if plan:
        return planned_season(plan, month, prefix, language)
    return season_picture(assessment.record, end.code, month, prefix, language)


def plan_images(sheets: tuple[Sheet, ...], t: Words) -> list[dict[str, str]]:
    """Sheets as pictures within the page; their own words stand in the tables of the report."""
    images = []
    for number, sheet in enumerate(itertools.islice(sheets, PLAN_SHEETS_SHOWN), 1):
        data = base64.b64encode(sheet.svg(text_as_shapes=True).encode("utf-8")).decode("ascii")
        images.append(
            {"source": f"data:image/svg+xml;base64,{data}",
             "words": t("rp-plan-sheet", number=number, count=len(sheets))}
        )
    return images
