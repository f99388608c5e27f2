"""One request of one visitor: who they are, what their role lets them do, and the page they are answered with.

Every route but the way in names the act of the table that it needs, so that none is open by being forgotten. A form is
taken only with the proof that was written into it for this very visitor.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from fastapi import Depends, Form, Request
from fastapi.responses import HTMLResponse, Response

from siteassess.errors import SiteassessError
from siteassess.group.accounts import Accounts, Person
from siteassess.group.guarding import Signer
from siteassess.group.pages import group_page, language_of
from siteassess.group.roles import LAYER_OF, may
from siteassess.reference.faults import of_error
from siteassess.reference.findings import worded
from siteassess.register.share import Copy, make_copy
from siteassess.register.store import Store

Field = Annotated[str, Form(max_length=1000)]
COPIES_KEPT = 200  # of a park, role and language each
LongField = Annotated[str, Form(max_length=10_000)]


class Refused(SiteassessError):
    """A page that somebody may not see, or a form that is not theirs."""


class Visit(NamedTuple):
    """One request of one visitor."""

    request: Request
    word: str  # of the session, or of the visitor who is not signed in
    person: Person | None
    language: str

    @property
    def somebody(self) -> Person:
        """Who is signed in, behind a door that lets nobody else through."""
        assert self.person is not None
        return self.person

    def told(self, error: SiteassessError) -> str:
        """An error in the visitor's language."""
        return of_error(error, self.language)


class Visits:
    """Tells visitors apart, and answers them."""

    def __init__(self, accounts: Accounts, https: bool):
        self._accounts = accounts
        self.signer = Signer(accounts.signing_key, https)
        self.anybody = Depends(self.of)
        self.anybodys_form = Depends(self._proved)

    def of(self, request: Request) -> Visit:
        """Whose request it is."""
        word = self.signer.read(request)
        person = self._accounts.signed_in(word) if word else None
        return Visit(request, word or self.signer.new_word(), person,
                     language_of(request.headers.get("accept-language", "")))  # fmt: skip

    def _proved(self, proof: Field, request: Request) -> Visit:
        visit = self.of(request)
        if not self.signer.holds(proof, visit.word):
            raise Refused(worded("gr-form-too-old"))
        return visit

    def needs(self, act: str, *, form: bool = False) -> Any:
        """What a route depends on that only some roles may take.

        Parameters
        ----------
        act : of the table of acts
        form : whether it is sent by a form, which then has to be written for this very visitor
        """

        def allowed(visit: Visit = self.anybody) -> Visit:
            if visit.person is None:
                raise Refused(worded("gr-sign-in-first"))
            if not may(visit.person.role, act):
                raise Refused(worded("gr-not-of-your-role"))
            return visit

        by_act = Depends(allowed)

        def sent(visit: Visit = by_act, _proved: Visit = self.anybodys_form) -> Visit:
            return visit

        chosen = sent if form else allowed
        chosen.act = act  # type: ignore[attr-defined]  # read by the test of every route times every role
        return Depends(chosen)

    def shown(self, visit: Visit, page: str, status: int = 200, **values: Any) -> Response:
        """A page for a visitor."""
        proof = self.signer.proof(visit.word)
        answer = HTMLResponse(group_page(page, visit.language, person=visit.person, proof=proof, **values), status)
        if self.signer.read(visit.request) != visit.word:  # who has it keeps it for as long as it was given
            self.signer.give(answer, visit.word)
        return answer


class Desk:
    """What every room of the page works with: the register, who belongs to the group, visitors, the day."""

    def __init__(self, register: Path, accounts: Accounts, visits: Visits, today: Callable[[], date]):
        self.register, self.accounts, self.visits, self.today = register, accounts, visits, today
        self._copies: dict[tuple[object, ...], Copy] = {}

    def copy(self, store: Store, person: Person, language: str, site: str | None = None) -> Copy:
        """What a role may see today; made once for as long as the register's file stays as it is.

        Parameters
        ----------
        store : of the register
        person : who looks
        language : to tell it in
        site : name of one site's subject; None takes all
        """
        file, layer, on = self.register.stat(), LAYER_OF[person.role], self.today()
        key = (file.st_mtime_ns, file.st_size, store.heads(), layer, on, language, site)
        if (made := self._copies.get(key)) is None:
            made = make_copy(store, layer, on, sites=None if site is None else [site], language=language)
            for old in [one for one in list(self._copies) if one[:3] != key[:3]] or list(self._copies)[:-COPIES_KEPT]:
                self._copies.pop(old, None)
            self._copies[key] = made
        return made
