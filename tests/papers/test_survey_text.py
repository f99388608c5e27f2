"""What `siteassess survey` prints, and its sketch: English as kept but for figures, and the same in other languages."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import made_survey
import pytest
from fifth_language import Seen

from siteassess.records.reading import read_record
from siteassess.survey.files import write_all

KEPT = Path(__file__).with_name("survey_lists.txt")  # what was said before any other language could be asked for
FIGURES = re.compile(r"\d+(?:[.,]\d+)?")


@pytest.fixture(scope="module")
def proposal(tmp_path_factory):
    return made_survey.made(tmp_path_factory.mktemp("survey"))


def without_figures(told: list[str]) -> list[str]:
    """The lines once each, their figures left out: these are the models' own."""
    return list(dict.fromkeys(" ".join(FIGURES.sub("#", line).split()) for line in told))


def test_in_english_a_desk_survey_says_what_it_said(proposal):
    told = [*made_survey.told(proposal), *made_survey.every_code(), *Seen(made_survey.page(proposal)).said]
    assert "\n".join(without_figures(told)) + "\n" == KEPT.read_text(encoding="utf-8")


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_each_line_is_told_in_the_language_with_its_figures(proposal, language):
    english = [*made_survey.told(proposal), *made_survey.every_code()]
    other = [*made_survey.told(proposal, language), *made_survey.every_code(language)]
    for one, two in zip(english, other, strict=True):
        assert one != two and FIGURES.findall(one) == [figure.replace(",", ".") for figure in FIGURES.findall(two)]
    page = made_survey.page(proposal, language)
    assert f'<html lang="{language}">' in page and not re.search("north up|rank score|surveyed on site", page)


ENGLISH = ("surveyed on site", "taken as not known", "by its status", "estimated hold", "cells under", "ask whoever",
           "Desk survey", "trunk ", " with T", "Trees fail", "Pre-filled", "nobody yet", "copied rows", " row ",
           "By the inventory")  # fmt: skip


def test_what_is_written_speaks_the_language_with_the_columns_and_verdicts_of_other_programs(proposal, tmp_path):
    files = {language: write_all(proposal, tmp_path / language, date(2026, 5, 1), lambda made: "", language)
             for language in ("en", "es")}  # fmt: skip
    texts = {language: {path.name: path.read_text("utf-8") for path in paths} for language, paths in files.items()}
    assert texts["en"].keys() == texts["es"].keys()
    assert all(any(one in text for text in texts["en"].values()) for one in ENGLISH)
    assert {(name, one) for name, text in texts["es"].items() for one in ENGLISH if one in text} == set()
    for name in texts["en"]:
        if name.endswith(".csv"):
            assert texts["en"][name].splitlines()[0] == texts["es"][name].splitlines()[0]
    for text in (texts["es"]["candidates.csv"], texts["es"]["proposal.geojson"]):
        assert "cannot say" in text and "por reconocer en el lugar" in text
    for path in files["es"]:
        if path.suffix == ".yaml":
            assert read_record(path).survey.by == "nadie aún: criba de gabinete"
