"""A record of a pair that suits, with one thing not said at a time: what is asked for then, or why nothing is.

The searches draw each of these a few times and mostly where something else decides; here each decides by itself.
"""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess

NEAR = {"T1.trunk": [{"girth": "113 cm", "read_at": "1.3 m", "how": "taped"}], "L1.standing.tension": "3.4 kN"}
HIGH = {"L1.use": "high line", "L1.walkers": {"mass": "80 kg", "leash": "1.4 m", "leash_kind": "dynamic rope"},
        "L1.backup": "other tree", "L1.backup_line": {"extra_length": "1 m", "stiffness": "40 kN"},
        "L1.open_below": "12 m", "L1.ground": None, "L1.a.tie_height": "2.5 m", "L1.b.tie_height": "2.5 m"}  # fmt: skip
STOUT = [{"girth": "280 cm", "read_at": "1.3 m", "how": "taped"}]
HOOP = {"L1.use": "aerial equipment", "L1.backup": "other tree", "T1.trunk": STOUT, "T2.trunk": STOUT}
HOOP_UP = HOOP | {"L1.a.tie_height": "2 m", "L1.b.tie_height": "2 m"}
HUMP = [{"at": "0 m", "height": "0 m"}, {"at": "10 m", "height": "1.2 m"}, {"at": "20 m", "height": "0 m"}]
TRIAL = {"date": "2026-04-18", "pull": "3 kN", "tie_height": "1.2 m", "toward": "90 deg", "tilt": "0.05 deg",
         "moved": "no", "wetness": "moist"}  # fmt: skip
TABLE = {"L1.webbing": {"mass": "70 g/m", "stretch": [{"tension": "20 kN", "stretch": "11 %"}]}}
HOLLOW = {"height": "0.6 m", "sound_wall": "12 cm"}

UNSAID = [
    ("lean", {"T1.lean": None}, "cannot say", "not-looked-at"),
    ("height", {"T1.height": None, "T1.height_how": "unknown"}, "cannot say", "height-filled"),
    ("lowest branch", {"T1.crown_base": None}, "suits if", "lowest-branch-unread"),
    ("roots", {"T1.roots": None}, "cannot say", "not-looked-at"),
    ("one side of the roots", {"T1.roots.W": "not looked"}, "cannot say", "not-looked-at"),
    ("species", {"T1.species": None}, "cannot say", "not-looked-at"),
    ("hard edge", {"T1.hard_edge_near": None}, "cannot say", "not-looked-at"),
    ("stems", {"T1.stems": None}, "cannot say", "not-looked-at"),
    ("ground", {"T1.ground": None}, "cannot say", "soil-wetness-unseen"),
    ("slope", {"T1.ground.slope": None}, "cannot say", "not-looked-at"),
    ("wetness", {"T1.ground.wetness": None}, "suits if", "soil-wetness-unseen"),
    ("stop signs", {"T1.signs": None}, "cannot say", "not-looked-at"),
    ("one stop sign", {"T1.signs.stem_crack": "not looked"}, "cannot say", "not-looked-at"),
    ("softer signs", {"T1.softer_signs": None}, "suits if", "softer-signs-unseen"),
    ("trunk", {"T1.trunk": []}, "cannot say", "not-looked-at"),
    ("soil's depth, where it decides", NEAR | {"T1.ground.shallow": None}, "suits if", "soil-depth-unseen"),
    ("tape", {"L1.span": None}, "suits if", "span-by-positions"),
    ("webbing", {"L1.webbing": None}, "cannot say", "load-unknown"),
    ("tension", {"L1.standing": None}, "cannot say", "load-unknown"),
    ("tie", {"L1.a.tie_height": None}, "cannot say", "not-looked-at"),
    ("sling", {"L1.a.sling": None}, "suits if", "bark-pressed-by-ours"),
    ("sling's width", {"L1.a.sling.width": None}, "suits if", "bark-pressed-by-ours"),
    ("day", {"L1.planned": None}, "suits if", "day-not-chosen"),
    ("ground under the line", {"L1.ground": None, "L1.ground_between": None}, "suits if", "touches-if-level"),
    ("backup of a high line", HIGH | {"L1.backup": None}, "cannot say", "not-looked-at"),
    ("backup's length", HIGH | {"L1.backup_line.extra_length": None}, "suits if", "backup-catch-unknown"),
    ("depth below a high line", HIGH | {"L1.open_below": None}, "suits if", "open-below-unsaid"),
    ("ground under equipment", HOOP | {"L1.ground": None}, "suits if", "touches-if-level"),
    ("ground under equipment, tied high", HOOP_UP | {"L1.ground": None}, "suits if", "clears-equipment-if-level"),
    ("its ground but for one row", HOOP_UP | {"L1.ground": HUMP[:1]}, "suits if", "clears-equipment-if-level"),
    ("its ground between the feet", HOOP_UP | {"L1.ground": HUMP[::2]}, "suits if", "clears-equipment-if-level"),
    ("backup of equipment", HOOP_UP | {"L1.backup": None}, "suits if", "equipment-backup-unsaid"),
    ("a stretch table's rows up to the tension", TABLE, "suits if", "stretch-table-starts"),
    ("hollow's opening", {"T1.hollow": HOLLOW}, "suits if", "hollow-opening-unsaid"),
    ("whether the foot moved", {"T1.trial": TRIAL | {"moved": "not looked"}}, "suits if", "trial-foot-unseen"),
    ("the tilt of the foot", {"T1.trial": TRIAL | {"tilt": None}}, "suits if", "trial-tilt-unread"),
]  # fmt: skip
HARMLESS = [
    ("crown's width: filled in wide", {"T1.crown_spread": None}),
    ("how the height was got: as scattered as a guess", {"T1.height_how": None}),
    ("bark: taken as the thinnest of its kind", {"T1.bark": None}),
    ("condition: told as not asked", {"T1.condition": None}),
    ("use so far: told as not asked", {"T1.use_so_far": None}),
    ("position: the tape stands", {"T1.position": None, "T2.position": None, "site.country": "GB"}),
    ("way of the slope: hardly any", {"T1.ground.downhill": None}),
    ("soil's depth, where it does not decide", {"T1.ground.shallow": None}),
]


