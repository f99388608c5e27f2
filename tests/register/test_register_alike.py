"""Parks and lines that two groups list twice are proposed as trunks are; girths carry the day they were read."""

from __future__ import annotations

import copy

import pytest

from siteassess.papers.register_text import show_text
from siteassess.register import actions
from siteassess.register.alike import GIRTH_SHARE, GROWTH_M_A_YEAR, SAME_NAME_LIMIT_M, alike, proposals
from siteassess.register.girths import girth_over_years
from siteassess.register.listing import details
from siteassess.register.merge import merge_store


def pairs(group):
    """What is proposed, as (kind, the two labels)."""
    found = alike(group.store, proposals(group.store))
    assert all(p.reasons for p in found)
    return sorted((p.kind, *sorted(p.labels)) for p in found)


def merged(new_group, park, change):
    a = new_group("a")
    other = copy.deepcopy(park)
    change(other)
    b = new_group("b", other)
    merge_store(a.store, b.store)
    return a, b


def renamed(record):
    record["site"]["name"] = "The Green"
    for line in record["lines"]:
        line["id"] = line["id"].replace("L", "X")


def test_the_same_park_under_two_names_and_its_lines(new_group, park):
    a, b = merged(new_group, park, renamed)
    assert pairs(a) == [
        ("line", "Larchmere Green/L1", "The Green/X1"),
        ("line", "Larchmere Green/L2", "The Green/X2"),
        ("site", "Larchmere Green", "The Green"),
    ]
    assert a.store.db.execute("SELECT count(*) FROM joins").fetchone() == (0,)
    a.do(actions.join, a["site"], b["site"])
    a.do(actions.join, a["line L1"], b["line X1"], finding="not the same")
    assert pairs(a) == [("line", "Larchmere Green/L2", "The Green/X2")]


def test_lines_stay_proposed_once_their_trunks_are_joined(new_group, park):
    a, b = merged(new_group, park, renamed)
    for code in ("T01", "T02"):
        a.do(actions.join, a[f"anchor {code}"], b[f"anchor {code}"])
    assert ("line", "Larchmere Green/L1", "The Green/X1") in pairs(a)


@pytest.mark.parametrize(("share", "proposed"), [(0.9, 1), (1.1, 0)])
def test_one_name_far_apart_is_two_parks(new_group, park, share, proposed):
    def moved(record):
        for anchor in record["anchors"]:
            anchor["position"]["fixes"][0]["lat"] += share * SAME_NAME_LIMIT_M / 111_200

    a, _ = merged(new_group, park, moved)
    assert pairs(a) == proposed * [("site", "Larchmere Green", "Larchmere Green")]


def test_lines_that_share_one_end_alone_are_two(new_group, park):
    def change(record):
        renamed(record)
        record["lines"] = [{"id": "X1", "use": "low line", "a": {"anchor": "T01"}, "b": {"anchor": "T03"}}]

    a, _ = merged(new_group, park, change)
    assert [pair for pair in pairs(a) if pair[0] == "line"] == []


def test_two_parks_that_share_nothing_are_not_proposed(new_group, park):
    def change(record):
        renamed(record)
        for anchor in record["anchors"]:
            anchor["position"]["fixes"][0]["lat"] += 1

    a, _ = merged(new_group, park, change)
    assert pairs(a) == []


def test_girths_over_the_years_carry_the_day_they_were_read(group, park):
    for day, girth in (("2028-05-02", "186 cm"), ("2028-05-02", "186 cm"), ("2030-04-30", "186 cm")):
        record = copy.deepcopy(park)
        record["survey"]["date"] = day
        record["anchors"][0]["trunk"][0]["girth"] = girth
        group.do(actions.add_record, record)
    read = girth_over_years(group.store.events(group["anchor T01"]))
    assert [(r.day, r.girth_m, r.read_at_m) for r in read] == [
        ("2026-04-18", 1.80, 1.3),
        ("2028-05-02", 1.86, 1.3),
        ("2030-04-30", 1.86, 1.3),
    ]
    found = details(group.store, group["anchor T01"], group.today)
    assert [girth.day for girth in found.girths] == ["2026-04-18", "2028-05-02", "2030-04-30"]
    assert "girth read: 1.86 m at 1.30 m on 2030-04-30" in show_text(found)


