"""What is told beside a figure or a finding: its limits, its true case, and nothing that cannot hold at the place."""

from __future__ import annotations

from parks import record

from siteassess.advice.assess import assess
from siteassess.papers.as_json import to_dict
from siteassess.papers.decision import tree_schedule
from siteassess.papers.handover import manner
from siteassess.papers.report import report_page
from siteassess.papers.terminal import summary


def line_of(edits: dict | None = None):
    (line,) = assess(record(edits)).lines
    return line


def test_no_probability_stands_without_its_limits():
    result = assess(record())
    (line,) = result.lines
    rough = [load.case for load in line.anchors[0].loads if not load.calibrated]
    assert rough and all(case in line.probability_limits.in_words() for case in rough)
    assert "wind is not in it" in line.probability_limits.in_words()
    page, told = report_page(result), to_dict(result)["lines"][0]
    for chance in ("Chance that the load exceeds", "Chance of exceeding what it holds"):
        for found in page.split(chance)[1:]:
            assert "wind is not in it; load cases outside the measured lines" in found.split("</p>")[0]
    assert told["probability_limits"] == line.probability_limits.in_words()
    assert all("wind is not in it" in end["probability_limits"] for end in told["anchors"])


def test_limits_of_a_probability_name_no_case_that_was_measured():
    # 45 m between trees, polyester, a walker within those measured
    far = {"T2.position.lon": 2.5 + 45.0 / 64_790.0, "L1.span.taped": "45 m", "L1.walkers.mass": "60 kg",
           "L1.ground": None, "L1.standing.tension": "4 kN", "L1.use": "long line"}  # fmt: skip
    line = line_of(far)
    for load in line.anchors[0].loads:
        assert (f" {load.case}" in line.probability_limits.in_words().replace(",", "")) == (not load.calibrated)


# ---- hammocks

HAMMOCK = {"L1.use": "hammock", "L1.span.taped": "5.8 m", "L1.compass": None, "L1.ground": None,
           "T2.position.lon": 2.5 + 5.8 / 64_790.0}  # fmt: skip


def said_by(end) -> str:
    return "; ".join((*end.reasons, *end.protection.advice, *end.protection.root_zone.advice, *end.conditions))


def test_a_standing_tension_of_a_hammock_is_told_and_counts_where_it_is_the_harder():
    bare = line_of(HAMMOCK | {"L1.standing": None})
    assert not any("before anyone lies in it" in said_by(end) for end in bare.anchors)
    for standing in ({"tension": "3 kN"}, {"sag": "10 cm", "sag_under": "80 kg"}):
        line = line_of(HAMMOCK | {"L1.standing": standing})
        assert all("before anyone lies in it" in said_by(end) for end in line.anchors)
        assert all(taut.tension_n >= slack.tension_n
                   for taut, slack in zip(line.anchors[0].loads, bare.anchors[0].loads))  # fmt: skip


def test_a_hammock_presses_while_somebody_lies_in_it_and_no_word_speaks_of_standing():
    result = assess(record(HAMMOCK | {"L1.standing": None}))
    (line,) = result.lines
    for end in line.anchors:
        assert "with somebody lying in it (peak" in said_by(end)
        assert "standing" not in said_by(end)
        assert [limit.case for limit in end.limits if limit.name == "bark"] == ["lying"]
        assert end.protection.pressing_case == "lying"
    page = report_page(result).replace("\u00a0", " ")
    assert " kPa lying, " in page and " kPa standing, " not in page
    assert " kPa standing, " in report_page(assess(record())).replace("\u00a0", " ")


def test_why_a_line_is_not_drawn_over_the_ground():
    assert "a hammock hangs slack until somebody lies in it" in report_page(assess(record(HAMMOCK)))
    assert "is not known" in report_page(assess(record({"L1.a.tie_height": None})))
    assert "cannot be drawn" not in report_page(assess(record()))


def test_nobody_is_sent_farther_from_a_trunk_than_the_span_reaches():
    short, long = line_of(HAMMOCK).anchors[0], line_of().anchors[0]
    radius = short.protection.root_zone_radius_m
    assert radius > 5.8 / 2
    assert f"{radius:.1f} m reaches past the middle of the span" in said_by(short) and "on mats" in said_by(short)
    assert "only to tie and to step on" in said_by(long) and "reaches past" not in said_by(long)


# ---- tags and regions

def test_a_tag_that_no_record_asked_for_was_not_looked_for():
    result = assess(record({"T1.tag": None}))
    assert result.lines[0].anchors[0].tag == result.trees[0].tag == "none recorded"
    assert "none seen" not in summary(result) and "no tag seen" not in report_page(result)


def diseases(edits: dict):
    result = assess(record(edits))
    (line,) = result.lines
    at_ends = [f.says for end in line.anchors for f in end.findings if f.about == "disease"]
    of_line = [f.says for f in line.findings if f.about == "disease"]
    return result, at_ends, of_line


def test_no_window_of_a_region_the_position_is_not_in_is_printed_anywhere():
    result, at_ends, of_line = diseases({})  # an oak in the North Sea, no country given
    assert not at_ends and not of_line
    for paper in (summary(result), report_page(result), str(to_dict(result)["trees"])):
        assert not any(region in paper for region in ("Wisconsin", "Michigan", "Texas"))


def test_a_window_that_holds_by_the_position_alone_stays_at_each_end():
    wisconsin = {"T1.position.lat": 43.0, "T1.position.lon": -91.5, "T2.position.lat": 43.0,
                 "T2.position.lon": -91.5 + 20.0 / 81_500.0}  # fmt: skip
    for region in (None, "Wisconsin"):  # what a verdict hangs on stays at each end
        _, at_ends, of_line = diseases(wisconsin | {"site.country": "US", "site.region": region})
        assert len(at_ends) == 2 and not of_line


def test_without_a_position_every_region_is_told_in_one_sentence_a_tree():
    nowhere = {"T1.position": None, "T2.position": None, "site.country": "US"}
    _, at_ends, of_line = diseases(nowhere)
    assert len(at_ends) == 2 and not of_line  # either is asked for its own
    assert all("Wisconsin" in told and "Texas" in told for told in at_ends)


def test_the_tie_of_a_line_not_settled_or_left_says_so_at_both_ends():
    for edits, words in (({"T1.signs.dead_tree": None}, "nothing is settled"),
                         ({"T1.signs.dead_tree": "yes"}, "not to be tied")):  # fmt: skip
        result = assess(record(edits))
        assert all(words in row.padding for row in tree_schedule(result, manner()))
        assert summary(result).count(words) >= 2
    plain = tree_schedule(assess(record()), manner())
    assert not any("settled" in row.padding or "not to be" in row.padding for row in plain)


def test_what_nobody_told_of_a_tree_is_not_taken_two_ways():
    """Its bark is judged as that of a stressed tree that is used weekly: no other line says it was taken as sound."""
    end = assess(record({"T1.condition": None, "T1.use_so_far": None})).lines[0].anchors[0]
    told = [finding.says for finding in end.findings if not finding.looked_at]
    assert sum("stressed" in says for says in told) == 1
    assert not [says for says in told if "as sound" in says or "as occasional" in says]
