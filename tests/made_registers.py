"""Registers of an invented group made by chance, and what every channel says of their lines.

The park is that of `parks.BASE` with a third tree and a second line. Whatever may bear on "may we rig here" happens at
random: marks given, refused, run out or dated ahead, assessments of every word, rests, storms, nests, old surveys,
signed approvals, entries struck out, two copies that went their own ways.
"""

from __future__ import annotations

import copy
import csv
import dataclasses
import datetime
import functools
import io
import json
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from random import Random
from xml.etree import ElementTree as ET

from parks import data

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS
from siteassess.errors import StoreError
from siteassess.papers.card import card_page
from siteassess.papers.copy_page import copy_page
from siteassess.papers.from_register import line_standing
from siteassess.papers.handover import manner
from siteassess.papers.ical import calendar
from siteassess.records.record import Record
from siteassess.register import actions, csvw, map_files
from siteassess.register.answer import AGAINST
from siteassess.register.due import due
from siteassess.register.listing import details, listed_rows
from siteassess.register.merge import merge_store
from siteassess.register.rota import rota
from siteassess.register.share import make_copy
from siteassess.register.store import Store

TODAY = datetime.date(2026, 5, 20)
CODES = ("T1", "T2", "T3")
LATER, PAST = "2027-06-30", "2026-03-31"
Said = dict[str, tuple[str, str | None]]


def park(**edits) -> dict:
    """The park as plain values; `T1={...}` changes an anchor, `site={...}` the site, `date=...` the survey's day."""
    made = data()
    third = json.loads(json.dumps(made["anchors"][1]).replace("T2", "T3"))
    third["position"]["lon"] += 0.0004
    line = json.loads(json.dumps(made["lines"][0]).replace("T2", "T3").replace('"L1"', '"L2"'))
    made["anchors"].append(third)
    made["lines"].append(line)
    for anchor in made["anchors"]:
        change = edits.get(anchor["code"], {})
        anchor["signs"] |= change.get("signs", {})
        anchor |= {key: value for key, value in change.items() if key != "signs"}
    made["site"] |= edits.get("site", {})
    made["survey"]["date"] = edits.get("date", made["survey"]["date"])
    return Record.model_validate(made).model_dump(mode="json", exclude_unset=True)


