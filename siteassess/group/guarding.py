"""What keeps a visitor's word theirs: signed cookies, proofs in forms, headers, and bodies of a bounded size."""

from __future__ import annotations

import hmac
import secrets

from fastapi import Request
from fastapi.responses import PlainTextResponse, Response
from itsdangerous import BadSignature, URLSafeSerializer
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from siteassess.group.accounts import hashed
from siteassess.records.yaml_lines import MAX_BYTES
from siteassess.register.photos import MAX_PHOTO_BYTES

MOST_FORM_BYTES = 64 * 1024  # of a form
GUARDS = {
    # what may run in a page stands in the page itself; here is what a page cannot say of itself
    "content-security-policy": "frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
    "x-content-type-options": "nosniff", "x-frame-options": "DENY", "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin", "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(self)", "cache-control": "no-store",
}  # fmt: skip


class Signer:
    """The cookie of a visitor, and the proofs that are written into forms."""

    def __init__(self, key: str, https: bool):
        self._word, self._form = (URLSafeSerializer(key, salt=salt) for salt in ("word", "form"))
        self._https = https
        # a name that a page of plain http, or of another part of the host, cannot write over
        self.cookie = "__Host-siteassess" if https else "siteassess"

    def new_word(self) -> str:
        """The word of a visitor who is not signed in."""
        return secrets.token_urlsafe(32)

    def read(self, request: Request) -> str:
        """The word in a request's cookie; none where we did not sign it."""
        try:
            word = self._word.loads(request.cookies.get(self.cookie, ""))
        except BadSignature:
            return ""
        return word if isinstance(word, str) else ""

    def give(self, answer: Response, word: str, lasts_s: int | None = None) -> None:
        """Hand a word out, for as long as the browser is open or for some seconds; no script reads it."""
        answer.set_cookie(self.cookie, self._word.dumps(word), max_age=lasts_s, path="/", secure=self._https,
                          httponly=True, samesite="lax")  # fmt: skip

    def proof(self, word: str) -> str:
        """What is written into the forms of a visitor."""
        return str(self._form.dumps(hashed(word)))

    def holds(self, proof: str, word: str) -> bool:
        """Whether a proof was written for the holder of a word."""
        try:
            return hmac.compare_digest(str(self._form.loads(proof)), hashed(word))
        except BadSignature:
            return False


def most_sent(path: str) -> int:
    """Most bytes that a page takes: a form, with a record or a photo where it asks for one."""
    if path in ("/surveys", "/surveys/sent"):
        return MOST_FORM_BYTES + MAX_BYTES
    return MOST_FORM_BYTES + (MAX_PHOTO_BYTES if path.endswith("/photo") else 0)


class BoundedBodies:
    """Refuses what is longer than its page takes, told so or found so while it comes in."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        most = most_sent(scope.get("path", ""))
        told = dict(scope["headers"]).get(b"content-length", b"0")
        if not told.isdigit() or int(told) > most:
            await PlainTextResponse("too long", 413)(scope, receive, send)
            return
        come = 0

        async def counted() -> Message:
            nonlocal come
            message = await receive()
            come += len(message.get("body", b""))
            # what lied about its length is cut off as if its sender had gone
            return {"type": "http.disconnect"} if come > most else message

        await self.app(scope, counted, send)
