"""What a faulty record is told speaks the language asked for: each text of a fault knows its code."""

from __future__ import annotations

import copy
import pickle
import re

import pytest
from faulty import FILE, attempts, faults, in_english, refused

from siteassess.errors import FaultyInput, OutsideModel, StoreError, UnknownName
from siteassess.reference.faults import listing, of_error, told
from siteassess.reference.findings import Said, Worded, codes, unfilled, worded
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.units import UNITS, UnitText, parse

PATH = re.compile(r"[\w-]+(\[[^\]]*\])*(\.[\w-]+(\[[^\]]*\])*)*")  # keys of a record, with codes of its things
OF_NO_LANGUAGE = {"", "1", "CSV", "UTF-8", "UTM zone", "UTM easting", "UTM northing", "MGRS reference",
                  "Open Location Code"}  # fmt: skip


def test_every_one_is_refused_and_says_in_english_what_it_said_before():
    """Changed on purpose? `python tests/faulty.py` writes it anew."""
    assert set(refused()) == set(attempts())
    assert in_english() == FILE.read_text("utf-8").splitlines()


def test_every_text_of_a_fault_knows_its_code_but_for_what_was_typed():
    plain = [(fault, text) for fault in faults() for text in (fault.wanted, fault.mend) if not isinstance(text, Worded)]
    assert [one for one in plain if one[1] not in OF_NO_LANGUAGE and not _an_alternative(one[1])] == []
    places = {fault.field for fault in faults() if not isinstance(fault.field, Worded)}
    assert {one for one in places - OF_NO_LANGUAGE if not PATH.fullmatch(one)} == set()
    typed = "\n".join(in_english())
    read = {fault.read for fault in faults() if not isinstance(fault.read, Worded)}
    assert all(text in typed for text in read) and len(read) < len(faults())


def _an_alternative(text: str) -> bool:
    """Whether it is nothing but words of the record's own: the kinds an anchor may be."""
    return text.startswith("kind: ")


def codes_in(text: object) -> set[str]:
    said = text.said if isinstance(text, Worded) else text
    if isinstance(said, (tuple, list)):
        return set().union(*map(codes_in, said))
    return {said.code}.union(*(codes_in(value) for _, value in said.values)) if isinstance(said, Said) else set()


def test_no_text_of_a_fault_is_english_in_another_language():
    """But for marks, keys and examples; the languages' own tests find what is left out of one."""
    reached = set().union(*(codes_in(told(fault)) for fault in faults()))
    assert len(reached) > 170 and reached <= {*codes()}
    alike = {code for code in reached for language in SIDE_BY_SIDE[1:]
             if unfilled(code, language=language) == unfilled(code) and re.search("[a-z]{3}", _bare(unfilled(code)))}
    assert alike <= {"the-position", "the-point", "read-bytes", "rg-a-photo"}  # two languages have one word for it


def _bare(text: str) -> str:
    return re.sub(r"\{[^}]*\}", "", text)


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_listing_names_every_fault_with_its_line_and_english_is_the_error_itself(language):
    for error in refused().values():
        lines = listing(error, language).splitlines()
        assert len(lines) == 1 + len(error.faults)
        placed = [(fault, line) for fault, line in zip(error.faults, lines[1:]) if fault.line]
        assert all(f"{error.source}:{fault.line}:" in line for fault, line in placed)
        if language == "en":
            assert listing(error, "en") == str(error)


def test_a_faulty_record_is_told_in_german():
    error = refused()["T1.height: '18'"]
    assert isinstance(error, FaultyInput) and listing(error, "de").splitlines() == [
        "park.yaml: 1 Fehler",
        f"  park.yaml:{error.faults[0].line}: anchors[T1].height: gelesen 18; verlangt eine Zahl mit einer Einheit für "
        "Länge (m, cm, mm, km, ft, feet, foot, in, inch, inches, yd). Eine Zahl allein könnte jede Einheit haben: zum "
        "Beispiel 18 m schreiben.",
    ]


def test_keys_and_answers_of_a_record_stay_as_they_are_typed():
    for name, word in (("T1.heigth: '4 m'", "height"), ("L1.use: 'lowline'", "low line")):
        assert all(f" {word} " in f"{listing(refused()[name], language)} ".replace("?", " ").replace(".", " ")
                   for language in SIDE_BY_SIDE)


def test_other_errors_are_told_by_their_codes_or_else_by_their_message():
    by_code = OutsideModel("line-too-steep", "line-too-steep")
    assert of_error(by_code, "en").startswith("one anchor stands higher") and "Anker" in of_error(by_code, "de")
    assert "keine Leine" in of_error(UnknownName(worded("no-such-line", line="L9", lines=("L1",))), "de")
    assert of_error(StoreError("the register is locked"), "de") == "the register is locked"


def test_a_text_that_knows_its_code_is_a_text_and_survives_a_copy():
    text = worded("want-between", low="1 m", high="2 m")
    assert text == "between 1 m and 2 m" and text.in_words("de") == "zwischen 1 m und 2 m"
    for again in (copy.deepcopy(text), pickle.loads(pickle.dumps(text))):
        assert again == text and again.in_words("fr") == "entre 1 m et 2 m"


@pytest.mark.parametrize("kind", UNITS)
def test_what_a_unit_may_mean_is_told_by_a_code_of_the_table(kind):
    for text in ("12", "1,500 m", "x", "12 zz", "12 m", "12 kg", "12 KN", "5 ft 13 in", ""):
        try:
            parse(text, kind)
        except UnitText as error:
            assert error.mend == "" or error.mend in codes()
