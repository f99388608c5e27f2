"""Reading what was written gives the record back."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, given, settings
from strategies import parts, records, texts

from siteassess.records.reading import read_record, read_text
from siteassess.records.record import Record
from siteassess.records.site import Site
from siteassess.records.writing import write_record, write_text

QUICKLY = settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))


@QUICKLY
@given(records())
def test_reading_what_was_written_gives_the_record_back_and_writing_that_the_text(record):
    text = write_text(record)
    again = read_text(text)
    assert again == record
    assert write_text(again) == text


@settings(max_examples=400, deadline=None)
@given(texts())
def test_any_text_comes_back_as_it_was(note):
    record = Record.model_validate(
        {"siteassess_record": 1, "note": note, "site": {"name": note}, "survey": {"by": note, "date": "2026-01-01"}}
    )
    again = read_text(write_text(record))
    assert again.note == again.site.name == note


@settings(max_examples=50, deadline=None)
@given(parts(Site))
def test_the_managers_own_rules_come_back_as_typed(site):
    record = Record.model_validate(
        {"siteassess_record": 1, "site": site | {"landmarks": []}, "survey": {"by": "x", "date": "2026-01-01"}}
    )
    assert write_text(read_text(write_text(record))) == write_text(record)


RECORD = """\
siteassess_record: 1
site:
  name: Otter Mead
survey:
  by: Ada Example
  date: 2026-05-01
anchors:
  - kind: tree
    code: T1
    position:
      lat: 51.5
      lon: -1.25
      accuracy: 5 m
    trunk:
      - girth: 56 in
        read_at: 4 ft 3 in
    signs:
      dead_tree: no
"""


def test_units_answers_and_a_single_fix_are_written_as_they_were_typed():
    assert write_text(read_text(RECORD)) == RECORD


def test_a_file_written_twice_holds_the_second_record_and_nothing_else_is_left(tmp_path):
    path = tmp_path / "park.yaml"
    record = read_text(RECORD)
    write_record(record, path)
    write_record(record.model_copy(update={"note": "second"}), path)
    assert read_record(path).note == "second"
    assert os.listdir(tmp_path) == ["park.yaml"]


def test_a_crash_in_mid_write_leaves_the_old_file_whole(tmp_path, monkeypatch):
    path = tmp_path / "park.yaml"
    write_record(read_text(RECORD), path)
    before = path.read_bytes()

    def crash(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", crash)
    with pytest.raises(KeyboardInterrupt):
        write_record(read_text(RECORD).model_copy(update={"note": "half"}), path)
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["park.yaml"]


def test_a_folder_that_is_not_there_is_named_by_the_file_asked_for(tmp_path):
    with pytest.raises(FileNotFoundError) as caught:
        write_record(read_text(RECORD), tmp_path / "none" / "park.yaml")
    assert caught.value.filename == str(tmp_path / "none" / "park.yaml")


def test_a_link_stays_a_link_and_rights_stay(tmp_path):
    real, link = tmp_path / "real.yaml", tmp_path / "link.yaml"
    write_record(read_text(RECORD), real)
    real.chmod(0o640)
    link.symlink_to(real)
    write_record(read_text(RECORD), link)
    assert link.is_symlink()
    assert real.stat().st_mode & 0o777 == 0o640
