"""What to look at first takes most of judging a line: papers that do not tell it are written without seeking it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

import siteassess as sa
from siteassess.advice import assess as story
from siteassess.cli import group
from siteassess.reference.locate import shipped

PARK = str(shipped("examples") / "brindlewick" / "park.yaml")
UNTOLD = {
    "plan": ("plan", PARK, "--out", "plan.svg", "--paper", "A3"),
    "map": ("map", PARK, "--out", "map.html", "--geojson", "map.geojson", "--map-file", "map.kml"),
    "request": ("report", PARK, "--kind", "request", "--out", "request.html"),
    "packing list": ("pack", PARK, "--out", "pack.html"),
    "rules": ("rules", "check", PARK, "--json"),
    "verdicts": ("assess", PARK, "--quiet"),
}
TOLD = {"report": ("report", PARK, "--out", "x.html"), "card": ("report", PARK, "--kind", "card", "--out", "x.html"),
        "answers": ("assess", PARK), "beside verdicts": ("assess", PARK, "--quiet", "--out", "x"),
        "data": ("assess", PARK, "--quiet", "--json")}  # fmt: skip


def written(how, folder, monkeypatch) -> dict[str, bytes]:
    """What a command writes, by file; what it prints by the empty name."""
    folder.mkdir()
    monkeypatch.chdir(folder)
    done = CliRunner().invoke(group, how)
    assert done.exit_code == 0, done.output
    return {"": done.stdout.encode()} | {path.name: path.read_bytes() for path in folder.iterdir()}


def without_search(*_):
    raise AssertionError("what to look at first was sought")


@pytest.mark.parametrize("paper", UNTOLD)
def test_a_paper_that_tells_no_look_seeks_none_and_is_the_same_to_the_byte(paper, tmp_path, monkeypatch):
    judged = story.assess
    with monkeypatch.context() as patch:
        patch.setattr(story, "looks_of", without_search)
        bare = written(UNTOLD[paper], tmp_path / "bare", patch)
    with monkeypatch.context() as patch:
        patch.setattr(story, "assess", lambda *args, **named: judged(*args, **{**named, "looks": True}))
        assert written(UNTOLD[paper], tmp_path / "whole", patch) == bare


@pytest.mark.parametrize("paper", TOLD)
def test_a_paper_that_tells_looks_seeks_them(paper, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(story, "looks_of", without_search)
    with pytest.raises(AssertionError, match="what to look at first was sought"):
        CliRunner().invoke(group, TOLD[paper], catch_exceptions=False)


def test_a_sweep_seeks_no_looks(monkeypatch):
    """Its frame has no column of them."""
    park, tensions = sa.read(PARK), ["2 kN", "3 kN"]
    whole = sa.sweep(park, "lines.L1.standing.tension", tensions)
    monkeypatch.setattr(story, "looks_of", without_search)
    with pytest.raises(AssertionError):
        sa.assess(park)
    assert sa.sweep(park, "lines.L1.standing.tension", tensions).equals(whole)
