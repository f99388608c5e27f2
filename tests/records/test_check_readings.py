"""Check of readings: each slip draws its warning with the likelier value, and sound readings draw none."""

from __future__ import annotations

import datetime
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import records

from siteassess.records.doubtful import check_readings
from siteassess.records.finding import ReadingWarning
from siteassess.records.reading import read_text, read_with_lines

TODAY = datetime.date(2026, 6, 1)
HEAD = "siteassess_record: 1\nsite: {name: Otter Mead}\nsurvey: {by: Ada Example, date: 2026-05-01}\n"


def warnings_of(tree: str = "", line: str = "", head: str = HEAD, more: str = "") -> list[ReadingWarning]:
    text = f"{head}anchors:\n  - {{kind: tree, code: T1, {tree}}}\n  - {{kind: tree, code: T2}}\n{more}"
    if line:
        text += f"lines:\n  - {{id: L1, use: low line, {line}}}\n"
    return check_readings(read_text(text, today=TODAY), today=TODAY)


def trunk(*readings: str) -> str:
    return "trunk: [" + ", ".join(f"{{{one}}}" for one in readings) + "]"


ENDS = "a: {anchor: T1}, b: {anchor: T2}"
TIED = "a: {anchor: T1, tie_height: 1.5 m}, b: {anchor: T2}"

