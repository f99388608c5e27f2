"""What to look at first is found by trying answers, and no such answer enters a verdict."""

from __future__ import annotations

import dataclasses
import datetime

import pytest
from parks import SECTORS, SIGNS, data, record

from siteassess.advice.assess import assess
from siteassess.advice.look_first import UNSEEN, WAY, looks_of
from siteassess.advice.results import Look
from siteassess.advice.survey_age import TOO_OLD
from siteassess.advice.verdict import BOULDER, DECIDING
from siteassess.papers import wording
from siteassess.papers.terminal_short import short
from siteassess.records.record import Record
from siteassess.reference.findings import said
from siteassess.reference.tables import rows

LACKING = {
    "species or leaf type": ("T1.species", None), "trunk size": ("T1.trunk", []), "tree height": ("T1.height", None),
    "stems and forks": ("T1.stems", "unknown"), "lean": ("T1.lean", None), "slope": ("T1.ground.slope", None),
    "soil wetness": ("T1.ground.wetness", "unknown"), "roots by sector": ("T1.roots", None),
    "kerbs and digging near": ("T1.hard_edge_near", "not looked"), "bark form": ("T1.bark", None),
    "stop signs": ("T1.signs", dict.fromkeys(SIGNS, "not looked")), "tie height": ("L1.a.tie_height", None),
    "span": ("L1.span", None), "webbing": ("L1.webbing", None), "standing tension": ("L1.standing", None),
    "walker": ("L1.walkers", None),
}  # fmt: skip


def line(*things: str, **edits):
    made = dict(LACKING[thing] for thing in things) | {path.replace("__", "."): value for path, value in edits.items()}
    if "tree height" in things:
        made["T1.crown_base"] = None
    return assess(record(made)).lines[0]


def first(*things: str, **edits) -> tuple[str, str]:
    look = line(*things, **edits).looks[0]
    return look.thing, look.at


@pytest.mark.parametrize("row", rows("plausible"), ids=lambda row: f"{row['thing']} of {row['of']}")
def test_answers_add_up_and_belong_to_something_that_decides(row):
    assert sum(answer["weight"] for answer in row["answers"]) == 100
    decides = {thing for things in DECIDING.values() for thing in things} | {*BOULDER, "stop signs", WAY}
    decides |= set(UNSEEN.values())
    assert row["thing"] in decides


def test_every_deciding_thing_has_answers():
    """A position decides by the way of the pull that it tells."""
    named = {(row["thing"], of) for row in rows("plausible") for of in ("tree", "boulder") if row["of"] in (of, "both")}
    of_trees = {thing for things in DECIDING.values() for thing in things if not thing.startswith("stop sign")}
    assert {thing for thing in of_trees if (thing, "tree") not in named} == {"position"}
    assert {(WAY, "tree"), (WAY, "boulder")} <= named
    of_boulders = {thing for thing in BOULDER if not thing.startswith("stop sign")}
    assert {thing for thing in of_boulders if (thing, "boulder") not in named} == {"position", "downhill direction"}


@pytest.mark.parametrize("thing", LACKING)
def test_what_is_missing_is_named_and_its_answers_tried(thing):
    found = line(thing)
    looks = {look.thing: look for look in found.looks}
    if found.verdict == "suits":
        assert not found.looks  # taken at its worst, and it suits even so
    else:
        assert set(looks) == {thing} and looks[thing].changes is not None
        assert looks[thing].at == ("" if thing in ("span", "webbing", "standing tension", "walker") else "T1")


def test_the_thing_that_would_turn_the_word_comes_first():
    # a slim tree beside a stout one: whether roots are cut behind the pull turns it, what the walker weighs does not
    slim = {"T1__trunk": [{"girth": "110 cm", "read_at": "1.3 m", "how": "taped"}], "T1__height": "11 m",
            "L1__standing": {"tension": "3 kN", "how": "load cell"}}  # fmt: skip
    found = line("roots by sector", "walker", **slim).looks
    assert [look.thing for look in found] == ["roots by sector", "walker"]
    assert found[0].changes > 0 == found[1].changes