def test_a_girth_without_a_day_says_so(new_group, park):
    del park["survey"]
    group = new_group("undated", park)
    found = details(group.store, group["anchor T01"], group.today)
    assert found.girths[0].day is None
    assert any(text.startswith("girth read") and "not written down" in text for text in show_text(found))


@pytest.mark.parametrize(
    ("later", "day", "proposed"),
    [
        (1.80 / (1 - GIRTH_SHARE) + 0.05, "2026-04-18", False),
        # six years on, the same reading is growth: up to 18 cm more
        (1.80 / (1 - GIRTH_SHARE) + 0.05, "2032-04-18", True),
        (1.80 / (1 - GIRTH_SHARE) + 0.05 + 6 * GROWTH_M_A_YEAR, "2032-04-18", False),
        # a trunk does not shrink by growing
        (1.80 * (1 - GIRTH_SHARE) - 0.05, "2032-04-18", False),
    ],
)
def test_a_trunk_grows_between_two_surveys(new_group, park, later, day, proposed):
    def change(record):
        record["site"]["name"] = "The Green"
        record["survey"]["date"] = day
        record["anchors"], record["lines"] = [record["anchors"][0]], []
        record["anchors"][0]["trunk"][0]["girth"] = f"{later:.3f} m"

    a, _ = merged(new_group, park, change)
    assert len(proposals(a.store)) == proposed


LOW, HIGH, TOP = ({"girth": "180 cm", "read_at": at} for at in ("0.3 m", "1.3 m", "0.5 m"))
STEMS = [{"girth": "90 cm"}, {"girth": "60 cm"}]
SEVERAL = {"stems": "several", "each_stem": STEMS}


@pytest.mark.parametrize(
    ("here", "there", "compared"),
    [
        ({"trunk": [HIGH]}, {"trunk": [TOP | {"girth": "340 cm"}]}, True),
        ({"trunk": [LOW]}, {"trunk": [LOW | {"girth": "340 cm"}]}, True),
        ({"trunk": [HIGH]}, {"trunk": [LOW | {"girth": "340 cm"}]}, False),
        ({"trunk": [HIGH]}, SEVERAL, False),
        ({"trunk": [LOW]}, SEVERAL, False),
        (SEVERAL, SEVERAL | {"each_stem": [*STEMS, {"girth": "40 cm"}]}, True),
    ],
)  # fmt: skip
def test_girths_are_compared_only_where_both_were_read_round_the_same_part(new_group, park, here, there, compared):
    """On the flare a trunk is wider without a rule, and a stem is thinner than its trunk: that tells no two apart."""
    park["anchors"], park["lines"] = [park["anchors"][0]], []
    park["anchors"][0].pop("trunk")
    other = copy.deepcopy(park)
    park["anchors"][0] |= here
    other["site"]["name"] = "The Green"
    other["anchors"][0] |= there
    a, b = new_group("a", park), new_group("b", other)
    merge_store(a.store, b.store)
    found = proposals(a.store)
    assert len(found) == (not compared)
    assert compared or any(reason.startswith("girths not compared") for reason in found[0].reasons)


def test_a_girth_of_several_stems_says_that_it_is_the_thinnest_ones(new_group, park):
    park["anchors"][0] |= SEVERAL
    group = new_group("stems", park)
    found = details(group.store, group["anchor T01"], group.today)
    assert found.girths[0].stems == 2
    assert "girth read: 0.60 m round the thinnest of 2 stems on 2026-04-18" in show_text(found)
