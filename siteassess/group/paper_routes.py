"""Papers from the page: a line's card of the session, a park's year for the land manager."""

from __future__ import annotations

from fastapi import FastAPI
from fastapi.responses import HTMLResponse, Response

from siteassess.errors import UnknownName
from siteassess.group.places import place_of
from siteassess.group.survey_routes import survey_seen
from siteassess.group.taking_in import read_survey
from siteassess.group.visits import Desk, Visit
from siteassess.papers.handover import manner
from siteassess.papers.write import MAKERS, PaperAsked
from siteassess.reference.findings import worded
from siteassess.register.store import Store

OF_A_YEAR = ("year", "care")
FIRST_YEAR = 1990  # no register is older


def add_papers(app: FastAPI, desk: Desk) -> None:
    """Add the routes of papers to an application."""
    of_papers, of_surveys = desk.visits.needs("see the papers"), desk.visits.needs("see surveys")

    @app.get("/place/{name}/paper/{kind}/{year}")
    def of_a_year(name: str, kind: str, year: int, visit: Visit = of_papers) -> Response:
        if kind not in OF_A_YEAR or not FIRST_YEAR <= year <= desk.today().year:
            raise UnknownName(worded("gr-no-page"))
        with Store.open(desk.register) as store:
            here = place_of(store, name, lambda site: desk.copy(store, visit.somebody, visit.language, site))
            asked = PaperAsked(kind, register=desk.register, site=here.feature.site_name, year=year)
        return HTMLResponse(MAKERS[kind](asked, manner(visit.language, made_on=desk.today()))[""])

    @app.get("/surveys/{id}/card/{line}")
    def card(id: str, line: str, visit: Visit = of_surveys) -> Response:  # noqa: A002
        survey = survey_seen(desk, id, visit)
        asked = PaperAsked("card", record=read_survey(survey.text, survey.site), line_id=line, register=desk.register)
        (page,) = MAKERS["card"](asked, manner(visit.language, made_on=desk.today())).values()
        return HTMLResponse(page)