def test_the_order_hangs_on_the_tree_and_not_on_a_list():
    stout = {"T1__trunk": [{"girth": "280 cm", "read_at": "1.3 m", "how": "taped"}], "T1__height": "26 m"}
    slim = {"T1__trunk": [{"girth": "96 cm", "read_at": "1.3 m", "how": "taped"}], "T1__height": "11 m"}
    orders = {first("lean", "soil wetness", "roots by sector", "standing tension", **tree) for tree in (stout, slim)}
    assert len(orders) == 2


def test_the_share_is_that_of_answers_with_another_word():
    """Counted beside the program: each answer written into the record by hand and assessed."""
    row = next(row for row in rows("plausible") if row["thing"] == "lean")
    words = [(answer["weight"], assess(record({"T1.lean": answer["lean"]})).lines[0].verdict)
             for answer in row["answers"]]  # fmt: skip
    other = sum(weight for weight, word in words if word != words[0][1]) / 100
    look, = line("lean").looks
    assert look.changes == pytest.approx(other) and 0 < other < 1


TAUT_ON_A_SLIM_TREE = {"T1.trunk.0.girth": "100 cm", "T1.height": "14 m"}


def test_a_load_that_a_remedy_mends_is_no_other_word():
    """At 6 kN the slim tree is asked too much, and a lower tie mends it: the word hangs on a fork at the other tree."""
    looks = assess(record(TAUT_ON_A_SLIM_TREE | {"L1.standing": None, "T2.stems": "unknown"})).lines[0].looks
    assert [(look.thing, look.changes) for look in looks] == [("stems and forks", 0.05), ("standing tension", 0.0)]
    for tension in ("1.5 kN", "3 kN", "6 kN"):
        read = record(TAUT_ON_A_SLIM_TREE | {"L1.standing": {"tension": tension, "how": "load cell"}})
        assert assess(read).lines[0].verdict == looks[0].usual == "suits if"
    assert assess(read, remedies=False).lines[0].verdict == "leave it"


def test_sectors_that_were_looked_at_keep_what_was_seen():
    """Roots cut behind the pull were seen; that the others are covered does not make these whole."""
    seen = dict.fromkeys(SECTORS, "covered") | {"W": "cut", "NW": "cut", "E": "not looked"}
    blind = dict.fromkeys(SECTORS, "not looked")
    look, = assess(record({"T1.roots": seen})).lines[0].looks
    other, = assess(record({"T1.roots": blind})).lines[0].looks
    assert look.changes == 0 < other.changes


def test_a_sign_that_was_looked_for_keeps_its_answer():
    """Of ten signs only the posted prohibition is open: it is the one that may be seen, and no other is."""
    made = data({"T1.signs": dict.fromkeys(SIGNS, "no") | {"posted_no": "not looked"}})
    (line,) = assess(Record.model_validate(made)).lines
    tried = []

    def judge(changed: Record):
        tried.append(changed.anchor("T1").signs.model_dump())
        return line

    looks_of(Record.model_validate(made), line, judge)
    assert {tuple(name for name, said in signs.items() if said == "yes") for signs in tried} == {(), ("posted_no",)}


def test_more_than_half_seen_cut_is_left_whatever_the_others_are():
    for rest in ("covered", "not looked"):
        seen = dict.fromkeys(SECTORS, rest) | dict.fromkeys(("N", "NW", "W", "SW", "S"), "cut")
        assert assess(record({"T1.roots": seen})).lines[0].verdict == "leave it", rest


def test_trying_answers_leaves_record_and_verdict_alone():
    made = data({"T1.lean": None, "T1.roots": None})
    read = Record.model_validate(made)
    before = read.model_dump()
    found = assess(read)
    assert found.lines[0].verdict == "cannot say" and len(found.lines[0].looks) == 2
    assert read.model_dump() == before


def test_nothing_is_tried_where_nothing_is_missing_or_it_is_left():
    assert line().looks == ()
    assert line("lean", T1__signs=dict.fromkeys(SIGNS, "yes")).looks == ()


