"""The report in full, an appendix to the officer's paper: sums, evidence, every clause, and what was not looked at."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from markupsafe import Markup

from siteassess.advice.finding import Finding, conditions_of
from siteassess.advice.packing import packing_notes
from siteassess.advice.results import AnchorResult, Assessment, LineResult
from siteassess.papers import picture_line, picture_tie, picture_use, wording
from siteassess.papers.language import Words, cautions_told, words_in
from siteassess.papers.pages import paper
from siteassess.papers.photos import photos_of
from siteassess.papers.rule_table import rule_rows
from siteassess.papers.seasons import planned_season, season_picture
from siteassess.papers.terminal import findings_told
from siteassess.reference.findings import Said, in_words, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain


def report_page(
    assessment: Assessment, *, folder: Path | None = None, language: str = "en", other: str = ""
) -> str:  # fmt: skip
    """The report as text.

    Parameters
    ----------
    assessment : the answers with their record
    folder : where the record and its photos lie; without it photos are only named
    language : what it is told in; what the numbers come from is in English
    other : name of the file whose appendix it is
    """
    record, t = assessment.record, words_in(language)
    used = {end.code for line in assessment.lines for end in line.anchors}
    return paper(
        "report",
        title=f"{record.site.name}{t('colon')} {t('rp-title')}",
        language=language,
        t=t,
        other=other,
        site=record.site,
        survey=record.survey,
        assessed_for=assessment.one_day or t("own-days"),
        w=InWords(t),
        word=word,
        rules=rule_rows(assessment, language),
        lines=[line_part(line, assessment, t) for line in assessment.lines],
        trees_alone=assessment.trees,
        packing=[plain(item.told().in_words(language)) for item in assessment.packing],
        packing_notes=in_words(packing_notes(assessment.lines), language),
        assumptions=assessment.assumptions,
        cautions=cautions_told(assessment, t),
        photos=photos_of(record, folder, used or None),
        warnings=[one.in_words(language) for one in assessment.warnings],
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


def line_part(line: LineResult, assessment: Assessment, t: Words) -> dict[str, Any]:
    """What is told and drawn of one line."""
    slug, findings = f"l{assessment.lines.index(line)}", _line_findings(line)
    month = (line.day or assessment.date).month
    return {
        "result": line,
        "findings": [wording.finding(f, even_suits=True, language=t.language) for f in findings],
        "without_condition": [wording.finding(f, conditions=False, even_suits=True, language=t.language)
                              for f in findings],
        "looks": wording.looks(line, t.language),
        "over_ground": wording.over_ground(line, t.language),
        "gear": t("between").join(in_words(line.gear_told, t.language)) or word("not checked", t.language),
        "profile": Markup(picture_line.profile_picture(line, f"{slug}p", t.language)),
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
            picture_tie.cross_section(end, f"{prefix}c", language, wording.placed_way(line, end.end)),
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
        "padding": wording.padding_words(end, line.verdict, language),
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
