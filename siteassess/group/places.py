"""One place as somebody's role may see it: how it stands, what was logged, and what they may do about it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from siteassess.errors import UnknownName
from siteassess.group.accounts import Person, spelt
from siteassess.group.queue import Comment
from siteassess.group.roles import LAYER_OF, may
from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import worded
from siteassess.reference.measures import Measures
from siteassess.reference.pages import plain
from siteassess.register.care import entry_hours
from siteassess.register.fold import Entry, Subject
from siteassess.register.share import Copy, Shared
from siteassess.register.standing import standing
from siteassess.register.store import Store
from siteassess.register.views import Folded

LOGGED_AT_MOST = 60  # newest entries of a page


@dataclass(frozen=True)
class PlaceHere:
    """A place of the register as a role sees it; `parts` are what can be logged about, by (name, words)."""

    subject: Subject
    feature: Shared
    copy: Copy
    folded: Folded
    ends: tuple[Shared, ...]

    @property
    def parts(self) -> list[tuple[str, str]]:
        """The trees of a line or the thing itself, then the park, each by name and what it is called here."""
        own = [(one.id, one.code) for one in self.ends or (self.feature,)]
        return [*own, *([(self.feature.site_id, self.feature.site_name)] if self.feature.kind != "site" else [])]


def place_of(store: Store, name: str, copied: Callable[[str], Copy]) -> PlaceHere:
    """A place by its name in the register.

    Parameters
    ----------
    store : of the register
    name : of a site, anchor or line
    copied : gives the copy of a site, by its name, for the role of whoever looks

    Raises
    ------
    UnknownName : there is none of that name, or none that this role may see.
    """
    folded = Folded(store.db)
    subject = folded.subject(name)
    if subject is not None and subject.versions:
        site = name if subject.kind == "site" else subject.current.body.get("site", "")
        copy = copied(site)
        by_id = {feature.id: feature for feature in copy.features}
        if (feature := by_id.get(name)) is not None:
            ends = tuple(by_id[end] for end in feature.anchors or () if end in by_id)
            return PlaceHere(subject, feature, copy, folded, ends)
    raise UnknownName(worded("gr-no-page"))


def logged(here: PlaceHere, person: Person, language: str) -> list[dict[str, str]]:
    """What was logged about a place and the trees it is tied to, newest first, as its page shows it.

    Notes are shown to who reviews and to officers: what somebody wrote of a tree may tell where it stands.

    Parameters
    ----------
    here : the place
    person : who looks
    language : to tell it in

    Returns
    -------
    list of dict
        `day`, `what`, `who`, `where` and `more` of each entry.
    """
    t = words_in(language)
    told = []
    for name, called in here.parts if here.feature.kind != "site" else [(here.feature.id, here.feature.site_name)]:
        part = here.folded.subject(name)
        for entry in part.log() if part else ():
            if here.feature.kind == "line" and entry.body.get("line") not in (None, here.feature.id):
                continue  # of another line at this tree
            told.append(_entry(entry, called, reads_free_words(person), t))
    return sorted(told, key=lambda one: one["day"], reverse=True)[:LOGGED_AT_MOST]


def _entry(entry: Entry, called: str, notes: bool, t: Words) -> dict[str, str]:
    body = entry.body
    what = t.of(body["event"]) if body["what"] == "event" else t(f"gp-did-{body['what']}")
    more = [*_more(body, t), *([plain(body["notes"])] if notes and body.get("notes") else [])]
    return {"day": body["date"], "what": what, "who": plain(entry.event.who), "where": plain(called),
            "more": t("between").join(more)}  # fmt: skip


def _more(body: Mapping[str, Any], t: Words) -> Iterator[str]:
    if body["what"] == "use" and (hours := entry_hours(body)) is not None:
        yield Measures(t.language).told(hours * 3600.0, "h 1")
    if (seen := body.get("bark_marks", "not looked")) != "not looked":
        yield f"{t.with_colon('gp-bark')} {t.of(seen)}"
    if body.get("until"):
        yield f"{t('until')} {body['until']}"


def reads_free_words(person: Person) -> bool:
    """Whether somebody reads what others wrote of a tree in their own words, which may tell where it stands."""
    return may(person.role, "review") or LAYER_OF[person.role] == "officer"


def comments_told(here: PlaceHere, person: Person, said: Sequence[Comment]) -> list[Comment]:
    """Of what was said about a place as much as somebody may read: of a hidden one's, their own.

    Parameters
    ----------
    here : the place
    person : who looks
    said : all of it
    """
    all_of_it = here.feature.exact or here.feature.kind == "site" or reads_free_words(person)
    return [one for one in said if all_of_it or one.who == person.name]


def own_work(here: PlaceHere, person: Person) -> bool:
    """Whether somebody surveyed a place or a tree that it is tied to, and so does not review it."""
    parts = (here.subject, *here.folded.around.anchors(here.subject))
    return any(spelt(version.who) == spelt(person.name) for part in parts for version in part.versions)


def way_on(here: PlaceHere, on: date) -> tuple[str, ...]:
    """The words a place may move to from where it stands."""
    return standing(here.subject, here.folded.around, on).legal