def test_papers_tell_the_first_three_and_why():
    found = line("lean", "roots by sector", "slope", "kerbs and digging near")
    said = wording.looks(found)
    assert said.startswith(f"look first at {found.looks[0].thing} at T1") and said.count(" at T1") == 3
    assert f"look first at {found.looks[0].thing}" in " ".join(short(assess(record(dict(
        LACKING[thing] for thing in ("lean", "roots by sector", "slope", "kerbs and digging near"))))).split())
    assert wording.looks(dataclasses.replace(found, looks=())) == ""
    nowhere = [Look("position", "T1", None), Look("lean", "T2", 0.0)]
    assert wording.looks(dataclasses.replace(found, looks=tuple(nowhere))) == "look first at lean at T2"
    assert wording.looks(dataclasses.replace(found, looks=tuple(nowhere[:1]))) == "look first at position at T1"


def test_nobody_is_sent_to_look_at_what_changes_no_word():
    """Roots cut behind the pull decide, whatever the slope is; without them the slope is looked at first."""
    found = line("slope", T1__roots__W="cut")
    assert found.verdict == found.looks[0].usual == "cannot say"
    assert wording.looks(found) == "an answer to slope at T1 is not likely to change this word"
    assert wording.looks(line("slope")).startswith("look first at slope at T1")


@pytest.mark.parametrize("edits, told", [
    ({"T1.hollow": {"height": "0.8 m"}}, "have the sound wall measured"),
    ({"T1.stems": "several", "T1.each_stem": [{"girth": "60 cm"}]}, "tape the girth of each stem"), ({}, ""),
])  # fmt: skip
def test_what_no_answer_to_a_missing_thing_settles_is_told_before_them(edits, told):
    """Fresh eyes: with a hollow whose wall nobody measured, a rigger was sent to look at the lean first."""
    judged = assess(record(edits | {"T1.lean": None})).lines[0]
    said = wording.looks(judged)
    assert said.startswith(f"whatever is looked at: {told}; look first at lean" if told else "look first at lean")
    assert all(bool(look.stays) == bool(told) for look in judged.looks)


@pytest.mark.parametrize("days, told", [(0, ""), (1, "survey the trees again")])
def test_what_the_line_itself_cannot_say_is_told_before_them_too(days, told):
    """Fresh eyes: a line by an undrawn wire was told to look first at a lean, and stayed "cannot say"."""
    day = datetime.date(2026, 4, 18) + datetime.timedelta(days=TOO_OLD.value + days)
    said = wording.looks(assess(record({"T1.lean": None, "L1.planned.date": day.isoformat()})).lines[0])
    assert said.startswith(f"whatever is looked at: {told}" if told else "look first at lean")
    dry = wording.looks(assess(record({"T1.ground.wetness": "unknown", "L1.planned.date": day.isoformat()})).lines[0])
    assert dry.startswith(f"whatever is looked at: {told}; an answer to" if told else "an answer to soil")


# a kerb a metre to the north, and nobody knows which way the line goes
BLIND = {"L1.compass": None, "T1.position": None, "T1.hard_edge_near": "yes",
         "T1.hard_edges": [{"what": "kerb", "side": "N", "distance": "1 m"}]}  # fmt: skip
OTHERS = {"T1.lean": None, "T1.ground.wetness": "unknown"}


def test_the_way_of_the_pull_comes_first_where_nothing_else_settles_a_word():
    """With the lean read and only the position missing it stayed "cannot say", and the lean was told first."""
    looks = assess(record(BLIND | OTHERS)).lines[0].looks
    assert [(look.thing, look.at) for look in looks] == [(WAY, ""), ("lean", "T1"), ("soil wetness", "T1")]
    assert looks[0].changes > looks[1].changes


