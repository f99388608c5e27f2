"""A survey on its way into the register: judged when it comes, taken in once somebody else has looked at it."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterable
from datetime import date
from typing import Any

from siteassess import __version__
from siteassess.advice.assess import assess
from siteassess.advice.results import Assessment
from siteassess.errors import StoreError, UnknownName
from siteassess.group.accounts import Person, spelt
from siteassess.group.queue import HandedIn
from siteassess.papers.as_json import to_dict
from siteassess.records.loading import record_with_rules
from siteassess.records.record import Record
from siteassess.records.yaml_lines import load_nodes
from siteassess.reference.findings import worded
from siteassess.register import actions
from siteassess.register.actions import By
from siteassess.register.answer import AGAINST, needs_signature
from siteassess.register.events import Event, canonical
from siteassess.register.moves import (
    APPROVED,
    ARCHIVED,
    CLOSED,
    DRAFT,
    RESTING,
    SECOND_LOOK,
    SURVEYED,
    WITHDRAWN,
)
from siteassess.register.standing import HowItStands, label, standing
from siteassess.register.store import Store
from siteassess.register.views import Folded
from siteassess.register.writer import Writer

_MOST_LINES, _MOST_ANCHORS_SENT = 12, 60  # of one survey handed in: more keep a phone waiting (judgement)
_ONE_AT_A_TIME = threading.Semaphore(2)  # a park full of lines must not keep everybody else from the page
# a word that somebody put there on purpose: no new survey lifts it
_KEPT_CLOSED = frozenset((RESTING, CLOSED, WITHDRAWN, ARCHIVED))


def read_survey(text: str, source: str) -> Record:
    """A record that was handed in.

    Parameters
    ----------
    text : YAML
    source : names it in messages

    Raises
    ------
    FaultyInput : with every fault of the record
    StoreError : it holds more than is judged while somebody waits.
    """
    record = record_with_rules(load_nodes(text), source).record
    if len(record.lines) > _MOST_LINES or len(record.anchors) > _MOST_ANCHORS_SENT:
        raise StoreError(worded("gr-survey-too-large", lines=_MOST_LINES, anchors=_MOST_ANCHORS_SENT))
    return record


def judged(text: str, source: str) -> Assessment:
    """The answer to a record that was handed in.

    Parameters
    ----------
    text, source : as for `read_survey`, which says what it raises

    Returns
    -------
    Assessment
    """
    with _ONE_AT_A_TIME:  # reading too: a hostile record is long to refuse
        record = read_survey(text, source)
        return assess(record, looks=False)


def into_register(
    store: Store, survey: HandedIn, person: Person, on: date, *, until: str, conditions: str, why: str,
    sensitive: str = "",
) -> list[str]:
    """Take a survey into the register: its things, its verdicts, and the approval of the lines that suit.

    Sent twice, or stopped half-way between two files, it does nothing a second time.

    Parameters
    ----------
    store : of the register
    survey : as it was handed in
    person : who looked at it, and answers for the group's mark
    on : the day
    until : last day of the group's mark
    conditions : of the approval, in words; without, those of a line's approval before hold on
    why : said in each entry
    sensitive : codes of anchors whose exact point stays with the officers, a comma between them

    Returns
    -------
    list of str
        Ids of the lines that were approved; the others are listed as surveyed.

    Raises
    ------
    StoreError : the register refuses; nothing of it is kept.
    UnknownName : no anchor of that code.
    """
    result = judged(survey.text, survey.site)
    if is_surveyor(result.record, person):
        raise StoreError(worded("gr-own-survey"))
    whole = to_dict(result)
    record = result.record.model_dump(mode="json", exclude_unset=True)
    hidden = {code.strip() for code in sensitive.split(",") if code.strip()}
    codes = sorted(anchor["code"] for anchor in record.get("anchors", ()))
    if unknown := sorted(hidden.difference(codes)):
        raise UnknownName(worded("rg-sensitive-unknown", codes=unknown, anchors=codes))
    surveyor, reviewer = By(survey.by, why), By(person.name, why)
    approved = []
    with store.change() as writer:
        names = actions.add_record(writer, record, surveyor, sensitive=hidden)
        _refuse_older(writer, names.values(), record["survey"]["date"])
        shared = {key: whole[key] for key in ("assumptions", "cautions")}
        for line in whole["lines"]:
            name = names[f"line {line['id']}"]
            _keep_answer_once(writer, name, {**line, **shared}, on, surveyor)
            word, day = line["verdict"], record["survey"]["date"]
            asked = conditions or _in_force(writer, name)
            if _way_to_approval(writer, name, word, on, surveyor, reviewer, surveyed=day):
                mark = {"by": "group", "given": True, "name": person.name, "role": person.role, "date": on.isoformat(),
                        "expires": until} | ({"conditions": asked} if asked else {})  # fmt: skip
                actions.mark(writer, name, mark, reviewer)
                actions.move(writer, name, APPROVED, reviewer, on=on, conditions=asked or None)
                approved.append(line["id"])
    return approved


def _in_force(writer: Writer, line: str) -> str:
    """The conditions a line was approved under so far: who says none at a new survey does not lift them."""
    writer.draw()
    found = Folded(writer.db).known(line)
    marks = (mark.body.get("conditions") for mark in found.marks.get("group", ()))
    return "; ".join(dict.fromkeys(filter(None, (*found.approval_conditions, *marks))))


def is_surveyor(record: Record, person: Person) -> bool:
    """Whether a survey names somebody as who made it, whoever handed it in.

    Parameters
    ----------
    record : that was handed in
    person : who would decide on it
    """
    named, name = (re.findall(r"\w+", spelt(text)) for text in (record.survey.by, person.name))
    return bool(name) and any(named[at : at + len(name)] == name for at in range(len(named)))


def _refuse_older(writer: Writer, names: Iterable[str], surveyed: str) -> None:
    """Refuse a survey that lay so long that what it tells of was surveyed again: it must not replace the newer one."""
    writer.draw()
    folded = Folded(writer.db)
    for name in names:
        thing = folded.known(name)
        replaced = (writer.store.event(before) for before in thing.current.replaces)
        for body in (event.body for event in replaced if event is not None):
            day = body.get("surveyed") or (body.get("survey") or {}).get("date") or ""
            if day > surveyed:
                raise StoreError(worded("gr-survey-older", what=label(thing), day=day))


def _news_since(writer: Writer, now: HowItStands, surveyed: str) -> bool:
    """Whether something was told on the day of a survey or later, which it may not have seen."""
    logged = (one for one in now.open_news if (event := writer.store.event(one.event)) and event.kind == "log")
    return any(one.date >= surveyed for one in logged)


def _way_to_approval(
    writer: Writer, name: str, verdict: str, on: date, surveyor: By, reviewer: By, *, surveyed: str
) -> bool:
    """Move a line as far as the second look; whether it may be approved from there."""
    while True:
        writer.draw()
        folded = Folded(writer.db)
        line = folded.known(name)
        now = standing(line, folded.around, on)
        own = now.own
        if line.moved_to in _KEPT_CLOSED:
            return False
        if own == DRAFT:
            actions.move(writer, name, SURVEYED, surveyor, on=on)
        elif verdict in AGAINST or needs_signature(line, folded.around, on):
            return False  # against its verdict a group approves by a signed reason of its own, never by the way
        elif now.marks["group"].refused or _news_since(writer, now, surveyed):
            return False  # what somebody took back, or told since the survey, wants a look of its own
        elif own == SECOND_LOOK:
            return True
        elif SECOND_LOOK not in now.legal:
            return False  # approved already, and nothing new
        else:
            actions.move(writer, name, SECOND_LOOK, reviewer, on=on)


def _keep_answer_once(writer: Writer, line: str, result: dict[str, Any], on: date, by: By) -> None:
    said = canonical(result)
    before: list[Event] = [one for one in writer.store.events(line) if one.kind == "assessment"]
    if not any(canonical(one.body["result"]) == said for one in before):
        actions.keep_answer(writer, line, result, on, by, f"siteassess {__version__}")
