"""One change, named by the hash of what it says.

An event is a small JSON object. Its name is the SHA-256 of its canonical text, and it names its parents: the heads of
the register it was added to. So no event can be altered, dropped or slipped in without a name changing, and whoever
noted a head elsewhere can tell whether the history behind it is whole.

`recorded` is never earlier than that of its parents, so that time order and cause agree even when a clock runs late.
The salt keeps a published name from being used to test guesses about what the event says.

References
----------
1. FIPS PUB 180-4, Secure Hash Standard, NIST 2015 (memory).
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from siteassess.errors import Fault, FaultyInput, refused
from siteassess.reference.findings import worded
from siteassess.register.guard import plainly_harmless, refuse_hostile

ENTRY_FORMAT = 1
THINGS = ("site", "anchor", "line")
ENTRY_KINDS = (
    "register", *THINGS, "assessment", "move", "mark", "log", "photo", "correction", "join", "clock",
    "copy",
)
# events that bring a new subject into being when they name none
FOUNDING = ("register", *THINGS)
MAX_CONTENT = 1_000_000
LONGEST = 500  # characters of who and why

_KEYS = frozenset(("format", "kind", "subject", "parents", "replaces", "who", "recorded", "why", "body", "salt"))
_HASH = re.compile(r"[0-9a-f]{64}")
_RECORDED = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")


def canonical(value: Any) -> str:
    """The one JSON text of a value: keys sorted, no spaces, no infinities, characters as they are.

    Parameters
    ----------
    value : plain JSON values
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def name_of(content: str) -> str:
    """The name of a canonical text: its SHA-256 in hexadecimal."""
    return hashlib.sha256(content.encode("utf-8")).hexdigest()


def is_name(text: Any) -> bool:
    return isinstance(text, str) and _HASH.fullmatch(text) is not None


def utc_text(moment: datetime) -> str:
    """A moment as text that sorts by time."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


@dataclass(frozen=True)
class Event:
    """One change as it stands in the register.

    `subject` is the name of the event that brought the thing into being, and is empty on that event itself; `about`
    is the subject either way. `replaces` names what this change takes the place of.
    """

    kind: str
    subject: str
    parents: tuple[str, ...]
    replaces: tuple[str, ...]
    who: str
    recorded: str
    why: str
    body: Mapping[str, Any]
    salt: str
    content: str = field(compare=False, default="")
    name: str = ""

    @property
    def about(self) -> str:
        return self.subject or self.name


def make(
    kind: str, subject: str, body: Mapping[str, Any], *, who: str, why: str, recorded: str, parents: Iterable[str] = (),
    replaces: Iterable[str] = (), salt: str | None = None,
) -> Event:
    """An event of these parts, named.

    Raises
    ------
    FaultyInput : a part is missing or of the wrong shape, or a text is refused.
    """
    parts = {
        "format": ENTRY_FORMAT, "kind": kind, "subject": subject, "parents": sorted(set(parents)),
        "replaces": sorted(set(replaces)), "who": who, "recorded": recorded, "why": why, "body": body,
        "salt": secrets.token_hex(8) if salt is None else salt,
    }
    try:
        content = canonical(parts)
    except (TypeError, ValueError, RecursionError):
        refuse_hostile(parts, "event")
        source = worded("rg-the-event")
        raise refused(source, "body", worded("rg-read-no-json"), worded("rg-want-json-values")) from None
    return read(content)


def read(content: str, source: str = "") -> Event:
    """The event written in a canonical text.

    Parameters
    ----------
    source : name of what is read, for messages; the event itself if not given

    Raises
    ------
    FaultyInput : not JSON, not canonical, a key too many or too few, a part of the wrong shape, a refused text.
    """
    try:
        return _read(content)
    except FaultyInput as error:
        raise FaultyInput(source or worded("rg-the-event"), error.faults) from None


def _read(content: str) -> Event:
    if len(content) > MAX_CONTENT:
        raise _no_event(worded("rg-read-characters", count=len(content)), worded("want-at-most", limit=MAX_CONTENT))
    try:
        parts = json.loads(content, parse_constant=_no_constant)
        again = canonical(parts)
    except (ValueError, RecursionError):
        raise _no_event(ascii(content[:60]), worded("rg-want-json-object")) from None
    if not isinstance(parts, dict) or set(parts) != _KEYS:
        raise _no_event(ascii(content[:60]), worded("rg-want-keys", keys=tuple(sorted(_KEYS))))
    if not plainly_harmless(content):
        refuse_hostile(parts, "")
    if again != content:
        raise _no_event(ascii(content[:60]), worded("rg-want-canonical"))
    _check_shape(parts)
    return Event(
        kind=parts["kind"], subject=parts["subject"], parents=tuple(parts["parents"]),
        replaces=tuple(parts["replaces"]), who=parts["who"], recorded=parts["recorded"], why=parts["why"],
        body=parts["body"], salt=parts["salt"], content=content, name=name_of(content),
    )


def _check_shape(parts: dict[str, Any]) -> None:
    faults = []

    def want(good: bool, name: str, code: str, **values: Any) -> None:
        if not good:
            faults.append(Fault(0, name, ascii(parts[name])[:80], worded(code, **values)))

    def names(value: Any) -> bool:
        return isinstance(value, list) and all(map(is_name, value)) and value == sorted(set(value))

    is_format = parts["format"] == ENTRY_FORMAT and not isinstance(parts["format"], bool)
    want(is_format, "format", "rg-want-this", what=ENTRY_FORMAT)
    want(parts["kind"] in ENTRY_KINDS, "kind", "one-of", names=ENTRY_KINDS)
    founding = parts["subject"] == "" and parts["kind"] in FOUNDING
    want(founding or is_name(parts["subject"]), "subject", "rg-want-name-of-beginning")
    want(names(parts["parents"]), "parents", "rg-want-names-of-events")
    want(names(parts["replaces"]), "replaces", "rg-want-names-of-events")
    for name in ("who", "why"):
        text = parts[name]
        want(isinstance(text, str) and bool(text.strip()) and len(text) <= LONGEST, name, "rg-want-some-characters",
             most=LONGEST)
    want(_is_moment(parts["recorded"]), "recorded", "rg-want-a-moment")
    want(isinstance(parts["body"], dict), "body", "want-a-mapping")
    want(isinstance(parts["salt"], str) and len(parts["salt"]) <= 64, "salt", "rg-want-short-text")
    if faults:
        raise FaultyInput("", faults)


def _is_moment(text: Any) -> bool:
    if not isinstance(text, str) or not _RECORDED.fullmatch(text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _no_constant(text: str) -> None:
    raise ValueError(f"{text} is not JSON")


def _no_event(read_: str, wanted: str) -> FaultyInput:
    return refused("", worded("rg-the-event"), read_, wanted)
