"""Who belongs to the group and is signed in: one file beside the register, which no copy of the register holds.

Nothing in it can be used by whoever reads it: of invitations and sessions only the hash of what was handed out is kept,
of a password what a memory-hard hash leaves (Argon2id, RFC 9106, with the parameters its library recommends).
"""

from __future__ import annotations

import hashlib
import re
import secrets
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from siteassess.errors import SiteassessError
from siteassess.group.kept import KeptFile
from siteassess.group.roles import ROLES, Role, may
from siteassess.reference.findings import worded

# how long and how often: all of these are judgement
FIRST_ADDRESS = timedelta(hours=24)
INVITED = timedelta(days=14)
SIGNED_IN = timedelta(days=30)
MISSES, MISSES_WITHIN = 8, timedelta(minutes=15)  # wrong passwords of one name
SENDERS_MISSES = 60  # of all names from one address, behind which a whole group may sit
SHORTEST_PASSWORD, LONGEST_PASSWORD = 10, 200  # nobody has us hash a book
LONGEST_MEMBER_NAME = 60


class AccountError(SiteassessError):
    """What was asked of an account is not granted; the message says why."""


@dataclass(frozen=True)
class Person:
    """Somebody of the group; `name` is who stands in an event."""

    id: str
    name: str
    role: Role


