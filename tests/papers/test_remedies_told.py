"""What would make a line suit is told in the reader's language, on every paper that is."""

from __future__ import annotations

import datetime
import math

import pytest
from both_files import requested
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.finding import conditions_of
from siteassess.papers import card_ends
from siteassess.papers.as_json import to_dict
from siteassess.papers.card import card_page
from siteassess.papers.handover import manner
from siteassess.reference import findings
from siteassess.reference.pages import beside_its_unit

DAY = datetime.date(2026, 4, 1)
SLIM = {"T1.trunk.0.girth": "113 cm", "T1.height": "12 m", "T1.crown_spread": "4 m"}
TIES = {"L1.a.tie_height": "2.4 m", "L1.b.tie_height": "2.4 m"}
LONG = TIES | {f"{tree}.{path}": value for tree in ("T1", "T2") for path, value in
               (("trunk.0.girth", "110 cm"), ("height", "14 m"), ("crown_spread", "4 m"))}  # fmt: skip
TROUBLED = {
    "a slim trunk": TIES | SLIM | {"L1.ground": [], "L1.standing.tension": "1.8 kN"},
    "a thin sling": {"L1.a.sling": {"kind": "rope", "wrap": "basket", "width": "12 mm", "link_distance": "1.5 m"},
                     "L1.a.padding": None, "L1.standing.tension": "4 kN"},
    "both ends lowered": LONG | {
        "T2.position.lon": 2.5 + 45.7 / 64_790.0, "L1.span.taped": "45.7 m", "L1.use": "long line", "L1.compass": None,
        "L1.standing.tension": "6 kN", "L1.ground": [{"at": f"{at} m", "height": "0 m"} for at in (0, 22.9, 45.7)]},
    "a crew too weak": {"L1.crew": {"people": 1, "stages": [{"ratio": 3}]}, "L1.a.tie_height": "0.5 m",
                        "L1.b.tie_height": "0.5 m"},
}  # fmt: skip
MARK = "ENGLISH"


@pytest.fixture(scope="module", params=TROUBLED)
def judged(request):
    return assess(record(TROUBLED[request.param]))


@pytest.fixture
def marked(monkeypatch):
    """Every English wording of the table ends in a mark, and a card has room for all."""
    usual = findings.unfilled

    def told(code: str, part: str = "full", language: str = "en") -> str:
        text = usual(code, part, language)
        plain = isinstance(findings.row_of(code).get(part), str)  # made of values alone
        return f"{text} {MARK}" if language == "en" and text and part != "about" and not plain else text

    monkeypatch.setattr(findings, "unfilled", told)
    for room in ("END_ROWS", "TRIAL_ROWS"):
        monkeypatch.setattr(card_ends, room, 10_000)


def remedies_of(line) -> list:
    return [remedy for end in line.anchors for remedy in end.remedies]


def test_there_is_something_to_tell(judged):
    (line,) = judged.lines
    assert remedies_of(line) or [finding for finding in line.findings if finding.code == "crew-cannot-clear"]


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_a_card_and_a_request_hold_no_english_of_the_table(judged, marked, language):
    (line,) = judged.lines
    how = manner(language, made_on=DAY)
    pages = [card_page(judged, line.id, how), requested(judged, how)]
    assert MARK in card_page(judged, line.id, manner("en", made_on=DAY))
    for page in pages:
        at = page.find(MARK)
        assert at < 0, page[max(0, at - 300) : at]
    for end in line.anchors if line.verdict == "suits if" else ():
        for told in conditions_of(end.findings, language):
            assert beside_its_unit(told).split("'")[0].split('"')[0] in pages[0]


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_no_remedy_and_none_of_its_conditions_reads_as_in_english(judged, language):
    for remedy in remedies_of(judged.lines[0]):
        for one in (remedy.what, *remedy.still):
            assert one.in_words(language) not in ("", one.in_words())


def test_json_keeps_the_english_of_a_remedy_and_gains_its_code_and_values(judged):
    (line,) = judged.lines
    told = [remedy for end in to_dict(judged)["lines"][0]["anchors"] for remedy in end["remedies"]]
    for one, remedy in zip(told, remedies_of(line), strict=True):
        assert (one["change"], one["code"], one["still"]) == (remedy.change, remedy.what.code, list(remedy.conditions))
        assert set(one["values"]) == {name for name, _ in remedy.what.values}
        assert [other["says"] for other in one["still_codes"]] == one["still"]
        assert all(not isinstance(value, float) or math.isfinite(value) for value in one["values"].values())
    findings_told = [one for end in to_dict(judged)["lines"][0]["anchors"] for one in end["findings"]]
    asked = [one for one in findings_told if one["asked"]]
    assert all(one["asked"]["says"] == one["condition"] for one in asked)
    assert bool(asked) == any(finding.asked for end in line.anchors for finding in end.findings)