def told(edits: dict) -> tuple[str, set[str]]:
    line = assess(record(edits), remedies=False).lines[0]
    return line.verdict, {one.code for place in (line, *line.anchors) for one in place.findings}


@pytest.mark.parametrize(("edits", "word", "code"), [row[1:] for row in UNSAID], ids=[row[0] for row in UNSAID])
def test_what_decides_and_was_not_said_is_asked_for(edits, word, code):
    assert told(edits)[0] == word and code in told(edits)[1]


@pytest.mark.parametrize("edits", [edits for _, edits in HARMLESS], ids=[name for name, _ in HARMLESS])
def test_what_decides_nothing_here_asks_for_nothing(edits):
    assert told(edits)[0] == told({})[0] == "suits"


def test_a_hollow_said_to_be_closed_suits_and_an_open_one_asks_for_an_arborist():
    closed, opened = (told({"T1.hollow": HOLLOW | {"opening": opening}}) for opening in ("0 deg", "118 deg"))
    assert closed[0] == "suits" and opened[0] == "suits if" and "hollow-fails" in opened[1]


def test_equipment_asks_for_its_backup_and_for_nothing_once_that_and_the_ground_are_said():
    assert told(HOOP)[0] == told(HOOP_UP)[0] == "suits"
    word, codes = told(HOOP_UP | {"L1.backup": "none"})
    assert word == "suits if" and "equipment-unbacked" in codes


@pytest.mark.parametrize("edits", [{"T1.bark": None}, {"T1.bark.thickness": None}, {"T1.bark.form": None}])
def test_a_bark_nobody_read_is_never_thicker(edits):
    read = record({"T1.bark.thickness": "25 mm"})
    thick, unread = (assess(one, remedies=False).lines[0].anchors[0].care_use for one in (read, record(edits)))
    assert unread >= thick
