"""Papers made from a group's register, photos on paper, and the same pages as PDF."""

from __future__ import annotations

import base64
import dataclasses
import datetime
import io
import re
import sys
from html import unescape

import pytest
from click.testing import CliRunner
from kept_register import BY, TODAY, kept, picture, record_values
from markupsafe import escape
from parks import data
from PIL import Image

from siteassess.advice.assess import assess
from siteassess.cli.drawings import report
from siteassess.errors import AmbiguousName, MissingExtra, UnknownName
from siteassess.papers import from_register, pdf
from siteassess.papers.card import card_page
from siteassess.papers.care_paper import care_log_page, year_page
from siteassess.papers.care_sheet import care_page
from siteassess.papers.from_register import line_standing, only_site, site_year
from siteassess.papers.handover import manner
from siteassess.papers.language import words_in
from siteassess.papers.photos import photos_of
from siteassess.records.record import Record
from siteassess.reference.findings import said, word
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.register import actions
from siteassess.register.answer import MAY
from siteassess.register.due import due
from siteassess.register.reasons import GROUP_ONLY, reason, sentence, word_here
from siteassess.register.store import Store

RESTED = datetime.date(2026, 7, 1)
MARKUP = "<script>PWNED</script>&\"'"


@pytest.fixture(scope="module")
def register(tmp_path_factory):
    """A register with one line in use and a care log; the file's path and the names of its subjects."""
    path = tmp_path_factory.mktemp("group") / "list.gpkg"
    return path, kept(path)


@pytest.fixture(scope="module")
def site(register):
    with Store.open(register[0]) as store:
        return site_year(store, only_site(store, None), 2026, TODAY)


def test_a_trees_year_adds_up(site):
    tree = next(tree for tree in site.trees if tree.code == "T1")
    # 2 kN for 4 h twice is 16 kN h; the third use has no pull; last year's use is not counted
    assert (tree.total.uses, tree.total.uses_unknown, tree.total.load_hours_kn_h) == (3, 1, 16.0)
    assert tree.share == pytest.approx(16 / 24)
    assert tree.heaviest("bark_marks") == "polish"
    assert [row.body["action"] for row in tree.open_actions] == ["lay mats"]
    # both trees of the line noted 2 May: the line went up three times, not four
    assert [line.times_up for line in site.lines] == [3]
    assert site.count("complaint") == 1


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_papers_of_the_register_print_its_head_and_the_note_on_load_hours(site, language, register):
    t = words_in(language)
    with Store.open(register[0]) as store:
        heads = store.heads()
    for page in (care_log_page(site, manner(language)), year_page(site, manner(language))):
        assert all(head in page for head in heads)
        assert escape(t("load-hours-note")) in page and escape(t("user-survey")) in page
        assert f"{t('at-least')} " in page  # one use could not be counted
        assert t.of("user of the line") in page  # whoever looked is named by standing
        assert "carpet &amp; &#34;cord&#34;" in page and "CC BY 4.0" in page


def test_only_an_arborist_names_the_next_inspection_on_a_request(tmp_path):
    path = tmp_path / "list.gpkg"
    names, record = kept(path), Record.model_validate(record_values())
    with Store.open(path) as store:
        assert from_register.next_checks(store, record) == {}  # a user of the line looked, and will again
        says = {item.says for item in due(store, TODAY, 700) if item.date == "2027-05-05"}
        assert says == {sentence(reason("due-look"))}
    body = {"what": "inspection", "date": "2026-05-06", "inspector": "An arborist", "standing": "qualified arborist",
            "qualification": "no. 7", "finding": "sound", "next_due": "2028-01-01"}  # fmt: skip
    look = body | {"standing": "user of the line", "date": "2026-05-08", "next_due": "2026-12-01"}
    with Store.open(path) as store:
        for one in (body, look):
            with store.change() as writer:
                actions.log(writer, names["anchor T1"], one, actions.By("Ada", "for the test"))
        assert from_register.next_checks(store, record) == {"T1": "2028-01-01"}


def test_without_a_tree_named_only_trees_with_entries_get_a_sheet(site):
    empty = dataclasses.replace(site.trees[1], code="T9", tag="X-T9", uses=(), events=(), rests=(), inspections=())
    two, none = (dataclasses.replace(site, trees=trees) for trees in ((site.trees[0], empty), (empty,)))
    for made, told in ((care_log_page, "none-written"), (care_page, "c-no-entries")):
        page = made(two, manner())
        assert "X-T1" in page and "X-T9" not in page
        assert words_in("en")(told) in made(none, manner())
    assert "1 tree of the list without an entry this year: T9" in care_page(two, manner())