def test_what_alone_ends_in_cannot_say_comes_before_what_is_taken_at_its_worst():
    """Fresh eyes: with bark and slope missing the bark was told first, whose answers all leave "cannot say"; so was
    the walker, whose answers move the word oftener, before a height."""
    slack = {"L1.standing.tension": "2 kN", "T1.trunk.0.girth": "150 cm"}
    missing = {"slope": {"T1.ground.slope": None}, "bark form": {"T1.bark": None},
               "tree height": slack | {"T1.height": None}, "walker": slack | {"L1.walkers": None}}  # fmt: skip
    for causes, taken in (("slope", "bark form"), ("tree height", "walker")):
        one, other = assess(record(missing[causes] | missing[taken])).lines[0].looks
        assert (one.thing, other.thing, one.usual) == (causes, taken, "suits")
        words = [assess(record(missing[thing])).lines[0].verdict for thing in (causes, taken)]
        assert words[0] == "cannot say" != words[1]
    assert one.changes < other.changes


def test_its_share_is_that_of_eight_bearings_which_bring_another_word():
    """Counted beside the program: each bearing written into the record by hand and assessed."""
    words = [assess(record(BLIND | {"L1.compass": {"out": f"{way} deg", "north": "true"}})).lines[0].verdict
             for way in range(0, 360, 45)]  # fmt: skip
    found = assess(record(BLIND)).lines[0]
    look, = found.looks
    assert found.verdict == look.usual == "cannot say"
    assert look.changes == sum(word != "cannot say" for word in words) / 8 == 3 / 8


def test_two_ends_without_a_position_ask_once_for_the_way():
    looks = assess(record(BLIND | {"T2.position": None})).lines[0].looks
    assert [(look.thing, look.at) for look in looks] == [(WAY, "")]


def test_a_position_beside_a_compass_tells_no_other_way():
    looks = assess(record({"T1.position": None, "T1.lean": None})).lines[0].looks
    assert [(look.thing, look.at, look.changes is None) for look in looks] == [
        ("lean", "T1", False), ("position", "T1", True)]  # fmt: skip


def test_a_refusal_toward_some_sides_only_asks_for_the_way_of_the_pull():
    def steps(edits):
        return [finding.do_next for finding in assess(record(edits)).lines[0].anchors[0].findings
                if finding.code == "limit-unknown"]  # fmt: skip

    assert steps(BLIND) == ["take the positions of both anchors of each line here, or of one together with the "
                            "line's compass bearing"]  # fmt: skip
    behind = BLIND | {"L1.compass": {"out": "180 deg", "north": "true"}}
    unseen = BLIND | {"T1.hard_edge_near": "not looked", "T1.hard_edges": None}
    for edits in (behind, unseen):
        assert [step.split(";")[0] for step in steps(edits)] == ["look behind the pull"]


def test_a_step_that_several_findings_ask_for_is_told_once():
    judged = assess(record({"T1.hollow": {"height": "0.8 m"}, "T1.lean": None})).lines[0]
    twice = tuple(said("pull-swings", swing=swing) for swing in (1.01, 1.02))
    assert twice[0] != twice[1] and twice[0].in_words() == twice[1].in_words()
    judged = dataclasses.replace(judged, looks=[dataclasses.replace(judged.looks[0], stays=twice)])
    assert wording.looks(judged).startswith(f"whatever is looked at: {twice[0].in_words()}; look first at ")


def test_what_one_way_of_the_pull_settles_is_not_told_whatever_is_looked_at():
    """On a slope that decides only where the tree leans along the pull, an arborist was asked for first."""
    slope = {"L1.compass": None, "T1.position": None, "T1.trunk.0.girth": "96 cm", "T1.height": "12 m",
             "T1.ground.slope": "12 deg", "T1.lean": "4 deg", "T1.lean_toward": "270 deg"}  # fmt: skip
    blind = assess(record(slope)).lines[0]
    assert "slope-decides" in {finding.code for finding in blind.anchors[0].findings}
    assert [(look.thing, look.stays) for look in blind.looks] == [(WAY, ())]
    toward = assess(record(slope | {"L1.compass": {"out": "270 deg", "north": "true"}, "T2.lean": None})).lines[0]
    assert toward.looks[0].stays and wording.looks(toward).startswith("whatever is looked at: have a qualified")


