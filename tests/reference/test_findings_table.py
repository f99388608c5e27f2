"""The catalogue of findings: every code worded whole in four languages, every wording fed, every code used."""

from __future__ import annotations

import ast
import calendar
import math
import re
from collections import Counter
from collections.abc import Mapping
from itertools import product
from pathlib import Path
from typing import get_args

import pytest

import siteassess
from siteassess.advice.finding import found
from siteassess.advice.gear_loads import FOOTING_NOT_SEEN, knot_named
from siteassess.advice.verdict import DECIDING, STOP_SIGNS, VERDICTS, boulder_deciding
from siteassess.papers.language import trunk_told, words_in
from siteassess.papers.wording import suits_if
from siteassess.places.crossings import ADVICE
from siteassess.records.anchor import Ground
from siteassess.records.site import FeatureKind
from siteassess.reference.findings import (
    PARTS,
    Said,
    answered,
    codes,
    names_in,
    names_of,
    row_of,
    said,
    said_by,
    unfilled,
    word,
    wording,
)
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.measures import Measures
from siteassess.reference.tables import document, rows
from siteassess.survey.notes import TOLD as NOTES_TOLD

ROOT = Path(siteassess.__file__).parent
CODE = "\n".join(path.read_text("utf-8") for path in ROOT.rglob("*.py"))
SAID_OF_FLAGS = re.compile(r"outside-.*")


QUOTED = Counter(re.findall(r'(?="([^"\n]+)")', CODE))
WITHIN = Counter(re.findall(r'(?:said(?:_by)?|named|basis)\(\s*"([^"\n]+)"', CODE))  # asked for within a finding


def test_a_code_is_worded_in_every_language_with_the_same_values():
    faults = []
    for code in codes():
        row = row_of(code)
        faults += [(code, set(row))] * (not row.get("full") or not set(row) <= {"code", "rank", *PARTS})
        for part in PARTS:
            told = row.get(part)
            if told is None or isinstance(told, str):
                continue
            if "of" in told:
                worded = row_of(told["of"])["short" if part == "short" else "full"] and set(told) == {"of"}
                faults += [(code, part, told)] * (not worded)
                continue
            named = {language: sorted(names_in(text)) for language, text in told.items()}
            same = set(told) >= set(LANGUAGES) and all(names == named["en"] for names in named.values())
            faults += [(code, part, named)] * (not same)
    assert not faults


def test_a_finding_and_nothing_else_has_a_rank_and_a_short_line_of_what_it_carries():
    faults = []
    for code in codes():
        row = row_of(code)
        whole = ("rank" in row) == ("about" in row) == _may_be_found(code)
        if "rank" in row:
            whole = whole and row["rank"] in range(1, 8) and row["short"]
        short, rest = ({name for part in parts for name, _ in names_in(unfilled(code, part))}
                       for parts in (("short",), ("full", "condition", "action")))  # fmt: skip
        faults += [(code, short - rest)] * (not whole or not short <= rest)
    assert not faults


def _may_be_found(code: str) -> bool:
    """Whether the program asks for it other than within a finding; what is said of a crew becomes one by its code."""
    row = row_of(code)
    if row.get("about") == "hauling":
        return code in QUOTED
    asked = {one.get("asks") for one in rows("seasons")}
    alone = QUOTED[code] > WITHIN[code]
    return "about" in row and (alone or code in asked or _made_up(code) or f"{code}{{at}}" in QUOTED)


LENGTHS = {"m": 12.5, "cm": 0.25, "mm": 0.05, "kN": 12_500.0, "%": 1.25, "kg": 160.0, "m/s": 17.0}
USUAL = {
    "feet": said("feet-stay", height=0.42, at=12.0), "told": said("bark-of", tree="T1"),
    "change": said("ties-higher", lift=0.3), "piece": said("kind-alone", kind="webbing grip"),
    "what": said("in-fall-strip", thing=said("by-name", thing=said("the-worn-track"), name="Waldspielplatz am Bach"),
                 gap=said("gap", distance=12.0)),
    "thing": said("by-name", thing=said("the-worn-track"), name="Waldspielplatz am Bach"),
    "gap": said("gap-under", most=1.0),
    "reached": said("likely-from-to", low=1_240.0, likely=2_500.0, high=12_300.0),
    "things": ("young",), "lines": ("L2", "L3"), "name": "Weißdorn", "other": "L2", "limit": "root plate",
    "against": ("a", "b"), "cases": ("bounced",), "signs": ("a",), "sign": [*STOP_SIGNS.values()],
    "disease": sorted({row["what"] for row in rows("seasons") if row["kind"] == "disease"}),
    "soil": [*get_args(Ground.model_fields["texture"].annotation)],
    "answer": "perhaps", "stage": "veteran", "status": "protected", "kind": "polyester",
    "on": "2026-05-01", "last": "2026-05-03",
}  # fmt: skip


