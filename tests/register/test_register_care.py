"""Care log in figures, the rota, what is due and its calendar."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteassess.errors import FaultyInput, StoreError
from siteassess.papers.ical import calendar
from siteassess.register import actions, care, reasons
from siteassess.register.due import Due, due
from siteassess.register.reasons import reason, sentence
from siteassess.register.rota import rota

DAY = datetime.date


@pytest.mark.parametrize(
    ("body", "hours", "load_hours"),
    [
        ({"hours": "3 h", "pull": "2.8 kN"}, 3.0, 8.4),
        ({"hours": "90 min", "pull": "2 kN"}, 1.5, 3.0),
        ({"start": "10:00", "end": "13:30", "pull": "1000 N"}, 3.5, 3.5),
        ({"start": "22:00", "end": "01:00", "pull": "2 kN"}, 3.0, 6.0),
        ({"hours": "3 h"}, 3.0, None),
        ({"pull": "2.8 kN"}, None, None),
        ({"start": "10:00", "end": "10:00", "pull": "2 kN"}, None, None),
        ({"hours": "3 h", "pull": "0 N"}, 3.0, 0.0),
        ({"hours": "1 h", "pull": "200 lbf"}, 1.0, 0.88964),
    ],
)
def test_load_hours_are_pull_times_time_and_unknown_stays_unknown(body, hours, load_hours):
    """200 lbf = 889.64 N by 1 lbf = 4.4482216152605 N (NIST SP 811, as in units)."""
    body = {"what": "use", **body}
    assert care.entry_hours(body) == (None if hours is None else pytest.approx(hours))
    assert care.entry_load_hours(body) == (None if load_hours is None else pytest.approx(load_hours, rel=1e-4))


def test_a_use_of_unknown_pull_is_counted_apart_and_never_as_nothing(group):
    tree = group["anchor T01"]
    group.log(tree, what="use", hours="2 h", pull="3 kN")
    group.log(tree, what="use", hours="5 h")
    use = care.use_of([group.store.subject(tree)], None, DAY(2026, 5, 3))
    assert (use.uses, use.uses_unknown, use.hours, use.load_hours_kn_h) == (2, 1, 7.0, 6.0)


def test_a_correction_counts_once_and_a_struck_out_use_not_at_all(group):
    tree = group["anchor T01"]
    wrong = group.log(tree, what="use", hours="20 h", pull="3 kN")
    void = group.log(tree, what="use", hours="9 h", pull="9 kN")
    group.do(actions.correct, wrong.name, body={"what": "use", "date": "2026-05-02", "hours": "2 h", "pull": "3 kN"})
    group.do(actions.correct, void.name)
    use = care.use_of([group.store.subject(tree)], None, DAY(2026, 5, 3))
    assert (use.uses, use.load_hours_kn_h) == (1, 6.0)
    rows = group.store.db.execute("SELECT load_hours_kn_h, void FROM care_log ORDER BY id").fetchall()
    assert rows[0] == (6.0, 0) and rows[1][1] == 1


def test_clock_times_and_hours_together_are_refused(group):
    with pytest.raises(FaultyInput, match="one of the two"):
        group.log(group["anchor T01"], what="use", hours="2 h", start="10:00", end="12:00")


@given(st.floats(0.1, 50), st.floats(0.1, 24), st.integers(0, 700), st.sampled_from(list(care.WETNESS_WEIGHT)))
def test_more_pull_more_time_wetter_and_fresher_never_count_less(pull, hours, age, wetness):
    on = DAY(2026, 7, 1)

    def weight(wet, days):
        return care._weight({"wetness": wet}, on - datetime.timedelta(days=days), on, False)

    assert weight(wetness, age) >= weight("dry", age) > 0
    # whole half years apart, so that the season is the same
    assert weight(wetness, 0) >= weight(wetness, 365)
    less = care.entry_load_hours({"what": "use", "hours": f"{hours:.4f} h", "pull": f"{pull:.4f} kN"})
    more = care.entry_load_hours({"what": "use", "hours": f"{hours + 1:.4f} h", "pull": f"{pull + 1:.4f} kN"})
    assert more > less


def test_the_growing_months_turn_round_in_the_south():
    on = DAY(2026, 12, 15)
    assert care._weight({"wetness": "dry"}, on, on, True) == care.GROWING_WEIGHT
    assert care._weight({"wetness": "dry"}, on, on, False) == 1.0


@pytest.fixture
def two_lines(group):
    for line in ("line L1", "line L2"):
        group.activate(line)
    return group


def _order(group, on=None, **kwargs):
    return [(turn.label, turn.advice) for turn in rota(group.store, group["site"], on or group.today, **kwargs).turns]


def test_the_less_used_line_is_next(two_lines):
    group = two_lines
    group.log(group["anchor T01"], what="use", hours="5 h", pull="3 kN", date="2026-04-28")
    assert _order(group) == [("L2", "next"), ("L1", "next")]
    group.log(group["anchor T03"], what="use", hours="9 h", pull="3 kN", date="2026-04-28")
    assert _order(group) == [("L1", "next"), ("L2", "next")]


def test_wet_ground_waits_where_it_is_soft(two_lines):
    # T01 stands on loam, T02 and T03 on sand
    assert _order(two_lines, wetness="wet") == [("L2", "next"), ("L1", "wait")]


def test_a_resting_tree_and_a_due_review_are_not_now(two_lines):
    group = two_lines
    group.log(group["anchor T03"], what="rest", date="2026-04-20", until="2026-06-01")
    assert _order(group)[-1] == ("L2", "not now")
    group.log(group["anchor T01"], what="event", event="storm", date="2026-04-30")
    assert dict(_order(group)) == {"L1": "not now", "L2": "not now"}


def test_a_rest_without_an_end_lasts_until_somebody_reopens(two_lines):
    group = two_lines
    group.log(group["anchor T03"], what="rest", date="2026-04-20")
    (turn,) = [t for t in rota(group.store, group["site"], group.today).turns if t.label == "L2"]
    assert turn.advice == "not now" and reason("rest-open", part="T03") in turn.reasons
    group.log(group["anchor T03"], what="event", event="reopened", date="2026-04-28")
    assert dict(_order(group)) == {"L1": "next", "L2": "next"}
    group.log(group["anchor T03"], what="rest", date="2026-04-29", until="2026-05-01")
    assert dict(_order(group))["L2"] == "not now"
    assert _order(group, on=DAY(2026, 5, 2))[0] == ("L1", "next")


def test_a_line_whose_use_cannot_be_counted_comes_last(two_lines):
    group = two_lines
    group.log(group["anchor T01"], what="use", hours="1 h", date="2026-04-28")
    group.log(group["anchor T03"], what="use", hours="9 h", pull="9 kN", date="2026-04-28")
    turns = rota(group.store, group["site"], group.today).turns
    assert [turn.label for turn in turns] == ["L2", "L1"] and turns[1].reasons[0] == reason("uses-uncounted", count=1)


def test_shares_add_up_and_the_note_is_there(two_lines):
    group = two_lines
    for tree, hours in (("T01", "1 h"), ("T02", "2 h"), ("T03", "3 h")):
        group.log(group[f"anchor {tree}"], what="use", hours=hours, pull="2 kN", date="2026-04-28")
    found = rota(group.store, group["site"], group.today)
    assert [share for _, _, share in found.uses] == pytest.approx([1 / 6, 2 / 6, 3 / 6])
    assert "no threshold of harm is known" in sentence(found.note)


def test_what_is_due_is_listed_with_its_day(two_lines):
    group = two_lines
    group.log(
        group["anchor T02"],
        what="inspection",
        inspector="Dee",
        standing="qualified arborist",
        qualification="no. 7",
        finding="dead limb",
        action="take it down",
        action_due="2026-05-20",
        next_due="2027-04-01",
        date="2026-05-01",
    )
    group.log(group["anchor T03"], what="rest", date="2026-05-01", until="2026-06-15")
    group.move(group["line L1"], "closed for a season", until=DAY(2026, 6, 30))
    found = {(item.date, item.says, item.label) for item in due(group.store, group.today, 700)}
    assert {
        ("2026-05-20", "action", "T02"),
        ("2027-04-01", "inspection", "T02"),
        ("2026-06-15", "rest ends", "T03"),
        ("2026-06-30", "'closed for a season' ends", "L1"),
        ("2026-12-31", "group's mark ends", "Larchmere Green"),
    } <= found
    near = {item.says for item in due(group.store, group.today, 30)}
    assert near == {"action"}


def test_the_order_of_what_is_due_hangs_on_no_wording(two_lines, monkeypatch):
    group, code = two_lines, "anchor T02"
    by_arborist = {"inspector": "Dee", "standing": "qualified arborist", "qualification": "no. 7", "finding": "sound"}
    group.log(group[code], what="rest", date="2026-05-01", until="2026-06-15")
    group.log(group[code], what="inspection", **by_arborist, action="mats", action_due="2026-06-15",
              next_due="2026-06-15", date="2026-05-01")  # fmt: skip
    group.move(group["line L1"], "closed for a season", until=DAY(2026, 6, 15))
    usual = [item.what.code for item in due(group.store, group.today, 700)]
    assert {"due-action", "due-inspection", "due-rest-ends", "due-status-ends"} <= set(usual)
    for letters in ("abcdefghijklmnopqrstuvwxyz", "zyxwvutsrqponmlkjihgfedcba"):
        turned = str.maketrans("abcdefghijklmnopqrstuvwxyz", letters)
        monkeypatch.setattr(reasons, "filled", lambda text, *_, turned=turned: text.translate(turned))
        assert [item.what.code for item in due(group.store, group.today, 700)] == usual


def test_a_later_inspection_says_when_the_next_is_due(group):
    said = {"what": "inspection", "inspector": "Dee", "standing": "tree officer", "finding": "sound"}
    group.log(group["anchor T02"], **said, date="2026-02-01", next_due="2026-05-10")
    group.log(group["anchor T02"], **said, date="2026-05-01", next_due="2026-08-01")
    assert {item.date for item in due(group.store, group.today, 365) if "look" in item.says} == {"2026-08-01"}


def test_no_look_of_others_takes_the_place_of_an_arborists_next_inspection(group):
    said = {"what": "inspection", "inspector": "Dee", "finding": "sound"}
    by_arborist = said | {"standing": "qualified arborist", "qualification": "no. 7"}
    group.log(group["anchor T02"], **by_arborist, date="2026-02-01", next_due="2026-06-01")
    group.log(group["anchor T02"], **said, standing="tree officer", date="2026-05-01")
    told = {(item.date, item.what.code) for item in due(group.store, group.today, 365)}
    assert ("2026-06-01", "due-inspection") in told and "due-look" not in {code for _, code in told}
    group.log(group["anchor T02"], **by_arborist, date="2026-05-02", next_due="2026-09-01")
    told = {(item.date, item.what.code) for item in due(group.store, group.today, 365)}
    assert {date for date, code in told if code == "due-inspection"} == {"2026-09-01"}


def test_reviews_second_looks_and_conflicts_are_due(two_lines):
    group = two_lines
    group.log(group["site"], what="event", event="storm", date="2026-04-30")
    found = due(group.store, group.today, 0)
    assert {(item.says, item.label, item.date) for item in found} == {
        ("review", "L1", "2026-04-30"),
        ("review", "L2", "2026-04-30"),
    }
    assert "storm" in found[0].reason


def test_what_is_withdrawn_is_not_due(two_lines):
    two_lines.move(two_lines["line L1"], "withdrawn")
    two_lines.log(two_lines["site"], what="event", event="storm", date="2026-04-30")
    assert {item.label for item in due(two_lines.store, two_lines.today, 0)} == {"L2"}


@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=120))
def test_calendar_lines_fold_before_76_octets_and_cut_no_character(text):
    item = Due("2026-05-01", reason("due-action"), "anchor", "T01", "Larchmere Green", "a" * 64, wrote=text)
    raw = calendar([item], datetime.datetime(2026, 5, 1, tzinfo=datetime.UTC), text).encode()
    for line in raw.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()
    assert b"\n" not in raw.replace(b"\r\n", b"") and b"\r" not in raw.replace(b"\r\n", b"")


def test_an_event_keeps_its_name_when_its_day_moves():
    stamp, review = datetime.datetime(2026, 5, 1, tzinfo=datetime.UTC), reason("due-review")
    names = {
        next(
            line
            for line in calendar([Due(day, review, "line", "L1", "Green", "a" * 64)], stamp, "x").split("\r\n")
            if line.startswith("UID")
        )
        for day in ("2026-05-01", "2026-06-01")
    }
    assert len(names) == 1


def test_a_log_entry_may_only_name_photos_that_are_here(group):
    with pytest.raises(StoreError, match="not in the register"):
        group.log(group["anchor T01"], what="marks", photos={"before": ["0" * 64]})
