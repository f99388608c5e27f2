"""What is told of a tree, its season and its survey, as codes: every word of it in every language."""

from __future__ import annotations

import datetime

import pytest
from parks import SIGNS, SOFTER, record

from siteassess.advice.assess import assess
from siteassess.advice.softer import LOOKED_FOR
from siteassess.reference.findings import PARTS, codes, names_in, row_of, said, word, wording
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.tables import document, rows

STOOD = {"exposed": "yes", "changed": "no", "in_leaf": "yes"}
TRIAL = {"date": "2026-04-18", "pull": "4 kN", "tie_height": "1.2 m", "toward": "90 deg", "tilt": "0.1 deg",
         "moved": "no", "wetness": "wet"}  # fmt: skip
TOLD = {
    "hollow-sound-seen": {"T1.softer_signs.hollow_sound": "yes"},
    "hollow-wall-unmeasured": {"T1.hollow": {"height": "1 m"}},
    "wall-leaves-no-hollow": {"T1.hollow": {"height": "1 m", "sound_wall": "45 cm"}},
    "hollow-passes": {"T1.hollow": {"height": "1 m", "sound_wall": "20 cm"}},
    "hollow-fails": {"T1.hollow": {"height": "1 m", "sound_wall": "4 cm"}},
    "loose-bark-seen": {"T1.softer_signs.loose_bark": "yes"},
    "softer-signs-unseen": {"T1.softer_signs": None},
    "tree-marked": {"T1.status": "preservation order"},
    "great-age": {"T1.life_stage": "over-mature"},
    "condition-unsaid": {"T1.condition": "unknown", "T1.use_so_far": "unknown"},
    "sign-denied": {"T1.roots.W": "undercut"},
    "sign-overlooked": {"T1.roots.NE": "undercut", "T1.signs.undercut_roots": "not looked"},
    "lean-over-most": {"T1.lean": "15.5 deg"},
    "soil-untried": {"T1.ground.texture": "made ground"},
    "stems-on-one-foot": {"T1.stems": "several", "T1.each_stem": [{"girth": "100 cm"}, {"girth": "80 cm"}]},
    "single-yet-forked": {"T1.fork_height": "1.5 m"},
    "name-of-dead-wood": {"T1.species.name": "oak stump"},
    "height-filled": {"T1.height": None},
    "lowest-branch-too-high": {"T1.crown_base": "17 m"},
    "wind-stood-counts": {"T1.stood": STOOD | {"gust": "31 m/s"}},
    "wind-stood-earns-nothing": {"T1.stood": {}},
    "trial-counts": {"T1.trial": TRIAL},
    "trial-earns-nothing": {"T1.trial": TRIAL | {"toward": "180 deg"}},
    "trial-foot-unseen": {"T1.trial": TRIAL | {"moved": "not looked"}},
    "trial-tilt-unread": {"T1.trial": {key: one for key, one in TRIAL.items() if key != "tilt"}},
    "trial-of-no-pull": {"T1.trial": TRIAL | {"pull": "0 N"}},
    "trial-gave-way": {"T1.trial": TRIAL | {"moved": "yes"}},
    "plane-canker-open": {"T1.species.name": "Platanus x hispanica", "site.country": "DE"},
    "disease-at": {"site.country": "GB", "T1.species.name": "Fraxinus excelsior"},
    "disease-unless-elsewhere": {"site.country": "US", "T1.position": None, "T2.position": None},
    "disease-unless-another-kind": {"T1.species.name": "unknown broadleaf"},
    "bank-by-the-tape": {"L1.ground": [{"at": "0.8 m", "height": "-1.5 m"}, {"at": "20 m", "height": "0 m"}]},
    "edge-on-the-map": {"site.surroundings": [{"kind": "water", "points": [[54.499, 2.49999], [54.501, 2.49999]]}]},
    "hangs-from-to": {"L1.planned.until": "2026-05-01"},
    "survey-days-old": {"L1.planned.date": "2026-06-18"},
    "survey-too-old": {"L1.planned.date": "2027-06-18"},
    "survey-later": {"L1.planned.date": "2026-04-01"},
}  # fmt: skip


def findings_of(edits: dict, **asked):
    answer = assess(record(edits), **asked)
    ends = [finding for line in answer.lines for end in line.anchors for finding in end.findings]
    return [*ends, *(f for line in answer.lines for f in line.findings), *(f for t in answer.trees for f in t.findings)]


