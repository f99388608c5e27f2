"""Surveys: handed in by whoever stood there, judged when they come, decided on by somebody else."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Annotated

from fastapi import FastAPI, File, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from pydantic import BaseModel, StringConstraints

from siteassess.errors import SiteassessError
from siteassess.group.accounts import LONGEST_MEMBER_NAME
from siteassess.group.pages import survey_page
from siteassess.group.place_routes import MARK_DAYS
from siteassess.group.queue import ASKED, OPEN_STATES, TAKEN, TURNED_DOWN, HandedIn, Queue, refuse_own_survey
from siteassess.group.roles import may
from siteassess.group.taking_in import into_register, is_surveyor, judged
from siteassess.group.visits import Desk, Field, LongField, Refused, Visit
from siteassess.papers.form import form_page
from siteassess.papers.language import words_in
from siteassess.records.yaml_lines import MAX_BYTES
from siteassess.reference.findings import worded
from siteassess.reference.pages import part, plain
from siteassess.register.store import Store

OURS = "same-origin"
# what belongs to the form on a phone and holds nothing of the group
SHIPPED = {
    "/worker.js": ("group_worker.js", "text/javascript"), "/icon.svg": ("group_icon.svg", "image/svg+xml"),
    "/manifest.webmanifest": ("group_manifest.json", "application/manifest+json"),
}  # fmt: skip
SAID_BY_FORM = (
    "gp-hand-in-here", "gp-phone-full", "gp-kept-to-send", "gp-arrived", "gp-sign-in-to-send", "gp-still-here",
    "gp-sent-back", "gp-forget-it", "gp-look-at-it",
)  # fmt: skip
RecordFile = Annotated[UploadFile, File()]


class Sent(BaseModel):
    """A survey that a form hands in by itself."""

    id: Annotated[str, StringConstraints(max_length=64)]
    name: Annotated[str, StringConstraints(max_length=200)]
    text: Annotated[str, StringConstraints(max_length=MAX_BYTES)]
    by: Annotated[str, StringConstraints(max_length=LONGEST_MEMBER_NAME)]  # whose form kept it: a phone may be shared


def add_surveys(app: FastAPI, desk: Desk) -> None:
    """Add the routes of surveys to an application."""
    visits, queue, deciding = desk.visits, Queue(desk.accounts), threading.Lock()
    of_surveys, of_form = visits.needs("see surveys"), visits.needs("hand in a survey")
    of_sending = of_form  # what a phone sends bears no proof of a page, which may lie on it for weeks
    of_handing_in, of_review, of_talk = (
        visits.needs(act, form=True) for act in ("hand in a survey", "review", "comment")
    )

    def kept(text: str, name: str, once: str, visit: Visit) -> tuple[str, dict[str, str]]:
        """A survey judged and put among those that wait: its id, and the word of each line."""
        result = judged(text, plain(name[:100]))
        verdicts: dict[str, str] = {line.id: line.verdict for line in result.lines}
        return queue.hand_in(once, visit.somebody, result.record.site.name, text, verdicts), verdicts

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
            id_, _ = kept(text, record.filename or "", once, visit)
        except SiteassessError as error:
            return visits.shown(visit, "surveys", 400, surveys=queue.all(visit.somebody), once=once,
                                why=visit.told(error))  # fmt: skip
        return RedirectResponse(f"/surveys/{id_}", 303)

    @app.get("/surveys/{id}")
    def survey(id: str, visit: Visit = of_surveys) -> Response:  # noqa: A002
        found = survey_seen(desk, id, visit)
        until = desk.today() + timedelta(days=MARK_DAYS)
        result = judged(found.text, found.site)
        own = found.by_id == visit.somebody.id or is_surveyor(result.record, visit.somebody)
        decides = found.state in OPEN_STATES and not own
        return visits.shown(
            visit, "survey", survey=found, **survey_page(result, visit.language), said=queue.talk.about(id),
            decides=decides and may(visit.somebody.role, "review"), mark_until=until.isoformat(),
            once=secrets.token_hex(16),
        )  # fmt: skip

    @app.post("/surveys/{id}/talk")
    def say(id: str, text: LongField, visit: Visit = of_talk, once: Field = "") -> Response:  # noqa: A002
        queue.talk.say(survey_seen(desk, id, visit).id, visit.somebody, text, once)
        return RedirectResponse(f"/surveys/{id}", 303)

    @app.post("/surveys/{id}/decide")
    def decide(
        id: str, word: Field, visit: Visit = of_review, until: Field = "", text: LongField = "",  # noqa: A002
        once: Field = "", sensitive: Field = "",
    ) -> Response:
        with deciding:  # what one turns down, another with an older page does not take in
            decided(survey_seen(desk, id, visit), word, visit, until, text, once, sensitive)
        return RedirectResponse(f"/surveys/{id}", 303)

    def decided(found: HandedIn, word: str, visit: Visit, until: str, text: str, once: str, sensitive: str) -> None:
        person = visit.somebody
        refuse_own_survey(found, person)
        queue.still_open(found.id)
        if word == "take in":
            why = words_in(visit.language)("gp-why-survey", who=found.by)
            with Store.open(desk.register) as store:
                into_register(store, found, person, desk.today(), until=until, conditions=text.strip(), why=why,
                              sensitive=sensitive)  # fmt: skip
            queue.decide(found, person, TAKEN)
        elif word in ("ask", "turn down"):
            queue.talk.say(found.id, person, text, once)
            queue.decide(found, person, ASKED if word == "ask" else TURNED_DOWN)

    @app.get("/form")
    def field_form(visit: Visit = of_form) -> Response:
        t = words_in(visit.language)
        told = {"by": visit.somebody.name, **{key: t(key) for key in SAID_BY_FORM}}
        return HTMLResponse(form_page(visit.language, served=told))

    @app.post("/surveys/sent")
    def sent(survey: Sent, visit: Visit = of_sending) -> Response:
        """What the form on a phone hands in by itself; the browser proves by these two that it was no other page."""
        headers = visit.request.headers
        if headers.get("content-type") != "application/json" or headers.get("sec-fetch-site", OURS) != OURS:
            raise Refused(worded("gr-form-too-old"))
        if survey.by != visit.somebody.name:
            raise Refused(worded("gr-not-whose-form"))
        try:
            id_, verdicts = kept(survey.text, survey.name, survey.id, visit)
        except SiteassessError as error:
            return JSONResponse({"why": visit.told(error)}, 400)
        return JSONResponse({"address": f"/surveys/{id_}", "verdicts": verdicts})

    for path, (name, media_type) in SHIPPED.items():
        app.add_api_route(path, _shipped(name, media_type), methods=["GET"])


def survey_seen(desk: Desk, id_: str, visit: Visit) -> HandedIn:
    """A survey by its id, for who handed it in and for who reviews.

    Parameters
    ----------
    desk : of the page
    id_ : of the survey
    visit : of whoever looks

    Raises
    ------
    Refused : it is none of theirs.
    UnknownName : there is none.
    """
    survey, person = Queue(desk.accounts).one(id_), visit.somebody
    if survey.by_id != person.id and not may(person.role, "review"):
        raise Refused(worded("gr-not-of-your-role"))
    return survey


def _shipped(name: str, media_type: str) -> Callable[[], Response]:
    return lambda: Response(part(name), media_type=media_type)