class Accounts(KeptFile):
    """The people of a group, their invitations and sessions."""

    def __init__(self, path: str | Path, now: Callable[[], datetime] | None = None):
        """Open the file of a group's accounts, or begin it; see `KeptFile`."""
        from argon2 import PasswordHasher

        super().__init__(path, now)
        self._hasher = PasswordHasher()
        # what a name nobody bears is held against, so that it takes as long as one somebody does
        self._nobodys = self._hasher.hash(secrets.token_urlsafe(16))

    @property
    def signing_key(self) -> str:
        """What cookies and forms of this group are signed with."""
        return str(self.rows("SELECT value FROM kept WHERE key = 'signing key'")[0][0])

    # ---- people

    def people(self) -> list[Person]:
        """Everybody who has not left, by name."""
        found = self.rows("SELECT id, name, role FROM people WHERE left_on IS NULL ORDER BY spelt")
        return [Person(*row) for row in found]

    def person(self, name: str) -> Person | None:
        """The one of a name, however it is spelt; None where nobody bears it, or left."""
        return next((one for one in self.people() if spelt(one.name) == spelt(name)), None)

    def give_role(self, name: str, role: str) -> None:
        """Give somebody another role; the last coordinator stays one.

        Parameters
        ----------
        name : of the person
        role : one of `roles.ROLES`

        Raises
        ------
        AccountError : nobody bears the name, no such role, or nobody would be left to coordinate.
        """
        with self.whole():
            person = self._known(name)
            if role not in ROLES:
                raise AccountError(worded("gr-no-role", role=role, roles=ROLES))
            if role != "coordinator":
                self._refuse_last(person)
            self.rows("UPDATE people SET role = ? WHERE id = ?", role, person.id)
            if not may(role, "invite"):
                self._void_invitations(person)

    def leave(self, name: str) -> None:
        """Somebody leaves: signed out everywhere, no way in; the name stays theirs in what they wrote.

        Raises
        ------
        AccountError : nobody bears the name, or nobody would be left to coordinate.
        """
        with self.whole():
            person = self._known(name)
            self._refuse_last(person)
            self.rows("UPDATE people SET left_on = ?, password = '' WHERE id = ?", self.moment(), person.id)
            self.rows("DELETE FROM sessions WHERE person = ?", person.id)
            self._void_invitations(person)

    def _void_invitations(self, person: Person) -> None:
        # or whoever may not invite any more comes back by their own
        self.rows("DELETE FROM invitations WHERE made_by = ? AND used_by IS NULL", person.id)

    def _known(self, name: str) -> Person:
        if (person := self.person(name)) is None:
            raise AccountError(worded("gr-nobody", name=name))
        return person

    def _refuse_last(self, person: Person) -> None:
        if [one.id for one in self.people() if one.role == "coordinator"] == [person.id]:
            raise AccountError(worded("gr-last-coordinator", name=person.name))

    # ---- invitations

    def first_address(self) -> str | None:
        """The word of a one-time address by which the first coordinator comes in; None where somebody has.

        A new one makes the one before worthless.
        """
        with self.whole():
            if self.rows("SELECT 1 FROM people LIMIT 1"):
                return None
            self.rows("DELETE FROM invitations WHERE made_by IS NULL")
            return self._invited("coordinator", None, FIRST_ADDRESS)

    def invite(self, role: str, by: Person) -> str:
        """The word of a one-time address by which somebody comes in with a role; it ends by itself.

        Parameters
        ----------
        role : one of `roles.ROLES`
        by : who invites

        Raises
        ------
        AccountError : no such role.
        """
        if role not in ROLES:
            raise AccountError(worded("gr-no-role", role=role, roles=ROLES))
        with self.whole():
            return self._invited(role, by.id, INVITED)

    def _invited(self, role: str, by: str | None, lasts: timedelta) -> str:
        word = secrets.token_urlsafe(32)
        self.put("invitations", hashed(word), role, by, self.moment(), self.moment(lasts), None)
        return word

    def invited_as(self, word: str) -> Role | None:
        """The role an address offers; None where it is used, over or none of ours."""
        found = self.rows("SELECT role FROM invitations WHERE token = ? AND used_by IS NULL AND ends > ?",
                           hashed(word), self.moment())  # fmt: skip
        return found[0][0] if found else None

    def come_in(self, word: str, name: str, password: str) -> Person:
        """Whoever holds a one-time address becomes one of the group, once.

        Parameters
        ----------
        word : of the address
        name : as it is to stand in the history
        password : chosen by them

        Raises
        ------
        AccountError : the address is used or over, the name is taken, blank or long, the password is short or long.
        """
        name = " ".join(unicodedata.normalize("NFC", name).split())
        if not name or len(name) > LONGEST_MEMBER_NAME or not name.isprintable():
            raise AccountError(worded("gr-name-wanted", most=LONGEST_MEMBER_NAME))
        kept = self._hasher.hash(_fit(password, name))  # slow, so before the file is held
        with self.whole():
            if (role := self.invited_as(word)) is None:
                raise AccountError(worded("gr-address-over"))
            # also of those who left: what they wrote is theirs
            if self.rows("SELECT 1 FROM people WHERE spelt = ?", spelt(name)):
                raise AccountError(worded("gr-name-taken", name=name))
            person = Person(secrets.token_hex(8), name, role)
            self.put("people", person.id, name, spelt(name), role, kept, self.moment(), None)
            self.rows("UPDATE invitations SET used_by = ? WHERE token = ?", person.id, hashed(word))
        return person

    # ---- sessions

    def sign_in(self, name: str, password: str, sender: str = "") -> str:
        """The word of a new session.

        A name is tried `MISSES` times a quarter of an hour, whoever tries; its holder waits as well, and an old session
        goes on meanwhile. One sender tries `SENDERS_MISSES` times, whatever the names.

        Parameters
        ----------
        name, password : as typed
        sender : network address of whoever tries; empty where it is not known

        Raises
        ------
        AccountError : name and password do not belong together, or were tried too often.
        """
        from argon2.exceptions import InvalidHashError, VerificationError

        of, since = hashed(spelt(name)), self.moment(-MISSES_WITHIN)
        with self.whole():  # counted before it is tried, so that many at once are no more tries than one by one
            self.rows("DELETE FROM misses WHERE at <= ?", since)
            counted = [(of, MISSES), *([(hashed(f"from {sender}"), SENDERS_MISSES)] if sender else [])]
            tries = "SELECT count(*) FROM misses WHERE of = ?"
            too_often = any(self.rows(tries, one)[0][0] >= most for one, most in counted)
            for one, _ in () if too_often else counted:
                self.put("misses", one, self.moment())
        if too_often:
            raise AccountError(worded("gr-tried-too-often", minutes=int(MISSES_WITHIN.total_seconds() / 60)))
        found = self.rows("SELECT id, password FROM people WHERE spelt = ? AND left_on IS NULL", spelt(name))
        person, kept = found[0] if found else (None, self._nobodys)
        try:
            self._hasher.verify(kept, _plain(password)[: LONGEST_PASSWORD + 1])
        except (VerificationError, InvalidHashError):
            person = None
        if person is None:
            raise AccountError(worded("gr-not-known"))
        word = secrets.token_urlsafe(32)
        with self.whole():
            self.rows("DELETE FROM misses WHERE of = ?", of)
            for one, _ in counted[1:]:  # this one was no miss of the sender's; those before stay counted
                self.rows("DELETE FROM misses WHERE rowid = (SELECT max(rowid) FROM misses WHERE of = ?)", one)
            self.rows("DELETE FROM sessions WHERE ends <= ?", self.moment())
            self.put("sessions", hashed(word), person, self.moment(), self.moment(SIGNED_IN))
        return word

    def signed_in(self, word: str) -> Person | None:
        """Whose session it is; None for one that is over, signed out or none of ours."""
        found = self.rows("SELECT p.id, p.name, p.role FROM sessions s JOIN people p ON p.id = s.person "
                           "WHERE s.token = ? AND s.ends > ?", hashed(word), self.moment())  # fmt: skip
        return Person(*found[0]) if found else None

    def sign_out(self, word: str) -> None:
        """End one session."""
        with self.whole():
            self.rows("DELETE FROM sessions WHERE token = ?", hashed(word))

    def sign_out_everywhere(self, person: Person) -> None:
        """End every session of somebody."""
        with self.whole():
            self.rows("DELETE FROM sessions WHERE person = ?", person.id)

    # ---- feeds

    def subscribe(self, person: Person) -> str:
        """The word of a secret address for somebody's feeds; the one before opens nothing any more."""
        word = secrets.token_urlsafe(32)
        with self.whole():
            self.rows("DELETE FROM subscriptions WHERE person = ?", person.id)
            self.put("subscriptions", hashed(word), person.id, self.moment())
        return word

    def subscriber(self, word: str) -> Person | None:
        """Whose secret address it is; None for one that is void, or of somebody who left."""
        found = self.rows("SELECT p.id, p.name, p.role FROM subscriptions s JOIN people p ON p.id = s.person "
                          "WHERE s.token = ? AND p.left_on IS NULL", hashed(word))  # fmt: skip
        return Person(*found[0]) if found else None


def hashed(word: str) -> str:
    """What is kept of a word that was handed out; it has 256 random bits, so a plain hash tells nothing of it.

    Parameters
    ----------
    word : of an address or a session
    """
    return hashlib.sha256(word.encode("utf-8", "surrogatepass")).hexdigest()


def spelt(name: str) -> str:
    """A name as it is told from others: case, blanks and look-alikes of the same letters aside.

    Parameters
    ----------
    name : as typed
    """
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", name).casefold()).strip()


def _plain(password: str) -> str:
    return unicodedata.normalize("NFKC", password)


def _fit(password: str, name: str) -> str:
    password = _plain(password)
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD or spelt(password) == spelt(name):
        raise AccountError(worded("gr-password-wanted", least=SHORTEST_PASSWORD, most=LONGEST_PASSWORD))
    return password