CALLS_SAFE = re.compile(
    r"\b(safe(ly|ty)?|secure|sicher(e[mnrs]?|heit)?|sûre?s?|sécurité|segur[oa]s?|seguridad)\b", re.IGNORECASE
)


def test_a_short_line_filled_in_fits_a_phone_and_calls_nothing_safe():
    faults = []
    for code, language in product(codes(), LANGUAGES):
        if "rank" not in row_of(code):
            continue
        named = names_in(unfilled(code, "short", language))
        filled = {name: _usual(name, how) for name, how in named}
        for turn in range(max((len(one) for one in filled.values() if isinstance(one, list)), default=1)):
            values = {name: one[turn % len(one)] if isinstance(one, list) else one for name, one in filled.items()}
            told = wording(code, values, "short", language)
            faults += [(code, language, told)] * (not 0 < len(told) <= 60 or bool(CALLS_SAFE.search(told)))
    assert not faults


def test_no_wording_word_or_answer_calls_anything_safe():
    """Papers tell an answer beside what it was given of: "Carpinus betulus (seguro)" is a tree called safe."""
    told = [one for row in rows("form_texts") if row["group"] in ("choice", "question") for one in row.values()]
    told += [one for row in document("findings")["words"] for one in row.values()]
    told += [unfilled(code, part, language) for code, part, language in product(codes(), PARTS, LANGUAGES)]
    assert not [one for one in told if CALLS_SAFE.search(one)]


def _usual(name: str, how: str):
    if how == "text":
        return USUAL.get(name, "1.3 m") if isinstance(USUAL.get(name, ""), str) else "1.3 m"
    number = how.split(" ")[0] in LENGTHS
    if name in USUAL and not number and not (how == "word" and isinstance(USUAL[name], Said)):
        return USUAL[name]
    if how == "word":
        return "bark form"
    return 7.9 if how == "gust" else LENGTHS.get(how.split(" ")[0], 12.0)


def test_a_code_is_used_by_the_program_or_by_another_code():
    of = {part["of"] for row in document("findings")["rows"] for part in row.values()
          if isinstance(part, Mapping) and part.get("of", row["code"]) != row["code"]}
    asked = {row.get("asks") for row in rows("seasons")}
    unused = set(codes()) - {*QUOTED, *of, *asked}
    assert not {code for code in unused if not SAID_OF_FLAGS.fullmatch(code) and not _made_up(code)}


def asked_for() -> list[tuple[str, ast.Call, str]]:
    """Where the code asks for a code in so many words: the file, the call, the code."""
    told = []
    for path in sorted(ROOT.rglob("*.py")):
        nodes = ast.walk(ast.parse(path.read_text("utf-8")))
        for call in (node for node in nodes if isinstance(node, ast.Call) and node.args):
            first = call.args[0]
            if getattr(call.func, "id", "") in ("found", "said", "said_by", "basis"):
                either = (first.body, first.orelse) if isinstance(first, ast.IfExp) else (first,)
                told += [(path.name, call, one.value) for one in either if isinstance(one, ast.Constant)]
    return told


def test_a_code_that_is_asked_for_is_worded_with_what_its_effect_wants_and_all_it_names():
    faults, wants = [], {"suits if": "condition", "cannot say": "action"}
    for file, call, code in asked_for():
        if code not in codes():
            faults.append((file, call.lineno, code, "no wording"))
        elif call.func.id == "found":
            effect = call.args[1].value if len(call.args) > 1 and isinstance(call.args[1], ast.Constant) else ""
            part = wants.get(effect)
            lacking = names_of(code) - {one.arg for one in call.keywords}
            bare = not any(one.arg is None for one in call.keywords)
            faults += [(file, call.lineno, code, part)] * (part is not None and part not in row_of(code))
            faults += [(file, call.lineno, code, lacking)] * bool(bare and lacking)
    assert len(asked_for()) > 300
    assert faults == []