def test_markup_in_a_register_edited_by_hand_stays_text(site):
    """The register refuses markup at its door; whoever edits the file by hand comes in by another way."""
    tree = site.trees[0]
    rows = tuple(dataclasses.replace(row, body={**row.body, "padding": MARKUP}, who=MARKUP) for row in tree.uses)
    events = tuple(dataclasses.replace(row, body={**row.body, "notes": MARKUP}) for row in site.trees[1].events)
    trees = (
        dataclasses.replace(tree, tag=MARKUP, uses=rows),
        dataclasses.replace(
            site.trees[1], events=events, reasons=(reason("rest-open", part=MARKUP),), status="review due"
        ),
    )
    differ = ((MARKUP, reason("mark-twice", by=MARKUP)),)
    planted = dataclasses.replace(site, name=MARKUP, trees=trees, conflicts=differ, licence=MARKUP)
    for page in (care_page(planted, manner()), care_log_page(planted, manner()), year_page(planted, manner())):
        assert "<script" not in page and "&lt;script&gt;PWNED" in page


def test_a_care_sheet_shows_one_tree_and_its_photo_without_its_place(site):
    page = care_log_page(site, manner(), tuple(tree for tree in site.trees if tree.code == "T1"))
    assert "X-T1" in page and "X-T2" not in page
    shown = re.search(r'src="data:image/jpeg;base64,([^"]+)"', page)[1]
    raw = base64.b64decode(shown)
    assert b"PLANTED-SECRET" not in raw and b"Exif" not in raw


@pytest.mark.parametrize(
    ("language", "stems", "diameter"),
    [("en", "2 stems, thinnest reading: girth 61 cm at the tie", "diameter 47 cm at 1.3 m"),
     ("de", "2 Stämme, dünnste Messung: Umfang 61 cm an der Befestigung", "Durchmesser 47 cm in 1,3 m"),
     ("fr", "2 troncs, lecture la plus mince : circonférence 61 cm à l'attache", "diamètre 47 cm à 1,3 m"),
     ("es", "2 troncos, lectura más delgada: perímetro 61 cm en la atadura", "diámetro 47 cm a 1,3 m")],
)  # fmt: skip
def test_a_care_sheet_says_what_a_girth_goes_round_and_the_day_it_was_read(tmp_path, language, stems, diameter):
    """Not the day it was typed in: a survey may be entered years later."""
    record = record_values()
    one, two = record["anchors"][:2]
    one |= {"stems": "several", "each_stem": [{"girth": "90 cm"}, {"girth": "61 cm"}]}
    two["trunk"] = [{"diameter": "47 cm", "read_at": "1.3 m"}]
    record["survey"]["date"] = "2019-06-01"
    with Store.create(tmp_path / "x.gpkg", title="x", who="Ada") as store:
        with store.change() as writer:
            actions.add_record(writer, record, BY)
        year = site_year(store, only_site(store, None), 2026, TODAY)
    page = re.sub(r"\s", " ", unescape(care_log_page(year, manner(language), year.trees[:2])))
    colon = words_in(language)("colon").replace("\u202f", " ")
    assert f"2019-06-01{colon} {stems}<" in page and f"2019-06-01{colon} {diameter}, " in page


def test_a_french_label_stands_off_its_colon_and_a_clause_says_its_thing_once(site):
    judged = assess(Record.model_validate(data({"site.rule_set": "assoc_cologne_club"})))
    t = words_in("fr")
    card, year = (re.sub("<[^>]*>", "", page) for page in
                  (card_page(judged, "L1", manner("fr")), year_page(site, manner("fr"))))  # fmt: skip
    for page, labels in ((card, ("contact", "judged-for")), (year, ("version-code", "licence", "manager"))):
        for label in labels:
            assert re.search(f"{re.escape(escape(t(label)))}[\u202f ]: ", page), label
            assert f"{escape(t(label))}: " not in page, label
    clause = f"{word('padding', 'fr')}\u202f: {said('rule-required', more=()).in_words('fr')}"
    assert clause in unescape(card) and clause.count(word("padding", "fr")) == 1


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_the_usual_licence_is_told_in_the_readers_language_and_a_written_one_as_it_is(site, language):
    usual = dataclasses.replace(site, licence=GROUP_ONLY)
    assert word_here(GROUP_ONLY, "de") != GROUP_ONLY
    assert escape(word_here(GROUP_ONLY, language)) in year_page(usual, manner(language))
    written = dataclasses.replace(site, licence="unknown")  # a word of the tables, too
    assert "unknown" in year_page(written, manner(language))


