"""What `siteassess rules` prints: English word for word as kept, and the same in other languages."""

from __future__ import annotations

import re
from pathlib import Path

import made_rules
import pytest

from siteassess.reference.findings import word
from siteassess.reference.rules import rule_ids, rule_set

KEPT = Path(__file__).with_name("rules_lists.txt")  # what was said before any other language could be asked for


def test_in_english_rules_say_what_they_said():
    assert "\n".join(made_rules.told()) + "\n" == KEPT.read_text(encoding="utf-8")


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_each_line_is_told_in_the_language_with_its_figures(language):
    english, other = made_rules.told(), made_rules.told(language)
    # a decimal mark is that of the language
    figures = re.compile(r"\bc\d+|\d+(?:\.\d+)?")
    for one, two in zip(english, other, strict=True):
        assert one != two and figures.findall(one) == figures.findall(re.sub(r"(?<=\d),(?=\d)", ".", two))


def test_the_word_that_every_shipped_set_ends_with_is_told_in_each_language():
    assert {rule_set(name).check_current_text for name in rule_ids()} == {made_rules.SHIPPED}
    assert len({word(made_rules.SHIPPED, language) for language in ("en", "de", "fr", "es")}) == 4
