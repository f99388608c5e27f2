"""What a group writes alike: copied into a new record word for word, and nothing that has to be looked at."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from siteassess.cli import group
from siteassess.errors import FaultyInput
from siteassess.records.blank import blank_record
from siteassess.records.reading import read_text
from siteassess.records.usual import KEPT, read_usual
from siteassess.records.writing import as_plain, scalar_text
from siteassess.records.yaml_lines import load_nodes

EXAMPLE = Path(__file__).parents[2] / "examples" / "brindlewick" / "usual.yaml"


@pytest.fixture
def usual_of(tmp_path):
    def read(text: str, head: str = "siteassess_usual: 1\n"):
        path = tmp_path / "usual.yaml"
        path.write_text(head + text, encoding="utf-8")
        return read_usual(path)

    return read


def filled(full: bool, usual):
    """A blank record with what is usual, and what it asks for filled in."""
    text = blank_record(full, usual)
    asked = {"  name": "A place", "  by": "A. Surveyor", "  date": "2026-05-01", "    use": "low line"}
    for key, value in asked.items():
        text, found = re.subn(rf"(?m)^{key}:(?= |$)", f"{key}: {value}", text, count=1)
        assert found, key
    return text


@pytest.mark.parametrize("full", [False, True])
def test_a_new_record_holds_what_is_usual_as_it_was_typed(full):
    usual = read_usual(EXAMPLE)
    record = as_plain(read_text(filled(full, usual)))
    line = record["lines"][0]
    assert {name: record["site"][name] for name in usual["site"]} == usual["site"]
    assert {name: record["survey"][name] for name in usual["survey"]} == usual["survey"]
    assert {name: line[name] for name in usual["line"]} == usual["line"]
    assert all({name: line[end][name] for name in usual["end"]} == usual["end"] for end in "ab")


def test_without_anything_usual_a_new_record_is_as_it_was():
    assert blank_record(True, {}) == blank_record(True) and blank_record(False, {}) == blank_record()


TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp", "Cn", "Co")), max_size=60)
NUMBERS = st.one_of(st.integers(-(10**17) + 1, 10**17 - 1), st.floats(allow_nan=False, allow_infinity=False))


@given(st.one_of(TEXTS, NUMBERS, st.booleans()))
def test_any_value_reads_back_from_behind_its_key(value):
    document = load_nodes(f"key: {scalar_text(value)}  # a note\n")
    read = document.root.child("key").plain()
    assert (document.faults, type(read), read) == ([], type(value), value)


def test_a_text_of_several_lines_stands_behind_its_key_too():
    assert load_nodes(f"key: {scalar_text('one' + chr(10) + 'two: #3')}").root.child("key").plain() == "one\ntwo: #3"


@pytest.mark.parametrize("text, line, field", [
    ("tree: {signs: {dead_tree: 'no'}}", 2, "tree"), ("signs: {dead_tree: 'no'}", 2, "signs"),
    ("line: {standing: {tension: 2 kN}}", 2, "line.standing"), ("line:\n  power_line: 'no'", 3, "line.power_line"),
    ("line:\n  ground_between: level or rising, no dip", 3, "line.ground_between"),
    ("line:\n  planned: {date: 2026-05-01}", 3, "line.planned"), ("end:\n  tie_height: 1 m", 3, "end.tie_height"),
    ("end:\n  sling:\n    link_distance: 3 m", 4, "end.sling.link_distance"),
    ("end:\n  sling: {off_middle: 0 deg}", 3, "end.sling.off_middle"),
    ("line:\n  crew:\n    people: 2\n    footing: feet braced", 5, "line.crew.footing"),
    ("line:\n  gear:\n    - kind: pulley\n      strand_angle: 120 deg", 5, "line.gear.strand_angle"),
    ("line:\n  backup_line: {extra_length: 3 m}", 3, "line.backup_line.extra_length"),
    ("line:\n  walkers:\n    movement: walk only, no bouncing", 4, "line.walkers.movement"),
    ("survey:\n  date: 2026-05-01", 3, "survey.date"), ("site:\n  permission: {kind: written}", 3, "site.permission"),
])  # fmt: skip
def test_what_has_to_be_seen_or_decided_each_time_is_refused(usual_of, text, line, field):
    with pytest.raises(FaultyInput) as caught:
        usual_of(text)
    (fault,) = caught.value.faults
    assert (fault.line, fault.field) == (line, field) and fault.mend


def test_all_faults_are_told_at_once_by_the_names_they_have_here(usual_of):
    with pytest.raises(FaultyInput) as caught:
        usual_of("site:\n  country: gb\nline:\n  crew:\n    people: 0\n  webing: x\nend:\n  sling:\n    width: 5 km\n"
                 "  padding:\n    thickness: -1 mm\nlines: []\n")  # fmt: skip
    told = {(fault.line, fault.field) for fault in caught.value.faults}
    assert told == {(3, "site.country"), (6, "line.crew.people"), (7, "line.webing"), (10, "end.sling.width"),
                    (12, "end.padding.thickness"), (13, "lines")}  # fmt: skip


@pytest.mark.parametrize("head, line, field", [
    ("", 1, "siteassess_usual"), ("siteassess_usual: 2\n", 1, "siteassess_usual"), ("- a\n", 1, None),
])  # fmt: skip
def test_a_file_of_another_form_is_refused(usual_of, head, line, field):
    with pytest.raises(FaultyInput) as caught:
        usual_of("site: {country: GB}\n" if head != "- a\n" else "", head)
    assert [fault.line for fault in caught.value.faults] == [line]
    assert field is None or caught.value.faults[0].field == field


def test_broken_yaml_and_parts_that_are_no_blocks_are_told(usual_of):
    for text, line in (("site: [", 2), ("site: 3", 2), ("site:\n  country: GB\n  country: FR", 4)):
        with pytest.raises(FaultyInput) as caught:
            usual_of(text)
        assert caught.value.faults[0].line in (line, line + 1)


def test_a_rule_set_that_nobody_ships_is_refused_as_in_a_record(usual_of):
    with pytest.raises(FaultyInput, match="site.rule_set"):
        usual_of("site: {rule_set: nowhere}\n")


def test_empty_parts_are_nothing(usual_of):
    assert usual_of("site:\nline: {}\n") == {}


def test_every_kept_field_is_one_of_the_record():
    blank = load_nodes(blank_record(True)).root
    line = blank.child("lines").child(0)
    places = {"site": blank.child("site"), "survey": blank.child("survey"), "line": line, "end": line.child("a")}
    assert set(places) == set(KEPT)
    assert {f"{part}.{name}" for part in KEPT for name in KEPT[part] if name not in places[part].value} == set()


def test_new_takes_the_file_named_the_one_of_the_environment_or_of_the_settings_or_none(tmp_path, monkeypatch):
    monkeypatch.setattr("click.get_app_dir", lambda name: str(tmp_path / name))
    (tmp_path / "siteassess").mkdir()
    (tmp_path / "siteassess" / "usual.yaml").write_text("siteassess_usual: 1\nsite: {country: CH}\n")
    other = tmp_path / "other.yaml"
    other.write_text("siteassess_usual: 1\nsite: {country: FR}\n")

    def country(*args, **env):
        path = tmp_path / "new.yaml"
        run = CliRunner().invoke(group, ["new", str(path), "--force", *args], env=env, catch_exceptions=False)
        assert run.exit_code == 0, run.output
        site = load_nodes(path.read_text(encoding="utf-8")).root.child("site")
        return (site.child("country") or site).plain() if site.child("country") else None

    assert country() == "CH" and country("--usual", str(EXAMPLE)) == "GB"
    assert country(SITEASSESS_USUAL=str(other)) == "FR" and country("--no-usual") is None


def test_new_refuses_a_faulty_file_and_writes_nothing(tmp_path):
    bad = tmp_path / "usual.yaml"
    bad.write_text("siteassess_usual: 1\ntree: {}\n")
    run = CliRunner().invoke(group, ["new", str(tmp_path / "new.yaml"), "--usual", str(bad)])
    assert isinstance(run.exception, FaultyInput) and not (tmp_path / "new.yaml").exists()