def _made_up(code: str) -> bool:
    """Codes that are put together where they are told: a wind's by why it does not reject, gear's by whether its place
    was said, and of the surroundings a thing by its article and kind and why it matters by its kind, of which a test of
    the line walks all; a note on a row of an inventory by its name."""
    if code in {told.code for told in NOTES_TOLD.values()}:
        return True
    article, _, kind = code.partition("-")
    if article in ("a", "the"):
        return kind in {one.replace(" ", "-") for one in (*get_args(FeatureKind), "root zone", "other line")}
    if article == "why":
        return kind in {one.replace(" ", "-") for one in ADVICE}
    if code.endswith("-place-unsaid"):
        return f'f"{code.removesuffix("-place-unsaid")}{{at}}"' in CODE
    return code.startswith("wind-") and f'"{code.removesuffix("-guessed").removesuffix("-squat")}"' in CODE


def test_no_word_stands_twice_and_each_is_worded_in_every_language():
    """A verdict too: it stood among the words and among the texts."""
    words = [*document("findings")["words"], *(row for row in rows("texts") if row["group"] == "verdict")]
    english = [row["en"] for row in words]
    assert len(english) == len(set(english))
    assert all(set(row) >= set(LANGUAGES) and all(row.values()) for row in words)


@pytest.mark.parametrize("language, told", [
    ("en", "the trunk is 18 cm at the tie, under 20 cm"),
    ("de", "der Stamm misst an der Befestigung 18 cm, unter 20 cm"),
    ("fr", "le tronc mesure 18 cm à l'attache, moins de 20 cm"),
    ("es", "el tronco mide 18 cm en la atadura, menos de 20 cm"),
])  # fmt: skip
def test_a_finding_reads_in_each_language(language, told):
    assert wording("trunk-under-least", {"diameter": 0.182, "least": 0.2}, language=language) == told


def test_numbers_take_the_languages_comma_and_words_and_codes_within_their_language():
    values = {"limit": "stem", "case": "bounced", "use": 0.625}
    assert said("limit-within", **values).in_words("de") == (
        "Stamm: der härteste Fall, gewippt, nutzt 62 % dessen, was wir zulassen")  # fmt: skip
    tie = {"tie": 1.25, "height": 12.0}
    assert "1,2 m" in wording("tie-over-the-top", tie, language="fr")
    assert "1.2 m" in wording("tie-over-the-top", tie)
    lines = {"lines": ("L2", "L3"), "why": said("roots-half-lost")}
    told = wording("other-lines-at-least", lines, language="es")
    assert told.startswith("con el tiro más bajo de L2, L3, se ha perdido")


def test_a_forecasts_gust_is_told_in_three_units_rounded_down():
    """Of 8.0 m/s a forecast says 28.8 km/h or 17.9 mph (exact factors): nobody may read 29 or 18."""
    assert wording("wind-take-down", {"gust": 8.0}).endswith("28 km/h (17 mph, 8 m/s) are forecast or felt")
    assert wording("wind-take-down", {"gust": 7.9}).endswith("28 km/h (17 mph, 7 m/s) are forecast or felt")
    assert "nicht bekannt" in wording("wind-take-down", {"gust": math.nan}, language="de")


def test_a_gust_to_wait_for_is_that_one_or_more():
    """Read as told, "no gust of 28 km/h is forecast" would let a line stand on a day of 60."""
    more = {"en": "or more", "de": "oder mehr", "fr": "ou plus", "es": "o más"}
    for language, words in more.items():
        assert words in wording("wind-take-down-if", {"gust": 8.0, "rests": ()}, "condition", language)


def test_what_is_rescue_is_no_backup_in_french():
    assert word("backup", "fr") == "ligne de secours"
    water = {"what": said("a-water"), "thing": said("the-water")}
    assert "secours" not in wording("meets-water", water, "condition", "fr")


def test_codes_in_a_row_are_parted_as_the_language_parts_them():
    why = (said("not-worked-out"), said("outside-missing"))
    told = said("limit-unknown", limit="stem", why=why).in_words("fr")
    assert told == "tronc : non calculé\u202f; une chose nécessaire n'a pas été regardée"


def test_what_somebody_wrote_is_never_translated():
    assert word("posted prohibition", "de") == "angeschlagenes Verbot" and word("Eiche am Tor", "fr") == "Eiche am Tor"
    assert said("bark-of", tree="stem").in_words("de") == "die Rinde von stem"
    assert said("stop-sign-seen", sign="{limit}").in_words() == "stop sign seen: {limit}"


