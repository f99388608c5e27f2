"""Maps, plans and papers of an answer, to look at in a notebook and to keep."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from siteassess.api.answers import ParkAnswer, day_asked
from siteassess.errors import OutsideModel, UnknownName
from siteassess.papers.handover import manner
from siteassess.papers.plan import DrawnPlan, draw_plan, write_sheets
from siteassess.papers.sitemap import map_page
from siteassess.papers.write import FROM_REGISTER, MAKERS, PAPER_KINDS, PaperAsked
from siteassess.records.files import write_whole

if TYPE_CHECKING:
    import datetime

MAP_HEIGHT_PX = 480


@dataclass(frozen=True, repr=False)
class Page:
    """A page of HTML that needs no network; `beside` holds pages that belong to it, by the ending of their name."""

    title: str
    html: str
    beside: dict[str, str] = field(default_factory=dict)

    def save(self, path: str | Path) -> list[Path]:
        """Write it, and what belongs to it beside it.

        Parameters
        ----------
        path : of the file

        Returns
        -------
        Paths written.

        Raises
        ------
        OSError : the folder cannot be written to.
        """
        target = Path(path)
        pages = {"": self.html, **self.beside}
        return [write_whole(html, target.with_name(f"{target.stem}{ending}{target.suffix}"))
                for ending, html in pages.items()]  # fmt: skip

    def __repr__(self) -> str:
        beside = f", with {', '.join(self.beside)} beside it" if self.beside else ""
        return f"<page {self.title!r}, {len(self.html) / 1e3:.0f} kB{beside}>"

    def _repr_html_(self) -> str:
        return (f'<iframe title="{escape(self.title)}" srcdoc="{escape(self.html)}" sandbox="allow-scripts" '
                f'style="width:100%;height:{MAP_HEIGHT_PX}px;border:1px solid #888"></iframe>')


@dataclass(frozen=True, repr=False)
class DrawnSheets:
    """A plan to a true scale, one sheet or several."""

    answer: ParkAnswer
    language: str
    drawn: DrawnPlan

    @property
    def scale(self) -> str:
        return self.drawn.scale

    def save(self, path: str | Path) -> list[Path]:
        """Write it as SVG, one file a sheet, or as PDF with all sheets.

        Parameters
        ----------
        path : of the file, ending in .svg or .pdf

        Returns
        -------
        Paths written.

        Raises
        ------
        UnknownName : another ending.
        OSError : the folder cannot be written to.
        """
        target = Path(path)
        if target.suffix.lower() not in (".svg", ".pdf"):
            raise UnknownName(f"a plan is kept as .svg or .pdf, not as {target.suffix or target.name!r}")
        return write_sheets(self.drawn, target, self.answer.assessment, self.language)

    def __repr__(self) -> str:
        return f"<plan of {self.answer.park.site.name!r}, {self.scale}, {len(self.drawn.sheets)} sheets>"

    def _repr_svg_(self) -> str:
        return self.drawn.sheets[0].svg(text_as_shapes=True)


def site_map(answer: ParkAnswer, tiles: str | None = None, credit: str | None = None, language: str = "en") -> Page:
    """The site map, one page that opens with no network.

    Parameters
    ----------
    answer : of a park
    tiles : background to fetch, an https address with {z}, {x}, {y} or a known server's name
    credit : what the tiles' owner asks for
    language : what it is told in

    Raises
    ------
    FaultyInput : tiles that are no such address, or without their credit.
    OutsideModel : positions at a pole, or spread over more than 100 km.

    Examples
    --------
    >>> from siteassess.api.answers import assess
    >>> from siteassess.api.park import read
    >>> site_map(assess(read("mypark.yaml"), "L1")).save("map.html")[0].name
    'map.html'
    """
    return Page(f"map of {answer.park.site.name}", map_page(answer.assessment, tiles, credit, language=language))


def plan(
    answer: ParkAnswer, *, paper: str = "A4", orientation: str = "landscape", scale: str | None = None,
    errors: bool = False, language: str = "en",
) -> DrawnSheets:  # fmt: skip
    """The plan to print, to a true round scale.

    Parameters
    ----------
    answer : of a park
    paper : "A4", "A3", "Letter" or "Tabloid"; the last two are drawn in feet
    orientation : "landscape" or "portrait"
    scale : such as "1:200"; the largest that shows the site if not given
    errors : whether to draw how far from its mark each anchor may truly stand
    language : what it is told in

    Raises
    ------
    FaultyInput : a paper, orientation or scale that is not on the list.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    feet = paper in ("Letter", "Tabloid")
    return DrawnSheets(answer, language, draw_plan(answer.assessment, paper=paper, orientation=orientation, scale=scale,
                                                   feet=feet, errors=errors, language=language))  # fmt: skip


def report(
    answer: ParkAnswer, kind: str = "officer", *, register: str | Path | None = None, folder: str | Path | None = None,
    tree: str | None = None, year: int | None = None, language: str = "en", units: str = "metric", paper: str = "A4",
    made_on: str | datetime.date | None = None, name: str | None = None,
) -> Page:  # fmt: skip
    """A paper that changes hands.

    Parameters
    ----------
    answer : of a park, or of one of its lines
    kind : "officer", "request", "card", "care", "year" or "incident"
    register : the group's register; "care" and "year" are made from it
    folder : where the record's photos lie
    tree : "care" alone: only this one, by its code or tag
    year : "care" and "year" alone: calendar year, this one if not given
    language, units : what it is told in; "metric" or "us"
    paper : size of the plan in it
    made_on : day printed on it; today if not given
    name : the file it is to be saved as, which its appendix names; KIND.html if not given

    Returns
    -------
    The page, and beside it its appendix; of several cards, those of the further lines.

    Raises
    ------
    UnknownName : no such kind of paper, tree or language; "care" and "year" without a register; a card of no line.
    """
    if kind not in PAPER_KINDS:
        raise UnknownName(f"no paper of kind {kind!r}; known: {', '.join(PAPER_KINDS)}")
    if kind in FROM_REGISTER and register is None:
        raise UnknownName(f"a paper of kind {kind!r} is made from a register: give the path of its file")
    asked = PaperAsked(
        kind, answer.park, Path(folder) if folder else None, Path(register) if register else None, tree=tree, year=year,
        paper=paper, name=name or f"{kind}.html", answered=answer.assessment,
    )  # fmt: skip
    (_, html), *beside = MAKERS[kind](asked, manner(language, units, day_asked(made_on))).items()
    return Page(f"{kind} of {answer.park.site.name}", html, dict(beside))


def answer_html(answer: ParkAnswer) -> str:
    """The answer for a notebook: each line's word and what decides it, the cautions, and the map.

    Parameters
    ----------
    answer : of a park
    """
    rows = "".join(
        f"<tr><th scope='row'>{escape(one.id)}</th><td>{escape(one.verdict)}</td>"
        f"<td>{escape(str(one.deciding or ''))}</td></tr>"
        for one in answer.lines
    )
    cautions = "".join(f"<li>{escape(one)}</li>" for one in answer.cautions)
    table = (f"<table><caption>{escape(answer.park.site.name)}</caption><thead><tr><th>line</th><th>verdict</th>"
             f"<th>what decides</th></tr></thead><tbody>{rows}</tbody></table><ul>{cautions}</ul>")  # fmt: skip
    try:
        drawn = site_map(answer)._repr_html_()
    except OutsideModel as error:
        drawn = f"<p>{escape(str(error))}</p>"
    return table + drawn
