"""The doubts of the field form against those of the program: of the same fields, in the same order, word for word.

Every language has its page in a tab of its own, and many records go through it at once.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable
from typing import get_args

import pytest
import yaml
from form_browser import browsing, js, needs_browser, open_form
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from parks import record as park
from slips import clean_record, slips_of
from strategies import records

from siteassess.errors import FaultyInput
from siteassess.papers.form import codes_told, write_form
from siteassess.papers.form_words import FormWords
from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.doubtful import findings
from siteassess.records.fields import SECTORS
from siteassess.records.finding import Doubt, ReadingWarning
from siteassess.records.reading import read_text
from siteassess.records.record import Record
from siteassess.records.size_terms import size_names
from siteassess.records.writing import write_text
from siteassess.reference.findings import wording
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.measures import Measures

pytestmark = needs_browser
# no shrinking: a record that disagrees is told as it is, rather than made smaller for minutes
ANYHOW = settings(
    deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.reuse, Phase.generate]
)
AT_ONCE = 30


@pytest.fixture(scope="module")
def ask(tmp_path_factory):
    """What the form in a language answers to each of several values; `one` is the value, `f` the form."""
    folder, tabs = tmp_path_factory.mktemp("form"), {}
    with browsing() as driver:
        for language in LANGUAGES:
            driver.switch_to.new_window("tab")
            open_form(driver, write_form(folder / f"form-{language}.html", language))
            tabs[language] = driver.current_window_handle

        def answers(language: str, expression: str, values: list) -> list:
            driver.switch_to.window(tabs[language])
            return js(driver, f"arguments[0].map((one) => {expression})", values)

        yield answers


CHECKED = "f.check(f.readRecord(one))"
TOLD = f"{CHECKED}.doubts.map((doubt) => [doubt.path.join('.'), f.sentenceOf(doubt)])"


def told_of(doubts: Iterable[Doubt], language: str) -> list[list[str]]:
    """Where the program doubts and all it says of it; a single fix is counted as a list of one."""
    found = []
    for doubt in doubts:
        path = list(doubt.path)
        if "position" in path and "fixes" not in path:
            at = path.index("position")
            if len(path) > at + 1:
                path[at + 1 : at + 1] = ["fixes", 0]
        sentence = ReadingWarning(**vars(doubt)).sentence(language).lstrip(": \u00a0\u202f")  # it has no name here
        found.append([".".join(map(str, path)), sentence[0].upper() + sentence[1:]])
    return found


def assert_told_alike(ask, some: list[Record], texts_: list[str]) -> None:
    """The same doubts of the same fields, in the same order and word for word, in every language."""
    today = datetime.date.today()
    doubts = [list(findings(record, today)) for record in some]
    for language in LANGUAGES:
        answers = ask(language, TOLD, texts_)
        for one, text, answer in zip(doubts, texts_, answers, strict=True):
            assert answer == told_of(one, language), text


SIZES = st.sampled_from(["45 cm", "45 in", "142 cm", "142 in", "18 in", "56 in", "1.4 m", "3 m", "60 cm", "160 in"])
READINGS = st.tuples(st.booleans(), SIZES, st.sampled_from(["0.3 m", "1.3 m", "1.35 m", "2 m", "2.55 m", "4 ft"]))


@settings(ANYHOW, max_examples=6)
@given(st.lists(st.fixed_dictionaries({
    "trunk": st.lists(READINGS, min_size=1, max_size=3),
    "height": st.sampled_from([None, "3 m", "9 m", "18 m", "60 m", "59 ft", "20 ft"]),
}), min_size=AT_ONCE, max_size=AT_ONCE))  # fmt: skip
def test_slips_of_size_are_told_alike(ask, drawn):
    """Girth for diameter, inches for centimetres, unlike readings."""
    made = []
    for one in drawn:
        trunk = [{"girth" if girth else "diameter": size, "read_at": at} for girth, size, at in one["trunk"]]
        made.append(park({"T1.trunk": trunk, "T1.height": one["height"]}))
    assert_told_alike(ask, made, [write_text(record) for record in made])


@settings(ANYHOW, max_examples=2)
@given(st.lists(records(), min_size=AT_ONCE, max_size=AT_ONCE))
def test_any_record_is_doubted_alike(ask, some):
    texts_ = [write_text(record) for record in some]
    assert_told_alike(ask, some, texts_)
    for text, answer in zip(texts_, ask("en", CHECKED, texts_), strict=True):
        assert answer["refused"] == [], text  # what the program reads, the form does not call faulty


@settings(ANYHOW, max_examples=3)
@given(st.lists(st.tuples(st.integers(0, 10**9), st.integers(0, 10**6)), min_size=AT_ONCE, max_size=AT_ONCE))
def test_planted_slips_are_told_or_refused_alike(ask, drawn):
    """Units and points misplaced in records as people make them: the same doubts, the same likely readings, and what
    the program refuses beside girth and height the form calls faulty at the same field."""
    made = []
    for seed, turn in drawn:
        clean = clean_record(seed)
        every = slips_of(clean)
        made.append(yaml.safe_dump(every[turn % len(every)].planted(clean), sort_keys=False))
    some, read = [], []
    for text, answer in zip(made, ask("en", CHECKED, made), strict=True):
        try:
            some.append(read_text(text, today=datetime.date.today()))
        except FaultyInput:
            assert answer["refused"], text
        else:
            assert answer["refused"] == [], text
            read.append(text)
    assert_told_alike(ask, some, read)


TURNS = ["100 deg", "100.5 deg", "258 deg", "275 deg", "281 deg", "1.25 deg"]
SLOPES = [None, "0.5 deg", "2.5 deg", "12.5 deg", "10 %"]
STANDS, TIES = ["3 m", "5 m", "12.5 m", "40 ft", "60 m"], ["2.5 m", "3 m", "5 m", "26 ft"]
ODDITIES = st.fixed_dictionaries({
    "date": st.sampled_from(["2026-01-01", "2020-02-29"]), "planned": st.sampled_from(["2025-12-31", "2027-01-01"]),
    "codes": st.sampled_from([("T1", "T2"), ("T1", "t1")]), "tag": st.sampled_from([None, "77"]),
    "lat": st.sampled_from([54.5, 54.50001]), "span": st.sampled_from([
        {"taped": taped, "along": along} | ({} if slope is None else {"slope": slope})
        for taped in ("20 m", "66 ft") for along in ("slope", "horizontal") for slope in SLOPES]),
    "compass": st.tuples(st.sampled_from(TURNS), st.sampled_from(TURNS)),
    "ground": st.lists(st.tuples(st.sampled_from(STANDS), st.sampled_from(["0 m", "-1 m", "2 m"])), max_size=4),
    "ties": st.tuples(st.sampled_from(TIES), st.sampled_from(TIES)),
    "tree": st.fixed_dictionaries({}, optional={
        "crown_base": st.sampled_from(["4 m", "11 ft"]), "height": st.sampled_from(["9 m", "30 ft"]),
        "fork_height": st.sampled_from(["4 m", "8 m"]), "stems": st.sampled_from(["fork above tie", "fork below tie"]),
        "lean": st.sampled_from(["5 deg", "0 deg"]), "lean_toward": st.just("90 deg"),
        "roots": st.just({"N": "undercut", "SE": "undercut"}), "ground": st.just({"slope": "-4 deg"}),
        "hollow": st.fixed_dictionaries({"height": st.just("1 m")}, optional={
            "sound_wall": st.sampled_from(["25 cm", "3 cm"]), "opening": st.sampled_from(["130 deg", "40 deg"])}),
        "signs": st.just({"undercut_roots": "no", "wide_opening": "no"}),
    }),
    "webbing": st.fixed_dictionaries({}, optional={
        "stiffness": st.just("60 kN"), "stretch": st.lists(
            st.sampled_from([{"tension": "2 kN", "stretch": "2 %"}, {"tension": "1 kN", "stretch": "3 %"}]),
            min_size=1, max_size=2)}),
    "sections": st.booleans(),
})  # fmt: skip


def odd_record(drawn: dict) -> str:
    """The text of a record with doubts of every kind."""
    trees = [{
        "kind": "tree", "code": code, "trunk": [{"diameter": "45.5 cm", "read_at": "1.3 m"}],
        "position": {"lat": drawn["lat"], "lon": 2.5}, **({} if drawn["tag"] is None else {"tag": drawn["tag"]}),
    } for code in drawn["codes"]]  # fmt: skip
    line = {
        "id": "L1", "use": "low line", "span": drawn["span"], "planned": {"date": drawn["planned"]},
        "compass": dict(zip(("out", "back"), drawn["compass"])),
        "ground": [{"at": at, "height": height} for at, height in drawn["ground"]], "webbing": drawn["webbing"],
        "sections": [{"kind": "nylon", "length": "20 m"}] if drawn["sections"] else [],
    }  # fmt: skip
    for end, code, tie in zip("ab", drawn["codes"], drawn["ties"]):
        line[end] = {"anchor": code, "tie_height": tie}
    filled = {key: value for key, value in line.items() if value not in ({}, [])}
    survey = {"by": "N. Body (invented)", "date": drawn["date"]}
    record = {"siteassess_record": 1, "site": {"name": "Otter Mead (invented)"}, "survey": survey,
              "anchors": [trees[0] | drawn["tree"], trees[1]], "lines": [filled]}  # fmt: skip
    return yaml.safe_dump(json.loads(json.dumps(record)), sort_keys=False)  # each part for itself, or it has aliases


@settings(ANYHOW, max_examples=6)
@given(st.lists(ODDITIES, min_size=AT_ONCE, max_size=AT_ONCE))
def test_doubts_of_every_kind_are_told_alike(ask, drawn):
    made = [odd_record(one) for one in drawn]
    assert_told_alike(ask, [read_text(text) for text in made], made)


EIGHTHS, THOUSANDTHS = (st.integers(0, 10**5).map(lambda n, one=one: n / one) for one in (8, 1000))
SHOWN = st.floats(1e-3, 1e5) | EIGHTHS | THOUSANDTHS  # halves of the last figure, and what is nearly one


WRITTEN = ("old-survey", "read-the-slope", "so-long-level", "grows-upward")


@settings(ANYHOW, max_examples=3)
@given(st.lists(SHOWN, min_size=AT_ONCE, max_size=AT_ONCE))
def test_numbers_are_written_alike(ask, numbers):
    """Decimals, figures that count, units and the decimal mark; of a half the even one."""
    names = ("days", "slope", "less", "level", "low", "at", "high", "above")
    asked = [dict.fromkeys(names, number) for number in numbers]
    places = [codes_told().index(code) for code in WRITTEN]
    for language in LANGUAGES:
        told = ask(language, f"{places}.map((code) => f.worded(code, one))", asked)
        assert told == [[wording(code, one, language=language) for code in WRITTEN] for one in asked]


@pytest.mark.parametrize("language", LANGUAGES)
def test_words_are_those_of_the_program(ask, language):
    """The names of all sizes, and the answers that a doubt tells."""
    names = [name.rpartition(".")[2].replace("_", " ") for name in size_names()]
    answers = ["yes", *SECTORS, *get_args(Tree.model_fields["stems"].annotation)]
    places = {code: codes_told().index(code) for code in ("size-typed", "answered-so")}
    for code, value, words in (("size-typed", "name", names), ("answered-so", "answer", answers)):
        told = ask(language, f"f.worded({places[code]}, {{ {value}: one, typed: '1 m' }})", words)
        assert told == [wording(code, {value: one, "typed": "1 m"}, language=language) for one in words]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_way_to_a_field_is_told_in_the_words_it_is_asked_with(ask, language):
    steps = ((Record, "anchors"), (Tree, "trunk"), (TrunkReading, "girth"))
    asked = [FormWords(language).question(model.model_fields[name].description or "") for model, name in steps]
    (told,) = ask(language, "f.nameOf(one)", [["anchors", 0, "trunk", 0, "girth"]])
    assert told == f"{asked[0]} › 1 › {asked[1]} › 1 › {asked[2]}"


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_length_is_written_as_the_papers_write_it(ask, language):
    metres = [0.0, 0.26, 12.34, 99.96, 1234.5]
    assert ask(language, "f.inWords(one)", metres) == [Measures(language, both=True).length(one) for one in metres]