def test_a_number_that_is_not_known_says_so():
    """By itself: within a sentence what nobody knows has a wording of its own (`tests/papers/test_unknown_told.py`)."""
    assert said("sum-in-newtons", sum=math.nan).in_words("es") == "no se sabe"


def test_what_the_program_tells_by_a_word_has_that_word():
    """A word that the table does not hold stays English in every language, and nothing else would say so."""
    things = {thing for use in DECIDING for thing in (*DECIDING[use], *boulder_deciding(use))}
    locks = {row.knot for row in rows("knots")}
    answered_so = {row["en"] for row in rows("form_texts") if row["group"] == "choice"}
    held = {row["en"] for row in (*document("findings")["words"], *rows("texts"))} | answered_so
    told_by_themselves = {"soil wetness"}  # soil-wetness-unseen
    answers = {*VERDICTS[2:3], "yes", "perhaps", "no"}  # of `mechanics.hauling.reaches`
    told = things | {*STOP_SIGNS.values()} | locks | answers | _told_of_tables()
    assert told | {*calendar.month_name[1:]} <= held | told_by_themselves
    assert f"taken as {FOOTING_NOT_SEEN}" in wording("footing-taken-as-standing", {})


def _told_of_tables() -> set[str]:
    """What pads, wet ground and windows of the year tell in words of their own tables."""
    pads, wet = document("pads"), document("rootzones")["wet_ground"]
    told = {row[name] for row in pads["rows"] for name in ("id", "does", "does_not")}
    told |= {row["id"] for row in pads["slats"]} | {row["advice"] for row in pads["by_bark_form"]}
    told |= {row.name for row in rows("countries")}
    windows = [row for row in rows("seasons") if row["kind"] != "growing"]
    return told | {row["do"] for row in wet[:2]} | {row[name] for row in windows for name in ("what", "region", "do")}


def test_nothing_is_less_than_nothing():
    """A rounded number is never "-0", and what holds a webbing is told in the reader's language."""
    assert "uses 0% of" in said("limit-within", limit="stem", case="bounced", use=-0.001).in_words()
    webbing = said("kind-alone", kind="webbing")
    assert said("held-by", webbing=webbing, lock="sewn eye").in_words("fr") == "sangle (tenue par : boucle cousue)"
    assert said("held-by", webbing=webbing, lock="our own lock").in_words("de") == "Band (gehalten von: our own lock)"


def test_every_number_of_a_wording_can_be_written_in_both_systems():
    """One text that asked for the unit "m 2" brought down the whole answer of whoever was told it."""
    texts = [unfilled(code, part, language) for code, part, language in product(codes(), PARTS, LANGUAGES)]
    asked = {how.removeprefix("up ").removeprefix("down ") for text in texts for _, how in names_in(text)}
    written = [how for how in asked if how.split(" ")[0] in LENGTHS and not how.endswith("bare")]
    for how, system in product(written, ("metric", "us")):
        assert Measures("en", system).told(LENGTHS[how.split(" ")[0]], how), how
    assert len(written) > 10


def test_where_no_sling_helps_none_is_promised():
    """It ends in "cannot say": the reading's own "suits if a remedy brings it down" may not stand in it."""
    values = {"pressure": 462e3, "peak": 591e3, "use": 3.7, "reference": 125e3, "when": said("pressed-standing")}
    assert "suits if" not in wording("bark-pressed-beyond-slings", values)


def test_a_bearing_has_three_figures_and_a_number_may_leave_its_unit_to_the_next():
    assert "toward 005 degrees" in said("toward-true", bearing=5.2).in_words()
    assert "Peilung 000 Grad" in said("toward-true", bearing=359.7).in_words("de")
    band = said("likely-from-to", low=1_240.0, likely=2_500.0, high=12_300.0)
    assert band.in_words() == "2.5 kN (1.2 to 12 kN)" and band.in_words("de") == "2,5 kN (1,2 bis 12 kN)"