class Made:
    """One register made by chance from a seed."""

    def __init__(self, folder: Path, seed: int):
        self.chance = Random(seed)
        self.folder, self.seed = folder, seed
        self.edits = self._edits()
        self.store = self._new(f"made-{seed}")
        self.names = self.do(actions.add_record, park(**self.edits), sensitive=self._some(CODES, 0.1))
        self.happen(self.store)
        if self.chance.random() < 0.15:
            self._two_copies()

    def _new(self, name: str) -> Store:
        store = Store.create(self.folder / f"{name}.gpkg", title="Invented", who="Ada")
        # the disk is not waited for here
        store.db.execute("PRAGMA synchronous = OFF")
        return store

    def close(self) -> None:
        self.store.close()
        for path in self.folder.glob(f"*{self.seed}*"):
            path.unlink()

    def _some(self, things, share: float) -> list:
        return [thing for thing in things if self.chance.random() < share]

    def _edits(self) -> dict:
        chance = self.chance
        day = chance.choice(["2026-04-18"] * 12 + ["2025-05-01", "2025-01-01", "2026-07-01"])
        edits: dict = {"site": {}, "date": day}
        if chance.random() < 0.25:
            edits["site"]["permission"] = {"basis": "permit", "expires": chance.choice(["2026-12-31", PAST])}
        if chance.random() < 0.1:
            edits["site"]["land_status"] = chance.choice(["conservation", "private"])
        for code in self._some(CODES, 0.07):
            sign = chance.choice(["nest_in_use", "posted_no", "dead_tree", "bracket_fungus"])
            edits[code] = {"signs": {sign: "yes"}}
        for code in self._some(CODES, 0.05):
            edits.setdefault(code, {})["status"] = "veteran"
        return edits

    def do(self, action, *args, store=None, who="Ada", **said):
        with (store or self.store).change() as writer:
            return action(writer, *args, actions.By(who, "by chance"), **said)

    def try_to(self, action, *args, **said):
        try:
            return self.do(action, *args, **said)
        except StoreError:
            return None

    def happen(self, store: Store) -> None:
        """Marks and moves the legal way as far as they go, with other things between."""
        chance = self.chance
        self._marks(store)
        for line in self._some(("line L1", "line L2"), 0.9):
            self._assess(store, line, 0.5)
            for to, who in (
                ("surveyed", "Ada"),
                ("second look", "Ben"),
                ("approved with conditions", "Ben"),
                ("active", "Ben"),
            ):
                if to == "active" and chance.random() < 0.3:
                    continue
                self._move(store, line, to, who)
            self._assess(store, line, 0.2)
        for _ in range(chance.choice([0, 0, 0, 0, 0, 0, 1, 1, 2, 4])):
            self.chance_event(store)

    def _move(self, store: Store, line: str, to: str, who: str) -> None:
        said = {"on": TODAY, "store": store, "who": who}
        if self.try_to(actions.move, self.names[line], to, **said) is None and self.chance.random() < 0.5:
            signed = actions.Signed("Cleo, coordinator", "an arborist looked at it")
            self.try_to(actions.move, self.names[line], to, signed=signed, **said)

    def _marks(self, store: Store) -> None:
        for by in ("group", "owner"):
            what = self.chance.choice(["site"] * 10 + ["line L1", "line L2"])
            kind = self.chance.choice(["good"] * 20 + ["past", "ahead", "refused", "missing"])
            body = {"by": by, "given": kind != "refused", "name": "office", "date": "2026-02-01", "expires": LATER}
            body |= {"expires": PAST} if kind == "past" else {}
            body |= {"date": "2026-06-01"} if kind == "ahead" else {}
            if kind != "missing":
                self.do(actions.mark, self.names[what], body, store=store)

    def _assess(self, store: Store, line: str, share: float) -> None:
        if self.chance.random() < share:
            word = self.chance.choice(["suits"] * 4 + ["suits if"] * 4 + ["cannot say", "leave it", "nonsense"])
            day = self.chance.choice([TODAY, datetime.date(2026, 5, 1), datetime.date(2026, 6, 1)])
            self.do(actions.keep_answer, self.names[line], {"verdict": word}, day, store=store)

    def chance_event(self, store: Store) -> None:
        chance = self.chance
        thing = chance.choice(list(self.names))
        what = chance.choice(["rest", "reopened", "storm", "damage", "marks", "withdrawn", "resting", "strike", "join"])
        if what == "rest":
            until = chance.choice([None, "2026-06-30", "2026-05-01"])
            body = {"what": "rest", "date": "2026-04-25"} | ({"until": until} if until else {})
            self.do(actions.log, self.names[thing], body, store=store)
        elif what in ("reopened", "storm", "damage"):
            self.do(actions.log, self.names[thing], {"what": "event", "date": "2026-04-28", "event": what}, store=store)
        elif what == "marks":
            body = {"what": "marks", "date": "2026-05-02", "bark_marks": chance.choice(["polish", "torn"])}
            self.do(actions.log, self.names[thing], body, store=store)
        elif what in ("withdrawn", "resting"):
            self.try_to(actions.move, self.names[thing], what, on=TODAY, store=store)
        elif what == "strike":
            logged = sorted(e.name for e in store.events() if e.kind in ("log", "assessment"))
            if logged:
                self.try_to(actions.correct, chance.choice(logged), store=store)
        else:
            self.do(actions.join, self.names["anchor T1"], self.names["anchor T3"], store=store)

    def _two_copies(self) -> None:
        other = self.folder / f"other-{self.seed}.gpkg"
        self.store.db.execute("VACUUM INTO ?", (str(other),))
        with Store.open(other) as theirs:
            theirs.db.execute("PRAGMA synchronous = OFF")
            self.chance_event(theirs)
            self._marks(theirs)
            self.chance_event(self.store)
            merge_store(self.store, theirs)

    @contextmanager
    def tried(self) -> Iterator[Made]:
        """A copy of the register to try something on, thrown away afterwards."""
        path = self.folder / f"tried-{self.seed}.gpkg"
        self.store.db.execute("VACUUM INTO ?", (str(path),))
        copied = copy.copy(self)
        copied.store = Store.open(path)
        copied.store.db.execute("PRAGMA synchronous = OFF")
        try:
            yield copied
        finally:
            copied.store.close()
            path.unlink()

    @property
    def lines(self) -> dict[str, str]:
        return {self.names[line]: line[5:] for line in ("line L1", "line L2")}


