"""Papers that change hands: what they share, and one door to write any of them.

Every text of a record or register is escaped by the templates; the page is sealed like the report, so that nothing in
it runs or loads.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias, TypedDict

from siteassess.papers.language import EMERGENCY, Words, words_in
from siteassess.papers.pages import paper
from siteassess.papers.pdf import write_page_pdf
from siteassess.records.files import write_whole
from siteassess.records.record import Record
from siteassess.records.site import Emergency
from siteassess.reference.measures import Measures
from siteassess.reference.pages import part, plain
from siteassess.reference.texts import cautions
from siteassess.register.reasons import licence_told

RegisterSide: TypeAlias = tuple[tuple[str, ...], str]  # heads and licence of the register a paper draws on
VERSION_LENGTH = 12
APPENDIX = "_appendix"  # how the name of a paper's second file ends
# a log has more columns than a sheet on end has room for, and so has a row that tells a tree's year
PAGE_BOXES = {"care": "@page { size: A4 landscape; margin: 9mm 10mm; }",
              "carelog": "@page { size: A4 landscape; margin: 14mm 12mm; }"}  # fmt: skip


class Abreast(TypedDict):
    """Things side by side, as the templates show them: heads, and rows of a name and a cell for each."""

    heads: list[str]
    rows: Sequence[tuple[str, Sequence[str | None]]]


@dataclass(frozen=True)
class Manner:
    """How a paper speaks: language, units, and the day it is made."""

    words: Words
    system: str = "metric"
    made_on: datetime.date | None = None

    @property
    def tongue(self) -> tuple[str, str]:
        """Language and system of units, as what words a code takes them."""
        return self.words.language, self.system

    def measures(self, both: bool = False) -> Measures:
        return Measures(self.words.language, self.system, both)

    @property
    def day(self) -> str:
        return (self.made_on or datetime.date.today()).isoformat()


def manner(language: str = "en", system: str = "metric", made_on: datetime.date | None = None) -> Manner:
    """A manner by the names a person types.

    Parameters
    ----------
    language : to tell papers in
    system : "metric" or "us"
    made_on : day printed on them; None takes today

    Raises
    ------
    UnknownName : no such language or system of units.
    """
    how = Manner(words_in(language), system, made_on)
    how.measures()  # refuses what is no system
    return how


def page(
    template: str,
    how: Manner,
    *,
    place: str,
    invented: bool,
    facts: list[str],
    subtitle: str = "",
    heads: tuple[str, ...] = (),
    register_asked: bool = False,
    licence: str = "",
    version_of: object = (),
    style: str = "",
    **parts: Any,
) -> str:
    """A sealed page of one template.

    Parameters
    ----------
    template : name of the paper: request, card, care, carelog, year or incident
    how : language and units
    place, invented, facts, subtitle : of the page's head
    heads : heads of the register it draws on, printed so that a reader can hold the register to them
    register_asked : say so where no register was given
    version_of : plain values whose hash names this version of the sheet
    style : its own, a shipped part
    parts : what the template shows
    """
    return paper(
        template, part("handover.css"), PAGE_BOXES.get(template, ""), style,
        t=how.words, language=how.words.language, kind=template, heading=how.words(template),
        title=f"{plain(place)}{how.words('colon')} {how.words(template)}", place=place,
        invented=invented, facts=facts, subtitle=subtitle, heads=heads, register_asked=register_asked,
        licence=licence_told(licence, how.words.language), version=version_code(template, version_of), made_on=how.day,
        cautions=cautions(how.words.language), **parts,
    )  # fmt: skip


def appendix_name(name: str) -> str:
    """Name of the file beside a paper that holds the rest of it."""
    file = Path(name)
    return f"{file.stem}{APPENDIX}{file.suffix}"


def version_code(template: str, what: object) -> str:
    """A short code that changes when what the sheet rests on changes."""
    text = json.dumps([template, what], sort_keys=True, default=str, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:VERSION_LENGTH]


def record_values(record: Record) -> dict[str, object]:
    told: dict[str, object] = record.model_dump(mode="json", exclude_unset=True)
    return told


def survey_facts(record: Record, words: Words, judged: datetime.date | None = None) -> list[str]:
    """The lines at the right of a page's head."""
    facts = [f"{words.with_colon('surveyed')} {record.survey.date}", f"{words('by')} {plain(record.survey.by)}"]
    if judged:
        facts.insert(1, f"{words.with_colon('judged-for')} {judged}")
    if record.survey.group:
        facts.append(plain(record.survey.group))
    second = plain(record.survey.second_look_by or words("nobody"))
    return [*facts, f"{words.with_colon('second-look')} {second}"]


def emergency_rows(emergency: Emergency | None, words: Words) -> list[tuple[str, str | None]]:
    """Every field of the emergency block; None, a blank to fill in, where the record says nothing."""
    return [
        (words(f"em-{name}"), plain(value) if (value := getattr(emergency, name, None)) else None) for name in EMERGENCY
    ]


def write_page(text: str, path: Path, pdf: bool = False) -> list[Path]:
    """Write a page, and the same page as PDF beside it where asked.

    Raises
    ------
    MissingExtra, SiteassessError : the PDF cannot be made; nothing is written.
    """
    written = [path]
    if pdf:
        written.append(write_page_pdf(text, path.with_suffix(".pdf")))
    write_whole(text, path)
    return written