def test_a_card_of_a_line_in_use_says_until_when(register):
    judged = assess(Record.model_validate(data()))
    with Store.open(register[0]) as store:
        now = line_standing(store, judged, "L1", RESTED)
        later = line_standing(store, judged, "L1", datetime.date(2027, 1, 1))
        resting = line_standing(store, judged, "L1", datetime.date(2026, 5, 20))
    # the complaint of T2 forces no review, but as long as it rests nobody rigs
    assert resting.answer.word == "no" and reason("rest", part="T2", day="2026-06-30") in resting.answer.against
    assert "T2 rests until 2026-06-30" in card_page(judged, "L1", manner(made_on=datetime.date(2026, 5, 20)), resting)
    assert now.status == "active" and now.answer.word == MAY and not now.differs
    page = card_page(judged, "L1", manner(made_on=RESTED), now)
    assert words_in("en")("do-not-rig") not in page and "Expires: 2026-12-31" in page and now.heads[0] in page
    assert f"May rig now: <b>{MAY}</b>" in page
    assert now.conditions == ("dry ground only",) and "Conditions: dry ground only" in page  # "active" keeps it
    assert f"on {RESTED}" in page
    assert later.answer.word == "no"
    assert words_in("en")("do-not-rig") in card_page(judged, "L1", manner(made_on=datetime.date(2027, 1, 1)), later)


@pytest.mark.parametrize("word", ["leave it", "cannot say"])
def test_the_verdict_of_the_file_counts_on_its_card_whatever_the_register_holds(register, word):
    judged = assess(Record.model_validate(data()))
    lines = tuple(dataclasses.replace(line, verdict=word) for line in judged.lines)
    with Store.open(register[0]) as store:
        now = line_standing(store, dataclasses.replace(judged, lines=lines), "L1", RESTED)
    assert now.answer.word == "no" and now.answer.against == (reason("verdict-of-file", word=word),)


def test_a_line_the_owner_never_marked_is_not_to_be_rigged(tmp_path):
    judged = assess(Record.model_validate(data()))
    with Store.create(tmp_path / "x.gpkg", title="x", who="Ada") as store:
        with store.change() as writer:
            names = actions.add_record(writer, record_values(), BY)
            actions.mark(writer, names["site"], {"by": "group", "given": True, "name": "x", "date": "2026-04-20",
                                                 "expires": "2026-12-31"}, BY)  # fmt: skip
        for to, who in (("surveyed", "Ada"), ("second look", "Ben"), ("approved with conditions", "Ada")):
            with store.change() as writer:
                actions.move(writer, names["line L1"], to, actions.By(who, "seen"), on=TODAY)
        now = line_standing(store, judged, "L1", TODAY)
    assert now.status == "approved with conditions" and now.answer.word == "no"
    assert words_in("en")("do-not-rig") in card_page(judged, "L1", manner(made_on=TODAY), now)


def test_a_file_that_says_otherwise_than_the_register_is_told(register):
    judged = assess(Record.model_validate(data({"T2.height": "12 m"})))
    with Store.open(register[0]) as store:
        now = line_standing(store, judged, "L1", TODAY)
        assert line_standing(store, judged, "L9", TODAY) is None
    assert now.differs == ("T2",)
    assert "another survey of T2" in card_page(judged, "L1", manner(made_on=TODAY), now)


def test_a_sensitive_place_has_no_plan_and_no_position_on_its_card(tmp_path):
    judged = assess(Record.model_validate(data()))
    with Store.create(tmp_path / "x.gpkg", title="x", who="Ada") as store:
        with store.change() as writer:
            actions.add_record(writer, record_values(), BY, sensitive=("T1",))
        now = line_standing(store, judged, "L1", TODAY)
    hidden, open_ = (card_page(judged, "L1", manner(made_on=TODAY), each) for each in (now, None))
    assert "54.5" in open_ and 'class="drawn"' in open_
    assert "54.5" not in hidden and words_in("en")("withheld") in hidden
    assert hidden.count("<svg") < open_.count("<svg")


