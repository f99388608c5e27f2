"""A fifth language, made up: every English text in other letters, so that what is still English stands out on a page.

    python tests/fifth_language.py FILE.yaml OUT     writes each paper in that language into the folder OUT

The language comes in as one file, as a real one would; the file stands for `data/languages/xx.yaml`.
"""

from __future__ import annotations

import html
import re
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

CODE = "xx"
_KEPT = re.compile(r"(\{[^{}|]*\}|\{\w+:(?=[^{}]*\|)|<[^<>]*>|&\w+;)")
_OTHER = {ord(chr(first + at)): chr(other + at) for first, other in ((97, 0x430), (65, 0x410)) for at in range(26)}


class Seen(HTMLParser):
    """The texts a reader sees."""

    def __init__(self, page: str):
        super().__init__()
        self.said, self._unseen = [], 0
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        self._unseen += tag in ("style", "script")

    def handle_endtag(self, tag):
        self._unseen -= tag in ("style", "script")

    def handle_data(self, text):
        if not self._unseen and text.strip():
            self.said.append(text.strip())


def other_letters(text: str) -> str:
    """The same in Cyrillic letters, one for each of the alphabet; names of values and marks of a page stay."""
    return "".join(part if at % 2 else part.translate(_OTHER) for at, part in enumerate(_KEPT.split(text)))


def in_other_letters(told):
    """A filled file with all its texts in other letters."""
    if isinstance(told, dict):
        return {key: in_other_letters(inner) for key, inner in told.items()}
    return other_letters(told)


def lines(text: str) -> str:
    """A page of lines of text."""
    return "".join(f"<p>{html.escape(line)}</p>" for line in text.splitlines())


def picked(judged) -> str:
    """What a reader of the map sees on picking each anchor and line, and on measuring."""
    from siteassess.papers.map_data import site_data
    from siteassess.papers.scene import build

    data = site_data(judged, build(judged, language=CODE))
    told = [*data["texts"].values(), *(thing["kind_words"] for thing in data["surroundings"])]
    for one in (*data["anchors"], *data["lines"]):
        told += [one["verdict_words"], one["summary"], *one["sentences"]]
        told += [cell for row in one["rows"] for cell in row]
    return lines("\n".join(told))


def without_sources(judged):
    """The answer without what is told in English to everybody: what its numbers come from."""
    return replace(judged, assumptions=tuple(replace(one, source="") for one in judged.assumptions))


def steps() -> str:
    """Every step of `assess --explain`, each on one line, without what its numbers come from."""
    from unittest.mock import patch

    from explained import explained

    from siteassess.papers import terminal

    told = []
    with patch.object(terminal, "WIDTH", 10_000):
        for line in explained().values():
            ends = [replace(end, every_step=tuple(map(_without_source, end.every_step))) for end in line.anchors]
            told.append(terminal.explain(replace(line, anchors=tuple(ends)), language=CODE))
    return lines("\n".join(told))


def _without_source(told):
    """A code without the name of a source, here and within."""
    from siteassess.reference.findings import Said

    values = ((name, "" if name == "source" else _without_source(value) if isinstance(value, Said) else value)
              for name, value in told.values)
    return replace(told, values=tuple(values))


def words_on(sheet) -> str:
    """What stands on a sheet of the plan."""
    return lines("\n".join(text.get_text() for text in sheet.axes.texts))


def of_a_register(how) -> dict[str, str]:
    """The pages of a group's year, with everything that may be due, and of its trees' care."""
    from tempfile import TemporaryDirectory

    from kept_register import TODAY, kept

    from siteassess.papers.care_paper import care_log_page, year_page
    from siteassess.papers.care_sheet import care_page
    from siteassess.papers.from_register import only_site, site_year
    from siteassess.register.reasons import Reason, reason
    from siteassess.register.store import Store

    with TemporaryDirectory() as folder:
        kept(Path(folder, "group.gpkg"), other_letters)
        with Store.open(Path(folder, "group.gpkg")) as store:
            site = site_year(store, only_site(store, None), TODAY.year, TODAY)
    some = {"word": "resting", "by": "owner", "kind": "log", "day": "2026-05-01", "days": 365}
    some["what"] = reason("mark-twice", by="group")
    told = {code: Reason(code, tuple(some.items())) for code in reasons_of("due.py", "fold.py")}
    due = [replace(site.due[0], what=what, why=(told["survey-counts"],), wrote="") for what in told.values()]
    site = replace(site, due=(*site.due, *due), conflicts=tuple(("L1", what) for what in told.values()))
    return {"care": care_page(site, how), "carelog": care_log_page(site, how), "year": year_page(site, how),
            **of_lists(how.words)}  # fmt: skip


