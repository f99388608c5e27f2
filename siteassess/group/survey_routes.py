"""Surveys: handed in by whoever stood there, judged when they come, decided on by somebody else."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import Annotated

from fastapi import FastAPI, File, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from siteassess.errors import SiteassessError
from siteassess.group.pages import survey_page
from siteassess.group.place_routes import MARK_DAYS
from siteassess.group.queue import ASKED, OPEN_STATES, TAKEN, TURNED_DOWN, HandedIn, Queue, refuse_own_survey
from siteassess.group.roles import may
from siteassess.group.taking_in import into_register, judged
from siteassess.group.visits import Desk, Field, LongField, Refused, Visit
from siteassess.papers.language import words_in
from siteassess.records.yaml_lines import MAX_BYTES
from siteassess.reference.findings import worded
from siteassess.register.store import Store

RecordFile = Annotated[UploadFile, File()]


def add_surveys(app: FastAPI, desk: Desk) -> None:
    """Add the routes of surveys to an application."""
    visits, queue = desk.visits, Queue(desk.accounts)
    of_surveys, of_form = visits.needs("see surveys"), visits.needs("hand in a survey")
    of_handing_in, of_review, of_talk = (
        visits.needs(act, form=True) for act in ("hand in a survey", "review", "comment")
    )

    def seen(id_: str, visit: Visit) -> HandedIn:
        survey, person = queue.one(id_), visit.somebody
        if survey.by_id != person.id and not may(person.role, "review"):
            raise Refused(worded("gr-not-of-your-role"))
        return survey

    @app.get("/surveys")
    def surveys(visit: Visit = of_surveys) -> Response:
        person = visit.somebody
        found = queue.all(None if may(person.role, "review") else person)
        return visits.shown(visit, "surveys", surveys=found, once=secrets.token_hex(16), why="")

    @app.post("/surveys")
    def hand_in(record: RecordFile, once: Field, visit: Visit = of_handing_in) -> Response:
        data = record.file.read(MAX_BYTES + 1)
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("latin-1")  # its faults are told below
        try:
            result = judged(text, (record.filename or "")[:100], desk.today())
            verdicts = {line.id: line.verdict for line in result.lines}
            id_ = queue.hand_in(once, visit.somebody, result.record.site.name, text, verdicts)
        except SiteassessError as error:
            return visits.shown(visit, "surveys", 400, surveys=queue.all(visit.somebody), once=once,
                                why=visit.told(error))  # fmt: skip
        return RedirectResponse(f"/surveys/{id_}", 303)

    @app.get("/surveys/{id}")
    def survey(id: str, visit: Visit = of_surveys) -> Response:  # noqa: A002
        found = seen(id, visit)
        until = desk.today() + timedelta(days=MARK_DAYS)
        result = judged(found.text, found.site, desk.today())
        decides = found.state in OPEN_STATES and found.by_id != visit.somebody.id
        return visits.shown(
            visit, "survey", survey=found, **survey_page(result, visit.language), said=queue.talk.about(id),
            decides=decides and may(visit.somebody.role, "review"), mark_until=until.isoformat(),
            once=secrets.token_hex(16),
        )  # fmt: skip

    @app.post("/surveys/{id}/talk")
    def say(id: str, text: LongField, visit: Visit = of_talk, once: Field = "") -> Response:  # noqa: A002
        queue.talk.say(seen(id, visit).id, visit.somebody, text, once)
        return RedirectResponse(f"/surveys/{id}", 303)

    @app.post("/surveys/{id}/decide")
    def decide(
        id: str, word: Field, visit: Visit = of_review, until: Field = "", text: LongField = "",  # noqa: A002
        once: Field = "",
    ) -> Response:
        found, person = seen(id, visit), visit.somebody
        refuse_own_survey(found, person)
        if word == "take in":
            why = words_in(visit.language)("gp-why-survey", who=found.by)
            with Store.open(desk.register) as store:
                into_register(store, found, person, desk.today(), until=until, conditions=text.strip(), why=why)
            queue.decide(found, person, TAKEN)
        elif word in ("ask", "turn down"):
            queue.talk.say(id, person, text, once)
            queue.decide(found, person, ASKED if word == "ask" else TURNED_DOWN)
        return RedirectResponse(f"/surveys/{id}", 303)

    @app.get("/form")
    def field_form(visit: Visit = of_form) -> Response:
        from siteassess.papers.form import form_page

        return HTMLResponse(form_page(visit.language))
