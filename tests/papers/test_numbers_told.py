"""One figure is told in one way: in every paper, in the reader's language and system of units."""

from __future__ import annotations

import dataclasses
import datetime
import html
import math
import re

import pytest
from both_files import requested
from click.testing import CliRunner
from parks import data

from siteassess.advice.assess import assess
from siteassess.advice.check import check_record
from siteassess.cli import group
from siteassess.errors import UnknownName
from siteassess.papers.card import card_page
from siteassess.papers.handover import manner
from siteassess.papers.incident import incident_page
from siteassess.papers.map_data import site_data
from siteassess.papers.report import report_page
from siteassess.papers.scene import build
from siteassess.papers.terminal import summary
from siteassess.records.loading import load_record
from siteassess.records.record import Record
from siteassess.reference.findings import said, worded
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.locate import shipped
from siteassess.reference.measures import Measures, in_us
from siteassess.units import factor

DAY = datetime.date(2026, 5, 2)
METRIC = re.compile(r"\d (?:mm|cm|m|kN|kN m|kPa|MPa|kg)(?![\w/])")


def read(page: str) -> str:
    """The text of a page."""
    text = re.sub(r"(?s)<(style|script|title|desc)\b.*?</\1>|<[^>]*>", " ", page)
    return " ".join(html.unescape(text).split())


@pytest.fixture(scope="module")
def judged():
    return assess(Record.model_validate(data({"L1.standing.how": "load cell", "T1.height": "17 m"})))


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_card_in_feet_and_pounds_tells_no_metric_figure(judged, language):
    card = read(card_page(judged, "L1", manner(language, "us", DAY)))
    assert "lbf" in card and "ft" in card
    assert not METRIC.findall(card)


def test_what_a_request_in_feet_finds_is_told_in_feet(judged):
    asked = read(requested(judged, manner("en", "us", DAY)))
    for end in judged.lines[0].anchors:
        for one in end.findings:
            if one.effect == "suits if" and METRIC.search(one.condition):
                assert one.condition not in asked and one.in_words(part="condition", system="us") in asked
    read_off = [tree.trunk[0] for tree in judged.record.anchors]
    as_typed = {typed.text for one in read_off for typed in (one.girth, one.read_at)}
    assert set(re.findall(r"[\d.]+ (?:mm|cm|m|kN|kPa|kg)(?![\w/])", re.sub(r"\([^()]*\)", "", asked))) == as_typed


def pull(judged) -> float:
    return max(load.tension_n for load in judged.lines[0].anchors[0].loads)


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_pull_is_told_alike_in_every_paper(judged, language):
    told = Measures(language, both=True).force(pull(judged))
    assert re.fullmatch(r"\d+[.,]\d kN \(\d+ lbf\)", told)
    on_map = str(site_data(judged, build(judged, language=language))["anchors"])
    for paper in (summary(judged, language=language), on_map, read(requested(judged, manner(language))),
                  read(report_page(judged, language=language))):
        assert told in paper
    assert told.split(" (")[0] in read(card_page(judged, "L1", manner(language)))


def test_a_place_is_told_alike_in_every_paper(judged):
    spot = build(judged).spots[0]
    told = f"{spot.latitude_deg:.6f}, {spot.longitude_deg:.6f}"
    on_map = str(site_data(judged, build(judged))["anchors"])
    for paper in (on_map, card_page(judged, "L1", manner()), requested(judged, manner()),
                  incident_page(judged.record, manner("de"), line_id="L1")):
        assert told in paper


def test_a_gust_is_told_alike_in_a_finding_and_in_a_table():
    assert Measures().gust(9.99) == "35 km/h (22 mph, 9 m/s)"  # 9.99 m/s are 35.96 km/h and 22.3 mph
    assert said("down-before-gusts", gust=9.99).in_words().count(Measures().gust(9.99)) == 1
    assert Measures("de", "us").gust(9.99) == "22 mph (35 km/h, 9 m/s)"
    assert Measures("de", "us").gust(9.99) in said("down-before-gusts", gust=9.99).in_words("de", "us")


def test_unknown_is_said_in_the_readers_language():
    german = Measures("de", both=True)
    for told in (german.force(None), german.bearing(math.nan), german.sum_of(None, "N m"), german.gust(math.inf),
                 german.length(None), german.told(math.nan, "m ~2")):
        assert told == "nicht bekannt"
    assert german.share(None) == "keine Aussage möglich"


@pytest.mark.parametrize("metric, us", [
    ("m 1", "ft 0"), ("m 2", "ft 1"), ("m 0", "ft 0"), ("m g", "ft ~2"), ("m ~3", "ft ~3"), ("cm 0", "in 0"),
    ("mm 0", "in 1"), ("kN bare ~2", "lbf bare 3~"), ("kN m ~2", "lbf ft 3~"), ("kPa 0", "psi 0"), ("% 0", "% 0"),
    ("km 0", "km 0"), ("0", "0"), ("m2 1", "sq ft 0"),
])
def test_each_metric_unit_has_one_beside_it(metric, us):
    assert in_us(metric) == us