def of_lists(t) -> dict[str, str]:
    """What a register lists, every reason it may give for it, the page of a copy, and a place's rules."""
    import listings
    import made_rules

    reasons = [t.said(one) for one in listings.every_reason()]
    return {"lists": lines("\n".join([*listings.told(CODE, other_letters), *reasons])),
            "copy": listings.page(CODE, other_letters),
            "rules": lines("\n".join(made_rules.told(CODE, other_letters))), **of_a_desk_survey()}  # fmt: skip


def of_a_desk_survey() -> dict[str, str]:
    """What a desk survey prints and all it may say of a row, and its sketch."""
    from tempfile import TemporaryDirectory

    import made_survey

    with TemporaryDirectory() as folder:
        proposal = made_survey.made(Path(folder), other_letters)
    told = [*made_survey.told(proposal, CODE), *made_survey.every_code(CODE, other_letters)]
    return {"survey": lines("\n".join(told)), "sketch": made_survey.page(proposal, CODE)}


def quick() -> str:
    """Every quick sum, without what its numbers come from."""
    from click.testing import CliRunner
    from quick_sums import SUMS

    from siteassess.advice import quick as sums
    from siteassess.cli import group

    stated = sums.stated
    sums.stated = lambda *given: replace(stated(*given), source="")
    told = [CliRunner().invoke(group, ["quick", *one, "--lang", CODE], catch_exceptions=False) for one in SUMS]
    assert all(one.exit_code == 0 for one in told)
    return lines("\n".join(one.output for one in told))


def reasons_of(*files: str) -> list[str]:
    """The codes that files of the register give."""
    from siteassess import register

    texts = (Path(*register.__path__, file).read_text("utf-8") for file in files)
    return sorted({code for text in texts for code in re.findall(r'\breason\("([\w-]+)"', text)})


def papers() -> dict[str, str]:
    """Pages by name."""
    from both_files import requested
    from parks import record

    from siteassess.advice.assess import assess
    from siteassess.advice.check import check_record
    from siteassess.papers.card import card_page
    from siteassess.papers.check_text import check_text
    from siteassess.papers.form import form_page
    from siteassess.papers.handover import manner
    from siteassess.papers.incident import incident_page
    from siteassess.papers.officer import officer_page
    from siteassess.papers.plan import draw_plan
    from siteassess.papers.report import report_page
    from siteassess.papers.sitemap import map_page
    from siteassess.papers.terminal import summary

    how = manner(CODE)
    judged = assess(record({"L1.standing.tension": "4 kN", "T1.trunk.0.girth": "113 cm", "T1.height": "12 m",
                            "T2.tag": None}))
    bare = without_sources(judged)
    return {
        "request": requested(judged, how), "card": card_page(judged, "L1", how),
        "incident": incident_page(judged.record, how), "blank": incident_page(None, how),
        "form": form_page(CODE, "metric"), "map": map_page(bare, language=CODE) + picked(bare),
        "plan": "".join(map(words_on, draw_plan(judged, language=CODE, errors=True).sheets)),
        "report": report_page(bare, language=CODE), "officer": officer_page(bare, how),
        "terminal": lines(summary(bare, language=CODE)), "steps": steps(),
        "check": lines(check_text("x.y", check_record(judged.record), CODE)),
        "quick": quick(), **of_a_register(how),
    }  # fmt: skip


if __name__ == "__main__":
    from siteassess.reference import languages

    file, out = map(Path, sys.argv[1:])
    languages._files = lambda: {CODE: file}  # as if the file lay beside the tables
    for name, page in papers().items():
        (out / f"{name}.html").write_text(page, encoding="utf-8")
