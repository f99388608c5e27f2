"""What a terminal tells of a line by default: eight rows, its word, what decides it, and what would make it suit."""

from __future__ import annotations

import copy
import fcntl
import io
import os
import pty
import re
import struct
import sys
import termios
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
import yaml
from answers_as_before import records
from click.testing import CliRunner
from parks import data, record
from seldom_said import BOULDER

from siteassess.advice.assess import assess
from siteassess.advice.finding import found
from siteassess.cli import group, main
from siteassess.cli.assess import _painted
from siteassess.papers.as_json import to_dict
from siteassess.papers.language import cautions_told, words_in
from siteassess.papers.terminal import figures, summary
from siteassess.papers.terminal_short import MOST_ROWS, USUAL, short
from siteassess.papers.wording import no_mend
from siteassess.records.loading import load_record
from siteassess.records.record import Record
from siteassess.reference.findings import Said, row_of
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.pages import plain

RECORDS = records()
PARK = Path(__file__).resolve().parents[2] / "examples" / "brindlewick" / "park.yaml"
BEECH = {"T1.species.name": "Fagus sylvatica", "T1.bark.form": "smooth"}
BRACKET = {"T1.signs.bracket_fungus": "yes"}
SLIM = {"T1.trunk.0.girth": "100 cm", "L1.standing.tension": "3 kN"}


def shown(edits: dict, **how) -> str:
    return " ".join(short(assess(record(edits)), **how).split())


@pytest.mark.parametrize("name", list(RECORDS)[::9])
def test_a_line_has_at_most_eight_rows_and_counts_what_it_leaves_out(name):
    judged = assess(Record.model_validate(copy.deepcopy(RECORDS[name])))
    for language in SIDE_BY_SIDE:
        _, *lines, cautions = short(judged, language=language).strip().split("\n\n")
        assert len(lines) == len(judged.lines)
        for line, block in zip(judged.lines, lines):
            rows = block.split("\n")
            assert len(rows) <= MOST_ROWS and max(map(len, rows)) <= USUAL, block
            stays = any(look.stays for look in line.looks)
            asked = {f.in_words(language, part) for _, f in line.all_ordered
                     for effect, part in (("suits if", "condition"), ("cannot say", "action"))
                     if f.effect == line.verdict == effect and (stays or f.code != "not-looked-at")} - {""}  # fmt: skip
            points = [row for row in rows if row.startswith("  - ")]
            counted = [int(number) for row in points[-1:] for number in re.findall(r"\d+(?=.*--explain)", row)]
            if line.verdict in ("suits if", "cannot say"):
                assert len(points) - len(counted) + sum(counted) == len({plain(one) for one in asked}), block
        assert all(plain(one) in " ".join(cautions.split()) for one in cautions_told(judged, words_in(language)))


LONG = ["slats that help", "two slats", "one slat is none", "slats without a size", "a squat tree"]


@pytest.mark.parametrize("name", ["the park", *LONG, *list(RECORDS)[4::9]])
def test_a_line_that_suits_if_tells_one_condition_however_long_its_language_is(name):
    judged = assess(load_record(PARK)) if name == "the park" else assess(Record.model_validate(RECORDS[name]))
    for language, line in product(SIDE_BY_SIDE, judged.lines):
        if line.verdict != "suits if":
            continue
        *_, block, _ = short(replace(judged, lines=(line,)), language=language).strip().split("\n\n")
        assert len(block.split("\n")) <= MOST_ROWS and max(map(len, block.split("\n"))) <= USUAL, block
        asked = [one for _, f in line.all_ordered if f.effect == "suits if" and (one := f.met_by)]
        ways = [way for one in asked for way in (one, dict(one.values).get("first")) if isinstance(way, Said)]
        told = " ".join(block.split())
        assert any(plain(one) in told for way in ways
                   for one in (way.in_words(language), _in_short(way).in_words(language))), block


def _in_short(way: Said) -> Said:
    return replace(way, part="short") if row_of(way.code).get("short") and way.part == "full" else way


@pytest.mark.parametrize("name", list(RECORDS)[2::9])
def test_reasons_that_two_rows_do_not_hold_are_counted(name):
    (line, *_) = (judged := assess(Record.model_validate(RECORDS[name]))).lines
    if line.verdict not in ("leave it", "cannot say"):
        return
    for language in SIDE_BY_SIDE:
        block = short(replace(judged, lines=(line,)), language=language).strip().split("\n\n")[-2]
        told = " ".join(block.split("\n  - ")[0].split())
        why = {plain(f.in_words(language, "short")) for _, f in line.all_ordered if f.effect == line.verdict}
        # of what was not looked at the first three are named, and how many more there are
        more = [int(left) for left in re.findall(r"\(\+(\d+)\)$", told)] if not any("(+" in one for one in why) else []
        assert sum(one in told for one in why) + sum(more) >= len(why), block


