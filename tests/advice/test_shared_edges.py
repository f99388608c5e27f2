"""What lines share, what roots and year they meet, and what two fields of a record may not say together."""

from __future__ import annotations

import calendar
import datetime
import math
from types import SimpleNamespace

import pytest
from parks import data, record

from siteassess.advice import season
from siteassess.advice.geometry import Places
from siteassess.advice.line_setting import LineSetting, settings_of
from siteassess.advice.rootzone_plan import root_zone_plan, root_zone_radius
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.records.agreement import likelier
from siteassess.records.anchor import Tree
from siteassess.reference.findings import said

DAY, LATER = datetime.date(2026, 4, 20), datetime.date(2026, 6, 7)


def lines(*planned: dict | None, on: datetime.date | None = None, **second) -> list[LineSetting]:
    """Lines from T1 to T2 on the days and hours planned for each."""
    made = record({"lines": [{**data()["lines"][0], "id": f"L{number}", "planned": one}
                             for number, one in enumerate(planned, 1)]} | second)  # fmt: skip
    return settings_of(made, Places(made), on)


# ---- lines on one anchor


def test_a_day_is_chosen_by_who_asks_or_plans():
    day = {"date": DAY.isoformat(), "attended": "always"}
    for planned, on, chosen in ((day, None, True), (None, LATER, True), (None, None, False),
                                ({"attended": "always"}, None, False), (day, LATER, True)):  # fmt: skip
        (setting,) = lines(planned, on=on)
        assert setting.has_day is chosen
        assert setting.on == (on or (DAY if planned == day else datetime.date(2026, 4, 18)))


def test_lines_that_may_hang_at_once_are_added_and_those_at_other_hours_come_down_first():
    day = {"date": DAY.isoformat(), "attended": "always"}
    hours = [day | {"start": f"{up}:00", "end": f"{up + 2}:00"} for up in (12, 14, 13)]
    other_day = {"date": LATER.isoformat(), "attended": "always"}
    first, second, third, fourth = lines(*hours, other_day)
    assert [name for name, *_ in first.beside("T1")] == ["L3"] == [name for name, *_ in first.beside("T2")]
    assert [name for name, *_ in third.beside("T1")] == ["L1", "L2"] and fourth.beside("T1") == []
    assert first.beside("T9") == []
    asked = {setting.line.id: [dict(one.values)["lines"] for one in setting.one_after_the_other()]
             for setting in (first, second, third, fourth)}  # fmt: skip
    assert asked == {"L1": [("L2",)], "L2": [("L1",)], "L3": [], "L4": []}


def test_a_line_on_other_trees_is_nothing_to_this_one():
    day = {"date": DAY.isoformat(), "attended": "always"}
    trees = [tree | {"code": tree["code"] + mark, "tag": f"X{lat}", "position": tree["position"] | {"lat": lat}}
             for mark, lat in (("", 54.5), ("b", 54.6)) for tree in data()["anchors"]]  # fmt: skip
    made = record({"anchors": trees,
                   "lines": [{**data()["lines"][0], "planned": day | {"start": "08:00", "end": "10:00"}},
                             {**data()["lines"][0], "id": "L2", "planned": day | {"start": "11:00", "end": "12:00"},
                              "a": {"anchor": "T1b"}, "b": {"anchor": "T2b"}}]})  # fmt: skip
    first, _ = settings_of(made, Places(made), None)
    assert first.beside("T1") == [] == first.one_after_the_other()


# ---- the year


@pytest.mark.parametrize("quiet, told", [
    ((11, 12, 1, 2, 3), ("November", "March")), ((1, 2), ("January", "February")), ((12, 1), ("December", "January")),
    ((6,), ("June", "June")), ((1,), ("January", "January")), ((12,), ("December", "December")),
    ((4, 5, 6, 7, 8, 9, 10, 11, 12), ("April", "December")), ((), ()), (tuple(range(1, 13)), ()), ((1, 2, 6, 7), ()),
])  # fmt: skip
def test_the_dormant_months_are_one_run_that_may_pass_the_new_year(monkeypatch, quiet, told):
    bar = [{"growing": month not in quiet} for month in range(1, 13)]
    monkeypatch.setattr(season, "season_bar", lambda *of: bar)
    oak = tree_inputs(record().anchor("T1"), 1.2, 54.5)
    assert season.dormant_months(oak) == told and set(told) <= set(calendar.month_name)


@pytest.mark.parametrize("quiet, closed, told", [
    ((10, 11, 12, 1), (), "October to January"), ((10, 11, 12, 1), (10,), "November to January"),
    ((10, 11, 12, 1), (12, 1), "October to November"), ((10, 11, 12, 1), (10, 11, 12), "January"),
    ((10, 11, 12, 1), (11,), "October, December and January"), ((10, 11, 12, 1), (10, 11, 12, 1), None),
    ((1, 2, 6, 7), (), None), ((), (), None),
])  # fmt: skip
def test_the_months_left_to_wait_for_are_told_as_one_run_or_one_by_one(monkeypatch, quiet, closed, told):
    monkeypatch.setattr(season, "season_bar", lambda *of: [{"growing": month not in quiet} for month in range(1, 13)])
    made = record()
    left = season.rest_told(tree_inputs(made.anchor("T1"), 1.2, 54.5), made.site, closed)
    assert [one.in_words() for one in left] == ([f" ({told})"] if told else [])


