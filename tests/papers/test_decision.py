"""The decision a manager is asked for: only what may be asked for, on two pages, and nothing of the rest is lost."""

from __future__ import annotations

import copy
import datetime
import html
import re
import shutil
import subprocess
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser

import pytest
from both_files import reported
from form_browser import needs_browser
from made_year import LONG
from parks import BASE, _tree, data
from printed import pages_of

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS
from siteassess.papers.card import card_page
from siteassess.papers.decision import decision, only_asked
from siteassess.papers.handover import manner
from siteassess.papers.incident import incident_page
from siteassess.papers.language import words_in
from siteassess.papers.officer import asked_plan, officer_page
from siteassess.papers.plan import draw_plan
from siteassess.papers.report import report_page
from siteassess.papers.request import method_page, request_page
from siteassess.records.loading import load_record
from siteassess.records.record import Record
from siteassess.reference.findings import said
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.locate import shipped
from siteassess.reference.pages import plain
from siteassess.reference.texts import cautions

DAY = datetime.date(2026, 4, 20)
DEMO = shipped("examples") / "brindlewick" / "park.yaml"


class Page(HTMLParser):
    def __init__(self, page: str):
        super().__init__()
        self.words: list[str] = []
        self.feed(page)

    def handle_data(self, data):
        self.words.append(data)

    def __str__(self) -> str:
        return " ".join(" ".join(self.words).split())


def five_lines() -> Record:
    """Five lines on ten trees, all of which suit on conditions, with the site and rules of the demo park."""
    park, made = load_record(DEMO).model_dump(mode="json", exclude_unset=True), copy.deepcopy(BASE)
    made |= {"site": {**park["site"], "surroundings": []}, "survey": park["survey"], "anchors": [], "lines": []}
    for number in range(5):
        line = copy.deepcopy(BASE["lines"][0]) | {"id": f"L{number + 1}"}
        for side, end in enumerate(("a", "b")):
            tree = _tree(f"T{2 * number + side + 1}", 2.5 + side * 20.0 / 64_790.0)
            tree["position"]["lat"] += number * 15.0 / 111_200.0
            made["anchors"].append(tree | {"status": "ordinary", "softer_signs": {}})  # each a condition
            line[end]["anchor"] = tree["code"]
        line["planned"] |= {"start": "10:00", "end": "18:00"}
        made["lines"].append(line)
    return Record.model_validate(made)


@pytest.fixture(scope="module")
def demo():
    return assess(load_record(DEMO))


@pytest.fixture(scope="module")
def five():
    judged = assess(five_lines(), remedies=False)
    assert {line.verdict for line in judged.lines} == {"suits if"}
    return judged


def test_nothing_is_asked_for_but_what_suits_or_suits_on_a_condition(assessment, demo):
    for judged in (assessment, demo):
        asked = {line.id for line in judged.lines if line.verdict in ("suits", "suits if")}
        told = decision(judged, manner())
        assert {line.result.id for line in told["lines"]} == asked
        assert {tree.code for tree in told["trees"]} == {
            end.code for line in judged.lines if line.id in asked for end in line.anchors}  # fmt: skip
        for line in judged.lines:
            assert (f"{line.id} (" in told["not_asked"]) == (line.id not in asked)
    assert {line.verdict for line in demo.lines} == set(VERDICTS)  # of each word one at least


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_what_is_not_asked_for_is_named_with_its_word_and_no_page_asks_for_it(demo, language):
    t, how = words_in(language), manner(language, made_on=DAY)
    for page in (officer_page(demo, how), request_page(demo, how)):
        page = unescape(page)
        for line in demo.lines:
            choices = f"<li><b>{line.id}</b>"
            assert (choices in page) == (line.verdict in ("suits", "suits if"))
            if choices not in page:
                assert plain(f"{line.id} ({t.of(line.verdict)}") in " ".join(Page(page).words)
        told = str(Page(page))
        assert all(told.count(" ".join(one.split())) == 1 for one in cautions(language))
        assert plain(demo.record.survey.insurance) in told