_TOLD = re.compile(r"May rig now: (no|yes with conditions) \(as of [0-9-]+(?:, and no later than (\S+);)?")

# -- what each channel says of each line: (yes or no, until when; None where the channel has no word on that) --


def of_list(made: Made) -> Said:
    found = [row for row in listed_rows(made.store, TODAY) if row.kind == "line"]
    return {row.subject: (row.may_rig_now, row.may_rig_until) for row in found}


def of_show(made: Made) -> Said:
    found = {name: details(made.store, name, TODAY).listed for name in made.lines}
    return {name: (one.may_rig_now, one.may_rig_until) for name, one in found.items()}


def of_rota(made: Made) -> Said:
    turns = rota(made.store, made.names["site"], TODAY).turns
    assert all((turn.advice == "not now") == (turn.may_rig_now == "no") for turn in turns)
    return {turn.subject: (turn.may_rig_now, turn.may_rig_until) for turn in turns}


def of_calendar(made: Made) -> Said:
    said = {}
    stamp = datetime.datetime(2026, 5, 20, 9, 30, tzinfo=datetime.UTC)
    for item in due(made.store, TODAY, 3660):
        text = calendar([item], stamp, "x").replace("\r\n ", "").replace("\\,", ",").replace("\\;", ";")
        if found := _TOLD.search(text):
            said[item.subject] = (found[1], found[2])
    return said


@functools.cache
def _judged():
    return assess(Record.model_validate(park()))


def of_card(made: Made) -> Said:
    """The card is made of an assessment: here of one that says no more than the register has."""
    said = {}
    for name, code in made.lines.items():
        kept = [e.body for e in made.store.subject(name).of("assessment")]
        words = [b["result"]["verdict"] for b in kept]
        verdict = "leave it" if "leave it" in words else "cannot say" if set(words) - set(VERDICTS[:2]) else "suits"
        found = answers_now(made, name)
        if verdict in AGAINST and not any(dict(w.values).get("word") in AGAINST for w in found.reasons):
            verdict = "suits"
        lines = tuple(dataclasses.replace(line, verdict=verdict, day=TODAY) for line in _judged().lines)
        judged = dataclasses.replace(_judged(), lines=lines)
        page = card_page(judged, code, manner(made_on=TODAY), line_standing(made.store, judged, code, TODAY))
        word = re.search(r"May rig now: <b>(.*?)</b>", page)[1]
        assert ("Do not rig here now" in page) == (word == "no")
        said[name] = (word, re.search(r"Expires: (.*?)</b>", page)[1] if word != "no" else None)
    return said


def answers_now(made: Made, name: str):
    from siteassess.register.answer import answer
    from siteassess.register.views import Folded

    folded = Folded(made.store.db)
    return answer(folded.subject(name), folded.around, TODAY, made.store.doubts(folded))


def of_copies(made: Made) -> dict[str, Said]:
    """Every format of the members' and the officers' copies."""
    said = {}
    for layer in ("members", "officer"):
        copied = make_copy(made.store, layer, TODAY, copy_days=3650)
        texts = {"geojson": map_files.geojson(copied), "kml": map_files.kml(copied), "gpx": map_files.gpx(copied)}
        texts |= {"csv": csvw.write(copied), "sheet": copy_page(copied)}
        for name, reader in (("geojson", _geojson), ("kml", _kml), ("gpx", _gpx), ("csv", _csv), ("sheet", _sheet)):
            said[f"{layer} {name}"] = reader(texts[name], copied)
        path = made.folder / f"copy-{made.seed}-{layer}.gpkg"
        path.write_bytes(map_files.write_package(copied))
        db = sqlite3.connect(path)
        said[f"{layer} gpkg"] = {r[0]: r[1:] for r in db.execute("SELECT id, may_rig_now, may_rig_until FROM lines")}
        db.close()
    return said


def _geojson(text: str, copied) -> Said:
    features = [f["properties"] for f in json.loads(text)["features"]]
    for one in features:
        assert one["description"].startswith(f"May rig now: {one['may_rig_now']} (")
    return {f["id"]: (f["may_rig_now"], f.get("may_rig_until")) for f in features if f["feature"] == "line"}


