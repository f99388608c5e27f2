"""The group's page: one register and one file of accounts, served as plain pages without scripts.

Every route but the way in names the act of the table that it needs, so that none is open by being forgotten. A form is
taken only with the proof that was written into it for this very visitor.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import date
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from fastapi import Depends, FastAPI, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from siteassess.errors import SiteassessError
from siteassess.group.accounts import INVITED, SHORTEST_PASSWORD, SIGNED_IN, AccountError, Accounts, Person
from siteassess.group.guarding import GUARDS, Signer, SmallBodies
from siteassess.group.pages import group_page, language_of, places_page
from siteassess.group.roles import LAYER_OF, ROLES, may
from siteassess.reference.findings import in_language, worded
from siteassess.register.share import make_copy
from siteassess.register.store import Store

Field = Annotated[str, Form(max_length=1000)]


class Refused(SiteassessError):
    """A page that somebody may not see, or a form that is not theirs."""


class Visit(NamedTuple):
    """One request of one visitor."""

    request: Request
    word: str  # of the session, or of the visitor who is not signed in
    person: Person | None
    language: str


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
    app.add_middleware(SmallBodies)
    signer = Signer(accounts.signing_key, https)

    def visiting(request: Request) -> Visit:
        word = signer.read(request)
        person = accounts.signed_in(word) if word else None
        language = language_of(request.headers.get("accept-language", ""))
        return Visit(request, word or signer.new_word(), person, language)

    by_cookie = Depends(visiting)

    def needs(act: str) -> Any:
        def allowed(visit: Visit = by_cookie) -> Visit:
            if visit.person is None:
                raise Refused(worded("gr-sign-in-first"))
            if not may(visit.person.role, act):
                raise Refused(worded("gr-not-of-your-role"))
            return visit

        allowed.act = act  # type: ignore[attr-defined]  # read by the test of every route times every role
        return Depends(allowed)

    of_places, of_members, of_inviting = needs("see places"), needs("see people"), needs("invite")
    of_roles, of_leaving = needs("change a role"), needs("sign out")

    def shown(visit: Visit, page: str, status: int = 200, **values: Any) -> Response:
        answer = HTMLResponse(
            group_page(page, visit.language, person=visit.person, proof=signer.proof(visit.word), **values), status)
        if signer.read(visit.request) != visit.word:  # who has it keeps it for as long as it was given
            signer.give(answer, visit.word)
        return answer

    def refuse_forged(visit: Visit, proof: str) -> None:
        if not signer.holds(proof, visit.word):
            raise Refused(worded("gr-form-too-old"))

    @app.middleware("http")
    async def guarded(request: Request, go_on: Callable[[Request], Awaitable[Response]]) -> Response:
        answer = await go_on(request)
        answer.headers.update(GUARDS)
        if https:
            answer.headers["strict-transport-security"] = "max-age=31536000"
        return answer

    @app.exception_handler(Refused)
    def refused(request: Request, error: Refused) -> Response:
        visit = visiting(request)
        if visit.person is None and request.method == "GET":
            return RedirectResponse("/sign-in", 303)
        return shown(visit, "refused", 403, why=_told(error, visit))

    @app.get("/sign-in")
    def sign_in_page(visit: Visit = by_cookie) -> Response:
        return shown(visit, "sign_in", name="", why="")

    @app.post("/sign-in")
    def sign_in(name: Field, password: Field, proof: Field, visit: Visit = by_cookie) -> Response:
        refuse_forged(visit, proof)
        try:
            word = accounts.sign_in(name, password)
        except AccountError as error:
            return shown(visit, "sign_in", 403, name=name, why=_told(error, visit))
        return signed_in(word)

    def signed_in(word: str) -> Response:
        answer = RedirectResponse("/", 303)
        signer.give(answer, word, int(SIGNED_IN.total_seconds()))  # a new word: what was known before opens nothing
        return answer

    @app.get("/come-in/{word}")
    def come_in_page(word: str, visit: Visit = by_cookie) -> Response:
        if (role := accounts.invited_as(word)) is None:
            return shown(visit, "refused", 404, why=worded("gr-address-over").in_words(visit.language))
        return shown(visit, "come_in", role=role, name="", why="", least=SHORTEST_PASSWORD)

    @app.post("/come-in/{word}")
    def come_in(
        word: str, name: Field, password: Field, proof: Field, visit: Visit = by_cookie
    ) -> Response:
        refuse_forged(visit, proof)
        try:
            person = accounts.come_in(word, name, password)
            return signed_in(accounts.sign_in(person.name, password))
        except AccountError as error:
            role = accounts.invited_as(word)
            page = "refused" if role is None else "come_in"
            return shown(visit, page, 403, role=role, name=name, why=_told(error, visit), least=SHORTEST_PASSWORD)

    @app.get("/")
    def places(visit: Visit = of_places) -> Response:
        assert visit.person is not None
        with Store.open(register) as store:
            copy = make_copy(store, LAYER_OF[visit.person.role], today(), language=visit.language)
        return shown(visit, "places", **places_page(copy, visit.language))

    @app.get("/people")
    def people(visit: Visit = of_members) -> Response:
        return of_people(visit, lambda: None)

    @app.post("/people/invite")
    def invite(role: Field, proof: Field, visit: Visit = of_inviting) -> Response:
        refuse_forged(visit, proof)
        person = visit.person
        assert person is not None
        return of_people(visit, lambda: f"{visit.request.base_url}come-in/{accounts.invite(role, person)}")

    @app.post("/people/role")
    def give_role(name: Field, role: Field, proof: Field, visit: Visit = of_roles) -> Response:
        refuse_forged(visit, proof)
        return of_people(visit, lambda: accounts.give_role(name, role))

    @app.post("/people/leave")
    def leave(name: Field, proof: Field, visit: Visit = of_roles) -> Response:
        refuse_forged(visit, proof)
        return of_people(visit, lambda: accounts.leave(name))

    def of_people(visit: Visit, change: Callable[[], str | None]) -> Response:
        why, address, status = "", "", 200
        try:
            address = change() or ""
        except AccountError as error:
            why, status = _told(error, visit), 403
        return shown(visit, "people", status, people=accounts.people(), roles=ROLES, address=address, why=why,
                     days=INVITED.days)  # fmt: skip

    @app.post("/sign-out")
    def sign_out(proof: Field, visit: Visit = of_leaving, everywhere: Field = "") -> Response:
        refuse_forged(visit, proof)
        assert visit.person is not None
        if everywhere:
            accounts.sign_out_everywhere(visit.person)
        accounts.sign_out(visit.word)
        answer = RedirectResponse("/sign-in", 303)
        signer.give(answer, signer.new_word())
        return answer

    return app


def _told(error: SiteassessError, visit: Visit) -> str:
    return in_language(error.args[0], visit.language)
