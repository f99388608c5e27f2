"""An unknown value is a word by itself, or has a wording of its own: it never fills a place within a sentence.

"tiro hacia no se sabe geográfico" and "portée inconnu" are what a number or word that nobody knows leaves there.
"""

import html
import random
import re
import sys
from dataclasses import replace

import fifth_language
import pytest
from both_files import requested
from drawn import AROUND_FROM, drawn
from explained import EDITS
from fifth_language import Seen, lines, picked, words_on
from parks import record
from withheld import WITHHELD

from siteassess.advice.assess import assess
from siteassess.advice.check import check_record
from siteassess.papers import language as of_papers
from siteassess.papers import terminal
from siteassess.papers.card import card_page
from siteassess.papers.check_text import check_text
from siteassess.papers.handover import manner
from siteassess.papers.officer import officer_page
from siteassess.papers.plan import draw_plan
from siteassess.papers.report import report_page
from siteassess.papers.sitemap import map_page
from siteassess.papers.terminal_short import short
from siteassess.records.record import Record
from siteassess.reference import findings, measures, texts
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES

MARK = "\N{REVERSED QUESTION MARK}"  # stands for every word of what is not known
UNKNOWN = ("unknown", "not known")
ALONE = re.compile(rf"(^|[:(=]\s|\(){MARK}($|[,;.)]|\s[;:)(/])")
PAPERS_OF = (3, 11, 12)  # seeds with much withheld
EVERY = tuple(WITHHELD)


@pytest.fixture
def marked(monkeypatch):
    """Every word for what is not known reads as the mark, in numbers, words, answers and papers."""
    told = texts.text

    def text(key, language="en"):
        return MARK if key == "not-known" else told(key, language)

    def words(rows):
        other = {one: dict.fromkeys(LANGUAGES, MARK) for one in UNKNOWN if one in rows}
        return lambda: {**rows, **other}

    monkeypatch.setattr(measures, "text", text)
    for table in ("_words", "_answers"):
        monkeypatch.setattr(findings, table, words(getattr(findings, table)()))
    made = {}
    for language in LANGUAGES:
        t = of_papers.words_in.__wrapped__(language)
        made[language] = replace(t, texts={**t.texts, "not-known": MARK})
    for module in [one for name, one in sys.modules.items() if name.startswith("siteassess.papers.")]:
        if hasattr(module, "words_in"):
            monkeypatch.setattr(module, "words_in", lambda language="en": made[language])


def withheld(seed: int) -> Record:
    """A drawn record of which much was left out."""
    draw = random.Random(seed)
    made = drawn(draw.choice((seed, AROUND_FROM + seed)))
    for one in draw.sample(EVERY, draw.choice((8, 20, 40))):
        WITHHELD[one](made, draw)
    return Record.model_validate(made)


def within(told: str) -> list[str]:
    """Where the mark stands within a sentence, with what is around it."""
    return [told[max(0, at.start() - 40) : at.end() + 25] for at in re.finditer(MARK, told)
            if not any(one.start() <= at.start() < one.end() for one in ALONE.finditer(told))]


def of_terminal(judged, language: str) -> list[str]:
    told = [terminal.summary(judged, language=language), short(judged, language=language)]
    told += [terminal.explain(line, language=language) for line in judged.lines]
    told.append(check_text("x.y", check_record(judged.record), language))
    return [re.sub(r"\s+", " ", one) for text in told for one in re.split(r"\n(?! {6})", text)]


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_no_step_or_sentence_has_an_unknown_within(language, marked):
    records = {**{seed: withheld(seed) for seed in range(40)}, **{name: record(made) for name, made in EDITS.items()}}
    faults = {name: [one for told in of_terminal(assess(made, remedies=False), language) for one in within(told)]
              for name, made in records.items()}  # fmt: skip
    assert not {name: told for name, told in faults.items() if told}


@pytest.mark.parametrize("language", ["de", "fr", "es"])
@pytest.mark.parametrize("seed", PAPERS_OF)
def test_no_paper_has_an_unknown_within(seed, language, marked, monkeypatch):
    monkeypatch.setattr(fifth_language, "CODE", language)
    judged, how = assess(withheld(seed), remedies=False), manner(language)
    pages = {
        "card": card_page(judged, "L1", how), "request": requested(judged, how), "officer": officer_page(judged, how),
        "report": report_page(judged, language=language), "map": map_page(judged, language=language) + picked(judged),
        "plan": "".join(map(words_on, draw_plan(judged, language=language, errors=True).sheets)),
    }  # fmt: skip
    told = {name: [*Seen(page).said, *map(html.unescape, re.findall(r"(?:<desc[^>]*>|alt=\")([^<\"]*)", page))]
            for name, page in pages.items()}  # fmt: skip
    assert any(MARK in one for page in told.values() for one in page)
    assert not {(name, fault) for name, page in told.items() for one in page for fault in within(one)}


@pytest.mark.parametrize("told, fault", [
    (MARK, False), (f"portée : {MARK}, B", False), (f"Boden: {MARK}; Hang", False), (f"(EA {MARK})", True),
    (f"({MARK})", False), (f"vers {MARK} géographique", True), (f"{MARK} tendue, {MARK} au plus", True),
    (f"L1, {MARK} / {MARK} wahr", True),
])  # fmt: skip
def test_the_mark_is_seen_within(told, fault):
    assert bool(within(told)) == fault


def test_lines_keeps_what_stands_on_a_sheet():
    assert Seen(lines(f"a\n{MARK}")).said == ["a", MARK]
