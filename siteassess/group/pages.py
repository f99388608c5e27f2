"""The group's pages as a role may see them: what a copy for its layer says, and nothing else."""

from __future__ import annotations

from datetime import date
from typing import Any, get_args

from siteassess.advice.results import Assessment
from siteassess.group.accounts import LONGEST_MEMBER_NAME, LONGEST_PASSWORD, Person
from siteassess.group.places import PlaceHere, logged, own_work, way_on
from siteassess.group.queue import LONGEST_COMMENT
from siteassess.group.roles import may
from siteassess.papers.copy_page import sites_told
from siteassess.papers.language import words_in
from siteassess.papers.terminal import explain, summary
from siteassess.papers.terminal_short import UNBROKEN, short
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.pages import part, render
from siteassess.reference.texts import cautions
from siteassess.register.log_bodies import BarkMark
from siteassess.register.share import Copy

# what may have happened, most urgent first, and whole hours that a line stands
EVENTS = ("storm", "damage", "root works", "disease notice", "vandalism", "pruning", "complaint", "incident", "other")
HOURS = ("1", "2", "3", "4", "6", "8")


def group_page(page: str, language: str, **values: Any) -> str:
    """A page of the group, whole.

    Parameters
    ----------
    page : name of its template, without what all have
    language : to tell it in
    values : what it shows
    """
    return render(
        f"group_{page}", styles=[part(f"{name}.css") for name in ("report", "copy", "group")],
        forms="'self'", images="'self'", language=language, t=words_in(language), cautions=cautions(language), may=may,
        longest=LONGEST_MEMBER_NAME, most=LONGEST_PASSWORD, most_words=LONGEST_COMMENT,
        **{"title": "siteassess", **values},
    )  # fmt: skip


def places_page(copy: Copy, language: str) -> dict[str, Any]:
    """What the page of places shows.

    Parameters
    ----------
    copy : for the layer of whoever looks
    language : to tell it in
    """
    return {"title": copy.title, "sites": sites_told(copy, words_in(language)), "made_on": copy.made_on}


def place_page(here: PlaceHere, person: Person, on: date, language: str) -> dict[str, Any]:
    """What the page of one place shows.

    Parameters
    ----------
    here : the place as a role sees it
    person : who looks
    on : the day asked about
    language : to tell it in
    """
    t, feature = words_in(language), here.feature
    sites = sites_told(here.copy, t)
    tables = [table for site in sites for table in site["tables"]]
    row = next((row for table in tables for row in table["rows"] if row["id"] == feature.id), None)
    columns: list[Any] = next((table["columns"] for table in tables if row in table["rows"]), [])
    reviews = may(person.role, "review") and not own_work(here, person)
    return {
        "title": f"{feature.site_name}, {feature.code}" if row else feature.site_name, "feature": feature, "row": row,
        "columns": columns, "site": sites[0], "parts": here.parts,
        "hours": [("", t("not-recorded")), *((one, one) for one in HOURS)],
        "event_words": [(one, t.of(one)) for one in EVENTS],
        "bark_words": [(one, t.of(one)) for one in get_args(BarkMark)],
        "entries": logged(here, person, language) if may(person.role, "see the log") else [],
        "move_words": [(one, t.of(one)) for one in way_on(here, on)],
        "marks": reviews and feature.kind == "line", "own": own_work(here, person),
        "photos": here.copy.photos.get(feature.id, []), "made_on": here.copy.made_on,
    }


def survey_page(result: Assessment, language: str) -> dict[str, Any]:
    """What the page of a survey shows of its answer.

    Parameters
    ----------
    result : judged anew, by the rules of today
    language : to tell it in
    """
    steps = (explain(line, language=language) for line in result.lines)
    whole = "\n".join([summary(result, language=language), *steps])
    return {"title": result.record.site.name, "whole": whole, "told": short(result, language=language, width=UNBROKEN),
            "verdicts": [(line.id, line.verdict) for line in result.lines]}  # fmt: skip


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
