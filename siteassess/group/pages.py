"""The group's pages as a role may see them: what a copy for its layer says, and nothing else."""

from __future__ import annotations

from typing import Any

from siteassess.group.accounts import LONGEST_MEMBER_NAME, LONGEST_PASSWORD
from siteassess.group.roles import may
from siteassess.papers.copy_page import sites_told
from siteassess.papers.language import words_in
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.pages import part, render
from siteassess.reference.texts import cautions
from siteassess.register.share import Copy


def group_page(page: str, language: str, **values: Any) -> str:
    """A page of the group, whole.

    Parameters
    ----------
    page : name of its template, without what all have
    language : to tell it in
    values : what it shows
    """
    return render(
        f"group_{page}", styles=[part("report.css"), part("copy.css"), part("group.css")], forms="'self'",
        language=language, t=words_in(language), cautions=cautions(language), may=may, longest=LONGEST_MEMBER_NAME,
        most=LONGEST_PASSWORD, **{"title": "siteassess", **values},
    )  # fmt: skip


def places_page(copy: Copy, language: str) -> dict[str, Any]:
    """What the page of places shows.

    Parameters
    ----------
    copy : for the layer of whoever looks
    language : to tell it in
    """
    return {"title": copy.title, "sites": sites_told(copy, words_in(language)), "made_on": copy.made_on}


def language_of(accepted: str) -> str:
    """The language of ours that a browser asks for first; English where it asks for none.

    Parameters
    ----------
    accepted : its Accept-Language
    """
    asked = []
    for place, one in enumerate(accepted[:500].split(",")):
        name, _, weight = one.partition(";q=")
        try:
            share = float(weight or 1)
        except ValueError:
            share = 0.0
        asked.append((-share, place, name.strip().casefold().partition("-")[0]))
    return next((name for share, _, name in sorted(asked) if share < 0 and name in SIDE_BY_SIDE), "en")
