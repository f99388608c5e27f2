"""The ways in and out, and who belongs to the group."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import FastAPI
from fastapi.responses import RedirectResponse, Response

from siteassess.group.accounts import INVITED, SHORTEST_PASSWORD, SIGNED_IN, AccountError
from siteassess.group.roles import ROLES
from siteassess.group.visits import Desk, Field, Visit
from siteassess.reference.findings import worded


def add_people(app: FastAPI, desk: Desk) -> None:
    """Add the routes of people to an application."""
    accounts, visits = desk.accounts, desk.visits
    anybody, anybodys_form = visits.anybody, visits.anybodys_form
    of_members, of_leaving = visits.needs("see people"), visits.needs("sign out", form=True)
    of_inviting, of_roles = (visits.needs(act, form=True) for act in ("invite", "change a role"))

    @app.get("/sign-in")
    def sign_in_page(visit: Visit = anybody) -> Response:
        return visits.shown(visit, "sign_in", name="", why="")

    @app.post("/sign-in")
    def sign_in(name: Field, password: Field, visit: Visit = anybodys_form) -> Response:
        try:
            sender = visit.request.client.host if visit.request.client else ""
            word = accounts.sign_in(name, password, sender)
        except AccountError as error:
            return visits.shown(visit, "sign_in", 403, name=name, why=visit.told(error))
        return signed_in(word)

    def signed_in(word: str) -> Response:
        answer = RedirectResponse("/", 303)
        # a new word: what was known before opens nothing
        visits.signer.give(answer, word, int(SIGNED_IN.total_seconds()))
        return answer

    @app.get("/come-in/{word}")
    def come_in_page(word: str, visit: Visit = anybody) -> Response:
        if (role := accounts.invited_as(word)) is None:
            return visits.shown(visit, "refused", 404, why=worded("gr-address-over").in_words(visit.language))
        return visits.shown(visit, "come_in", role=role, name="", why="", least=SHORTEST_PASSWORD)

    @app.post("/come-in/{word}")
    def come_in(word: str, name: Field, password: Field, visit: Visit = anybodys_form) -> Response:
        try:
            person = accounts.come_in(word, name, password)
            return signed_in(accounts.sign_in(person.name, password))
        except AccountError as error:
            role = accounts.invited_as(word)
            page = "refused" if role is None else "come_in"
            return visits.shown(visit, page, 403, role=role, name=name, why=visit.told(error), least=SHORTEST_PASSWORD)

    @app.get("/people")
    def people(visit: Visit = of_members) -> Response:
        return of_people(visit, lambda: None)

    @app.post("/people/invite")
    def invite(role: Field, visit: Visit = of_inviting) -> Response:
        person = visit.somebody
        return of_people(visit, lambda: f"{visit.request.base_url}come-in/{accounts.invite(role, person)}")

    @app.post("/people/role")
    def give_role(name: Field, role: Field, visit: Visit = of_roles) -> Response:
        return of_people(visit, lambda: accounts.give_role(name, role))

    @app.post("/people/leave")
    def leave(name: Field, visit: Visit = of_roles) -> Response:
        return of_people(visit, lambda: accounts.leave(name))

    def of_people(visit: Visit, change: Callable[[], str | None]) -> Response:
        why, address, status = "", "", 200
        try:
            address = change() or ""
        except AccountError as error:
            why, status = visit.told(error), 403
        return visits.shown(visit, "people", status, people=accounts.people(), roles=ROLES, address=address, why=why,
                            days=INVITED.days)  # fmt: skip

    @app.post("/sign-out")
    def sign_out(visit: Visit = of_leaving, everywhere: Field = "") -> Response:
        if everywhere:
            accounts.sign_out_everywhere(visit.somebody)
        accounts.sign_out(visit.word)
        answer = RedirectResponse("/sign-in", 303)
        visits.signer.give(answer, visits.signer.new_word())
        return answer
