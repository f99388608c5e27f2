"""Surveys that wait for a second pair of eyes, and what people say about surveys and places: all in the group's file.

A survey is none of the register's until somebody else took it in; what was handed in stays as it was, whatever
becomes of it.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from siteassess.errors import StoreError, UnknownName
from siteassess.group.accounts import AccountError, Person, hashed
from siteassess.group.kept import KeptFile
from siteassess.reference.findings import worded

LONGEST_COMMENT = 4000
WAITING, ASKED, TAKEN, TURNED_DOWN = "waiting", "asked", "taken in", "turned down"
OPEN_STATES = (WAITING, ASKED)


@dataclass(frozen=True)
class HandedIn:
    """A survey as it was handed in; `verdicts` are the words of its lines by their ids."""

    id: str
    by: str
    by_id: str
    at: str
    site: str
    text: str
    verdicts: Mapping[str, str]
    state: str
    decided_by: str | None
    decided_at: str | None


@dataclass(frozen=True)
class Comment:
    """What somebody said."""

    who: str
    at: str
    text: str


class Talk:
    """Comments on surveys and places, each kept once however often it is sent."""

    def __init__(self, kept: KeptFile):
        self.kept = kept

    def say(self, about: str, person: Person, text: str, once: str) -> None:
        """Keep a comment.

        Parameters
        ----------
        about : name of a place, or of a survey
        person : who says it
        text : what
        once : mark of this sending

        Raises
        ------
        AccountError : there is no text, or too much.
        """
        text = text.strip()
        if not text or len(text) > LONGEST_COMMENT:
            raise AccountError(worded("gr-words-wanted", most=LONGEST_COMMENT))
        # a page gone back to bears the mark of its first sending: other words are no second sending
        sending = hashed(json.dumps([once[:64] or secrets.token_hex(16), about, text]))
        with self.kept.whole():
            self.kept.rows("INSERT OR IGNORE INTO comments VALUES (?, ?, ?, ?, ?)",
                           f"{person.id} {sending}", about, person.id, self.kept.moment(), text)  # fmt: skip

    def about(self, about: str) -> list[Comment]:
        """What was said, oldest first."""
        found = self.kept.rows("SELECT p.name, c.at, c.text FROM comments c JOIN people p ON p.id = c.person "
                               "WHERE c.about = ? ORDER BY c.at", about)  # fmt: skip
        return [Comment(*row) for row in found]


_SURVEYS = ("SELECT s.id, p.name, s.person, s.at, s.site, s.text, s.verdicts, s.state, d.name, s.decided_at "
            "FROM surveys s JOIN people p ON p.id = s.person LEFT JOIN people d ON d.id = s.decided_by")  # fmt: skip


class Queue:
    """Surveys handed in."""

    def __init__(self, kept: KeptFile):
        self.kept, self.talk = kept, Talk(kept)

    def hand_in(self, id: str, person: Person, site: str, text: str, verdicts: Mapping[str, str]) -> str:  # noqa: A002
        """Keep a survey, once: for one person none of the same id, or of the same text that waits, is kept again.

        Parameters
        ----------
        id : made by whoever sends it, before the first try
        person : who hands it in
        site : its name
        text : the record
        verdicts : word of each line

        Returns
        -------
        Its id.

        Raises
        ------
        AccountError : no such id can be, or it names another survey already.
        """
        if not (len(id) >= 16 and len(id) <= 64 and id.isascii() and id.replace("-", "").isalnum()):
            raise AccountError(worded("gr-form-too-old"))
        with self.kept.whole():
            before = self.kept.rows("SELECT person, text FROM surveys WHERE id = ?", id)
            if before and before[0] != (person.id, text):
                raise AccountError(worded("gr-survey-other"))
            same = self.kept.rows("SELECT id FROM surveys WHERE person = ? AND text = ? AND state IN (?, ?)",
                                  person.id, text, *OPEN_STATES)  # fmt: skip
            if not before and same:
                return str(same[0][0])
            if not before:
                self.kept.put("surveys", id, person.id, self.kept.moment(), site, text, json.dumps(dict(verdicts)),
                              WAITING, None, None)  # fmt: skip
        return id

    def all(self, of: Person | None = None) -> list[HandedIn]:
        """Surveys, those that wait first, then newest first; of somebody alone where one is named."""
        found = [_handed_in(row) for row in self.kept.rows(f"{_SURVEYS} ORDER BY s.at DESC")]
        mine = [one for one in found if of is None or one.by_id == of.id]
        return sorted(mine, key=lambda one: one.state not in OPEN_STATES)

    def one(self, id: str) -> HandedIn:  # noqa: A002
        """A survey by its id.

        Raises
        ------
        UnknownName : there is none.
        """
        found = self.kept.rows(f"{_SURVEYS} WHERE s.id = ?", id)
        if not found:
            raise UnknownName(worded("gr-no-page"))
        return _handed_in(found[0])

    def still_open(self, id: str) -> HandedIn:  # noqa: A002
        """A survey that nobody decided on yet.

        Raises
        ------
        UnknownName : there is none.
        StoreError : somebody did.
        """
        survey = self.one(id)
        if survey.state not in OPEN_STATES:
            raise StoreError(worded("gr-decided-already"))
        return survey

    def decide(self, survey: HandedIn, person: Person, state: str) -> None:
        """Note what became of a survey.

        Raises
        ------
        StoreError : it was decided already, or is their own.
        """
        refuse_own_survey(survey, person)
        with self.kept.whole():
            self.still_open(survey.id)
            self.kept.rows("UPDATE surveys SET state = ?, decided_by = ?, decided_at = ? WHERE id = ?",
                           state, person.id, self.kept.moment(), survey.id)  # fmt: skip


def refuse_own_survey(survey: HandedIn, person: Person) -> None:
    """Nothing, unless somebody would decide on what they surveyed themselves.

    Raises
    ------
    StoreError : they would.
    """
    if survey.by_id == person.id:
        raise StoreError(worded("gr-own-survey"))


def _handed_in(row: tuple[Any, ...]) -> HandedIn:
    id_, by, by_id, at, site, text, verdicts, state, decided_by, decided_at = row
    return HandedIn(id_, by, by_id, at, site, text, json.loads(verdicts), state, decided_by, decided_at)
