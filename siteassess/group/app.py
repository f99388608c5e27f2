"""The group's page: one register and one file of accounts, served as plain pages that need no scripts."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import date
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from starlette.exceptions import HTTPException

from siteassess.errors import SiteassessError, UnknownName
from siteassess.group.accounts import Accounts
from siteassess.group.due_routes import add_due
from siteassess.group.guarding import GUARDS, BoundedBodies
from siteassess.group.paper_routes import add_papers
from siteassess.group.people_routes import add_people
from siteassess.group.place_routes import add_places
from siteassess.group.survey_routes import add_surveys
from siteassess.group.visits import Desk, Refused, Visits
from siteassess.reference.findings import worded


def group_app(
    register: Path, accounts: Accounts, *, https: bool = False, today: Callable[[], date] = date.today
) -> FastAPI:
    """The web application of a group.

    Parameters
    ----------
    register : file of the register
    accounts : of the group
    https : whether it is reached by https alone, as behind a proxy; cookies are then kept from plain http
    today : the day, for tests
    """
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    app.add_middleware(BoundedBodies)
    visits = Visits(accounts, https)
    desk = Desk(register, accounts, visits, today)
    add_people(app, desk)
    add_places(app, desk)
    add_surveys(app, desk)
    add_due(app, desk)
    add_papers(app, desk)

    @app.middleware("http")
    async def guarded(request: Request, go_on: Callable[[Request], Awaitable[Response]]) -> Response:
        answer = await go_on(request)
        answer.headers.update(GUARDS)
        if https:
            answer.headers["strict-transport-security"] = "max-age=31536000"
        return answer

    @app.exception_handler(Refused)
    def refused(request: Request, error: Refused) -> Response:
        visit = visits.of(request)
        if visit.person is None and request.method == "GET":
            return RedirectResponse("/sign-in", 303)
        return visits.shown(visit, "refused", 403, why=visit.told(error))

    @app.exception_handler(SiteassessError)
    def not_done(request: Request, error: SiteassessError) -> Response:
        visit = visits.of(request)
        status = 404 if isinstance(error, UnknownName) else 400
        return visits.shown(visit, "refused", status, why=visit.told(error))

    @app.exception_handler(RequestValidationError)
    def half_a_form(request: Request, error: RequestValidationError) -> Response:
        visit = visits.of(request)
        if any(one["loc"][0] == "path" for one in error.errors()):  # an address nobody was given
            return visits.shown(visit, "refused", 404, why=worded("gr-no-page").in_words(visit.language))
        return visits.shown(visit, "refused", 400, why=worded("gr-form-not-whole").in_words(visit.language))

    @app.exception_handler(HTTPException)
    def no_such_page(request: Request, error: HTTPException) -> Response:
        visit = visits.of(request)
        return visits.shown(visit, "refused", error.status_code, why=worded("gr-no-page").in_words(visit.language))

    return app