def test_several_sites_must_be_told_apart(tmp_path):
    with Store.create(tmp_path / "x.gpkg", title="x", who="Ada") as store:
        for name in ("One green", "Other green"):
            with store.change() as writer:
                values = record_values()
                values["site"]["name"] = name
                actions.add_record(writer, values, BY)
        with pytest.raises(UnknownName, match="--site.*One green, Other green"):
            only_site(store, None)
        assert only_site(store, "One green") != only_site(store, "Other green")


# -- photos --


@pytest.fixture
def folder(tmp_path):
    home = tmp_path / "record"
    (home / "p").mkdir(parents=True)
    (home / "p" / "good.jpg").write_bytes(picture(size=(3000, 1500)))
    (home / "p" / "page.jpg").write_bytes(b"<svg onload=alert(1)>")
    (tmp_path / "outside.jpg").write_bytes(picture())
    (home / "p" / "link.jpg").symlink_to(tmp_path / "outside.jpg")
    return home


def test_photos_are_drawn_anew_small_or_only_named(folder):
    made = data()
    made["anchors"][0]["photos"] = [{"path": f"p/{name}.jpg"} for name in ("good", "page", "link", "missing")]
    record = Record.model_validate(made)
    shown = {photo.name: photo.source for photo in photos_of(record, folder)}
    assert [name for name, source in shown.items() if source] == ["p/good.jpg"]
    raw = base64.b64decode(shown["p/good.jpg"].split(",")[1])
    assert b"PLANTED-SECRET" not in raw and b"Exif" not in raw
    with Image.open(io.BytesIO(raw)) as drawn:
        assert drawn.size == (900, 450)
    assert not any(photo.source for photo in photos_of(record, None))


# -- the command and PDF --


@pytest.fixture
def record_file(tmp_path):
    from siteassess.records.writing import write_record

    file = tmp_path / "park.yaml"
    write_record(Record.model_validate(data()), file)
    return file


@pytest.mark.parametrize("kind", ["officer", "request", "card", "care", "year", "incident"])
def test_the_command_writes_each_paper(kind, record_file, register, tmp_path):
    out = tmp_path / f"{kind}.html"
    done = CliRunner().invoke(report, [
        str(record_file), "--kind", kind, "--out", str(out), "--register", str(register[0]), "--lang", "de",
        "--units", "us", "--year", "2026",
    ])  # fmt: skip
    assert done.exit_code == 0, done.output
    assert words_in("de")("no-warning") in out.read_text(encoding="utf-8")
    # what is asked for and not done is said
    assert (said("units-of-the-decision").in_words("de") in done.output) == (kind == "officer")


def test_care_and_year_want_a_register_and_a_known_tree(record_file, register):
    run = CliRunner().invoke
    assert run(report, [str(record_file), "--kind", "care"]).exit_code == 2
    wrong = run(report, [str(register[0]), "--kind", "care", "--tree", "T77"])
    assert isinstance(wrong.exception, UnknownName) and "T1, T2" in str(wrong.exception)


def test_without_the_extra_a_pdf_is_refused_politely_and_nothing_is_written(record_file, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    out = tmp_path / "x.html"
    done = CliRunner().invoke(report, [str(record_file), "--kind", "incident", "--pdf", "--out", str(out)])
    assert isinstance(done.exception, MissingExtra) and "-m pip install 'weasyprint>=60'" in str(done.exception)
    assert not out.exists()


def test_the_pdf_is_made_of_the_page_alone(tmp_path):
    pytest.importorskip("weasyprint")
    planted = tmp_path / "planted.png"
    planted.write_bytes(b"x")
    page = f'<!DOCTYPE html><title>t</title><p>here</p><img src="{planted.as_uri()}">'
    assert pdf.write_page_pdf(page, tmp_path / "x.pdf").read_bytes().startswith(b"%PDF")
    fetcher = pdf._fetcher()
    fetch = getattr(fetcher, "fetch", fetcher)
    for address in (planted.as_uri(), "http://127.0.0.1:9/x.png"):
        with pytest.raises(ValueError):
            fetch(address)
    fetch("data:image/png;base64,aGVyZQ==")


@pytest.mark.parametrize("error", [AmbiguousName, UnknownName])
def test_a_name_of_several_things_is_told_and_one_of_none_is_not(monkeypatch, error):
    """By the kind of the error: its wording decides nothing."""
    def resolve(*_):
        raise error("reworded")

    monkeypatch.setattr(from_register, "resolve", resolve)
    if error is UnknownName:
        assert from_register.listed_as(None, "T1", "anchor") is None
    else:
        with pytest.raises(AmbiguousName):
            from_register.listed_as(None, "T1", "anchor")
