"""From what a person types to the one subject meant."""

from __future__ import annotations

import re

from siteassess.errors import AmbiguousName, StoreError, UnknownName
from siteassess.reference.findings import worded
from siteassess.register.events import THINGS
from siteassess.register.standing import label
from siteassess.register.store import Store

# what stands before the first letters of a hidden thing's name where members see it
HIDDEN = "hidden-"
_SHORT_NAME = re.compile(r"[0-9a-f]{8,64}")


def resolve(store: Store, text: str, kind: str | None = None) -> str:
    """The subject a text names.

    Parameters
    ----------
    store : of the register
    text : "SITE", "SITE/CODE", "CODE" where only one site uses it, or the first 8 characters or more of its name
    kind : "site", "anchor" or "line" where only that will do

    Raises
    ------
    UnknownName : nothing is named so.
    AmbiguousName : several things are, which are listed.
    StoreError : the drawn tables give the name to another thing than the history does.
    """
    kinds = (kind,) if kind else THINGS
    found: dict[str, tuple[str, str]] = {}
    for each in kinds:
        found.update(_named(store, text, each))
    if len(found) == 1:
        ((name, words),) = found.items()
        _refuse_misnamed(store, text, name, words)
        return name
    if found:
        several = tuple(
            worded("rg-thing-named", kind=kind, label=words, name=name[:10])
            for name, (kind, words) in sorted(found.items(), key=lambda item: item[1])
        )
        raise AmbiguousName(worded("rg-may-mean", text=text, things=several))
    for subject in store.folded().undrawn():
        if subject.kind in kinds and label(subject).casefold() == text.rpartition("/")[2].casefold():
            thing = worded("rg-thing", kind=subject.kind, label=label(subject))
            raise StoreError(worded("rg-not-in-tables", file=store.path.name, thing=thing))
    raise UnknownName(worded("rg-nothing-listed", text=text, file=store.path.name))


def _refuse_misnamed(store: Store, text: str, name: str, words: tuple[str, str]) -> None:
    """Raise unless the history names a thing as the drawn tables do, which anybody can edit.

    What is damaged passes: it can still be looked at, and is never answered with yes.
    """
    folded = store.folded()
    subject = folded.subject(name)
    if subject is None or not (subject.complete and subject.versions):
        return
    told = label(subject)
    if subject.kind != "site":
        site = folded.subject(subject.current.body["site"])
        if site is None or not (site.complete and site.versions):
            return
        told = f"{label(site)}/{told}"
    if words != (subject.kind, told):
        thing = worded("rg-thing", kind=subject.kind, label=told)
        raise StoreError(worded("rg-drawn-otherwise", file=store.path.name, text=text, thing=thing))


def _named(store: Store, text: str, kind: str) -> dict[str, tuple[str, str]]:
    if kind == "site":
        rows = store.db.execute("SELECT subject, name FROM sites WHERE name = ? COLLATE NOCASE", (text,)).fetchall()
        shown = "SELECT subject, name FROM sites"
    else:
        shown = f"SELECT t.subject, s.name || '/' || t.code FROM {kind}s t JOIN sites s ON s.subject = t.site"
        site, _, code = text.rpartition("/")
        query = f"{shown} WHERE t.code = ? COLLATE NOCASE" + (" AND s.name = ? COLLATE NOCASE" if site else "")
        rows = store.db.execute(query, (code, site) if site else (code,)).fetchall()
    text = text.removeprefix(HIDDEN)
    if not rows and _SHORT_NAME.fullmatch(text):
        alias = "" if kind == "site" else "t."
        upper = text + "g"
        rows = store.db.execute(f"{shown} WHERE {alias}subject >= ? AND {alias}subject < ?", (text, upper)).fetchall()
    return {name: (kind, words) for name, words in rows}
