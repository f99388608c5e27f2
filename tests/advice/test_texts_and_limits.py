"""What a text says of a limit is the limit, and every paper prints the trunk that was judged."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest
from both_files import requested
from parks import record

import siteassess.advice
from siteassess.advice.assess import assess
from siteassess.advice.end_loads import HIGHEST_TIE
from siteassess.advice.finding import why_outside
from siteassess.mechanics.limit import Outside
from siteassess.mechanics.rootplate import (
    HEIGHT_CAP_PER_DIAMETER,
    ROOT_LOSS_HALF,
    ROOT_LOSS_LIMIT,
    SLENDER_PER_DIAMETER,
)
from siteassess.mechanics.roots import DIGGING_DIAMETERS
from siteassess.mechanics.stem import LEAST_WALL_SHARE, WIDEST_OPENING_DEG
from siteassess.papers.as_json import to_dict
from siteassess.papers.everything import write_everything
from siteassess.papers.handover import manner
from siteassess.records.doubtful import WIDE_OPENING_DEG
from siteassess.reference.languages import SIDE_BY_SIDE

NUMBERS = {"three": 3.0, "drei": 3.0, "trois": 3.0, "tres": 3.0}


@pytest.mark.parametrize("reason, constant", [
    (Outside.THIN_WALL, LEAST_WALL_SHARE), (Outside.WIDE_OPENING, WIDEST_OPENING_DEG),
    (Outside.SLENDER, SLENDER_PER_DIAMETER), (Outside.ROOTS_LOST_OVER_LIMIT, ROOT_LOSS_LIMIT),
    (Outside.ROOTS_LOST_OVER_HALF, ROOT_LOSS_HALF), (Outside.DIGGING_BEHIND, DIGGING_DIAMETERS),
    (Outside.HEIGHT_CAPPED, HEIGHT_CAP_PER_DIAMETER),
])  # fmt: skip
def test_a_reason_names_its_limit(reason, constant):
    (told,) = why_outside(reason)
    for text in map(told.in_words, SIDE_BY_SIDE):
        words = re.findall(r"(\d+(?:[.,]\d+)?|" + "|".join(NUMBERS) + r")(\s?%)?", text)
        said = [(NUMBERS.get(word) or float(word.replace(",", "."))) / (100 if share else 1) for word, share in words]
        assert constant.value in said, text


def test_a_limit_told_in_words_alone_is_that_limit():
    """ "Above a third of the tree's height", "over a third of the trunk's round" hold no number."""
    assert HIGHEST_TIE.value == pytest.approx(1 / 3)
    assert WIDE_OPENING_DEG == WIDEST_OPENING_DEG.value == 360 / 3


LIMITS = re.compile(r"\b(120 degrees|20 cm|30 cm|40 cm|20 kN|80 kg|100 kg|100 kPa)")
ROOMS = Path(siteassess.advice.__file__).parents[1]


def _texts(path: Path):
    """Every text of a module that is no docstring."""
    tree = ast.parse(path.read_text("utf-8"))
    told = {id(node.body[0].value) for node in ast.walk(tree)
            if isinstance(node, (ast.Module, ast.FunctionDef, ast.ClassDef)) and isinstance(node.body[0], ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield node


@pytest.mark.parametrize("path", sorted((ROOMS / "advice").glob("*.py")), ids=lambda path: path.stem)
def test_no_sentence_of_a_judgement_holds_a_limit_of_its_own(path):
    held = [f"{node.lineno}: {node.value}" for node in _texts(path) if LIMITS.search(node.value)]
    assert not held


@pytest.mark.parametrize("path", sorted((ROOMS / "papers").glob("*.py")), ids=lambda path: path.stem)
def test_no_picture_draws_a_band_of_its_own(path):
    held = [f"{node.lineno}: {node.value}" for node in _texts(path) if re.search(r"\b60 ?%", node.value)]
    assert not held


def test_every_paper_prints_the_trunk_that_was_judged(tmp_path):
    """Read twice, 61.1 cm near the ground first and 52.7 cm at the tie: the tie's is judged and printed."""
    trunk = [{"diameter": "611 mm", "read_at": "0.4 m", "how": "taped"},
             {"diameter": "527 mm", "read_at": "1.2 m", "how": "taped"}]  # fmt: skip
    answer = assess(record({"T1.trunk": trunk, "T2.trunk": trunk}))
    assert answer.lines[0].anchors[0].protection.trunk_diameter_m == pytest.approx(0.527)
    texts = {path.name: path.read_text("utf-8") for path in write_everything(answer, tmp_path)
             if path.suffix in (".html", ".txt", ".geojson", ".svg") and path.stem != "form"}  # fmt: skip
    texts["request"] = requested(answer, manner()).replace("\u00a0", " ")
    # the record itself is in no paper, so the first reading has no business in any
    assert not [name for name, text in texts.items() if re.search(r"\b(611 mm|61(\.1)? cm|24(\.1)? in)\b", text)]
    told = {name for name, text in texts.items() if re.search(r"\b(527 mm|52\.7 cm|53 cm)", text)}
    assert {"report.html", "request"} <= told
    assert '"trunk_diameter_m": 0.527' in json.dumps(to_dict(answer))
