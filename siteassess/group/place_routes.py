"""Places: the list, the page of one, and what people do about it."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date, timedelta
from typing import Annotated, Any

from fastapi import FastAPI, File, UploadFile
from fastapi.responses import RedirectResponse, Response

from siteassess.errors import StoreError, UnknownName
from siteassess.group.pages import EVENTS, place_page, places_page
from siteassess.group.places import PlaceHere, comments_told, own_work, place_of
from siteassess.group.queue import Talk
from siteassess.group.visits import Desk, Field, LongField, Visit
from siteassess.papers.language import words_in
from siteassess.reference.findings import worded
from siteassess.register import actions
from siteassess.register.actions import By
from siteassess.register.photos import MAX_PHOTO_BYTES
from siteassess.register.store import Store
from siteassess.register.writer import Writer

MARK_DAYS = 365  # a group's mark is offered for a year, as long as its survey counts (judgement)


def add_places(app: FastAPI, desk: Desk) -> None:
    """Add the routes of places to an application."""
    visits, talk = desk.visits, Talk(desk.accounts)
    of_places = visits.needs("see places")
    of_log, of_talk, of_review, of_owner = (
        visits.needs(act, form=True) for act in ("log", "comment", "review", "give the owner's word")
    )

    @app.get("/")
    def places(visit: Visit = of_places) -> Response:
        with Store.open(desk.register) as store:
            copy = desk.copy(store, visit.somebody, visit.language)
        return visits.shown(visit, "places", **places_page(copy, visit.language))

    @app.get("/place/{name}")
    def place(name: str, visit: Visit = of_places) -> Response:
        with opened(name, visit) as (_, here):
            shown = place_page(here, visit.somebody, desk.today(), visit.language)
            said = comments_told(here, visit.somebody, talk.about(name))
        until = desk.today() + timedelta(days=MARK_DAYS)
        return visits.shown(visit, "place", **shown, said=said, today=desk.today().isoformat(),
                            mark_until=until.isoformat(), once=secrets.token_hex(16))  # fmt: skip

    @contextmanager
    def opened(name: str, visit: Visit) -> Iterator[tuple[Store, PlaceHere]]:
        with Store.open(desk.register) as store:
            yield store, place_of(store, name, lambda site: desk.copy(store, visit.somebody, visit.language, site))

    @contextmanager
    def changing(name: str, visit: Visit) -> Iterator[tuple[Writer, PlaceHere]]:
        with opened(name, visit) as (store, here), store.change() as writer:
            yield writer, here

    def back(name: str) -> Response:
        return RedirectResponse(f"/place/{name}", 303)

    def by(visit: Visit, why: str, once: str = "") -> By:
        return By(visit.somebody.name, words_in(visit.language)(why), once[:64] or None)

    @app.post("/place/{name}/use")
    def use(
        name: str, day: Field, visit: Visit = of_log, hours: Field = "", people: Field = "", once: Field = "",
        marks_a: Field = "not looked", marks_b: Field = "not looked",
    ) -> Response:
        body = {"what": "use", "date": day, "line": name, **_told(hours=hours and f"{hours} h", people=_count(people))}
        with changing(name, visit) as (writer, here):
            if here.feature.kind != "line":
                raise StoreError(worded("gr-use-of-a-line"))
            for end, marks in zip(here.subject.current.body["anchors"], (marks_a, marks_b), strict=True):
                actions.log(writer, end, {**body, "bark_marks": marks}, by(visit, "why-care", once))
        return back(name)

    @app.post("/place/{name}/event")
    def event(
        name: str, where: Field, event: Field, day: Field, visit: Visit = of_log, notes: LongField = "",
        once: Field = "",
    ) -> Response:
        if event not in EVENTS:  # that a rest is over is not told by the way
            raise StoreError(worded("gr-form-not-whole"))
        body = {"what": "event", "date": day, "event": event, **_told(notes=notes)}
        return logged_about(name, where, body, visit, once)

    @app.post("/place/{name}/rest")
    def rest(
        name: str, where: Field, visit: Visit = of_log, until: Field = "", notes: LongField = "", once: Field = ""
    ) -> Response:
        body = {"what": "rest", "date": desk.today().isoformat(), **_told(until=until, notes=notes)}
        return logged_about(name, where, body, visit, once)

    def logged_about(name: str, where: str, body: Mapping[str, Any], visit: Visit, once: str) -> Response:
        with changing(name, visit) as (writer, here):
            if where not in dict(here.parts):
                raise StoreError(worded("gr-where-wanted"))
            actions.log(writer, where, body, by(visit, "why-care", once))
        return back(name)

    @app.post("/place/{name}/photo")
    def photo(
        name: str, picture: Annotated[UploadFile, File()], visit: Visit = of_log, shows: Field = "",
        no_people: Field = "",
    ) -> Response:
        data = picture.file.read(MAX_PHOTO_BYTES + 1)
        said = {"shows": shows, "share": "members" if no_people else "officer", "no_people": bool(no_people)}
        with changing(name, visit) as (writer, here):
            actions.add_photo(writer, here.subject.id, data, by(visit, "why-photo"), **_told(**said))
        return back(name)

    @app.get("/place/{name}/photo/{sha256}")
    def picture(name: str, sha256: str, visit: Visit = of_places) -> Response:
        with opened(name, visit) as (store, here):
            told = {one["sha256"] for shown in here.copy.photos.values() for one in shown}
            kept = store.photo(sha256) if sha256 in told else None
        if kept is None:
            raise UnknownName(worded("gr-no-page"))
        return Response(kept[1], media_type=kept[0])

    @app.post("/place/{name}/talk")
    def comment(name: str, text: LongField, visit: Visit = of_talk, once: Field = "") -> Response:
        with opened(name, visit) as (_, here):
            talk.say(here.subject.id, visit.somebody, text, once)
        return back(name)

    @app.post("/place/{name}/move")
    def move(
        name: str, to: Field, why: Field, visit: Visit = of_review, conditions: LongField = "", until: Field = ""
    ) -> Response:
        with changing(name, visit) as (writer, here):
            refuse_own(here, visit)
            actions.move(writer, name, to, By(visit.somebody.name, why), on=desk.today(),
                         conditions=conditions or None, until=_day(until))  # fmt: skip
        return back(name)

    @app.post("/place/{name}/mark")
    def group_mark(
        name: str, given: Field, visit: Visit = of_review, until: Field = "", conditions: LongField = ""
    ) -> Response:
        with changing(name, visit) as (writer, here):
            refuse_own(here, visit)
            if here.feature.kind != "line":  # a park's would cover also what its giver surveyed
                raise StoreError(worded("gr-mark-of-a-line"))
            actions.mark(writer, name, mark_body("group", given, until, conditions, visit), by(visit, "gp-why-mark"))
        return back(name)

    @app.post("/place/{name}/owner")
    def owner_mark(
        name: str, given: Field, visit: Visit = of_owner, until: Field = "", conditions: LongField = ""
    ) -> Response:
        with changing(name, visit) as (writer, _):
            actions.mark(writer, name, mark_body("owner", given, until, conditions, visit), by(visit, "gp-why-mark"))
        return back(name)

    def mark_body(of: str, given: str, until: str, conditions: str, visit: Visit) -> dict[str, Any]:
        person = visit.somebody
        return {"by": of, "given": given == "yes", "name": person.name, "role": person.role,
                "date": desk.today().isoformat(), **_told(expires=until, conditions=conditions)}  # fmt: skip

    def refuse_own(here: PlaceHere, visit: Visit) -> None:
        if own_work(here, visit.somebody):
            raise StoreError(worded("rg-own-second-look", what=here.feature.code, who=visit.somebody.name))


def _told(**given: Any) -> dict[str, Any]:
    """Without what was left blank."""
    return {name: value for name, value in given.items() if value not in ("", None)}


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise StoreError(worded("gr-day-wanted", read=text[:40])) from None


def _count(text: str) -> int | str:
    return int(text) if text.isascii() and text.isdigit() else text
