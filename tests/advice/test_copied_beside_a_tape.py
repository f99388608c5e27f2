"""Trees outgrow inventories: a thinner number copied beside a tape costs what it would cost alone, and no more.

By the growth of trunks that is the usual case: 0.5 to 1.5 cm across a year (common practice, no source) is more than a
tape and a copied number may miss by (8 %) after four to eight years on a trunk of 50 cm.
"""

from __future__ import annotations

import math

import pytest
from drawn import drawn
from parks import record
from worse_pairs import judged as judged_line

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS

CODE = "copied-under-what-was-read"
TAPE = ("157 cm", "1.3 m", "taped")  # 50 cm across
# word of the end by the copied number alone, girth of it
BY_COPY = {"140 cm": "suits", "125 cm": "suits", "115 cm": "suits if", "95 cm": "suits if", "90 cm": "cannot say",
           "60 cm": "cannot say"}  # fmt: skip


@pytest.mark.parametrize("seed", range(8))
def test_of_drawn_records_a_copied_number_takes_the_worse_word_of_both(seed):
    made = drawn(seed)
    (tape,) = made["anchors"][0]["trunk"]
    tape["how"] = "taped"
    copied = tape | {"girth": f"{float(tape['girth'].removesuffix(' cm')) * 0.8:.1f} cm", "how": "copied"}
    words = []
    for trunk_read in ([tape], [copied], [tape, copied]):
        made["anchors"][0]["trunk"] = trunk_read
        words.append(VERDICTS.index(judged_line(made, remedies=False).anchors[0].verdict))
    assert words[2] == max(words[:2])


def trunk(*readings: tuple[str, str, str]) -> dict:
    return {"T1.trunk": [{"girth": girth, "read_at": at, "how": how} for girth, at, how in readings]}


def judged(*readings: tuple[str, str, str], **edits):
    """The first end; edits with `__` for a dot."""
    made = trunk(*readings) | {name.replace("__", "."): value for name, value in edits.items()}
    return assess(record(made), remedies=False).lines[0].anchors[0]


def effect_of(end) -> str | None:
    return next((one.effect for one in end.findings if one.code == CODE), None)


@pytest.mark.parametrize("girth, word", BY_COPY.items())
def test_an_old_number_beside_a_tape_leaves_the_word_that_it_has_alone(girth, word):
    copied = (girth, "1.3 m", "copied")
    tape, copy, both = judged(TAPE), judged(copied), judged(TAPE, copied)
    assert tape.verdict == "suits" and copy.verdict == word
    assert both.verdict == effect_of(both) == word
    assert both.hold_use == tape.hold_use and both.loads == tape.loads  # told, and not judged by


def test_it_is_told_where_it_costs_nothing_and_asked_for_where_it_costs():
    free, asked, stop = (next(one for one in judged(TAPE, (girth, "1.3 m", "copied")).findings if one.code == CODE)
                         for girth in ("140 cm", "115 cm", "90 cm"))  # fmt: skip
    assert dict(free.values)["copied"] == pytest.approx(1.40 / math.pi)
    assert asked.condition and stop.do_next and not stop.looked_at
    assert effect_of(judged(TAPE, ("150 cm", "1.3 m", "copied"))) is None  # within what both may miss


@pytest.mark.parametrize("pull", ["1 kN", "2 kN", "4 kN", "7 kN", "12 kN"])
def test_a_thinner_copy_is_never_kinder_and_none_is_kinder_than_no_copy(pull):
    tension = {"L1__standing__tension": pull}
    words = [judged(TAPE, (f"{girth} cm", "1.3 m", "copied"), **tension).verdict for girth in range(160, 50, -10)]
    ranks = [VERDICTS.index(word) for word in words]
    assert ranks == sorted(ranks)
    alone = judged(TAPE, **tension).verdict
    assert ranks[0] == VERDICTS.index(alone) and set(words) <= {alone, "suits if", "cannot say"}


def test_a_rejected_tape_stays_rejected_and_the_copy_says_no_more():
    """40 kN: too much for either size."""
    pull = {"L1__standing__tension": "40 kN"}
    tape, both = judged(TAPE, **pull), judged(TAPE, ("125 cm", "1.3 m", "copied"), **pull)
    assert tape.verdict == both.verdict == "leave it" and effect_of(both) == "cannot say"