def test_what_it_stands_at_its_sag_and_the_gust_are_told_of_a_line_that_may_hang():
    """Ties at 1.2 m over a dip of 1 m: the sag is what the line hangs lower than 2.2 m over the ground there."""
    (line,) = assess(record()).lines
    told = re.search(r"stop at ([\d.]+ kN); walker's sag ([\d.]+ m); down before gusts of (\d+) km/h", shown({}))
    assert float(told[1].split()[0]) == pytest.approx(2.0, rel=0.03)
    assert float(told[2].split()[0]) == pytest.approx(2.2 - line.clearance.mid_height_loaded_m, abs=0.06)
    least = min(end.take_down_wind_m_s for end in line.anchors)
    assert int(told[3]) == pytest.approx(3.6 * least, abs=1.1)


@pytest.mark.parametrize("edits", [BRACKET, {"T1.lean": None, "T1.roots": None}])
def test_no_tension_is_told_of_a_line_that_may_not_hang(edits):
    told = shown(edits)
    assert "stop at" not in told and "sag" not in told and ("LEAVE IT" in told or "CANNOT SAY" in told)


def test_a_tree_that_nothing_mends_sends_to_another_and_one_that_something_mends_tells_it():
    assert "T1: bracket fungus at the base - T1: nothing we know mends it; take another tree" in shown(BRACKET)
    thin = {"T1.trunk.0.girth": "70 cm", "T1.height": "12 m", "T1.crown_spread": "4 m", "L1.standing.tension": "6 kN"}
    (line,) = assess(record(thin)).lines
    mends = [one for end in line.anchors if end.verdict == "leave it" for one in end.remedies]
    assert line.verdict == "leave it"
    assert (plain(mends[0].what.in_words()) if mends else "nothing we know") in shown(thin)


@pytest.mark.parametrize("edits, code", [
    (BRACKET, "te-no-mend"), ({"T1.signs.posted_no": "yes"}, "te-no-mend-posted"),
    ({"anchors.0": BOULDER | {"rocks_when_pushed": "yes"}}, "te-no-mend-boulder"),
    ({"anchors.0": BOULDER | {"posted_no": "yes"}}, "te-no-mend-posted"),
])  # fmt: skip
def test_what_nothing_mends_sends_to_what_helps_by_the_anchors_kind_and_what_refuses_it(edits, code):
    """No other tree helps against a prohibition, and no arborist judges a rock."""
    judged = assess(record(edits))
    for language in SIDE_BY_SIDE:
        others = {words_in(language)(f"te-no-mend{kind}") for kind in ("", "-boulder", "-posted", "-gear")}
        assert len(others) == 4
        for told in (short(judged, language=language), summary(judged, language=language)):
            assert {one for one in others if one in " ".join(told.split())} == {words_in(language)(code)}


def test_a_webbing_too_weak_sends_to_no_other_tree():
    refused = found("webbing-over-strength", "leave it", use=2.0)
    (line,) = assess(record({})).lines
    end = replace(line.anchors[0], findings=(refused,))
    assert no_mend(end, words_in("en")) == words_in("en")("te-no-mend-gear")


def test_what_mends_the_use_that_is_told_is_told_first():
    """The demo's fifth line presses the bark of its weaker end at twice our reference, among other conditions."""
    park = load_record(PARK)
    told = short(assess(park, line_id="L5")).split("\n")
    first = next(place for place, row in enumerate(told) if row.startswith("  - "))
    assert "205%" in told[first - 1] and told[first].startswith("  - T9: the sling is at least 75 mm wide")


def test_the_words_alone_stand_beside_what_a_survey_is_not():
    told = short(assess(record(SLIM)), words_only=True).strip().split("\n")
    assert len(told) == 2 and told[0].startswith("Line L1, low line: ") and "not an inspection" in told[1]


@pytest.mark.parametrize("terminal, no_color, painted", [(True, "", True), (True, "1", False), (False, "", False)])
def test_a_word_is_painted_on_a_terminal_that_wants_it(monkeypatch, terminal, no_color, painted):
    monkeypatch.setattr("sys.stdout.isatty", lambda: terminal, raising=False)
    monkeypatch.setenv("NO_COLOR", no_color)
    assert ("\x1b[" in _painted("leave it", "LEAVE IT")) is painted and "LEAVE IT" in _painted("leave it", "LEAVE IT")


def on_a_terminal(monkeypatch, columns: int, *args: str) -> str:
    """What the program writes on one so wide: little, since a terminal nobody reads holds a few rows."""
    ours, theirs = pty.openpty()
    os.set_blocking(ours, False)
    os.set_blocking(theirs, False)
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    for name in ("stdout", "stderr"):
        monkeypatch.setattr(sys, name, io.TextIOWrapper(io.FileIO(theirs, "w", closefd=False), "utf-8"))
    with pytest.raises(SystemExit):
        main(list(args))
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    told = os.read(ours, 1 << 16).decode("utf-8").replace("\r\n", "\n")
    for end in (ours, theirs):
        os.close(end)
    return told