def test_changes_are_codes_within_codes_in_the_readers_language():
    lower = said("tie-no-higher", tie=0.8)
    watched = said("and-then", change=lower, still=(said("base-watched"), said("nobody-bounces")))
    told = said("any-of", first=watched, others=(said("or-else", change=said("nobody-heavier", mass=75.0)),))
    assert told.in_words() == (
        "the tie sits at 0.80 m or lower, as long as whoever is on the line stays clear of the ground (and then the "
        "base shows no movement at a trial load and is watched; it is only walked: nobody bounces or jumps on it), or "
        "nobody heavier than 75 kg is on it")  # fmt: skip
    assert told.in_words("de") == (
        "die Befestigung sitzt in 0,80 m Höhe oder tiefer, solange niemand auf der Leine dem Boden zu nahe kommt (und "
        "dann: der Stammfuß zeigt bei einer Probelast keine Bewegung und wird beobachtet; sie wird nur begangen: "
        "niemand wippt oder springt darauf), oder niemand über 75 kg ist darauf")  # fmt: skip
    months = (said("from-month-to-month", first="November", last="March"),)
    assert "(novembre à mars)" in said("wait-for-the-dormant-season", when=months).in_words("fr")
    kit = said("pulley-system", ratio=5, pulled=(said("pulled-by", ratio=2), said("pulled-by", ratio=3)))
    assert kit.in_words() == "5:1 pulled by 2:1 pulled by 3:1"


def test_two_findings_that_ask_for_the_same_ask_by_one_code():
    """Whatever else they say: a condition is told once, and is none of those that a change brings with it."""
    stem, roots = (found("limit-watched", "suits if", limit=limit, case="bounced", use=use)
                   for limit, use in (("stem", 0.7), ("root plate", 0.8)))  # fmt: skip
    assert stem.met_by == roots.met_by == Said("base-watched")
    forecast = found("wind-take-down-if", "suits if", gust=7.0, rests=())
    assert forecast.met_by == Said("wind-take-down-if", (("gust", 7.0), ("rests", ())), "condition")
    assert forecast.met_by.in_words("de") == forecast.in_words("de", "condition") != ""
    assert found("wind-take-down", "suits", gust=7.0).met_by is None
    assert said_by("limit-within", "condition", ()) is None


# read by `word` as the table has them; where the form's answer is meant it is asked of `answered`
TWO_MEANINGS = {
    "rock": "a kind of stone is missing; a bed or a soil", "slope": "a slope is missing; a tape along it",
    "standing": "the load of a line with nobody on it; how somebody stands",
    "taped": "the field of the span; how something was measured",
    "whole trunk": "where a pad goes; how far one goes",
}
ONE_MEANING = {"copied", "estimated"}  # a word of the table agrees with a height, an answer with nothing


def test_no_word_is_also_an_answer_that_means_something_else_unless_it_was_judged():
    told = {row["en"]: row for row in document("findings")["words"]}
    answers = {row["en"]: row for row in rows("form_texts") if row["group"] == "choice"}
    apart = {one for one in told.keys() & answers.keys()
             if any(told[one][language] != answers[one][language] for language in ("de", "fr", "es"))}  # fmt: skip
    assert apart == TWO_MEANINGS.keys() | ONE_MEANING
    for language in ("de", "fr", "es"):
        for one in TWO_MEANINGS:
            assert answered(one, language) == answers[one][language]
        assert answered("by hand", language) == "by hand"


@pytest.mark.parametrize(("language", "how"), [("en", "taped"), ("de", "mit Maßband"), ("fr", "au ruban"),
                                               ("es", "con cinta métrica")])  # fmt: skip
def test_a_trunk_was_read_with_a_tape_and_not_with_a_span(language, how):
    reading = {"girth": "236 cm", "read_at": "1.4 m", "how": "taped"}
    assert how in trunk_told(reading, 1, words_in(language))


def test_only_german_parts_a_condition_from_its_word():
    told = {language: suits_if("x").in_words(language) for language in ("en", "de", "fr", "es")}
    assert told == {"en": "suits if x", "de": "geeignet, wenn: x", "fr": "convient si x", "es": "apta si x"}


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_a_lock_written_with_a_comma_and_an_anchor_have_their_word(language):
    lock = knot_named("webbing lock, double wrap")
    assert lock == "webbing lock double wrap" and knot_named("a made-up knot") == "a made-up knot"
    assert word(lock, language) != lock and word("anchor", language) != "anchor"
    dates = said("outside-the-model-s-dates", model="M", first="a", last="b", year=1.0).in_words(language)
    assert " to " not in dates
    assert "1,5" in Measures(language).told(1.5, "g")
