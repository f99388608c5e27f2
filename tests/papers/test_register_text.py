"""The register's lists and the page of a copy: English word for word as kept, and the same in other languages."""

from __future__ import annotations

import re
from pathlib import Path

import listings
import pytest
from fifth_language import Seen

from siteassess.papers.language import words_in
from siteassess.reference.tables import rows
from siteassess.register.crowd import GIRTH_EDGES_M, edges_of, girth_class
from siteassess.register.reasons import reason

KEPT = Path(__file__).with_name("register_lists.txt")  # what they said before any other language could be asked for


def test_in_english_lists_and_copies_say_what_they_said():
    told = "\n".join([*listings.told(), *Seen(listings.page()).said]) + "\n"
    assert told.replace("\u00a0", " ") == KEPT.read_text(encoding="utf-8")


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_no_english_sentence_is_left_and_nothing_that_decides_is_lost(language):
    english, other = listings.told(), listings.told(language)
    assert len(other) == len(english)
    # days, names and numbers stand in both
    figures = re.compile(r"\d{4}-\d\d-\d\d|\b[TL]\d\b|a1b2c3d4e5")
    for one, two in zip(english, other, strict=True):
        assert sorted(figures.findall(one)) == sorted(figures.findall(two))
    same = {one for one, two in zip(english, other, strict=True) if one == two}
    assert same == {"{}", "lay mats"}, "what somebody wrote alone"


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_a_copy_boxes_the_same_words_in_every_language(language):
    t, page = words_in(language), listings.page(language)
    assert f'<html lang="{language}">' in page
    boxed = re.findall('<span class="stop">(.*?)</span>', page)
    assert len(boxed) == 13 and boxed.count(t.of("no")) == 6
    assert f"<span>{t.of('yes with conditions')}</span>" in page


def test_a_mark_that_stands_alone_has_a_wording_for_each_way_a_mark_may_stand():
    german = words_in("de")
    by_group = {group: {row["key"] for row in rows("register_texts") if row["group"] == group}
                for group in ("mark", "reason")}  # fmt: skip
    assert {mark.code for mark in listings.MARKS} == by_group["mark"]
    assert {code for code in by_group["reason"] if code.startswith("mark-")} == {*by_group["mark"], "mark-twice"}
    assert len({german.mark(mark) for mark in listings.MARKS}) == len(listings.MARKS)
    assert german.mark(reason("mark-ahead", by="owner", day="2026-06-01")) == "gilt noch nicht: beginnt am 2026-06-01"


def test_a_class_of_girths_is_known_by_its_name():
    for low, high in zip((0.1, *GIRTH_EDGES_M), (*GIRTH_EDGES_M, None), strict=True):
        name = girth_class(low)
        assert edges_of(name) == (None if low == 0.1 else low, high)
    assert edges_of("3 m to under 4 m") is None