def test_the_plan_shows_the_lines_asked_for_and_their_trees_alone(demo):
    asked, sheets = only_asked(demo), asked_plan(demo)
    told = " ".join(text.get_text() for sheet in sheets for text in sheet.axes.texts)
    whole = " ".join(text.get_text() for sheet in draw_plan(demo).sheets for text in sheet.axes.texts)
    used = {end.code for line in asked.lines for end in line.anchors}
    for anchor in demo.record.anchors:
        assert re.search(rf"\b{anchor.code}\b", whole)
        assert bool(re.search(rf"\b{anchor.code}\b", told)) == (anchor.code in used), anchor.code
    for line in demo.lines:
        assert bool(re.search(rf"\b{line.id}\b", told)) == (line in asked.lines)
    nothing = assess(Record.model_validate(data({"T1.signs.dead_tree": "yes"})), remedies=False)
    assert asked_plan(nothing) == ()


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_the_two_pages_tell_each_tree_by_its_tag_and_common_name(five, language):
    page = str(Page(request_page(five, manner(language, made_on=DAY))))
    oak = {"en": "English oak", "de": "Stieleiche", "fr": "chêne pédonculé", "es": "roble común"}[language]
    assert page.count(f"{oak} (Quercus robur)") == 10
    for number in range(1, 11):
        assert f"X-T{number} (T{number})" in page


def test_every_finding_that_was_told_stands_in_the_appendix(demo):
    """What the report told before it had a paper before it: of every line, those not asked for too."""
    page = str(Page(report_page(demo)))
    for line in demo.lines:
        for _, found in line.all_ordered:
            if found.effect != "suits":
                assert " ".join(plain(found.in_words()).split()) in page, found.code
        for end in line.anchors:
            for limit in end.limits:
                assert f"Limits at {end.code}" in page and limit.name in page
    for row in demo.assumptions:
        assert row.name in page
    assert "Not looked at" in page and "To pack" in page


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_clause_stands_beside_the_date_of_its_text_and_whose_account_it_is(language):
    for rule_set, dated in (("boulder_co_us", "2017-01"), ("landau_de", None)):
        judged = assess(Record.model_validate(data({"site.rule_set": rule_set})), remedies=False)
        how = manner(language, made_on=DAY)
        clauses = [one for line in judged.lines for end in line.anchors for one in end.rules.clauses]
        stamp = clauses[-1].cites.in_words(language).split(", ", 1)[1].rsplit(", ", 1 if dated else 2)[1:]
        assert not dated or stamp[-1].endswith(dated)
        told = str(Page(request_page(judged, how)))
        assert told.count(", ".join(stamp)) >= len({one.source for one in clauses if ", clause " in one.source})


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_every_paper_that_names_a_clause_says_its_date_and_second_hand_beside_it(language):
    """Of the word of a whole set too; the card, which a ranger is shown at the tree, as the others."""
    judged = assess(Record.model_validate(data({"site.rule_set": "cologne_de"})), remedies=False)
    how, t = manner(language, made_on=DAY), words_in(language)
    clauses = [one for end in judged.lines[0].anchors for one in end.rules.clauses]
    hand = said("rule-second-hand").in_words(language).removeprefix(", ")
    undated = said("rule-undated").in_words(language)
    assert all(one.cites.in_words(language).endswith(f"{undated}, {hand}") for one in clauses)
    names = {one.in_words(language)["clause"] for one in clauses}
    card = str(Page(card_page(judged, "L1", how))).split(t("house-rules"))[1]
    assert all(name in card for name in names) and card.count(hand) >= len(names)
    assert plain(clauses[0].cites.in_words(language).split(",")[0].split("(")[0].strip()) in card  # whose text it is
    for page in (request_page(judged, how), officer_page(judged, how), method_page(judged, how)):
        assert str(Page(page)).count(hand) >= len(names)