@pytest.mark.parametrize("width, word", [("25 mm", "suits if"), ("30 mm", "suits if"), ("40 mm", "suits")])
def test_what_the_bark_bears_is_held_against_both_sizes(width, word):
    """One strand on bare bark: the same pull presses a thin trunk harder (pull / (radius x width))."""
    gear = {"L1__a__sling": {"wrap": "basket", "width": width, "link_distance": "1 m"}, "L1__a__padding": None,
            "L1__standing__tension": "1.5 kN"}  # fmt: skip
    tape, copy, both = (judged(*read, **gear) for read in ((TAPE,), (("110 cm", "1.3 m", "copied"),),
                                                           (TAPE, ("110 cm", "1.3 m", "copied"))))  # fmt: skip
    assert tape.hold_use < copy.hold_use < 0.5 and tape.care_use < 0.8
    assert effect_of(both) == word == ("suits if" if copy.care_use > 1 else "suits")
    assert both.care_use == tape.care_use


def test_what_both_sizes_ask_for_is_asked_for_once():
    """Nobody looked at the wetness of the soil: that is no matter of the trunk's size."""
    dry = judged(TAPE, ("125 cm", "1.3 m", "copied"), T1__ground__wetness="unknown")
    assert dry.verdict == "suits if" and effect_of(dry) == "suits"
    unseen = judged(TAPE, ("125 cm", "1.3 m", "copied"), T1__lean=None)
    assert unseen.verdict == "cannot say" and effect_of(unseen) == "suits"


def test_a_number_copied_for_several_stems_says_nothing_of_them():
    stems = {"T1__stems": "several", "T1__each_stem": [{"girth": "180 cm"}, {"girth": "190 cm"}]}
    assert effect_of(judged(("125 cm", "1.3 m", "copied"), **stems)) == "cannot say"


def test_a_line_nobody_bounces_on_is_held_against_both_sizes_too():
    """That nobody bounces is asked for by both, and the copy adds nothing to it."""
    walked = {"L1__walkers__movement": "walk only, no bouncing", "L1__standing__tension": "5 kN"}
    words = {girth: judged(TAPE, (girth, "1.3 m", "copied"), **walked) for girth in ("140 cm", "90 cm")}
    assert [effect_of(end) for end in words.values()] == ["suits", "cannot say"]


def test_a_sling_that_does_for_the_read_size_alone_is_told_with_the_word_that_it_gets():
    """The tape asks for 25 mm, the copied number for 50 mm: with 25 mm on the trunk it asks on."""
    both, copy_alone = (TAPE, ("110 cm", "1.3 m", "copied")), (("110 cm", "1.3 m", "copied"),)

    def asked(readings, width="20 mm"):
        gear = {"L1.a.sling.wrap": "basket", "L1.a.sling.width": width, "L1.standing.tension": "2.5 kN"}
        return assess(record(trunk(*readings) | gear)).lines[0].anchors[0]

    widths = {one: next(remedy for remedy in asked(one).remedies if remedy.field == "sling width")
              for one in ((TAPE,), copy_alone, both)}  # fmt: skip
    assert [one.value for one in widths.values()] == [0.025, 0.05, 0.025]
    assert [one.reaches for one in widths.values()] == ["suits", "suits", "suits if"]
    assert effect_of(asked(both)) == asked(both, "25 mm").verdict == "suits if"
    assert asked(both, "50 mm").verdict == "suits"


@pytest.mark.parametrize("pull", ["3 kN", "6 kN", "8 kN"])
@pytest.mark.parametrize("girth", ["142 cm", "138 cm", "134 cm", "130 cm"])
@pytest.mark.parametrize("how", ["estimated", "unknown"])
def test_a_guess_in_place_of_the_tape_explains_no_copied_number_away(pull, girth, how):
    """12 % thinner is more than a tape may miss by, and less than a guess may: the guess was told "suits"."""
    tension, copied = {"L1__standing__tension": pull}, (girth, "1.3 m", "copied")
    taped, guessed = (judged((*TAPE[:2], by), copied, **tension) for by in ("taped", how))
    assert VERDICTS.index(guessed.verdict) >= VERDICTS.index(taped.verdict)
    assert effect_of(guessed) is not None


def test_the_line_comes_down_in_the_lesser_gust_of_both_trunks():
    """Which of both trunks it is nobody knows, and the thinner one bends first."""
    copied = ("112 cm", "1.3 m", "copied")
    tape, copy, both = judged(TAPE), judged(copied), judged(TAPE, copied)
    assert copy.take_down_wind_m_s < tape.take_down_wind_m_s
    assert both.take_down_wind_m_s == copy.take_down_wind_m_s
    assert {dict(one.values)["gust"] for one in both.findings if "gust" in dict(one.values)} == {
        copy.take_down_wind_m_s}  # fmt: skip
