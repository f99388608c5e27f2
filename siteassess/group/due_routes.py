"""What is due, and the secret addresses by which a calendar and a map program read what their owner may see."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fastapi import FastAPI
from fastapi.responses import Response

from siteassess.errors import UnknownName
from siteassess.group.accounts import Person
from siteassess.group.roles import may
from siteassess.group.visits import Desk, Visit
from siteassess.papers.ical import calendar
from siteassess.papers.language import words_in
from siteassess.reference.findings import worded
from siteassess.register.due import Due, due
from siteassess.register.map_files import geojson, write_package
from siteassess.register.share import Copy
from siteassess.register.store import Store


def add_due(app: FastAPI, desk: Desk) -> None:
    """Add the routes of what is due, and of feeds, to an application."""
    visits, accounts = desk.visits, desk.accounts
    of_due, of_feeds = visits.needs("see what is due"), visits.needs("subscribe", form=True)

    @app.get("/due")
    def due_page(visit: Visit = of_due) -> Response:
        return shown(visit, ())

    @app.post("/subscribe")
    def subscribe(visit: Visit = of_feeds) -> Response:
        base, word = visit.request.base_url, accounts.subscribe(visit.somebody)
        kinds = [("gp-calendar", "ics"), ("gp-as-geojson", "geojson"), ("gp-as-geopackage", "gpkg")]
        t = words_in(visit.language)
        return shown(visit, [(t(name), f"{base}feed/{word}.{ending}") for name, ending in kinds])

    def shown(visit: Visit, addresses: Sequence[tuple[str, str]]) -> Response:
        t, items = words_in(visit.language), []
        if may(visit.somebody.role, "see what is due"):
            items = [{"day": one.date, "subject": one.subject, "where": f"{one.site}, {one.label}",
                      "what": t.said(one.what)} for one in read(visit.somebody, visit.language)[1]]  # fmt: skip
        return visits.shown(visit, "due", items=items, addresses=addresses)

    def read(person: Person, language: str) -> tuple[Copy, list[Due]]:
        on = desk.today()
        with Store.open(desk.register) as store:
            copy = desk.copy(store, person, language)
            return copy, list(_as_told(copy, due(store, on)))

    @app.get("/feed/{address}")
    def feed(address: str, visit: Visit = visits.anybody) -> Response:
        word, _, ending = address.rpartition(".")
        if (person := accounts.subscriber(word)) is None:
            raise UnknownName(worded("gr-no-page"))
        copy, items = read(person, visit.language)
        if ending == "ics" and may(person.role, "see what is due"):
            return Response(calendar(items, accounts.now(), copy.title, visit.language), media_type="text/calendar")
        if ending == "geojson":
            return Response(geojson(copy), media_type="application/geo+json")
        if ending == "gpkg":
            return Response(write_package(copy), media_type="application/geopackage+sqlite3")
        raise UnknownName(worded("gr-no-page"))


def _as_told(copy: Copy, items: list[Due]) -> Iterator[Due]:
    """What is due of the things a copy shows, under its codes; nothing that was written of a hidden one."""
    by_id = {feature.id: feature for feature in copy.features}
    for item in items:
        if (feature := by_id.get(item.subject)) is not None:
            told = feature.why if item.may_rig_why is not None else None
            code = feature.site_name if feature.kind == "site" else feature.code
            yield replace(item, label=code, wrote=item.wrote if feature.exact else "", may_rig_why=told,
                          why=item.why if copy.layer == "officer" else ())  # fmt: skip
