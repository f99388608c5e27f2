"""What `--explain` tells: every step a code, all of them tried, and in English what it was before it was one."""

from __future__ import annotations

import ast
from pathlib import Path

from explained import FILE, codes_in, explained, in_english

from siteassess.advice import boulder_end, explain
from siteassess.papers.as_json import to_dict
from siteassess.reference.findings import codes

MODULES = (explain, boulder_end)


def codes_of(module) -> set[str]:
    """The codes that a module names."""
    nodes = ast.walk(ast.parse(Path(module.__file__).read_text("utf-8")))
    return {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)} & {*codes()}


def test_every_step_is_among_those_of_the_records_that_every_language_is_tried_on():
    """The fifth language (`tests/fifth_language.py`) reads these: a step left out here could stay English unseen."""
    told = {code for line in explained().values() for end in line.anchors for code in codes_in(end.every_step)}
    of_steps = set().union(*map(codes_of, MODULES)) - {code for code in codes_of(boulder_end) if code[:5] != "step-"}
    assert len(of_steps) > 40 and of_steps <= told, of_steps - told


def test_what_a_step_says_in_english_is_what_it_said_before():
    """Other programs read it from `--json`. Changed on purpose? `python tests/explained.py` writes it anew."""
    assert in_english() == FILE.read_text("utf-8").splitlines()


def test_json_keeps_the_english_under_its_old_key_with_the_codes_beside_it():
    from parks import record

    from siteassess.advice.assess import assess

    judged = assess(record(), remedies=False)
    end = to_dict(judged)["lines"][0]["anchors"][0]
    assert end["steps"] == list(judged.lines[0].anchors[0].steps) and end["steps"][-1] == "the worst of these: suits"
    assert [one["says"] for one in end["steps_codes"]] == end["steps"]
    trunk = next(one for one in end["steps_codes"] if one["code"] == "step-trunk")
    assert round(trunk["size"], 4) == 0.6 and trunk["how"] == "taped" and "every_step" not in end
