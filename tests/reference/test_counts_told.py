"""A word that goes with a count: one has the singular, in every language."""

import re
import string

import pytest

from siteassess.papers.form import codes_told
from siteassess.reference.findings import PARTS, codes, said, unfilled
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.tables import rows
from siteassess.reference.texts import filled


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_word_for_a_count_stands_beside_its_number_and_in_two_forms(language):
    told = [unfilled(code, part, language) for code in codes() for part in PARTS]
    told += [row[language] for name in ("texts", "paper_texts", "register_texts") for row in rows(name)]
    parts = [(text, name, how or "") for text in told for _, name, how, _ in string.Formatter().parse(text)]
    chosen = [part for part in parts if "|" in part[2]]
    assert len(chosen) > 60
    for text, name, how in chosen:
        assert len(set(how.split("|"))) == 2 and re.search(rf"\{{{name}(:[^{{}}|]*)?\}}", text), text


def test_one_is_told_in_the_singular():
    one, more = (said("many-faults", source="park.yaml", count=count) for count in (1, 2))
    assert (one.in_words(), more.in_words()) == ("park.yaml: 1 fault", "park.yaml: 2 faults")
    assert (one.in_words("fr"), more.in_words("fr")) == ("park.yaml : 1 erreur", "park.yaml : 2 erreurs")
    assert [filled("{n} {n:arbre|arbres}", {"n": n}, "fr") for n in (0, "1", 2)] == ["0 arbre", "1 arbre", "2 arbres"]


@pytest.mark.parametrize("lean, told", [(0.4, "0,4 degré"), (1.0, "1 degré"), (1.6, "1,6 degré"), (2.0, "2 degrés")])
def test_french_has_the_plural_from_two_on(lean, told):
    assert filled("{n} {n:arbre|arbres}", {"n": 1.6}, "fr") == "1.6 arbre"
    assert f"{told}," in said("lean-over-most", lean=lean, most=30.0).in_words("fr")


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_word_goes_with_its_number_as_it_is_shown(language):
    """1.6 is shown as 2 where no decimal is, and 1.2 as 1."""
    pairs = {"en": ("degree", "degrees"), "de": ("Grad", "Grad"), "fr": ("degré", "degrés"), "es": ("grado", "grados")}
    one, several = pairs[language]
    told = [filled(f"{{n:0 {one}|{several}x}}", {"n": n}, language) for n in (1.2, 1.6, None)]
    assert told == [one, f"{several}x", f"{several}x"]


def test_the_form_whose_script_knows_no_such_words_has_none():
    told = [row[one] for row in rows("form_texts") for one in SIDE_BY_SIDE]
    told += [unfilled(code, language=one) for code in codes_told() for one in SIDE_BY_SIDE]
    assert not [text for text in told if re.search(r"\{[^{}]*\|", text)]