@pytest.mark.parametrize("climate_told, alike, genus, latitude, known", [
    (True, False, "Quercus robur", 54.5, True), (False, True, "Quercus robur", 54.5, True),
    (False, False, "Quercus robur", 54.5, False), (True, True, None, 54.5, False),
    (True, True, "Quercus robur", math.nan, False), (True, True, "Quercus robur", 5.0, False),
])  # fmt: skip
def test_a_year_is_known_by_kind_and_half_of_the_earth_where_the_climate_is_told_or_changes_nothing(
        monkeypatch, climate_told, alike, genus, latitude, known):  # fmt: skip
    monkeypatch.setattr(season, "tells_a_climate", lambda site: climate_told)
    monkeypatch.setattr(season, "climate_of", lambda site: "warm")
    monkeypatch.setattr(season, "_grows", lambda first, last, genus, side, climate: alike or climate == "temperate")
    monkeypatch.setattr(season, "season_bar", lambda *of: [{"growing": False}] * 12)
    made = record({"T1.species": {"name": genus, "certainty": "sure"} if genus else None})
    assert season.season_plan(DAY, tree_inputs(made.anchor("T1"), 1.2, latitude), made.site).known is known


# ---- the root zone


def several(*girths: str) -> Tree:
    return record({"T1.stems": "several", "T1.each_stem": [{"girth": one} for one in girths]}).anchor("T1")


def test_several_stems_have_the_root_zone_of_one_with_the_wood_of_all():
    """BS 5837: of two to five stems the root of the sum of squares, and twelve diameters for the radius."""
    stems = (0.3, 0.4)
    oak = tree_inputs(record().anchor("T1"), 1.2, 54.5)  # 60 cm thick
    assert root_zone_radius(oak, "BS 5837", stems) == pytest.approx(12 * 0.5)
    for one in ((), (0.3,)):  # one that is listed is the trunk that was read
        assert root_zone_radius(oak, "BS 5837", one) == pytest.approx(12 * 0.6, rel=1e-3)
    told = root_zone_plan(oak, several("94.2 cm", "125.7 cm"), "BS 5837", 20.0)
    assert told.radius_m == pytest.approx(6.0, rel=1e-3) and told.area_m2 == pytest.approx(math.pi * 36, rel=1e-3)
    assert "stems-stand-for-one" in [one.code for one in told.told]
    single = root_zone_plan(oak, several("94.2 cm"), "BS 5837", 20.0)
    assert single.structural_radius_m > told.structural_radius_m
    assert "measure-each-stem" in [one.code for one in single.told]
    unread = record({"T1.trunk": []}).anchor("T1")
    bare = root_zone_plan(tree_inputs(unread, 1.2), unread, "BS 5837", 20.0)
    assert bare.radius_m is None is bare.area_m2


def test_the_ground_under_half_a_line_is_told_as_a_share_of_the_zone():
    """By hand: a strip two half widths wide from the trunk out, as far as the zone or half the span reaches."""
    oak, tree = tree_inputs(record().anchor("T1"), 1.2, 54.5), record().anchor("T1")
    short, mid, long = (root_zone_plan(oak, tree, "BS 5837", span) for span in (4.0, 8.0, 60.0))
    assert mid.under_line_m2 == pytest.approx(2 * short.under_line_m2, rel=0.01)
    assert long.under_line_m2 > mid.under_line_m2
    assert mid.under_line_share == pytest.approx(mid.under_line_m2 / mid.area_m2)
    codes = [[one.code for one in plan.told] for plan in (short, long)]
    assert "zone-past-the-middle" in codes[0] and "zone-under-the-line" in codes[1]
    unspanned = root_zone_plan(oak, tree, "BS 5837", None)
    assert unspanned.under_line_share is None and not {"zone-past-the-middle", "zone-under-the-line"} & {
        one.code for one in unspanned.told}  # fmt: skip


# ---- what a refused size more likely was


def test_a_slip_that_explains_a_refused_size_is_told_and_nothing_where_none_does():
    slip = SimpleNamespace(slip=said("mend-year"), meant=said("mend-trial-day"), others=(), then=None)
    assert likelier(None) == likelier(SimpleNamespace(**vars(slip) | {"slip": None})) == ""
    assert likelier(SimpleNamespace(**vars(slip) | {"meant": None})) == ""
    plain, of = likelier(slip), likelier(slip, said("mend-plan-day"))
    assert plain and len(of) > len(plain) and said("mend-plan-day").in_words() in of
    then = likelier(SimpleNamespace(**vars(slip) | {"then": said("mend-add-it")}))
    both = {"others": (said("mend-two-places"),), "then": said("mend-add-it")}
    others = likelier(SimpleNamespace(**vars(slip) | both))
    assert said("mend-add-it").in_words() in then and said("mend-add-it").in_words() not in others
    assert said("mend-two-places").in_words() in others