def words_of(code: str, values: dict):
    """Every word of the table that a wording would take, its codes within codes too."""
    named = {one for part in PARTS for one in names_in(wording_of(code, part))}
    for name, how in named:
        value = values[name]
        if how in ("word", "words", "and", "or"):
            yield from [value] if how == "word" else value
        elif how in ("said", "saids", "saids and", "clauses"):
            for one in [value] if how == "said" else value:
                yield from words_of(one.code, dict(one.values))


def wording_of(code: str, part: str) -> str:
    told = row_of(code).get(part, "")
    return told if isinstance(told, str) else wording_of(told["of"], "full") if "of" in told else told["en"]


KNOWN = {row["en"] for row in (*document("findings")["words"], *rows("texts"))} | {
    row["en"] for row in rows("form_texts") if row["group"] == "choice"}  # fmt: skip


@pytest.mark.parametrize("code", TOLD)
def test_a_finding_is_told_in_four_languages_word_by_word(code):
    (one, *_) = [finding for finding in findings_of(TOLD[code]) if finding.code == code]
    assert set(words_of(one.code, dict(one.values))) <= KNOWN
    for part in ("full", "condition", "action"):
        told = {language: one.in_words(language, part) for language in LANGUAGES}
        assert all(told.values()) or not any(told.values()), told
        assert len(set(told.values())) == len(LANGUAGES) or not any(told.values()), told


def test_every_disease_and_every_sign_has_its_words():
    diseases = [row for row in document("seasons")["rows"] if row["kind"] == "disease"]
    assert {row[part] for row in diseases for part in ("what", "region", "do")} <= KNOWN
    assert set(LOOKED_FOR) == set(SOFTER) and set(LOOKED_FOR.values()) <= KNOWN and len(SIGNS) == 10


def test_what_a_disease_asks_for_names_windows_of_the_table():
    asking = [row for row in rows("seasons") if "asks" in row]
    assert {row["what"] for row in asking} == {"oak wilt", "canker stain of plane"}
    assert all(row["kind"] == "disease" and row_of(row["asks"])["condition"] for row in asking)
    asked = {row["asks"] for row in asking}
    assert all(row["against"] in asked for row in document("seasons")["hygiene"] if "against" in row)


@pytest.mark.parametrize("language, told", [
    ("en", "Europe"), ("de", "Europa, Texas oder Michigan"), ("fr", "Europe, Texas ou Michigan"),
])  # fmt: skip
def test_the_last_of_several_stands_after_an_or(language, told):
    regions = ("Europe",) if language == "en" else ("Europe", "Texas", "Michigan")
    values = {"disease": "oak wilt", "regions": regions, "does": (said("against-a-disease", do="look"),)}
    assert told in wording("disease-if-there", values, "full", language)


@pytest.mark.parametrize("lean, told", [(16.0, "16"), (15.5, "15{}5")])
def test_a_number_somebody_chose_keeps_its_decimals(lean, told):
    for language, mark in {"en": ".", "de": ",", "fr": ",", "es": ","}.items():
        text = wording("lean-over-most", {"lean": lean, "most": 15.0}, "full", language)
        assert f" {told.format(mark)} " in text and " 15 " in text


def test_a_day_is_told_as_it_is_written():
    (one,) = [f for f in findings_of({}, on=datetime.date(2026, 4, 1)) if f.code == "survey-later"]
    assert dict(one.values) == {"surveyed": "2026-04-18", "on": "2026-04-01"}


def test_words_that_are_not_of_the_table_stay_as_they_are():
    assert word("a gall of the invented kind", "de") == "a gall of the invented kind" and "noted" in codes()


def test_what_three_regions_ask_of_an_oak_is_told_once_each():
    park = record({"T1.species.name": "Quercus robur", "T1.position": None, "T2.position": None})
    told = [one for one in assess(park, remedies=False).lines[0].anchors[0].findings
            if dict(one.values).get("disease") == "oak wilt"]  # fmt: skip
    assert told
    for one in told:
        for language in LANGUAGES:
            does = [do.in_words(language) for do in dict(one.values)["does"]]
            assert len(does) == len(set(does)) == 3  # Wisconsin, Michigan and Texas: one thing in common, two apart
            assert not any(do in other for do in does for other in does if do != other)
            assert language == "en" or not {"wound", "oak", "oaks", "paint"} & set(" ".join(does).split())