def _kml(text: str, copied) -> Said:
    said = {}
    for place in ET.fromstring(text).iter("{http://www.opengis.net/kml/2.2}Placemark"):
        values = {d.attrib["name"]: d[0].text for d in place.iter("{http://www.opengis.net/kml/2.2}Data")}
        if values["feature"] == "line":
            said[values["id"]] = (values["may_rig_now"], values.get("may_rig_until"))
    return said


def _gpx(text: str, copied) -> Said:
    said = {}
    for route in ET.fromstring(text).iter("{http://www.topografix.com/GPX/1/1}rte"):
        values = {e.tag.split("}")[1]: e.text for e in route.iter() if e.tag.startswith("{urn:siteassess")}
        said[values["id"]] = (values["may_rig_now"], values.get("may_rig_until"))
    return said


def _csv(text: str, copied) -> Said:
    found = csv.DictReader(io.StringIO(text, newline=""))
    return {r["id"]: (r["may_rig_now"], r["may_rig_until"] or None) for r in found if r["feature"] == "line"}


def _sheet(text: str, copied) -> Said:
    ids = {feature.code: feature.id for feature in copied.features if feature.kind == "line"}
    said = {}
    for row in re.findall("<tr>(.*?)</tr>", text, re.DOTALL):
        cells = re.findall("<td[^>]*>(.*?)</td>", row)
        if cells and (name := ids.get(cells[0])):
            word = unescape(re.sub("<.*?>", " ", cells[1])).strip()
            until = re.search(r"no later than (\S+);", word)
            said[name] = ("no" if word.startswith("no ") else "yes with conditions", until[1] if until else None)
    return said


def channels(made: Made) -> dict[str, Said]:
    """What every channel says of every line it shows."""
    return {
        "list": of_list(made),
        "show": of_show(made),
        "rota": of_rota(made),
        "calendar": of_calendar(made),
        "card": of_card(made),
        **of_copies(made),
    }


def disagreements(said: dict[str, Said]) -> list[tuple]:
    """Channels that say something else of a line than the list does."""
    return [
        (channel, name, answer, said["list"][name])
        for channel, answers in said.items()
        for name, answer in answers.items()
        if answer != said["list"][name]
    ]


# -- one more bad fact --


def bad_facts(made: Made) -> dict[str, Callable[[], object]]:
    """Things that may only make an answer less kind, by name."""
    facts = {}
    for thing in ("site", "anchor T1", "anchor T2", "line L1"):
        name = made.names[thing]
        rest = {"what": "rest", "date": "2026-05-19"}
        facts[f"rest of {thing}"] = lambda n=name, b=rest: made.do(actions.log, n, b)
        storm = {"what": "event", "date": "2026-05-19", "event": "damage"}
        facts[f"damage at {thing}"] = lambda n=name, b=storm: made.do(actions.log, n, b)
        facts[f"{thing} withdrawn"] = lambda n=name: made.try_to(actions.move, n, "withdrawn", on=TODAY)
        for by in ("group", "owner"):
            mark = {"by": by, "name": "office", "date": "2026-01-01"}
            for kind, more in (("ended", {"given": True, "expires": PAST}), ("refused", {"given": False})):
                facts[f"{by}'s mark on {thing} {kind}"] = lambda n=name, b=mark | more: made.do(actions.mark, n, b)
    for word in ("leave it", "cannot say"):
        facts[f"assessed: {word}"] = lambda w=word: made.do(
            actions.keep_answer, made.names["line L1"], {"verdict": w}, datetime.date(2026, 6, 1)
        )
    for sign in ("nest_in_use", "posted_no", "stem_crack"):
        edits = {**made.edits, "T1": {**made.edits.get("T1", {}), "signs": {sign: "yes"}}}
        facts[f"sign: {sign}"] = lambda e=edits: made.do(actions.add_record, park(**e))
    facts["older survey"] = lambda: made.do(actions.add_record, park(**{**made.edits, "date": "2024-12-01"}))
    ended = {**made.edits["site"], "permission": {"basis": "permit", "expires": PAST}}
    facts["permission ended"] = lambda: made.do(actions.add_record, park(**{**made.edits, "site": ended}))
    return facts


def kinder(before: tuple[str, str | None], after: tuple[str, str | None]) -> bool:
    """Whether an answer became kinder: from no to yes, or a yes that holds longer."""
    if before[0] == "no":
        return after[0] != "no"
    return after[0] != "no" and (after[1] or "9999") > (before[1] or "9999")