def test_pounds_have_three_figures_and_no_exponent():
    lbf = factor("lbf")
    told = Measures("en", "us").force
    assert [told(12499.4 * lbf), told(112.4 * lbf), told(1000 * lbf)] == ["12500 lbf", "112 lbf", "1000 lbf"]
    assert Measures(both=True).force(123.4e6).endswith("(27700000 lbf)")


def test_a_side_of_a_sum_has_three_figures():
    m = Measures("de")
    assert [m.sum_of(x, "N m") for x in (123.0, 1234.0, 12_345.0, 123_456.0)] == [
        "0,12 kN m", "1,23 kN m", "12,3 kN m", "123 kN m"]
    assert Measures().sum_of(85_250.0, "Pa") == "85.2 kPa" and m.bearing(5.2) == "005°"


@pytest.mark.parametrize("how, value, least, most", [
    ("mm 0", 0.080, "3.2 in", "3.1 in"),  # 3.15 in
    ("m 2", 0.80, "2.7 ft", "2.6 ft"),  # 2.62 ft
    ("kg 0", 75.0, "166 lb", "165 lb"),  # 165.3 lb
    ("kN ~2", 4_500.0, "1020 lbf", "1010 lbf"),  # 1012 lbf
    ("m g", 30.0, "99 ft", "98 ft"),  # 98.4 ft
])  # fmt: skip
def test_a_least_is_never_told_smaller_nor_a_most_larger(how, value, least, most):
    """Whoever keeps to what is read keeps to the limit, in either system."""
    assert (Measures("en", "us").told(value, how, 1), Measures("en", "us").told(value, how, -1)) == (least, most)
    assert Measures().told(value, how, 1) == Measures().told(value, how, -1) == Measures().told(value, how)


def test_a_crew_reads_a_least_and_a_most_on_the_kind_side():
    wide, low = said("sling-wider", width=0.080, laid=()), said("tie-no-higher", tie=0.806)
    assert "at least 3.2 in wide" in wide.in_words(system="us") and "at least 80 mm wide" in wide.in_words()
    assert "2.6 ft or lower" in low.in_words(system="us") and "0.80 m or lower" in low.in_words()


def shown(page: str) -> str:
    """The text of a page with its spaces as they are, one row for each element."""
    return html.unescape(re.sub(r"(?s)<(style|script|title|desc|svg)\b.*?</\1>|<[^>]*>", "\n", page))


def papers(judged, language):
    return (card_page(judged, "L1", manner(language)), requested(judged, manner(language)),
            incident_page(judged.record, manner(language), line_id="L1"), report_page(judged, language=language))


@pytest.mark.parametrize("language", ["en", "de"])
def test_no_number_parts_from_its_unit_at_the_end_of_a_row(judged, language):
    pages = [shown(page) for page in papers(judged, language)]
    assert not [found for page in pages for found in re.findall(r"\d (?:mm|cm|m|kN|kPa|lbf|ft|km/h)\b", page)]
    assert "kN\u00a0m" in pages[-1] and "\u00a0kN" in pages[0]


def test_a_french_colon_stands_off_its_word(judged):
    for page in papers(dataclasses.replace(judged, assumptions=()), "fr"):  # told in English, with their sources
        assert not re.findall(r"\w+: .{0,20}", shown(page))
    assert "\u202f: " in shown(card_page(judged, "L1", manner("fr")))


def test_no_other_system_of_units():
    with pytest.raises(UnknownName, match="metric, us"):
        Measures("en", "imperial")


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_degrees_have_their_sign_outside_english(language):
    told = Measures(language).told(12.0, "deg 0")
    assert told == ("12 deg" if language == "en" else "12°")


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_number_that_was_worked_out_has_the_mark_of_the_language(language):
    """Typed in inches where centimetres were meant, or with its point elsewhere: what it would be is ours."""
    edits = {"T1.trunk": [{"girth": "74.2 cm", "read_at": "1.3 m", "how": "taped"}], "L1.a.sling.width": "2 cm",
             "L1.webbing.mass": "7.5 g/m", "L1.standing.tension": "2 N"}  # fmt: skip
    meant = [one.meant for one in check_record(Record.model_validate(data(edits))).warnings if one.meant]
    written = " ".join(one.in_words(language) for one in meant)
    assert re.search(r"\d[.,]\d", written)
    assert bool(re.search(r"\d\.\d", written)) is (language == "en") is not bool(re.search(r"\d,\d", written))
    limit = worded("want-at-least-beside", limit="0.27 m", other=said("as-typed", typed="3 m"))
    assert ("0.27" if language == "en" else "0,27") in limit.in_words(language)


def test_the_officer_who_reads_feet_reads_them_first(tmp_path):
    """The pages of the lines and the appendix give metric ones first, which is said where the command is given."""
    park, target = shipped("examples") / "brindlewick" / "park.yaml", tmp_path / "o.html"
    done = CliRunner().invoke(group, ["report", str(park), "--kind", "officer", "--units", "us", "--out", str(target)])
    assert said("units-of-the-decision").in_words() in done.stderr
    decided = read(target.read_text(encoding="utf-8"))
    spans = [Measures(system="us", both=True).length(line.geometry.taped_m) for line in assess(load_record(park)).lines
             if line.verdict in ("suits", "suits if")]  # fmt: skip
    assert spans and any(span in decided for span in spans)
