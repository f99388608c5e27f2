"""What people do with the register, each a few lines over one open change.

Every action says who and why. Nothing is ever changed in place: a later event replaces an earlier one and names it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from siteassess.errors import StoreError, refused
from siteassess.reference.findings import worded
from siteassess.register.answer import needs_signature
from siteassess.register.bodies import checked
from siteassess.register.events import THINGS, Event, canonical
from siteassess.register.fold import CORRECTABLE, Subject
from siteassess.register.moves import NEEDS_MARK, REVIEWING, SECOND_LOOK, SURVEYED, refuse_illegal
from siteassess.register.standing import holds_too_long, label, standing
from siteassess.register.store import Store
from siteassess.register.views import Folded
from siteassess.register.writer import Writer


@dataclass(frozen=True)
class By:
    """Who does a thing, and why; `once` is a mark of this doing, by which a second sending of it is known."""

    who: str
    why: str
    once: str | None = None


@dataclass(frozen=True)
class Signed:
    """Who answers for an approval against an assessment or a stop sign, and why it is given all the same."""

    name: str
    why: str


def add_record(
    writer: Writer, record: Mapping[str, Any], by: By, *, share: str | None = None, sensitive: Iterable[str] = ()
) -> dict[str, str]:
    """Take in a site record: a new survey of what is listed under the same site, name and code, or new subjects.

    Parameters
    ----------
    writer, by : of the change; who makes it, and why
    record : a whole record as plain JSON values, see `siteassess.records`
    share : the widest layer it may reach; None takes the usual one of its kind of land
    sensitive : codes whose exact point stays with the officers

    Returns
    -------
    Names of the subjects by "site", "anchor CODE" and "line ID".

    Raises
    ------
    StoreError : several sites of that name are listed; a line names an anchor the record does not hold.
    """
    sensitive = set(sensitive)
    extra = {"share": share} if share else {}
    # each anchor and line carries the day it was looked at: a later survey of its neighbour is none of it
    looked = {"surveyed": record["survey"]["date"]} if record.get("survey") else {}
    site_body = {"record": record["site"], **extra}
    if record.get("survey"):
        site_body["survey"] = record["survey"]
    site = _add_version(writer, "site", _site_named(writer.store, record["site"]["name"]), site_body, by)
    names = {"site": site}
    known = _codes_of(writer.store, site)
    for anchor in record.get("anchors", ()):
        body = {"site": site, "record": anchor, **looked, **extra}
        if anchor["code"] in sensitive:
            body["sensitive"] = True
        names[f"anchor {anchor['code']}"] = _add_version(
            writer, "anchor", known.get(("anchor", anchor["code"])), body, by
        )
    for line in record.get("lines", ()):
        ends = []
        for end in ("a", "b"):
            code = line[end]["anchor"]
            anchor_name = names.get(f"anchor {code}") or known.get(("anchor", code))
            if anchor_name is None:
                raise StoreError(worded("rg-anchor-listed-nowhere", line=line["id"], name=code))
            ends.append(anchor_name)
        body = {"site": site, "anchors": ends, "record": line, **looked, **extra}
        names[f"line {line['id']}"] = _add_version(writer, "line", known.get(("line", line["id"])), body, by)
    return names


def _add_version(writer: Writer, kind: str, subject: str | None, body: Mapping[str, Any], by: By) -> str:
    if subject is None:
        return writer.add(kind, "", body, who=by.who, why=by.why).name
    before = Folded(writer.db).known(subject)
    for key in ("share", "sensitive", "source", "origin"):
        # who may see it is a promise: a new survey does not loosen it by leaving it out
        if key in before.current.body and key not in body:
            body = {**body, key: before.current.body[key]}
    if len(before.versions) == 1 and canonical(checked(kind, body)) == canonical(before.current.body):
        return subject
    writer.add(kind, subject, body, who=by.who, why=by.why, replaces=[v.name for v in before.versions])
    return subject


def _site_named(store: Store, name: str) -> str | None:
    rows = store.db.execute("SELECT subject FROM sites WHERE name = ? COLLATE NOCASE", (name,)).fetchall()
    if len(rows) > 1:
        raise StoreError(worded("rg-sites-of-one-name", count=len(rows), name=name))
    return rows[0][0] if rows else None


def _codes_of(store: Store, site: str) -> dict[tuple[str, str], str]:
    found = {}
    for kind in ("anchor", "line"):
        for code, subject in store.db.execute(f"SELECT code, subject FROM {kind}s WHERE site = ?", (site,)):
            found[(kind, code)] = subject
    return found


def move(
    writer: Writer, subject: str, to: str, by: By, *, on: date, conditions: str | None = None,
    until: date | None = None, signed: Signed | None = None,
) -> Event:
    """Move a subject along its life.

    Parameters
    ----------
    writer, subject : of the change; the one that moves
    to : its new status
    by : who moves it, and why
    on : the day the move is made, on which marks must stand
    until : last day of a closed season or of a rest
    signed : needed to approve a line against its assessment or a stop sign
    conditions : of an approval, in words

    Raises
    ------
    StoreError : the table does not allow the move (the allowed ones are named), a mark or a signed reason is missing,
        or the second look is by whoever surveyed.
    """
    writer.draw()
    folded = Folded(writer.db)
    found = _known(folded, subject)
    now = standing(found, folded.around, on)
    what = worded("rg-thing", kind=found.kind, label=label(found))
    refuse_illegal(now.own, to, what)
    for mark in NEEDS_MARK.get(to, ()):
        if not now.marks[mark].holds(on):
            raise StoreError(worded("rg-mark-needed", what=what, to=to, by=mark, day=on))
    if to == SECOND_LOOK:
        _refuse_own_second_look(found, by, what)
    body: dict[str, Any] = {"to": to, "seen": now.own, "date": on.isoformat()}
    if to in REVIEWING:
        body["reviewed"] = [news.event for news in now.open_news]
    if against := _against(found, folded, to, on, what, signed):
        body["against"] = against
    if conditions is not None:
        body["conditions"] = conditions
    if until is not None and until < on:
        raise StoreError(worded("rg-ends-before", what=what, to=to, until=until, day=on))
    if until is not None:
        body["until"] = until.isoformat()
    return writer.add("move", subject, body, who=by.who, why=by.why, replaces=[m.name for m in found.moves])


def _against(
    found: Subject, folded: Folded, to: str, on: date, what: str, signed: Signed | None
) -> dict[str, Any] | None:
    spoken = needs_signature(found, folded.around, on) if found.kind == "line" and to in NEEDS_MARK else []
    if spoken and signed is None:
        raise StoreError(worded("rg-signed-reason-needed", what=what, whys=tuple(why for why, _ in spoken)))
    if signed is not None and not spoken:
        raise StoreError(worded("rg-nothing-to-sign", what=what, to=to))
    entries = sorted({entry for _, entry in spoken})
    return {"entries": entries, "why": signed.why, "signed": signed.name} if signed else None


def _refuse_own_second_look(found: Subject, by: By, what: str) -> None:
    first = {version.who.strip().casefold() for version in found.versions}
    first |= {m.who.strip().casefold() for m in found.moves if m.body["to"] == SURVEYED}
    if by.who.strip().casefold() in first:
        raise StoreError(worded("rg-own-second-look", what=what, who=by.who))


def mark(writer: Writer, subject: str, body: Mapping[str, Any], by: By, *, far_end_is_right: bool = False) -> Event:
    """Record the group's or the owner's mark, or that it was taken back; see `bodies.MarkBody`.

    Parameters
    ----------
    writer : of the change
    subject : that it covers
    body : as `bodies.MarkBody` takes it
    by : who records it, and why
    far_end_is_right : whether a last day more than five years off is meant

    Raises
    ------
    StoreError : it would hold for more than five years, and nobody says that this is meant.
    """
    if _reaches_far(writer.store, checked("mark", body), far_end_is_right):
        body = {**body, "far_end_is_right": True}
    found = _known(Folded(writer.db), subject)
    before = [event.name for event in found.marks.get(body.get("by", ""), ())]
    return writer.add("mark", subject, body, who=by.who, why=by.why, replaces=before)


def _reaches_far(store: Store, body: Mapping[str, Any], is_right: bool) -> bool:
    """Whether a mark holds far longer than marks do, and is meant to; raises where nobody says so."""
    if not holds_too_long(body):
        return False
    if is_right:
        return True
    given, expires = (date.fromisoformat(body[key]) for key in ("date", "expires"))
    said = worded("rg-mark-reaches-far", given=given, expires=expires, years=(expires - given).days // 365)
    if store.ask is None or not store.ask(worded("rg-is-it-meant", what=said)):
        raise StoreError(worded("rg-mark-too-far", file=store.path.name, what=said))
    return True


def log(writer: Writer, subject: str, body: Mapping[str, Any], by: By) -> Event:
    """Add an entry to a care log; see `log_bodies.LOG_ENTRIES`. Photos it names must be in the register.

    What was sent before, word for word, with the same `By.once` is not added again: the entry it made is the answer.

    Parameters
    ----------
    writer : of the change
    subject : that it is about
    body : as its kind of entry takes it
    by : who adds it, and why

    Raises
    ------
    StoreError : a photo it names is not in the register.
    """
    _kind_of(writer.store, subject)
    photos = body.get("photos") or {}
    for sha256 in (*photos.get("before", ()), *photos.get("after", ())):
        if writer.store.photo(sha256) is None:
            raise StoreError(worded("rg-photo-not-here", name=sha256[:10]))
    if by.once is not None:
        # a page gone back to bears the mark of its first sending: what says something else is no second sending
        said = canonical(checked("log", body))
        before = (event for event in writer.store.events(subject) if event.kind == "log" and event.salt == by.once)
        if (sent := next((event for event in before if canonical(event.body) == said), None)) is not None:
            return sent
    return writer.add("log", subject, body, who=by.who, why=by.why, salt=by.once)


def keep_answer(
    writer: Writer, line: str, result: Mapping[str, Any], on: date, by: By, program: str | None = None
) -> Event:
    """Keep an assessment of a line as it was given.

    Parameters
    ----------
    writer : of the change
    line : name of its subject
    result : the answer of the assess command for it
    on : the day it was made
    by : who keeps it, and why
    program : that made it

    Raises
    ------
    StoreError : the subject is no line.
    """
    if _kind_of(writer.store, line) != "line":
        raise StoreError(worded("rg-assessment-of-line"))
    body = {"date": on.isoformat(), "result": result} | ({"program": program} if program else {})
    return writer.add("assessment", line, body, who=by.who, why=by.why)


def lines_of_answer(text: str, source: str) -> tuple[str, list[tuple[str, dict[str, Any]]]]:
    """The site's name and each line's code and result out of the JSON answer of the assess command.

    Every result keeps the assumptions and cautions that were given with it.

    Parameters
    ----------
    text : of the file
    source : its name, for faults

    Returns
    -------
    Name of the site; id and result of each line.

    Raises
    ------
    FaultyInput : no such answer.
    """
    try:
        whole = json.loads(text)
        shared = {key: whole[key] for key in ("assumptions", "cautions")}
        return whole["site"]["name"], [(line["id"], {**line, **shared}) for line in whole["lines"]]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise refused(source, worded("the-file"), ascii(text[:40]), worded("rg-want-json-answer")) from None


def add_photo(writer: Writer, subject: str, data: bytes, by: By, **said: Any) -> Event:
    """Keep a photo, stripped of everything but its picture, and say what it shows.

    Parameters
    ----------
    writer : of the change
    subject : that it shows
    data : bytes of a JPEG or PNG file
    by : who keeps it, and why
    said : of it, as `bodies.PhotoBody` takes it

    Raises
    ------
    FaultyInput : the bytes are no photo.
    """
    from siteassess.register.photos import stripped

    _kind_of(writer.store, subject)
    photo = stripped(data)
    writer.keep_photo(photo.sha256, photo.media_type, photo.data)
    body = {"sha256": photo.sha256, "media_type": photo.media_type, "size_bytes": len(photo.data), **said}
    return writer.add("photo", subject, body, who=by.who, why=by.why)


def correct(writer: Writer, entry: str, by: By, body: Mapping[str, Any] | None = None) -> Event:
    """Put an entry right with a later one, or strike it out when no right one is given.

    Parameters
    ----------
    writer : of the change
    entry : its name
    by : who puts it right, and why
    body : the right one; None strikes it out

    Raises
    ------
    StoreError : no such entry, or one that is replaced by another means (a new survey, a move, a mark).
    """
    event = writer.store.event(entry)
    if event is None or event.kind not in CORRECTABLE:
        raise StoreError(worded("rg-not-correctable", name=entry[:10], kinds=CORRECTABLE))
    found = Folded(writer.db).known(event.about)
    before = next(e.corrections for e in (*found.entries, *found.joins) if e.event.name == entry)
    said: dict[str, Any] = {"corrects": entry}
    said |= {"void": True} if body is None else {"body": checked(event.kind, body)}
    return writer.add("correction", event.about, said, who=by.who, why=by.why, replaces=[c.name for c in before])


def join(writer: Writer, one: str, other: str, by: By, finding: str = "the same") -> Event:
    """Record what people found about two subjects that looked like one. Striking the event out parts them again.

    Parameters
    ----------
    writer : of the change
    one, other : names of the subjects
    by : who found it, and why
    finding : "the same" or "not the same"

    Raises
    ------
    StoreError : the two are one, or of different kinds.
    """
    kinds = {_kind_of(writer.store, name) for name in (one, other)}
    if one == other or len(kinds) != 1:
        raise StoreError(worded("rg-want-two-of-a-kind"))
    a, b = sorted((one, other))
    return writer.add("join", a, {"same": [a, b], "finding": finding}, who=by.who, why=by.why)


def _kind_of(store: Store, name: str) -> str:
    """Kind of a subject by its founding event alone: an entry must not cost a reading of the whole log."""
    event = store.event(name)
    if event is None or event.subject or event.kind not in THINGS:
        raise StoreError(worded("rg-no-such-thing", name=name[:10]))
    return event.kind


def _known(folded: Folded, name: str) -> Subject:
    found = folded.subject(name)
    if found is None or found.kind not in THINGS:
        raise StoreError(worded("rg-no-such-thing", name=name[:10]))
    return found
