"""JSON Schemas: shipped as the models make them, what we write fits, and a slip does not."""

import json
import random
import zipfile

import jsonschema
import pytest
from answers_as_before import records as drawn_records
from hypothesis import HealthCheck, given, settings
from strategies import records
from write_schemas import MADE, as_text

import siteassess as sa
from siteassess.advice.assess import assess
from siteassess.papers.as_json import to_dict
from siteassess.records.record import Record
from siteassess.records.writing import write_text
from siteassess.records.yaml_lines import load_nodes
from siteassess.reference.locate import shipped
from siteassess.reference.schemas import schema_files
from siteassess.units import parse

EXAMPLE = shipped("examples") / "brindlewick" / "park.yaml"


def validator(name: str, part: str = "") -> jsonschema.Draft202012Validator:
    whole = sa.schema(name)
    return jsonschema.Draft202012Validator({**whole, **whole["$defs"][part]} if part else whole)


def as_an_editor_reads(text: str):
    """As YAML 1.2, in which a day is a text and `no` is one."""
    return load_nodes(text).root.plain()


@pytest.mark.parametrize("name", MADE)
def test_what_is_shipped_is_what_the_models_make(name):
    """`python tests/write_schemas.py` writes them anew."""
    made = MADE[name]()
    assert schema_files()[name].read_text(encoding="utf-8") == as_text(made)
    jsonschema.Draft202012Validator.check_schema(made)
    version = int(schema_files()[name].stem.rpartition("-")[2])
    assert made["$id"] == f"urn:siteassess:{name}:{version}"


def test_no_form_is_without_a_schema_and_none_is_unknown():
    assert set(schema_files()) == set(MADE)
    with pytest.raises(sa.UnknownName, match="answer, record, bundle"):
        sa.schema("map")


def test_the_newest_version_is_given(tmp_path, monkeypatch):
    from siteassess.reference import schemas

    for version in (2, 10, 9):
        (tmp_path / "schemas").mkdir(exist_ok=True)
        (tmp_path / "schemas" / f"record-{version}.json").write_text("{}")
    monkeypatch.setattr(schemas, "data_folder", lambda: tmp_path)
    assert schemas.schema_files()["record"].name == "record-10.json"


def test_the_examples_fit():
    validator("record").validate(as_an_editor_reads(EXAMPLE.read_text(encoding="utf-8")))


@given(records())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_record_we_write_fits(record):
    validator("record").validate(as_an_editor_reads(write_text(record)))


def test_what_a_new_record_leaves_blank_is_no_slip(tmp_path):
    """But for what a part needs once it is begun: a schema cannot say that a part left blank wholly is none."""
    from click.testing import CliRunner

    from siteassess.cli import group

    assert CliRunner().invoke(group, ["new", str(tmp_path / "park.yaml")]).exit_code == 0
    blank = as_an_editor_reads((tmp_path / "park.yaml").read_text(encoding="utf-8"))
    blank["site"]["name"], blank["survey"] = "Green", {"by": "me", "date": "2026-05-01"}
    blank["lines"][0].update(use="hammock", span=None)
    for tree in blank["anchors"]:
        tree.update(species={"name": "oak", "certainty": None}, trunk=[])
    validator("record").validate(blank)


@pytest.mark.parametrize("typed", [
    "142 cm", "1.85 m", "1,85 m", "1\u00a0850 mm", "5 ft 7 in", "5'7\"", "56\u2033", ".5 m", "+2 m", "56in",
])  # fmt: skip
def test_a_size_as_people_type_it_fits(typed):
    assert parse(typed, "length")
    plain = as_an_editor_reads(EXAMPLE.read_text(encoding="utf-8"))
    plain["anchors"][0]["height"] = typed
    validator("record").validate(plain)


SLIPS = {
    "lines.L1.standng": lambda plain: plain["lines"][0].update(standng={"tension": "3 kN"}),
    "a word that is none of the choices": lambda plain: plain["lines"][0].update(use="slackine"),
    "a number for a size": lambda plain: plain["anchors"][0].update(height=12),
    "a size without its unit": lambda plain: plain["anchors"][0].update(height="12"),
    "a size in a unit of another kind": lambda plain: plain["anchors"][0].update(height="12 kg"),
    "a pull in a mass": lambda plain: plain["lines"][0]["standing"].update(tension="6 kg"),
    "a day in another order": lambda plain: plain["survey"].update(date="1.5.2026"),
    "no survey": lambda plain: plain.pop("survey"),
    "a fix with a slip": lambda plain: plain["anchors"][0]["position"].update(latt=1.0),
    "another version": lambda plain: plain.update(siteassess_record=2),
}


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_does_not_fit(name):
    plain = as_an_editor_reads(EXAMPLE.read_text(encoding="utf-8"))
    SLIPS[name](plain)
    assert not validator("record").is_valid(plain)


@pytest.mark.parametrize("seed", range(6))
def test_every_answer_fits_and_holds_no_key_the_schema_does_not_name(seed):
    """Of records of all kinds, those drawn by chance among them; six at a time of each tenth."""
    known = drawn_records()
    fits = validator("answer")
    for name in random.Random(seed).sample(sorted(known), 6):
        answer = json.loads(json.dumps(to_dict(assess(Record.model_validate(known[name]))), allow_nan=False))
        fits.validate(answer)


def test_a_key_that_goes_or_comes_is_seen():
    answer = sa.assess(sa.read(EXAMPLE)).to_dict()
    fits = validator("answer")
    fits.validate(answer)
    for change in (lambda told: told["lines"][0].pop("verdict"), lambda told: told["lines"][1].update(more=1),
                   lambda told: told["lines"][2]["anchors"][0].update(verdict="fine")):  # fmt: skip
        other = json.loads(json.dumps(answer))
        change(other)
        assert not fits.is_valid(other)


def test_a_bundle_fits(tmp_path, register_made):
    with zipfile.ZipFile(register_made) as bundle:
        validator("bundle").validate(json.loads(bundle.read("manifest.json")))
        validator("bundle", "features").validate(json.loads(bundle.read("features.geojson")))
        for line in bundle.read("events.jsonl").decode().splitlines():
            validator("bundle", "entry").validate(json.loads(line))
            assert not validator("bundle", "entry").is_valid({**json.loads(line), "more": 1})


@pytest.fixture
def register_made(tmp_path):
    """A group's bundle for officers, written by the commands."""
    from click.testing import CliRunner

    from siteassess.cli import group

    store, out = str(tmp_path / "group.gpkg"), tmp_path / "copy.zip"
    asked = {}
    for words in (["init", store, "--title", "Group (invented)", "--who", "A"],
                  ["add", store, str(EXAMPLE), "--who", "A", "--why", "surveyed"],
                  ["export", store, str(out), "--layer", "officer"]):  # fmt: skip
        done = CliRunner().invoke(group, ["register", *words], obj=asked)
        assert done.exit_code == 0, done.output
    return out
