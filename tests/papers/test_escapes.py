"""Each place that makes markup out of a text escapes it: read back by a parser, every family's text is a text.

The pages in the browser cannot tell: there the content policy stops what an escape would let through.
"""

from __future__ import annotations

import datetime
import json
from xml.etree import ElementTree

import icalendar
import pytest
from hostile import PAYLOADS, SHOWN

from siteassess.papers.ical import calendar
from siteassess.papers.look import symbol_svg
from siteassess.papers.sitemap import _tile_layer
from siteassess.papers.sketch import _label
from siteassess.papers.svg_sheet import SvgSheet
from siteassess.papers.terminal import refolded, summary
from siteassess.reference.pages import plain, script_data
from siteassess.register.due import Due
from siteassess.register.reasons import reason


@pytest.mark.parametrize("family", SHOWN)
def test_what_is_made_into_markup_is_read_back_as_a_text(family):
    text = PAYLOADS[family]
    sheet = SvgSheet(60, 40)
    sheet.text(5, 5, text, halo=True)
    drawn = ElementTree.fromstring(sheet.picture("p", text))
    assert drawn.get("aria-label") == plain(text)
    assert [node.text for node in drawn.iter() if node.tag.endswith("text")] == [plain(text)] * 2
    assert not [node for node in drawn.iter() if node.tag.rpartition("}")[2] in ("script", "image", "animate", "img")]
    assert ElementTree.fromstring(symbol_svg("gate", title=text)).get("aria-label") == text
    assert ElementTree.fromstring(_label(text, [(1, 1)], 10, [])).text == text
    credit = _tile_layer("https://tiles.invalid/{z}/{x}/{y}.png", text)["options"]["attribution"]
    assert ElementTree.fromstring(f"<p>{credit}</p>").text == plain(text)
    text += " &lt;"
    said = script_data({"a": text})
    assert not set("<>&") & set(said) and json.loads(said) == {"a": text}


@pytest.mark.parametrize("text", [*PAYLOADS.values(), "a\r\nATTACH:http://x\r\nBEGIN:VEVENT", "a\x85X:1", "é" * 200])
def test_a_calendar_holds_what_it_was_given_and_no_line_of_its_own(text):
    why = reason("news-elsewhere", name=text)
    item = Due("2026-05-01", reason("due-action"), "tree", text, text, "s" * 64, (), text, "no", None, why)
    made = calendar([item, item], datetime.datetime(2026, 1, 1), text)
    unfolded = made.replace("\r\n ", "").split("\r\n")
    assert {line.partition(":")[0].partition(";")[0] for line in unfolded if line} == {
        "BEGIN", "VERSION", "PRODID", "CALSCALE", "NAME", "UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "TRANSP",
        "DESCRIPTION", "END",
    }  # fmt: skip
    assert all(len(line.encode()) <= 75 for line in made.split("\r\n"))
    assert not any(ord(letter) < 32 or 0x7F <= ord(letter) < 0xA0 for letter in made.replace("\r\n", ""))
    assert len(icalendar.Calendar.from_ical(made).walk("VEVENT")) == 2


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
@pytest.mark.parametrize("width", [40, 60, 95])
def test_every_word_is_kept_on_a_narrow_terminal_and_no_row_is_wider(assessment, language, width):
    whole = summary(assessment, language=language)
    rows = refolded(whole, width).split("\n")
    assert " ".join(" ".join(rows).split()) == " ".join(whole.split())
    assert [row for row in rows if len(row) > width and len(row.split()) > 1 and " " in row.strip()] == []
    assert refolded(whole, None) == refolded(whole, 96) == whole
