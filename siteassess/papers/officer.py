"""The officer's paper: the decision on two pages, the plan, a page a line. Its appendix is the report in full."""

from __future__ import annotations

import base64
import itertools
from collections import Counter
from pathlib import Path

from siteassess.advice.results import Assessment
from siteassess.papers.decision import decision, only_asked
from siteassess.papers.drawing import Sheet
from siteassess.papers.handover import Manner, appendix_name, manner, page, record_values, survey_facts
from siteassess.papers.language import Words, emergency_told
from siteassess.papers.plan import draw_plan
from siteassess.papers.report import InWords, line_part, report_page
from siteassess.records.files import write_whole
from siteassess.reference.findings import word
from siteassess.reference.measures import known

PLAN_SHEETS_SHOWN = 4  # further sheets are named; the PDF of the plan holds them all


def write_officer(
    assessment: Assessment, path: str | Path, *, paper: str = "A4", folder: Path | None = None, language: str = "en"
) -> list[Path]:
    """Write the officer's paper and its appendix, each one HTML file with a print style.

    Parameters
    ----------
    assessment : the answers with their record
    path : of the paper; its appendix lies beside it
    paper : of the plan within, see `plan.write_plan`
    folder : where the record and its photos lie; without it photos are only named
    language : what they are told in

    Returns
    -------
    The paths written.

    Raises
    ------
    FaultyInput : a paper that is not on the list.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    main = Path(path)
    appendix = main.with_name(appendix_name(main.name))
    sheets = asked_plan(assessment, language=language, paper=paper)
    write_whole(officer_page(assessment, manner(language), sheets, appendix.name), main)
    write_whole(report_page(assessment, folder=folder, language=language, other=main.name), appendix)
    return [main, appendix]


def asked_plan(
    assessment: Assessment, language: str = "en", paper: str = "A4", feet: bool = False
) -> tuple[Sheet, ...]:  # fmt: skip
    """The plan of the lines that are asked for, and of their trees alone; nothing where none is."""
    asked = only_asked(assessment)
    if not asked.lines:
        return ()
    return draw_plan(asked, paper=paper, feet=feet, language=language, lines_only=True).sheets


def officer_page(assessment: Assessment, how: Manner, sheets: tuple[Sheet, ...] = (), other: str = "") -> str:
    """The paper as text.

    Parameters
    ----------
    assessment : the answers with their record
    how : language, units of the decision, and the day it is made
    sheets : of `asked_plan`
    other : name of the file of its appendix
    """
    record, t, asked = assessment.record, how.words, only_asked(assessment)
    told, lines = decision(assessment, how), [line_part(line, assessment, t) for line in asked.lines]
    bars = _hardest(asked) if told["roomy"] else None
    ties = Counter(end.code for line in asked.lines for end in line.anchors)
    return page(
        "officer", how,
        place=record.site.name, invented=record.site.invented, facts=survey_facts(record, t, assessment.one_day),
        version_of=[record_values(record), assessment.date], d=told, bars=bars, w=InWords(t), word=word,
        plan=plan_images(sheets, t), plan_left_out=max(0, len(sheets) - PLAN_SHEETS_SHOWN),
        emergency=emergency_told(record.site.emergency, t),
        lines=lines, tied_once={code for code, count in ties.items() if count == 1}, other=other,
    )  # fmt: skip


def _hardest(asked: Assessment) -> tuple[str, str] | None:
    """The line and the anchor of the end that uses most of what holds it; None where none is known."""
    ends = [(end.hold_use, line.id, end.code) for line in asked.lines for end in line.anchors
            if known(end.hold_use) and end.limits]  # fmt: skip
    return max(ends)[1:] if ends else None


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
