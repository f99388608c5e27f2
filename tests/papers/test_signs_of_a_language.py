"""Outside English no paper has a sign of programs: ">=", "m2", "deg", a number with a point, "trees 1 to 1"."""

from __future__ import annotations

import datetime
import functools
import re
from html import unescape

import pytest
from both_files import requested
from parks import record

from siteassess.advice.assess import assess
from siteassess.papers.card import card_page
from siteassess.papers.form import form_page
from siteassess.papers.handover import manner
from siteassess.papers.officer import officer_page
from siteassess.papers.report import report_page
from siteassess.papers.terminal import summary
from siteassess.records.loading import load_record
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.locate import shipped
from siteassess.reference.measures import Measures

OTHERS = [one for one in SIDE_BY_SIDE if one != "en"]
NO_WORD = re.compile(r"[<>]=|\b(?:k?m|g/cm|kg/m|N m/m)\^?[23]\b|\bdeg\b")
POINT = re.compile(r"(?<![\d.,/])\d+\.\d+ (?:mm|cm|m|kN|kg|ft/in|deg)\b")
DAY = datetime.date(2026, 4, 18)


def read(page: str) -> str:
    """The text of a page, without what only programs read."""
    page = re.sub(r'(?s)<(style|script|datalist|select)\b.*?</\1>|<td data-label="[^"]*" lang="en".*?</td>', " ", page)
    return " ".join(unescape(re.sub("<[^>]*>", " ", page)).split())


@pytest.fixture(scope="module")
def judged():
    return assess(load_record(shipped("examples") / "brindlewick" / "park.yaml"), looks=False)


@pytest.mark.parametrize("language", OTHERS)
def test_no_paper_has_a_sign_of_programs(judged, language):
    how = manner(language, made_on=DAY)
    told = {
        "decision": officer_page(judged, how), "report": report_page(judged, language=language),
        "request": requested(judged, how), "form": form_page(language),
        "cards": "".join(card_page(judged, line.id, how) for line in judged.lines),
        "summary": summary(judged, language=language),
    }  # fmt: skip
    notes = {" ".join(one.source.split()) for one in judged.assumptions}
    for paper, page in told.items():
        text = functools.reduce(lambda left, note: left.replace(note, " "), notes, read(page))
        assert (paper, NO_WORD.findall(text), POINT.findall(text)) == (paper, [], [])


@pytest.mark.parametrize("language, typed, area", [
    ("en", "1.4 m 137.5 deg", "12.3 m2"), ("de", "1,4 m 137,5°", "12,3 m²"), ("fr", "1,4 m 137,5°", "12,3 m²"),
])  # fmt: skip
def test_what_was_typed_has_the_mark_and_the_signs_of_the_language(language, typed, area):
    m = Measures(language)
    assert f"{m.typed('1.4 m')} {m.typed('137.5 deg')}" == typed and m.told(12.3, "m2 1") == area


def test_a_card_tells_the_way_from_a_landmark_in_its_language():
    gate = {"code": "GATE", "what": "gate", "position": {"lat": 54.5, "lon": 2.5, "how": "phone", "accuracy": "5 m"}}
    tie = {"landmark": "GATE", "distance": "3.4 m", "bearing": "137.5 deg", "north": "magnetic"}
    park = record({"site.landmarks": [gate], "T1.position": {"ties": [tie]}})
    card = read(card_page(assess(park, looks=False), "L1", manner("de", made_on=DAY)))
    assert "3,4 m" in card and "137,5° (magnetisch)" in card


def test_a_range_of_one_number_is_none(judged):
    told = [one.value for one in judged.assumptions]
    assert any("plausible" in one for one in told) and "1 (plausible 1 to 1)" not in told
