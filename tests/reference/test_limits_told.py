"""A limit that a text tells is the constant's: no wording has a figure of its own for what a row of the table sets."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from siteassess.reference import findings
from siteassess.reference.constants import constant
from siteassess.reference.findings import with_constants
from siteassess.reference.languages import SIDE_BY_SIDE, TABLES
from siteassess.reference.languages import _texts as texts_of
from siteassess.reference.tables import document, rows

OURS = re.compile(r"\{=[^{}]+\}")
FILLED = {"findings", "paper_texts"}  # tables whose readers fill constants in
FIGURE = r"(?:\d[\d.,]*|\b(?:two|three|four|five|ten|half|(?:a )?(?:third|quarter)|twice)\b)"
UNIT = r"(?:%|°|(?:m2?|m²|cm|mm|kg|kN|deg|degrees|diameters?|days?|times|ft)\b)"
BEFORE = r"\b(?:over|under|above|below|within|than|least|most|up to|taken as|weighs|beyond|past|about) (?:about )?"
LIMIT = re.compile(rf"{BEFORE}{FIGURE}|{FIGURE}[ -]?{UNIT}", re.IGNORECASE)
# What a record asks and answers stays in its words, since the answers that were kept were given to them; so do names.
# Another constant wants another question, and a thought for the records that answer the old one.
ASKED = {
    "over a third of the trunk's round": {"widest opening": 120}, "over a third of its round": {"widest opening": 120},
    "2 m2": {"much bare": 2},
    "within three trunk widths": {"digging diameters": 3, "bank reach diameters": 3},
    "within 30 m of it": {"told past the strip: power line": 30, "told past the strip: railway": 30},
    "fewer than five trees": {"least candidates": 5},
    "5 % value": {"lower fractile": 0.05}, "rounded to more than 10 m": {"rough decimals": 4},
}
OF_THE_TEXT = (  # figures that no row of ours sets
    "polyester 50 mm", "trunks of 0.8 m", "swung 20 degrees", "swung 30 degrees", "under 0.8 m", "at 20 m/s",
    "20 m/s", "10 m over open ground", "beyond 10 m", "slopes under",  # names of constants, each its row's own
    "Switzerland: 25 m over open land", "BS 5837", "critical root radius",  # a state's, a standard's
    "up to twice as hard", "between 0 and", "above 0 and below 1", "angles miss 180 deg",  # statics and geometry
    "1 in {count:0}", "1/{factor:0}", "one of the two", "under 12", "girth over three",
    "1 m by 2 m", "25 to 35 %", "within three days", "95 times of 100", "two or three metres", "five heights",
    "ridges up to 5 cm", "ridges over 5 cm", "50 %", "68 %", "95 %",
    # a circle, the globe, a clock, a grid's digits, an example of how to write
    "90 deg", "180 deg", "0 to 360 deg", "32 to 40 deg", "{part:word} below 60", "10000000 m", "100000 to", "five each",
    "a length above 0", "a value above 0", "the two days swapped", "thousands: 1.85 m", "23.4 m at 137 deg",
)


def told() -> Iterator[tuple[str, dict[str, str]]]:
    """Every text of the tables, with the table it is of; of the signs what is asked and told of them."""
    for table in TABLES:
        yield from ((table, text) for _, text in texts_of(document(table)))
    for row in rows("warning_signs"):
        yield from (("warning_signs", {"en": row[name]}) for name in ("plain", "ask", "look", "do"))


NAMING = [(table, text) for table, text in told() if OURS.search(text["en"])]


def test_a_constant_is_named_where_it_is_filled_in_and_in_every_language():
    assert len(NAMING) > 20 and {table for table, _ in NAMING} == FILLED
    for _, text in NAMING:
        assert all(sorted(OURS.findall(text[one])) == sorted(OURS.findall(text["en"])) for one in SIDE_BY_SIDE), text
        assert "{=" not in with_constants(text["en"])


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
@pytest.mark.parametrize("system", ["metric", "us"])
def test_another_value_of_a_constant_is_told_in_every_language(language, system, monkeypatch):
    before = [with_constants(text[language], language, system) for _, text in NAMING]
    monkeypatch.setattr(findings, "constant", lambda code: 0.4 * constant(code))
    after = [with_constants.__wrapped__(text[language], language, system) for _, text in NAMING]
    assert [text["en"] for (_, text), was, now in zip(NAMING, before, after, strict=True) if was == now] == []


def test_no_text_states_a_limit_by_a_figure_of_its_own():
    bare = {text["en"] for _, text in told() if LIMIT.search(OURS.sub("", text["en"]))}
    judged = (*ASKED, *OF_THE_TEXT)
    assert [text for text in bare if not any(one in text for one in judged)] == []
    assert [one for one in judged if not any(one in text for text in bare)] == []


def test_no_language_has_a_figure_that_english_has_not():
    def figures(text: str) -> set[str]:
        return {one.lstrip("0") for one in re.findall(r"\d+", re.sub(r"\{[^{}]*\}", "", text))}

    more = {(text["en"], one) for _, text in told() for one in SIDE_BY_SIDE
            if one in text and not figures(text[one]) <= figures(text["en"])}
    assert more == set()


@pytest.mark.parametrize("words", ASKED)
def test_what_a_record_asks_is_what_its_constant_says(words):
    assert {code: constant(code) for code in ASKED[words]} == ASKED[words]


@pytest.mark.parametrize("value, en, de", [
    (1 / 2, "half", "die Hälfte"), (1 / 3, "a third", "ein Drittel"), (3, "three", "drei"), (0.4, "40%", "40 %"),
    (5, "5", "5"), (2.5, "2.5", "2,5"),
])  # fmt: skip
def test_a_usual_share_or_count_is_written_in_a_word(value, en, de):
    for language, words in (("en", en), ("de", de)):
        assert findings.Measures(language).spelled(value) == words
