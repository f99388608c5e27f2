"""What is said in one English wording is said in one wording of each other language, wherever it stands."""

from __future__ import annotations

import re
from collections import defaultdict

from siteassess.reference.languages import SIDE_BY_SIDE, TABLES, _texts
from siteassess.reference.tables import document

# why a wording is translated in two ways: it means two things, or agrees with another noun
TOLD_APART = {
    "": "a decimal point; a colon",
    "common name": "found by its; a name of that kind",
    "conditions": "what a permission asks for; what a verdict hangs on",
    "contact": "where a pad goes; the angle a sling touches",
    "copied": "of a height or size; of an answer alone",
    "estimated": "of a height or size; of an answer alone",
    "flag": "doubtful; what makes a line seen; where a number comes from",
    "from": "a place; a text",
    "genus": "found by its; a name of that kind",
    "growing": "a season; a file while it is read",
    "hours": "of the day; under load",
    "kind": "of tree; of anchor",
    "no tree": "what an anchor is; how many a sheet holds",
    "none": "nothing; no marks",
    "none recorded": "a tree's tag; conditions of a permission",
    "not known": "of a number alone; of a length or a stretch among others",
    "note": "worth a second look; a remark",
    "open": "to be done still; to open",
    "reference": "a permission's; a pressure",
    "rock": "the kind of a stone; what lies under",
    "sliding": "a sling along a trunk; a boulder on its bed",
    "slope": "of the ground; a tape along it",
    "soil": "the ground; earth as a bed",
    "species": "a clause's; one tree's; found by its name",
    "standing": "a load; how somebody stands",
    "status": "of a place's rules; of a part of a register",
    "taped": "a span; how something was measured",
    "tie height": "the thing; a column too narrow for it",
    "use": "what a line is for; the share of what we allow",
    "water": "a lake or river; a word alone",
    "whole trunk": "where a pad goes; how far one goes",
    "withdrawn": "one; how many",
    "{a} to {b}": "a sight from a place to another; a span of time",
}


def test_one_english_wording_has_one_translation_unless_it_was_judged():
    told = defaultdict(set)
    for name in TABLES:
        for _, text in _texts(document(name)):
            english, *others = (text[language].casefold().strip(" .:\u202f") for language in SIDE_BY_SIDE)
            told[english].add(tuple(others))
    assert len(told) > 2000
    apart = {english: others for english, others in told.items() if len(others) > 1}
    assert {one: others for one, others in apart.items() if one not in TOLD_APART} == {}, "one home, or why two"
    assert set(TOLD_APART) - set(apart) == set(), "told alike by now: take out"


CODES_APART = [["bark-unread", "closing-unknown"]]  # both read by other programs: of bark, and of a way round


def test_no_two_codes_say_the_same():
    said = defaultdict(list)
    for row in document("findings")["rows"]:
        if row.keys() == {"code", "full"}:  # what is found has a rank and a short line of its own besides
            said[str(row["full"]).casefold()].append(row["code"])
    assert len(said) > 900 and [codes for codes in said.values() if len(codes) > 1] == CODES_APART


def test_no_row_of_french_ends_in_an_opening_mark_of_speech():
    """A space that may be broken stands on neither inner side of the marks."""
    told = [text["fr"] for name in TABLES for _, text in _texts(document(name))]
    assert sum("«" in one for one in told) > 50
    assert [one for one in told if re.search("« | »", one)] == []