def test_a_tree_by_itself_has_no_line_whose_way_could_be_taken():
    row = assess(record(BLIND), remedies=False).trees[0].pulls[0]
    refused = dict(row.limited_by[0].values)["first"]
    assert [step.code for step in dict(refused.values)["next"]] == ["look-behind-the-pull"]


HIGH = {"L1.use": "high line", "L1.a.tie_height": "1.5 m", "L1.b.tie_height": "1.5 m", "L1.ground": None,
        "L1.walkers.leash": "1.2 m", "L1.walkers.leash_kind": "dynamic rope", "L1.backup": "other tree",
        "L1.backup_line": {"extra_length": "1 m", "stiffness": "60 kN"},
        "T1.trunk.0.girth": "280 cm", "T2.trunk.0.girth": "280 cm"}  # fmt: skip
HAMMOCK = {"L1.use": "hammock", "L1.standing": None, "L1.span.taped": "4 m", "T2.position.lon": 2.5 + 4.0 / 64_790.0,
           "L1.ground": None}  # fmt: skip
EQUIPMENT = {"L1.use": "aerial equipment", "L1.ground": None, "L1.backup": "other tree", "L1.a.tie_height": "3 m",
             "L1.b.tie_height": "3 m"}  # fmt: skip
NOT_LOOKED_AT = [
    ("power-line-unseen", {"L1.power_line": None}, "", 0.08),
    ("softer-signs-unseen", {"T1.softer_signs": None}, "T1", 0.22),
    ("softer-signs-unseen", {"T1.softer_signs.hollow_sound": "not looked"}, "T1", 0.05),
    ("clears-if-level", {"L1.ground": None, "L1.standing.tension": "5 kN"}, "", 0.2),
    ("ground-under-hammock-unsaid", HAMMOCK, "", 0.2),
    ("clears-equipment-if-level", EQUIPMENT, "", None),
    ("open-below-unsaid", HIGH, "", None),
]


@pytest.mark.parametrize("code, edits, at, share", NOT_LOOKED_AT)
def test_what_is_a_condition_where_nobody_looked_is_tried_too(code, edits, at, share):
    found = assess(record(edits)).lines[0]
    assert code in {one.code for one in (*found.findings, *(one for end in found.anchors for one in end.findings))}
    look = next(look for look in found.looks if look.thing == UNSEEN[code])
    assert look.at == at and (share is None or look.changes == pytest.approx(share))
    if share is not None:
        assert [look.thing for look in found.looks] == [UNSEEN[code]] and look.usual == "suits"


def test_every_condition_where_nobody_looked_is_tried_in_a_test():
    assert {code for code, *_ in NOT_LOOKED_AT} == set(UNSEEN)


def test_a_softer_sign_that_was_looked_for_keeps_its_answer_and_a_hollow_that_was_sounded_asks_for_no_sound():
    made = {"T1.softer_signs": {"thin_crown": "no", "toadstools": "yes"},
            "T1.hollow": {"height": "0.6 m", "sound_wall": "20 cm"}}
    found, tried = assess(record(made), remedies=False).lines[0], []

    def judge(changed):
        tried.append(changed.anchor("T1").softer_signs)
        return found

    looks_of(record(made), found, judge)
    assert len(tried) == 3 and {(one.thin_crown, one.toadstools, one.hollow_sound, one.loose_bark)
                                for one in tried} == {("no", "yes", "not looked", "no")}


def test_of_all_that_is_missing_the_likeliest_to_change_the_word_comes_first():
    edits = {"L1.power_line": None, "T2.softer_signs": None, "L1.ground": None, "L1.standing.tension": "5 kN"}
    looks = line("slope", **{path.replace(".", "__"): value for path, value in edits.items()}).looks
    first, *shares = [look.changes for look in looks]
    assert looks[0].thing == "slope" and first < max(shares)  # which alone takes "cannot say" away
    assert shares == sorted(shares, reverse=True)
    told = {look.thing: look.changes for look in looks}
    assert set(told) == {"slope", "power line", "softer signs", "ground under the line"}
    assert 0 < told["power line"] < told["ground under the line"] < told["softer signs"]