SLIPS = {
    "girth as diameter, by the tree's shape": (
        {"tree": trunk("diameter: 142 cm, read_at: 1.3 m") + ", height: 16 m"},
        "anchors[T1].trunk[1].diameter", "a girth typed as a diameter", "girth 142 cm, 45 cm thick",
    ),
    "girth as diameter, no height": (
        {"tree": trunk("diameter: 142 cm, read_at: 1.3 m")},
        "anchors[T1].trunk[1].diameter", "a girth typed as a diameter", "girth 142 cm, 45 cm thick",
    ),
    "girth as diameter, against another reading": (
        {"tree": trunk("diameter: 142 cm, read_at: 1.3 m", "girth: 150 cm, read_at: 1 m")},
        "anchors[T1].trunk[1].diameter", "a girth typed as a diameter", "girth 142 cm, 45 cm thick",
    ),
    "diameter as girth, by the tree's shape": (
        {"tree": trunk("girth: 400 mm, read_at: 1.3 m") + ", height: 16 m"},
        "anchors[T1].trunk[1].girth", "a diameter typed as a girth", "diameter 400 mm",
    ),
    "inches as centimetres": (
        {"tree": trunk("girth: 56 cm, read_at: 1.3 m", "girth: 150 cm, read_at: 1 m")},
        "anchors[T1].trunk[1].girth", "in typed as cm", "girth 56 in (142 cm)",
    ),
    "centimetres as inches": (
        {"tree": trunk("girth: 142 in, read_at: 1.3 m", "girth: 150 cm, read_at: 1 m")},
        "anchors[T1].trunk[1].girth", "cm typed as in", "girth 142 cm (55.9 in)",
    ),
    "centimetres as inches, by the tree's shape": (
        {"tree": trunk("girth: 120 in, read_at: 1.3 m") + ", height: 14 m"},
        "anchors[T1].trunk[1].girth", "cm typed as in", "girth 120 cm (47.2 in)",
    ),
    "centimetres as inches, a thicker tree": (
        {"tree": trunk("girth: 210 in, read_at: 1.3 m") + ", height: 19 m"},
        "anchors[T1].trunk[1].girth", "cm typed as in", "girth 210 cm (82.7 in)",
    ),
    "centimetres as inches, a tall tree": (
        {"tree": trunk("girth: 155 in, read_at: 1.3 m") + ", height: 24 m"},
        "anchors[T1].trunk[1].girth", "cm typed as in", "girth 155 cm (61 in)",
    ),
    "centimetres as inches in a diameter": (
        {"tree": trunk("diameter: 42 in, read_at: 1.3 m") + ", height: 15 m"},
        "anchors[T1].trunk[1].diameter", "cm typed as in", "diameter 42 cm (16.5 in)",
    ),
    "too small a girth, by the tree's shape": (
        {"tree": trunk("girth: 47 cm, read_at: 1.3 m") + ", height: 14 m"},
        "anchors[T1].trunk[1].girth", "a diameter typed as a girth", "diameter 47 cm",
    ),
    "inches as centimetres in a diameter": (
        {"tree": trunk("diameter: 16 cm, read_at: 1.3 m") + ", height: 15 m"},
        "anchors[T1].trunk[1].diameter", "in typed as cm", "diameter 16 in (40.6 cm)",
    ),
    "feet as metres in the height": (
        {"tree": trunk("diameter: 300 mm, read_at: 1.3 m") + ", height: 60 m"},
        "anchors[T1].height", "ft typed as m", "60 ft (18.3 m)",
    ),
    "growing upward": (
        {"tree": trunk("girth: 140 cm, read_at: 1 m", "girth: 160 cm, read_at: 2 m")},
        "anchors[T1].trunk[2].girth", "the two heights swapped, or a swelling or fork taped along", "",
    ),
    "tapering more than a stem does": (
        {"tree": trunk("girth: 200 cm, read_at: 1 m", "girth: 140 cm, read_at: 2 m")},
        "anchors[T1].trunk[2].girth", "one of the two misread, or a branch or fork between them", "",
    ),
    "two readings of one place": (
        {"tree": trunk("girth: 140 cm, read_at: 1.3 m", "girth: 170 cm, read_at: 1.35 m")},
        "anchors[T1].trunk[2].girth", "one of them misread", "",
    ),
    "lean without direction": ({"tree": "lean: 5 deg"}, "anchors[T1].lean", "", ""),
    "direction without lean": ({"tree": "lean_toward: 90 deg"}, "anchors[T1].lean_toward", "", ""),
    "slope without direction": ({"tree": "ground: {slope: 10 %}"}, "anchors[T1].ground.slope", "", ""),
    "bark in centimetres": (
        {"tree": "bark: {thickness: 25 cm}"}, "anchors[T1].bark.thickness", "mm typed as cm", "25 mm",
    ),
    "no cavity left": (
        {"tree": trunk("girth: 140 cm, read_at: 1.3 m") + ", hollow: {height: 1 m, sound_wall: 25 cm}"},
        "anchors[T1].hollow.sound_wall", "millimetres, or the diameter typed", "",
    ),
    "wide opening denied": (
        {"tree": "hollow: {height: 1 m, opening: 130 deg}, signs: {wide_opening: no}"},
        "anchors[T1].signs.wide_opening", "the stop sign is there", "yes",
    ),
    "undercut denied": (
        {"tree": "roots: {NE: undercut}, signs: {undercut_roots: no}"},
        "anchors[T1].signs.undercut_roots", "the stop sign is there", "yes",
    ),
    "position without accuracy": (
        {"tree": "position: {lat: 51.50123, lon: -1.25321}"}, "anchors[T1].position.accuracy", "", "",
    ),
    "rounded position": (
        {"tree": "position: {lat: 51.5, lon: -1.25, accuracy: 5 m}"},
        "anchors[T1].position.lat", "digits lost in copying", "",
    ),
    "taped along the ground": (
        {"line": ENDS + ", span: {taped: 40 m, along: slope, slope: 20 deg}"}, "lines[L1].span.taped", "", "",
    ),
    "slope not read": ({"line": ENDS + ", span: {taped: 40 m, along: slope}"}, "lines[L1].span.slope", "", ""),
    "level tape with a slope": (
        {"line": ENDS + ", span: {taped: 40 m, slope: 20 deg}"},
        "lines[L1].span.along", "taped along the ground", "37.59 m level",
    ),
    "unturned back bearing": (
        {"line": ENDS + ", compass: {out: 80 deg, back: 83 deg}"},
        "lines[L1].compass.back", "the back bearing was read from A, or written without turning about", "263 deg",
    ),
    "back bearing off": (
        {"line": ENDS + ", compass: {out: 350 deg, back: 180 deg}"},
        "lines[L1].compass.back", "iron or a magnet near one end, or a dial misread", "",
    ),
    "ground beyond the span": (
        {"line": ENDS + ", span: {taped: 20 m}, ground: [{at: 30 m, height: 0 m}]"},
        "lines[L1].ground[1].at", "one of the two in another unit", "",
    ),
    "pounds as kilograms": (
        {"line": ENDS + ", walkers: {mass: 180 kg}"},
        "lines[L1].walkers.mass", "lb typed as kg", "180 lb (81.6 kg)",
    ),
    "webbing in centimetres": (
        {"line": ENDS + ", webbing: {width: 25 cm}"}, "lines[L1].webbing.width", "mm typed as cm", "25 mm",
    ),
    "tie above the lowest branch": (
        {"tree": "crown_base: 1 m", "line": TIED}, "lines[L1].a.tie_height", "one of the two in another unit", "",
    ),
    "tie high in a low tree": (
        {"tree": "height: 4 m", "line": TIED}, "lines[L1].a.tie_height", "one of the two in another unit", "",
    ),
    "fork on the wrong side": (
        {"tree": "stems: fork above tie, fork_height: 1 m", "line": TIED},
        "lines[L1].a.tie_height", "one of the heights misread", "",
    ),
    "old survey": ({"head": HEAD.replace("2026-05", "2025-05")}, "survey.date", "", ""),
    "tag used twice": (
        {"tree": 'tag: "12"', "more": '  - {kind: tree, code: T3, tag: "12"}\n'},
        "anchors[T3].tag", "one tree entered twice, or copied and not changed", "",
    ),
    "codes alike but for capitals": (
        {"more": "  - {kind: tree, code: t1}\n"},
        "anchors[t1].code", "one tree entered twice, or copied and not changed", "",
    ),
    "two anchors in one place": (
        {
            "tree": "position: {lat: 51.50123, lon: -1.25321, accuracy: 5 m}",
            "more": "  - {kind: boulder, code: B1, position: {lat: 51.50123, lon: -1.25321, accuracy: 5 m}}\n",
        },
        "anchors[B1].position", "one tree entered twice, or copied and not changed", "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_each_slip_draws_its_own_warning_and_no_other(slip):
    given_, field, likelier, would_be = SLIPS[slip]
    (warning,) = warnings_of(**given_)
    assert (warning.field, warning.likelier, warning.would_be) == (field, likelier, would_be)
    assert warning.sentence().startswith(f"{field}: ")


def test_sound_readings_draw_no_warning():
    tree = (
        trunk("girth: 142 cm, read_at: 1.3 m", "girth: 150 cm, read_at: 0.6 m", "girth: 175 cm, read_at: 0.2 m")
        + ", height: 16 m, crown_base: 3 m, fork_height: 4 m, stems: fork above tie, lean: 2 deg, lean_toward: 90 deg"
        + ", position: {lat: 51.50123, lon: -1.25321, accuracy: 5 m}, bark: {thickness: 15 mm}"
        + ", ground: {slope: 5 %, downhill: 200 deg}, hollow: {height: 1 m, sound_wall: 12 cm, opening: 30 deg}"
    )
    line = (
        "a: {anchor: T1, tie_height: 1.2 m, sling: {width: 50 mm}, padding: {thickness: 10 mm}}, b: {anchor: T2}, "
        "span: {taped: 25 m}, compass: {out: 80 deg, back: 262 deg}, webbing: {width: 25 mm}, walkers: {mass: 80 kg}"
    )
    assert warnings_of(tree=tree, line=line) == []


@pytest.mark.parametrize("height", [10, 14, 18, 22, 28])
@pytest.mark.parametrize("slenderness, crown", [(25, False), (35, False), (25, True), (35, True), (45, True)])
def test_an_ordinary_tree_passes_and_is_caught_when_its_girth_is_typed_as_diameter(height, slenderness, crown):
    """At 45 diameters the height alone leaves the typed diameter plausible; the crown beside it does not."""
    diameter = height / slenderness
    shape = f", height: {height} m" + (f", crown_spread: {18.5 * diameter**0.7:.1f} m" if crown else "")
    girth = 100 * math.pi * diameter
    assert warnings_of(trunk(f"girth: {girth:.0f} cm, read_at: 1.3 m") + shape) == []
    assert warnings_of(trunk(f"diameter: {100 * diameter:.0f} cm, read_at: 1.3 m") + shape) == []
    slipped = warnings_of(trunk(f"diameter: {min(girth, 480):.0f} cm, read_at: 1.3 m") + shape)
    assert [warning.likelier for warning in slipped] == ["a girth typed as a diameter"]


def test_a_small_girth_names_every_slip_that_would_fit():
    (warning,) = warnings_of(trunk("girth: 56 cm, read_at: 1.3 m") + ", height: 18 m")
    assert warning.likelier == "a diameter typed as a girth"
    assert "in typed as cm, girth 56 in" in warning.or_else


def test_a_level_span_is_stated_for_a_tape_along_the_ground():
    (warning,) = warnings_of(line=ENDS + ", span: {taped: 40 m, along: slope, slope: 20 deg}")
    assert f"{40 * math.cos(math.radians(20)):.2f} m level" in warning.says


def test_lines_of_a_file_are_named_in_their_order(tmp_path):
    path = tmp_path / "park.yaml"
    path.write_text(
        HEAD + "anchors:\n  - kind: tree\n    code: T1\n    lean: 5 deg\n    trunk:\n"
        "      - diameter: 142 cm\n        read_at: 1.3 m\n    position:\n      lat: 51.50123\n      lon: -1.25321\n"
    )
    read = read_with_lines(path, TODAY)
    found = check_readings(read.record, read, TODAY)
    assert [(warning.line, warning.field) for warning in found] == [
        (7, "anchors[T1].lean"), (9, "anchors[T1].trunk[1].diameter"), (11, "anchors[T1].position.accuracy"),
    ]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(records(), st.dates(datetime.date(2020, 1, 1), datetime.date(2030, 1, 1)))
def test_no_record_however_odd_stops_the_check(record, today):
    for warning in check_readings(record, today=today):
        assert warning.sentence().endswith(".")


@pytest.mark.parametrize(("span", "doubted"), [("65.6 ft", False), ("65 ft 7 in", False), ("65.5 ft", True)])
def test_ground_past_a_span_by_rounding_alone_is_no_slip(span, doubted):
    told = warnings_of(line=ENDS + f", span: {{taped: {span}}}, ground: [{{at: 20 m, height: 0 m}}]")
    assert [one.told.code == "beyond-span" for one in told] == [True] * doubted
