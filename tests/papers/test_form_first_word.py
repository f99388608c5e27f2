"""The first word of the form against the whole judgement: never kinder, and as near as a table can be."""

from __future__ import annotations

import json
import math
import random

import numpy as np
import pytest
from first_word_pairs import first_words, held_against, pair, record_of
from form_browser import browsing, needs_browser, open_form

from siteassess.advice import first_word as words
from siteassess.papers.form import write_form

PAIRS = 150  # in the suite; `python tests/first_word_pairs.py` asks 5,000 and nine of ten within 10 %


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    path = write_form(tmp_path_factory.mktemp("form") / "form.html")
    with browsing() as driver:
        open_form(driver, path)
        yield driver


@needs_browser
def test_the_first_word_is_never_kinder_than_the_whole_judgement_and_near_it(page):
    made = [pair(seed) for seed in range(PAIRS)]
    near: dict[str, list[float]] = {"carries": [], "pulls": []}
    for seed, (one, told) in enumerate(zip(made, first_words(page, made))):
        for what, share, kinder in held_against(one, told):
            assert not kinder, (seed, what, share, told)
            near[what].append(share)
    for shares in near.values():
        assert len(shares) > 100 and sum(share > 0.9 for share in shares) >= 0.85 * len(shares)  # of so few


@needs_browser
@pytest.mark.parametrize("edit, code", [
    (lambda made: made["anchors"][0]["signs"].update(stem_crack="yes"), "stop"),
    (lambda made: made["anchors"][0]["trunk"][0].update(girth="55 cm"), "thin"),
    (lambda made: made["anchors"][0].update(stems="several"), "outside"),
    (lambda made: made["anchors"][0]["roots"].update(W="cut"), "outside"),
    (lambda made: made["anchors"][0].update(hard_edge_near="yes"), "outside"),
    (lambda made: made["anchors"][0].update(hollow={"height": "1 m"}), "outside"),
    (lambda made: made["anchors"][0]["ground"].update(slope="20 deg"), "outside"),
    (lambda made: made["anchors"][0].update(lean="14 deg"), "outside"),
    (lambda made: made["lines"].append(made["lines"][0] | {"id": "L2"}), "outside"),
    (lambda made: made["anchors"][0].pop("height"), "lacks"), (lambda made: made["anchors"][0].pop("trunk"), "lacks"),
])  # fmt: skip
def test_what_the_tables_do_not_hold_gets_no_number(page, edit, code):
    made = _plain()
    assert first_words(page, [made])[0]["ends"][0]["carries"] > 0
    edit(made)
    end = first_words(page, [made])[0]["ends"][0]
    assert code in end and "carries" not in end


@needs_browser
@pytest.mark.parametrize("edit", [
    {"span": {"taped": "3 m"}, "standing": {"tension": "2 kN"}},  # a shorter line pulls more
    {"span": {"taped": "30 m"}, "standing": {"sag": "0.2 m", "sag_under": "75 kg"}},  # and so does one that sags less
    {"span": {"taped": "90 m"}, "standing": {"tension": "2 kN"}},
    {"span": {"taped": "30 m"}, "standing": {"tension": "40 kN"}},
])  # fmt: skip
def test_a_line_past_the_end_of_a_table_gets_no_number_where_it_would_be_kinder(page, edit):
    made = _plain()
    line = {"use": "low line", "webbing": {"kind": "polyester"}, "walkers": {"mass": "80 kg"}}
    inside = {"span": {"taped": "30 m"}, "standing": {"tension": "2 kN"}}
    for change, numbered in ((inside, True), (edit, False)):
        made["lines"] = [made["lines"][0] | line | change]
        assert ("pulls" in first_words(page, [made])[0]) is numbered


def _plain() -> dict:
    made = pair(0)
    for tree in made["anchors"]:
        tree |= {"height": "18 m", "stems": "single", "lean": "0 deg", "hard_edge_near": "no"}
        tree["trunk"] = [{"girth": "160 cm", "read_at": "1.3 m", "how": "taped"}]
        tree["signs"] = dict.fromkeys(tree["signs"], "no")
        tree["roots"] = dict.fromkeys(tree["roots"], "covered")
        tree["ground"] = tree["ground"] | {"slope": "2 deg"}
        tree.pop("fork_height", None), tree.pop("hard_edges", None)
    return made


def test_the_tables_shipped_are_those_of_today_s_models():
    """Worked out anew at some places: a model that changed wants `python tests/first_word_tables.py`."""
    shipped = words.first_word_tables()
    fresh = json.loads(json.dumps(words.tree_tables()))
    assert {name: shipped[name] for name in fresh} == fresh
    points, drawn = list(words.line_points()), random.Random(3)
    free = np.array([_numbers(one) for one in shipped["free"]]).reshape(len(words.DONE_ON_IT), -1)
    held = np.array([[words.LETTERS.index(letter) for letter in one] for one in shipped["held"]])
    held = held.reshape(len(words.OVER_BETWEEN), -1, len(words.TIES))
    for place in drawn.sample(range(len(points)), 12):
        done, row = divmod(place, free.shape[1] * (len(words.TIES) + 1))
        row, tie = divmod(row, len(words.TIES) + 1)
        done_, *line, height = points[place]
        alone = words.line_pull(done_, *line, None)
        assert free[done, row] == math.ceil(math.log(alone) / words.STEP - 1e-9)
        row -= len(words.STIFF) * len(words.TIGHT)  # of the shortest span the ground is not weighed
        if height is not None and row >= 0:
            share = min(1.0, words.OVER_BETWEEN[done] * words.line_pull(*points[place]) / alone)
            assert held[done, row, tie] == math.floor(-math.log(share) / (words.HELD_STEPS * words.STEP) + 1e-9)


def _numbers(letters: str) -> list[int]:
    places = [words.LETTERS.index(letter) for letter in letters]
    return [high * len(words.LETTERS) + low - words.OFFSET for high, low in zip(places[::2], places[1::2])]


def test_a_number_written_is_the_number_read_rounded_to_the_careful_side():
    for toward in (1, -1):
        values = np.array([0.31, 1.0, 17.3, 4.2e5])
        read = np.exp(words.STEP * np.array(_numbers(words.written(values, toward))))
        assert (toward * (read - values) >= -1e-9 * values).all() and np.allclose(read, values, rtol=words.STEP)


def test_the_pairs_are_records():
    for seed in range(20):
        assert record_of(pair(seed)).lines
