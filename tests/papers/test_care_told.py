"""How to tie and pad, what a load rests on, what to bring: told in the reader's language on every paper that is."""

from __future__ import annotations

import datetime

import pytest
from both_files import requested
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.end_kinds import pull_parts
from siteassess.advice.packing import packing_list, packing_notes
from siteassess.advice.stock import held_against
from siteassess.papers.as_json import to_dict
from siteassess.papers.card import card_page
from siteassess.papers.handover import manner
from siteassess.papers.packing_page import packing_page, packing_text
from siteassess.papers.wording import padding_words
from siteassess.records.owned import Owned
from siteassess.reference import findings
from siteassess.reference.findings import Said, word
from siteassess.reference.languages import SIDE_BY_SIDE

DAY = datetime.date(2026, 4, 1)
NARROW = {"kind": "flat sling", "wrap": "basket", "width": "25 mm", "link_distance": "1.5 m"}
PARKS = {
    "as planned": {},
    "nothing said of ties": {"L1.a.sling": None, "L1.b.sling": None, "L1.a.padding": None, "L1.ground": [],
                             "T1.ground": None, "T1.species.name": "unknown", "T1.tag": None},
    "a sling too narrow": {"L1.a.sling": NARROW, "L1.standing.tension": "5 kN", "T1.bark.form": "smooth",
                           "T1.species.name": "Fagus sylvatica", "L1.a.padding": {"material": "felt"}},
    "a choker": {"L1.a.sling": NARROW | {"wrap": "choker"},
                 "L1.b.sling": NARROW | {"wrap": "friction turns", "kind": "rope"}},
    "two strands on uneven legs": {"L1.a.sling": NARROW | {"wrap": "doubled basket", "off_middle": "8 deg",
                                                           "length": "1 m"}},
    "a high line": {"L1.use": "high line", "L1.walkers.leash": "1.2 m", "L1.backup": "other tree"},
    "a hammock": {"L1.use": "hammock", "L1.standing": None, "L1.webbing": None, "L1.ground": None, "L1.compass": None,
                  "L1.span.taped": "4 m"},
    "several people over a dip": {"L1.walkers.at_once": 3, "L1.mid_height": "0.2 m", "L1.ground": [
        {"at": "2 m", "height": "0.2 m"}, {"at": "10 m", "height": "0.6 m"}, {"at": "18 m", "height": "0.1 m"}]},
    "wet and worn ground": {"T1.ground.wetness": "wet", "T1.ground.bare": "bare under 2 m2",
                            "T1.ground.texture": "clay",
                            "T1.softer_signs.thin_crown": "yes", "L1.gear": [{"kind": "ratchet", "rating": "20 kN"}]},
}  # fmt: skip
MARK = "ENGLISH"
OTHERS = ("de", "fr", "es")


@pytest.fixture(scope="module", params=PARKS)
def judged(request):
    return assess(record(PARKS[request.param]), remedies=False)


@pytest.fixture
def marked(monkeypatch):
    """Every English wording and every English word of the table ends in a mark."""
    usual, word_of = findings.unfilled, findings.word

    def told(code: str, part: str = "full", language: str = "en") -> str:
        text = usual(code, part, language)
        plain = isinstance(findings.row_of(code).get(part), str)  # made of values alone
        return f"{text} {MARK}" if language == "en" and text and part != "about" and not plain else text

    monkeypatch.setattr(findings, "unfilled", told)
    monkeypatch.setattr(findings, "word", lambda english, language="en": word_of(english, language) + (
        f" {MARK}" if language == "en" and english in findings._words() else ""))  # fmt: skip


def papers_of(judged, language: str) -> list[str]:
    """Every paper that is told in a language and holds something of ties, loads or gear."""
    how, lines = manner(language, made_on=DAY), judged.lines
    items, notes = packing_list(lines, judged.record.lines), packing_notes(lines)
    owned = Owned(siteassess_owned=1, owned=({"kind": "sling", "count": 1}, {"kind": "link", "count": 1}))
    stock = held_against(items, owned)
    return [card_page(judged, lines[0].id, how), requested(judged, how),
            *(form("a place", items, ("L9",), some, notes, language=language) for some in (stock, ())
              for form in (packing_text, packing_page))]  # fmt: skip


@pytest.mark.parametrize("language", OTHERS)
def test_no_paper_in_another_language_holds_english_of_the_table(judged, marked, language):
    assert all(MARK in page for page in papers_of(judged, "en"))
    for page in papers_of(judged, language):
        at = page.find(MARK)
        assert at < 0, page[max(0, at - 300) : at]


def saids_of(judged) -> list[Said]:
    """Every code that stands where a sentence stood, of ties, pads, ground, season, loads and the trial load."""
    (line,) = judged.lines
    told = list(line.clearance.told) if line.clearance else []
    for end in line.anchors:
        told += [*end.trial, *(load.rests for load in end.loads), pull_parts(end)]
        for plan in filter(None, (end.protection, end.protection.instead)):
            told += [*plan.told, *plan.why_wrapped, *plan.root_zone.told, *plan.season.told, plan.instead_told(),
                     *(choice.told for choice in plan.slat_choices)]  # fmt: skip
    return [one for one in told if one]


def test_every_code_reads_otherwise_in_every_language(judged):
    assert len(saids_of(judged)) > 15
    for one in saids_of(judged):
        texts = {one.in_words(language) for language in SIDE_BY_SIDE}
        assert "" not in texts and len(texts) == 4, one


def test_json_keeps_each_sentence_under_its_name_and_has_the_codes_beside_it(judged):
    def walk(told):
        if isinstance(told, dict):
            yield from (told[name.removesuffix("_codes")] for name in told if name.endswith("_codes"))
            for one in told.values():
                yield from walk(one)
        elif isinstance(told, list):
            for one in told:
                yield from walk(one)

    sentences = list(walk(to_dict(judged)))
    assert len(sentences) > 20
    assert all(isinstance(one, str) or all(isinstance(each, str) and each for each in one) for one in sentences)
    (line,), (told,) = judged.lines, to_dict(judged)["lines"]
    for end, one in zip(line.anchors, told["anchors"]):
        assert one["protection"]["advice"] == list(end.protection.advice) != []
        codes = [each["code"] for each in one["protection"]["advice_codes"]]
        assert codes == [each.code for each in end.protection.told]
        assert [load["basis"] for load in one["loads"]] == [load.basis for load in end.loads]
        assert one["conditions"] == list(end.conditions)


def test_what_replaces_the_planned_tie_is_told_in_each_language():
    (line,) = assess(record(PARKS["a sling too narrow"]), remedies=False).lines
    end = line.anchors[0]
    english = padding_words(end, line.verdict)
    assert english.startswith("basket, sling") and "instead of the planned 25 mm, as our" in english
    for language, words in {"de": ("statt wie geplant (25 mm)", "Filz"), "fr": ("au lieu de", "feutre"),
                            "es": ("en lugar de lo planeado", "fieltro")}.items():  # fmt: skip
        told = padding_words(end, line.verdict, language)
        assert all(one in told for one in words) and word("basket", language) in told, told
