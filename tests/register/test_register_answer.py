"""No copy in any format lets a place be taken for open that is not: status, both marks and the day must agree."""

from __future__ import annotations

import datetime
import re
import sqlite3

import pytest

from siteassess.papers.copy_page import copy_page
from siteassess.register import actions, answer, csvw, map_files
from siteassess.register.fold import Subject
from siteassess.register.intact import Doubts
from siteassess.register.moves import STATUSES
from siteassess.register.share import make_copy
from siteassess.register.standing import Around, HowItStands, MarkNow

LATER, EARLIER = datetime.date(2027, 1, 1), datetime.date(2025, 12, 31)


def _line(group, layer="members", on=None, code="L1"):
    copied = make_copy(group.store, layer, on or group.today)
    return copied, next(feature for feature in copied.features if feature.code == code)


def _boxed(page, code):
    start = f'<td data-label="Code">{code}</td>'
    row = next(row for row in re.findall("<tr[^>]*>(.*?)</tr>", page) if row.startswith(start))
    return re.findall('<span class="stop">(.*?)</span>', row)


@pytest.mark.parametrize("status", STATUSES)
@pytest.mark.parametrize("missing", [(), ("group",), ("owner",), ("group", "owner")])
def test_only_an_open_line_with_both_marks_may_be_rigged(status, missing, monkeypatch):
    class Given:
        body = {"given": True}

    marks = {
        by: MarkNow(by) if by in missing else MarkNow(by, (Given(),), False, "2026-12-31", "2026-01-01")
        for by in ("group", "owner")
    }
    now = HowItStands(status, status, (), (), marks, "2026-12-31")
    monkeypatch.setattr(answer, "standing", lambda *_: now)
    nobody = Around(lambda name: None, lambda name: ())
    for kind in ("site", "anchor", "line"):
        for day, within in ((datetime.date(2026, 12, 31), True), (LATER, False), (EARLIER, False)):
            found = answer.answer(Subject("x", kind), nobody, day, Doubts())
            may = kind == "line" and status in ("approved with conditions", "active") and not missing and within
            assert found.word == ("yes with conditions" if may else "no")
            # a clock that is behind can judge no last day
            behind = Doubts((), ("e" * 64,), "2027-01-01T00:00:00.000000Z", True)
            assert answer.answer(Subject("x", kind), nobody, day, behind).word == "no"


def test_a_second_look_without_any_mark_is_boxed_and_said_to_be_closed(group):
    group.move(group["line L1"], "surveyed")
    group.move(group["line L1"], "second look", "Ben")
    group.move(group["anchor T02"], "surveyed")
    copied, line = _line(group)
    assert (line.may_rig_now, line.group_mark, line.owner_mark) == ("no", "missing", "missing")
    page = copy_page(copied)
    assert _boxed(page, "L1") == ["no", "second look"] and _boxed(page, "T02") == ["no", "surveyed"]
    assert not re.search(r"(?<!>)(second look|surveyed)</td>", page)


def test_an_open_line_is_unboxed_with_its_marks_and_every_condition(group):
    for by in ("group", "owner"):
        group.mark(group["site"], by, conditions=f"asked by the {by}")
    group.mark(group["anchor T01"], "group", conditions="wide slings only")
    group.move(group["line L1"], "surveyed")
    group.move(group["line L1"], "second look", "Ben")
    group.move(group["line L1"], "approved with conditions", "Ben", conditions="low tension")
    group.move(group["line L1"], "active", "Ben")
    copied, line = _line(group)
    # neither longer than the marks hold nor longer than the copy does
    assert "no later than 2026-07-30" in line.may_rig_why
    longer = make_copy(group.store, "members", group.today, copy_days=900).features
    assert "no later than 2026-12-31" in next(f for f in longer if f.code == "L1").may_rig_why
    assert line.may_rig_now == "yes with conditions" and line.group_mark == "in force until 2026-12-31"
    # opening it for the season did not lift what the approval asked for
    for condition in ("asked by the group", "asked by the owner", "T01: wide slings only", "low tension"):
        assert condition in line.conditions
    page = copy_page(copied)
    assert _boxed(page, "L1") == [] and "Owner&#39;s mark" in page and "low tension" in page
    # an anchor is never leave by itself
    assert all(f.may_rig_now == "no" for f in copied.features if f.kind != "line")
    # L2 hangs on the same tree and was never looked at
    assert _boxed(page, "L2") == ["no", "draft"]


def test_a_mark_that_ran_out_closes_it_in_every_format(group, tmp_path):
    group.activate()
    copied, line = _line(group, on=LATER)
    assert line.may_rig_now == "no" and "ran out on 2026-12-31" in line.owner_mark
    assert _boxed(copy_page(copied), "L1")[0] == "no"
    (tmp_path / "copy.gpkg").write_bytes(map_files.write_package(copied))
    db = sqlite3.connect(tmp_path / "copy.gpkg")
    assert {row[0] for row in db.execute("SELECT may_rig_now FROM lines")} == {"no"}
    db.close()
    for text in (map_files.geojson(copied), map_files.kml(copied), map_files.gpx(copied), csvw.write(copied)):
        assert "yes with conditions" not in text and "ran out on 2026-12-31" in text
    for text in (map_files.geojson(copied), map_files.kml(copied), map_files.gpx(copied)):
        # a map program shows this sentence first
        assert text.count("May rig now: no (") == len(copied.features)


def test_each_format_says_yes_only_for_the_open_line(group):
    group.activate()
    copied, _ = _line(group)
    for text in (map_files.geojson(copied), map_files.kml(copied), map_files.gpx(copied)):
        assert text.count("May rig now: yes with conditions (as of 2026-05-01") == 1
    assert csvw.write(copied).count("yes with conditions") == 1
    assert "yes with conditions" not in map_files.geojson(make_copy(group.store, "public", group.today))


def test_a_condition_that_may_not_be_shown_is_not_hidden(group):
    group.activate()
    group.mark(group["line L1"], "group", conditions="ring 0170 765 43 21 before")
    _, line = _line(group)
    assert "0170" not in line.conditions and "kept by the group's officers" in line.conditions


def test_a_package_written_before_the_new_columns_is_still_read(group, tmp_path):
    copied, _ = _line(group)
    path = tmp_path / "copy.gpkg"
    path.write_bytes(map_files.write_package(copied))
    db = sqlite3.connect(path)
    for column in ("may_rig_now", "may_rig_why", "group_mark", "owner_mark"):
        db.execute(f"ALTER TABLE lines DROP COLUMN {column}")
    db.commit()
    db.close()
    assert len(map_files.read_package(path).features) == len(copied.features)


def test_leave_of_another_group_is_none_here(group):
    group.activate()
    copied, _ = _line(group)
    back = map_files.from_geojson(map_files.geojson(copied), "x")
    assert {feature.may_rig_now for feature in back.features} == {"no"}


def test_a_later_approval_stands_by_its_own_conditions(group):
    for by in ("group", "owner"):
        group.mark(group["site"], by)
    line = group["line L1"]
    for word, who, said in (
        ("surveyed", "Ada", None),
        ("second look", "Ben", None),
        ("approved with conditions", "Ben", "old"),
        ("review due", "Ben", None),
        ("second look", "Ben", None),
        ("approved with conditions", "Ben", "new"),
        ("active", "Ben", None),
    ):
        group.do(actions.move, line, word, who=who, on=group.today, conditions=said)
    assert _line(group)[1].conditions == "new"