def test_on_a_terminal_our_colour_passes_and_a_foreign_one_does_not(monkeypatch, tmp_path):
    monkeypatch.delenv("NO_COLOR", raising=False)
    file = tmp_path / "park.yaml"
    file.write_text(yaml.safe_dump(data(BRACKET)), encoding="utf-8")
    told = on_a_terminal(monkeypatch, 80, "assess", "--quiet", str(file))
    assert told.count("\x1b") == 3 and "\x1b[31m\x1b[1mLEAVE IT\x1b[0m" in told
    assert "\x1b" not in on_a_terminal(monkeypatch, 80, "assess", str(tmp_path / "\x1b[31mno.yaml"))
    monkeypatch.setattr("siteassess.papers.terminal_short.short", lambda *_, **__: "\x1b[2Jours\x1b[32m")
    assert "\\u001b[2Jours\x1b[32m" in on_a_terminal(monkeypatch, 80, "assess", str(file))


@pytest.mark.parametrize("columns", [64, 80, 90])
def test_rows_are_as_wide_as_the_terminal(monkeypatch, columns):
    told = on_a_terminal(monkeypatch, columns, "assess", str(PARK), "--line", "L5", "--lang", "fr")
    widest = max(map(len, told.split("\n")))
    assert columns - 12 < widest <= columns


def test_of_a_line_with_more_conditions_than_rows_the_next_are_named_in_short():
    (line,) = assess(load_record(PARK), line_id="L5").lines
    for language in SIDE_BY_SIDE:
        told = " ".join(short(assess(load_record(PARK), line_id="L5"), language=language).split())
        named = [f for _, f in line.all_ordered if f.effect == "suits if" and any(
            plain(one) in told for one in (f.in_words(language, "condition"), f.in_words(language, "short"),
                                           *(way.in_words(language) for _, way in f.values if isinstance(way, Said))))]
        assert len(named) >= 2, told


def test_what_is_to_be_looked_at_next_is_named_however_little_it_changes():
    (line,) = assess(load_record(PARK), line_id="L5").lines
    assert 0 < line.looks[0].changes < 0.1
    assert f"look first at {line.looks[0].thing} (4% of its answers bring another word)" in " ".join(
        short(assess(load_record(PARK), line_id="L5")).split())  # fmt: skip


@pytest.mark.parametrize("date, stays", [("2027-04-18", False), ("2027-04-19", True)])
def test_what_no_answer_settles_comes_before_what_was_not_looked_at(date, stays):
    """Fresh eyes: a line was "cannot say" by itself, and of it stood there "and more things; look first at lean"."""
    told = shown({"T1.lean": None, "L1.planned.date": date, "T1.bark": None})
    assert ("look first at lean" in told) is not stays
    if stays:
        assert told.index(" - the line: survey the trees again") < told.index("T1: look at what is missing")


def test_what_was_not_looked_at_is_named_the_first_three_of_it():
    judged = assess(record({"T1.lean": None, "T1.roots": None, "T1.trunk": [], "T1.height": None}))
    (things,) = [dict(f.values)["things"] for f in judged.lines[0].anchors[0].findings if f.code == "not-looked-at"]
    more = f" (+{len(things) - 3})" if len(things) > 3 else ""
    assert f"T1: not looked at: {', '.join(things[:3])}{more}" in " ".join(short(judged).split())


@pytest.mark.parametrize("edits", [{}, BRACKET, {"T1.lean": None}])
def test_all_of_it_holds_what_is_told_in_short(edits):
    judged = assess(record(edits))
    for language in SIDE_BY_SIDE:
        told = " ".join(summary(judged, language=language).split())
        t, (line,) = words_in(language), judged.lines
        assert all(says in told for says in figures(line, t))
        assert (t("te-no-mend") in told) is (edits == BRACKET) and (t("te-sag", sag="").strip() in told) is (not edits)


def test_json_has_where_to_stop_and_the_sag_under_a_walker():
    judged = assess(record({}))
    (told,) = to_dict(judged)["lines"]
    assert told["stop_at_n"] == pytest.approx(2000, rel=0.03) and 0 < told["walker_sag_m"] < 2.2


def test_the_rest_is_a_switch_away():
    told, rest, words = (CliRunner().invoke(group, ["assess", str(PARK), *more]).stdout
                         for more in ((), ("--explain",), ("--quiet",)))  # fmt: skip
    assert len(rest) > 10 * len(told) and "\x1b" not in told + rest + words
    assert len(words.splitlines()) == told.count("\nLine ") + 1 == 6
