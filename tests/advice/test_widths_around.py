"""What is marked beside a line and nobody said the width of: it may be as wide as such things usually are."""

from __future__ import annotations

import pytest
from parks import own_rules, record

from siteassess.advice.assess import assess
from siteassess.advice.surroundings import USUAL_WIDTH_M

CLEAR = {"id": "d", "kind": "distance", "operator": ">=", "value": 3, "unit": "m"}


def beside(kind: str, off_m: float, width: str | None) -> tuple[str, str]:
    """Word of the line, and the answer of a rule, with a thing drawn along the line on its north."""
    north = 54.5 + off_m / 111_300
    thing = {"kind": kind, "points": [[north, 2.499], [north, 2.502]]} | ({"width": width} if width else {})
    made = record({"site.surroundings": [thing], "site.rules": own_rules(CLEAR | {"distance_to": kind})})
    line = assess(made, remedies=False).lines[0]
    return line.verdict, next(one.answer for one in line.anchors[0].rules.clauses if one.clause == "distance")


@pytest.mark.parametrize("kind", USUAL_WIDTH_M)
def test_a_width_left_out_is_never_kinder_than_the_widest_that_is_usual(kind):
    widest = USUAL_WIDTH_M[kind].ends[1]
    for off in (4.5, 6.5, 7.2, 8.5, 11, 13, 17):
        (word, answer), (told, held) = beside(kind, off, None), beside(kind, off, f"{widest:g} m")
        assert told == "suits" or word != "suits"
        assert held == "met" or answer != "met"


def test_the_usual_width_alone_would_not_do():
    assert beside("water", 7.2, "2 m")[0] == "suits" != beside("water", 7.2, None)[0]