def test_clauses_of_one_kind_with_one_answer_share_a_row_and_lose_nothing():
    judged = assess(Record.model_validate(data({"site.rule_set": "boulder_co_us"})), remedies=False)
    told = decision(judged, manner(made_on=DAY))
    looks = [row for row in told["rules"].rows if row.clause == "look"]
    (row,) = [row for row in told["open"] if row.clause == "look"]
    assert len(looks) > 2 and all(one.wanted in row.wanted and one.source in row.source for one in looks)


# ---- what a screen tells once


class Again(HTMLParser):
    """What is of class "again", each by itself, and all that is not."""

    def __init__(self, page: str):
        super().__init__()
        self.within: list[str] = []
        self.again: list[str] = []
        self.once = ""
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        if self.within or dict(attributes).get("class") == "again":
            self.again += [] if self.within else [""]
            self.within.append(tag)

    def handle_endtag(self, tag):
        if self.within:
            assert self.within.pop() == tag

    def handle_data(self, text):
        if self.within:
            self.again[-1] += text
        else:
            self.once += text


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
@pytest.mark.parametrize("park", ["demo", "five"])
def test_what_a_screen_leaves_out_of_the_officer_s_paper_stands_above_on_it(park, language, request):
    judged = request.getfixturevalue(park)
    page, t = Again(officer_page(judged, manner(language, made_on=DAY))), words_in(language)
    once = " ".join(page.once.split())
    for told in page.again:
        told = " ".join(told.split()).strip(" ;:,.()")
        if told in once:
            continue
        # its own first words, such as "suits if" or "Protection:", need not stand there
        starts = [found.start() for found in re.finditer(r"(?<=\s)\S", told)]
        assert any(told[start:] in once for start in starts if len(told) - start > 0.6 * len(told)), told
    assert page.again and once.count(t("verdict-tail")) == 1


def test_a_condition_and_a_protection_are_told_once_on_a_screen(demo):
    once = " ".join(Again(officer_page(demo, manner(made_on=DAY))).once.split())
    told = decision(demo, manner(made_on=DAY))
    assert len(told["conditions"]) > 3
    for says in told["conditions"]:
        assert once.count(says.split(": ", 1)[1]) == 1, says
    for tree in told["trees"]:
        assert once.count(tree.padding) == 1


def test_a_tree_of_two_lines_keeps_the_protection_of_each_with_its_line(five):
    one, two = five.lines[:2]
    shared = replace(two, anchors=(replace(one.anchors[0], line_id=two.id), two.anchors[1]))
    judged = replace(five, lines=(one, shared))
    page = Again(officer_page(judged, manner(made_on=DAY)))
    assert page.once.count("Protection:") == 2 and sum("Protection:" in told for told in page.again) == 2


@needs_browser
def test_what_a_screen_leaves_out_is_printed(demo, offline, tmp_path):
    file = tmp_path / "page.html"
    file.write_text(officer_page(demo, manner(made_on=DAY)), encoding="utf-8")
    offline.get(file.as_uri())
    shown = "return [...document.querySelectorAll('.again')].map((n) => getComputedStyle(n).display !== 'none')"
    assert offline.execute_script(shown) and not any(offline.execute_script(shown))
    offline.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert all(offline.execute_script(shown))
    finally:
        offline.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


# ---- how many pages it is


def much_written() -> Record:
    """The five lines with every name as long as somebody may write it."""
    made = five_lines().model_dump(mode="json", exclude_unset=True)
    for part, keys in ((made["site"], ("name", "manager")), (made["survey"], ("group", "insurance", "contact"))):
        part |= {key: part[key] + LONG for key in keys}
    for anchor in made["anchors"]:
        anchor["tag"] += LONG
    for line in made["lines"]:
        line["name"] = "A line" + LONG
    return Record.model_validate(made)


@pytest.fixture(scope="module")
def wordy():
    return assess(much_written(), remedies=False)


