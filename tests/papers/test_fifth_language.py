"""A fifth language is one file, and with it a paper says nothing in English but names, units and what people wrote."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import fifth_language
import pytest
import yaml
from fifth_language import CODE, Seen, in_other_letters

from siteassess.papers.write import PAPER_KINDS
from siteassess.reference import languages
from siteassess.reference.tables import rows
from siteassess.reference.texts import text

NAMES = re.compile(r"(?:Acer|Fagus|Platanus|Quercus|Thuja|Salix|Picea|Paulownia)\b(?: [a-z]+)?"
                   r"|Testing Green \(invented\)|N\. Body \(invented\)|\b[0-9a-f]{12}(?:[0-9a-f]{52})?\b"
                   r"|\b(?:[kM]Pa|psi|lbf|mph|deg)\b|World Magnetic Model 2025|MGRS|31UDA\d+|N\. Body$|^\(invented\)"
                   r"|\{\w+\}|\b(?:anchors|lines|survey)\b[\w.\[\]]*(?=: )")  # fmt: skip
STILL_ENGLISH: dict[str, list[str]] = {}  # what waits, by paper, taken out as it is worded


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Every paper in a made-up language that came as one file; in a process of its own, as all tables are kept."""
    out = tmp_path_factory.mktemp("five")
    told = in_other_letters(yaml.safe_load(languages.to_fill(CODE)))
    (out / f"{CODE}.yaml").write_text(yaml.safe_dump(told, allow_unicode=True), encoding="utf-8")
    subprocess.run([sys.executable, fifth_language.__file__, out / f"{CODE}.yaml", out], check=True)
    return {page.stem: page.read_text(encoding="utf-8") for page in out.glob("*.html")}


def english(page: str) -> list[str]:
    """What a reader sees of three Latin letters or more that is no name and no unit."""
    return [said for said in Seen(page).said if re.search("[A-Za-z]{3}", NAMES.sub("", said))]


def test_a_paper_in_a_fifth_language_says_nothing_in_english(pages):
    assert set(pages) == {*PAPER_KINDS} | {
        "report", "carelog", "blank", "form", "map", "plan", "terminal", "check", "quick", "steps", "lists", "copy",
        "rules", "survey", "sketch"}  # fmt: skip
    for name, page in pages.items():
        waits = STILL_ENGLISH.get(name, [])
        left = [said for said in english(page) if not any(start in said for start in waits)]
        assert left == [], name
        assert [start for start in waits if not any(start in said for said in english(page))] == [], "worded: take out"


def test_the_cautions_stand_there_in_the_fifth_language(pages):
    for row in (row for row in rows("texts") if row["key"] in ("user-survey", "who-comes-first")):
        for name in ("request", "card"):
            assert in_other_letters(row["en"]) in " ".join(" ".join(Seen(pages[name]).said).split()), (name, row["key"])


def test_the_file_to_fill_holds_every_text_and_what_it_lacks_is_shown_in_english(tmp_path, monkeypatch):
    whole = yaml.safe_load(languages.to_fill(CODE))
    assert set(whole) == {*languages.TABLES, languages.TREES}
    held = yaml.safe_load(Path(languages.data_folder() / "findings.yaml").read_text(encoding="utf-8"))
    told = sum(isinstance(part, dict) and "en" in part for row in held["rows"] for part in row.values())
    assert sum(map(len, whole["findings"].values())) == told + len(held["words"])
    (tmp_path / "xx.yaml").write_text("texts: {mark: {and: plus}}\n", encoding="utf-8")
    monkeypatch.setattr(languages, "_files", lambda: {CODE: tmp_path / "xx.yaml"})
    languages._read.cache_clear()
    row = {"key": "and", "group": "mark", "en": "and"}
    other = {"key": "or", "group": "mark", "en": "or", "de": "oder"}
    languages.with_languages("texts", {"rows": [row, other]})
    languages._read.cache_clear()
    assert row[CODE] == "plus" and other == {**other, CODE: "or", "de": "oder", "fr": "or"}
    assert languages.languages() == ("en", "de", "fr", "es", CODE)


@pytest.fixture
def given(tmp_path, monkeypatch):
    """A language's file with what is handed over, and what is wrong with it."""
    monkeypatch.setattr(languages, "_files", lambda: {CODE: tmp_path / "xx.yaml"})

    def told(whole: str) -> list[str]:
        (tmp_path / "xx.yaml").write_text(whole, encoding="utf-8")
        languages._read.cache_clear()
        return languages.faults(CODE)

    yield told
    languages._read.cache_clear()


@pytest.mark.parametrize("broken", ["a: [", "- one", "\ttab: 1", '"text"'])
def test_a_language_file_that_cannot_be_read_takes_no_other_language_away(given, broken):
    (said,) = given(broken)
    assert said.startswith("xx.yaml cannot be read") and languages.own_file(CODE) == {}
    row = {"key": "and", "group": "mark", "en": "and"}
    languages.with_languages("texts", {"rows": [row]})
    assert row[CODE] == "and"


def test_a_text_that_fills_in_something_else_is_named_and_stands_in_english(given):
    own = {"findings": {"wind-take-down": {"short": "vento {gust}"}, "no-such-code": {"full": "x"}}}
    wrong, missing = sorted(given(yaml.safe_dump(own)), key=lambda said: "no such" in said)
    assert "wind-take-down" in wrong and "{gust:" in wrong and "no-such-code" in missing
    row = {"code": "wind-take-down", "short": {"en": "down before {gust:gust}"}}
    languages.with_languages("findings", {"rows": [row]})
    assert row["short"][CODE] == "down before {gust:gust}"
    assert given("findings: {wind-take-down: {short: 'giù prima di {gust:gust}'}}") == []


def test_a_language_file_of_ours_names_only_what_is_there():
    assert [said for code in languages.languages()[4:] for said in languages.faults(code)] == []


def test_the_four_languages_are_whole_without_a_fifth():
    assert languages.languages()[:4] == languages.SIDE_BY_SIDE
    assert [text("and", language) for language in languages.SIDE_BY_SIDE] == ["and", "und", "et", "y"]


@pytest.mark.parametrize("word", ["no", "yes", "on", "1.0"])
def test_a_word_that_yaml_takes_for_a_truth_or_a_number_stays_a_word(given, word):
    """The Italian for "no" is "no": unquoted it was shown as "False" on every paper."""
    assert given(f"form_texts: {{choice: {{no: {word}}}}}") == []
    row = {"group": "choice", "en": "no"}
    languages.with_languages("form_texts", {"rows": [row]})
    assert row[CODE] == word


@pytest.mark.parametrize("text, english", [
    ("aperto { chiuso", "open"), ("chiuso }", "shut"), ("{count:0} {count:a|b|c}", "{count:0} {count:row|rows}"),
])  # fmt: skip
def test_a_text_that_cannot_be_filled_in_is_named_and_stands_in_english(given, text, english):
    """A brace left open, or a third form of a count, ended every paper in an error."""
    assert given(yaml.safe_dump({"findings": {"x": {"full": text}}}))
    row = {"code": "x", "full": {"en": english}}
    languages.with_languages("findings", {"rows": [row]})
    assert row["full"][CODE] == english


def test_why_it_cannot_be_filled_in_is_told(given):
    (said,) = given(yaml.safe_dump({"findings": {"wind-take-down": {"short": "vento { {gust:gust}"}}}))
    assert "braces in pairs" in said
