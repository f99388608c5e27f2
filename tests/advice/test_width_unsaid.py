"""A webbing nobody said the width of: what it is taken as is no kinder than what it may be, or asks for it."""

from __future__ import annotations

import pytest
from everyday import EVERYDAY
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.gear_inputs import widest_alike
from siteassess.advice.verdict import VERDICTS
from siteassess.records.line import Webbing

PAIRS = {one.name: one.edits for one in EVERYDAY if (one.edits["L1.webbing"] or {}).get("kind") == "polyester"}


def word(edits: dict, **webbing):
    line = assess(record(edits | {"L1.webbing": {"kind": "polyester", **webbing}}), remedies=False).lines[0]
    return line, {one.code for end in line.anchors for one in end.findings}


@pytest.mark.parametrize("name", ["birch of 32 and oak of 50 cm", "hornbeams of 35 cm", "oaks of 45 cm, short line"])
def test_the_width_left_out_is_a_condition_where_the_word_hangs_on_it(name):
    (line, codes), (wide, _), (narrow, told) = (word(PAIRS[name], **said) for said in (
        {}, {"width": "50 mm"}, {"width": "25 mm"}))  # fmt: skip
    assert VERDICTS.index(wide.verdict) > VERDICTS.index(narrow.verdict)
    assert line.verdict == "suits if" and "wider-would-not-do" in codes and "wider-would-not-do" not in told
    assert "the webbing is no wider than 25 mm" in [one for end in line.anchors for one in end.conditions]


def test_a_wide_webbing_that_does_asks_nothing_of_the_width():
    assert "wider-would-not-do" not in word(PAIRS["beeches of 60 cm, long line"])[1]


@pytest.mark.parametrize("webbing, asks", [
    ({"kind": "polyester"}, True), ({"kind": "PES"}, True), ({"kind": "polyester 25 mm"}, False),
    ({"kind": "polyester 50 mm"}, False), ({"kind": "wide polyester"}, False), ({"kind": "nylon"}, False),
    ({"kind": "polyester", "width": "25 mm"}, False), ({"kind": "polyester", "stiffness": "250 kN"}, False),
    ({"kind": "spider silk"}, False), ({}, False),
])  # fmt: skip
def test_what_tells_the_width_settles_it(webbing, asks):
    wider = widest_alike(Webbing.model_validate(webbing))
    assert (wider is not None) == asks and (not asks or wider.kind == "polyester 50 mm")


def test_joined_pieces_and_a_boulder_ask_too():
    edits = PAIRS["birch of 32 and oak of 50 cm"]
    both = [{"kind": "polyester", "length": "6 m"}, {"kind": "polyester"}]
    line = assess(record(edits | {"L1.webbing": None, "L1.sections": both}), remedies=False).lines[0]
    assert "wider-would-not-do" in {one.code for one in line.anchors[0].findings}
    rock = {"kind": "boulder", "code": "T1", "position": {"lat": 54.5, "lon": 2.5}, "along_pull": "1.6 m",
            "across_pull": "1.5 m", "upright": "1 m", "rock": "granite", "bed": "rock", "slope": "0 deg",
            "embedded": "no", "edge_distance": "20 m", "rocks_when_pushed": "no", "cracked": "no",
            "posted_no": "no"}  # fmt: skip
    edits = {"anchors.0": rock} | {path: to for path, to in edits.items() if not path.startswith("T1.")}
    uses = [word(edits, **said)[0].anchors[0].hold_use for said in ({}, {"width": "50 mm"})]
    assert ("wider-would-not-do" in word(edits)[1]) == (uses[0] <= 1 < uses[1])
