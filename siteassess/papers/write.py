"""One door to every paper that changes hands: from a record file, and where it fits a register file.

Which paper needs what: the officer's report, the request and the card are made from an assessment; the care sheet and
the yearly summary from the register alone; the incident note from the record, or from nothing.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from siteassess.errors import UnknownName
from siteassess.papers.handover import APPENDIX, Manner, RegisterSide, appendix_name, write_page
from siteassess.records.record import Record
from siteassess.reference.findings import worded

if TYPE_CHECKING:  # at run time only the paper that was asked for is imported
    from siteassess.advice.results import Assessment
    from siteassess.papers.from_register import LineStanding, SiteYear
    from siteassess.register.store import Store

FROM_REGISTER = ("care", "year")
TELL_LOOKS = ("officer", "card")  # kinds that tell what to look at first, which takes most of judging a line
INCIDENT_EVENTS = ("incident", "damage", "storm", "vandalism", "complaint")


@dataclass(frozen=True)
class PaperAsked:
    """What a person asked for. `register` is a file; `record` is None for a blank note or a paper of the register."""

    kind: str
    record: Record | None = None
    folder: Path | None = None
    register: Path | None = None
    site: str | None = None
    line_id: str | None = None
    tree: str | None = None
    year: int | None = None
    paper: str = "A4"
    name: str = ""  # of the file it is written to, which its appendix names
    answered: Assessment | None = None  # where it was judged already


def write_paper(asked: PaperAsked, how: Manner, target: Path, pdf: bool = False) -> list[Path]:
    """Write one paper.

    Parameters
    ----------
    asked : which, and from what
    how : language and units
    target : HTML file to write; a card of each of several lines ends in -LINE, an appendix in `handover.APPENDIX`
    pdf : also as PDF beside it

    Returns
    -------
    Paths written.

    Raises
    ------
    UnknownName : no such line, tree or site.
    MissingExtra : a PDF was asked for and the extra is missing; nothing is written.
    """
    if pdf:
        from siteassess.papers.pdf import need_pdf

        need_pdf()
    written: list[Path] = []
    for ending, text in MAKERS[asked.kind](replace(asked, name=target.name), how).items():
        file = target.with_name(f"{target.stem}{ending}{target.suffix}")
        written += write_page(text, file, pdf)
    return written


def _assessed(asked: PaperAsked) -> Assessment:
    from siteassess.advice.assess import assess

    if asked.answered is not None:
        return asked.answered
    assert asked.record is not None  # the command line asks for one
    return assess(asked.record, line_id=asked.line_id, looks=asked.kind in TELL_LOOKS)


def _officer(asked: PaperAsked, how: Manner) -> dict[str, str]:
    from siteassess.papers.officer import asked_plan, officer_page
    from siteassess.papers.report import report_page

    assessment, language = _assessed(asked), how.words.language
    sheets = asked_plan(assessment, language, asked.paper, how.system == "us")
    return {"": officer_page(assessment, how, sheets, appendix_name(asked.name)),
            APPENDIX: report_page(assessment, folder=asked.folder, language=language, other=asked.name)}


def _request(asked: PaperAsked, how: Manner) -> dict[str, str]:
    from siteassess.papers.officer import asked_plan
    from siteassess.papers.request import method_page, request_page

    assessment = _assessed(asked)
    sheets = asked_plan(assessment, how.words.language, asked.paper, how.system == "us")
    side, checks = None, {}
    if asked.register is not None:
        from siteassess.papers.from_register import next_checks
        from siteassess.register.store import Store

        with Store.open(asked.register) as store:
            side, checks = register_side(store), next_checks(store, assessment.record)
    return {"": request_page(assessment, how, side, appendix_name(asked.name)),
            APPENDIX: method_page(assessment, how, sheets, asked.folder, side, checks, asked.name)}


def register_side(store: Store) -> RegisterSide:
    """Heads and licence of a register, as papers print them."""
    from siteassess.papers.from_register import licence_of

    return store.heads(), licence_of(store)


def _cards(asked: PaperAsked, how: Manner) -> dict[str, str]:
    from siteassess.papers.card import card_page

    assessment = _assessed(asked)
    standings: dict[str, LineStanding | None] = {}
    if asked.register is not None:
        from siteassess.papers.from_register import line_standing
        from siteassess.register.store import Store

        with Store.open(asked.register) as store:
            for line in assessment.lines:
                # a card for a planned day is asked of that day: a mark may have run out by then
                on = max(filter(None, (line.day, how.made_on or datetime.date.today())))
                standings[line.id] = line_standing(store, assessment, line.id, on)
    if not assessment.lines:
        raise UnknownName(worded("card-without-line"))
    alone = len(assessment.lines) == 1
    return {
        "" if alone else f"-{line.id}": card_page(assessment, line.id, how, standings.get(line.id))
        for line in assessment.lines
    }


def _site_year(asked: PaperAsked, how: Manner) -> SiteYear:
    from siteassess.papers.from_register import only_site, site_year
    from siteassess.register.store import Store

    assert asked.register is not None  # the command line asks for one
    today = how.made_on or datetime.date.today()
    name = asked.site or (asked.record.site.name if asked.record else None)
    with Store.open(asked.register) as store:
        return site_year(store, only_site(store, name), asked.year or today.year, today)


def _care(asked: PaperAsked, how: Manner) -> dict[str, str]:
    from siteassess.papers.care_paper import care_log_page
    from siteassess.papers.care_sheet import care_page

    site = _site_year(asked, how)
    trees = None
    if asked.tree is not None:
        trees = tuple(tree for tree in site.trees if asked.tree.lower() in (tree.code.lower(), tree.tag.lower()))
        if not trees:
            known = tuple(tree.code for tree in site.trees)
            code = "no-such-tree" if known else "no-tree-at-all"
            raise UnknownName(worded(code, tree=repr(asked.tree), site=site.name, trees=known))
    return {"": care_page(site, how, trees, appendix_name(asked.name)),
            APPENDIX: care_log_page(site, how, trees, asked.name)}


def _year(asked: PaperAsked, how: Manner) -> dict[str, str]:
    from siteassess.papers.care_paper import year_page

    return {"": year_page(_site_year(asked, how), how)}


def _incident(asked: PaperAsked, how: Manner) -> dict[str, str]:
    from siteassess.papers.incident import incident_page

    if asked.record is not None and asked.line_id is not None:
        known = [line.id for line in asked.record.lines]
        if asked.line_id not in known:
            code = "no-such-planned-line" if known else "no-planned-line-at-all"
            raise UnknownName(worded(code, line=repr(asked.line_id), lines=known))
    logged: list[tuple[str, str, str]] = []
    side = None
    if asked.register is not None and asked.record is not None:
        from siteassess.register.store import Store

        site = _site_year(asked, how)
        trees = [tree for tree in site.trees if asked.tree is None or tree.code == asked.tree]
        logged = [
            (row.body["date"], how.words.of(row.body["event"]),
             f"{tree.code}{how.words('colon')} {row.body.get('notes') or ''}")
            for tree in trees for row in tree.events if row.body["event"] in INCIDENT_EVENTS
        ]
        with Store.open(asked.register) as store:
            side = register_side(store)
    return {"": incident_page(asked.record, how, line_id=asked.line_id, logged=logged, side=side)}


MAKERS: dict[str, Callable[[PaperAsked, Manner], dict[str, str]]] = {
    "officer": _officer, "request": _request, "card": _cards, "care": _care, "year": _year, "incident": _incident,
}
PAPER_KINDS = tuple(MAKERS)