@pytest.fixture(scope="module")
def by_rules():
    made = five_lines().model_dump(mode="json", exclude_unset=True)
    made["site"].pop("rules")
    made["site"]["rule_set"] = "boulder_co_us"
    for number, line in enumerate(made["lines"]):
        line["planned"] |= {"date": f"2026-05-1{number}", "until": f"2026-05-2{number}"}
    return assess(Record.model_validate(made), remedies=False)


@needs_browser
@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_long_names_and_many_open_clauses_keep_a_request_and_a_note_on_two_pages(
    browser, tmp_path, wordy, by_rules, language
):  # fmt: skip
    for judged in (wordy, by_rules):
        how = manner(language, made_on=DAY)
        assert pages_of(browser, tmp_path, request_page(judged, how)) == 2
        assert pages_of(browser, tmp_path, incident_page(judged.record, how)) == 2
        assert pages_of(browser, tmp_path, officer_page(judged, how, asked_plan(judged, language))) <= 12


@needs_browser
@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext (poppler)")
def test_no_heading_stands_alone_at_the_foot_of_a_page(browser, tmp_path, five):
    """However many trees stand above it."""
    how = manner("de", made_on=DAY)
    page = request_page(five, how)
    rows = re.findall(r"<tr><td[^>]*><b class=\"tag\">.*?</tr>", page)
    for less in range(len(rows)):
        shorter = page
        for row in rows[:less]:
            shorter = shorter.replace(row, "", 1)
        pages_of(browser, tmp_path, shorter)
        sheets = subprocess.run(["pdftotext", "-layout", tmp_path / "page.pdf", "-"], check=True, text=True,
                                capture_output=True).stdout.split("\f")  # fmt: skip
        for sheet in filter(None, map(str.strip, sheets)):
            *_, last = sheet.splitlines()
            assert not re.match(r"\s*[1-6]\. |\s*Bestimmung ", last), (less, last)
            assert how.words("rp-apart") not in last


def plainly(page: str) -> str:
    return html.unescape(page).replace("\u00a0", " ")


@needs_browser
@pytest.mark.parametrize("language", SIDE_BY_SIDE)
@pytest.mark.parametrize("of", ["demo", "five"])
def test_a_request_and_an_incident_note_are_two_pages_and_an_officers_paper_twelve(
    browser, tmp_path, demo, five, of, language
):  # fmt: skip
    judged, how = {"demo": demo, "five": five}[of], manner(language, made_on=DAY)
    assert pages_of(browser, tmp_path, request_page(judged, how)) == 2
    assert pages_of(browser, tmp_path, incident_page(judged.record, how)) == 2
    whole = officer_page(judged, how, asked_plan(judged, language))
    assert pages_of(browser, tmp_path, whole) <= 12
    decided = whole[: re.search('<h2[^>]* class="newpage">', whole).start()] + "</main></body></html>"
    assert pages_of(browser, tmp_path, decided) <= 2
    assert all(plainly(whole).count(says) == plainly(decided).count(says) == 1 for says in cautions(language)[1:])


def test_the_papers_never_say_safe(demo):
    assert not re.search(r"\bsafe", str(Page(reported(demo, manner(made_on=DAY)))), re.IGNORECASE)


def test_where_there_is_room_the_decision_shows_the_uses_of_the_hardest_used_end(demo, five):
    """The two pages above are held to two with it; of five lines there is no room."""
    told = officer_page(demo, manner("en", made_on=DAY))
    hold, line, end = max((end.hold_use, line, end) for line in demo.lines if line.verdict in ("suits", "suits if")
                          for end in line.anchors)  # fmt: skip
    shown = re.findall(r'<section class="hardest"><h3>(.*?)</h3>', told)
    assert shown == [f"Line {line.id}: {end.code}, {end.hold_told.in_words('en')}; {end.care_told.in_words('en')}"]
    assert "hardest\">" not in officer_page(five, manner("en", made_on=DAY))
