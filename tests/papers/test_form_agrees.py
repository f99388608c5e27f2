"""The script on the phone against the program: the same texts read, the same things missing.

Many records go through one open page at once, so that a whole property test needs one browser.
"""

from __future__ import annotations

import io
import json
import math
import zipfile

import pytest
import yaml
from form_browser import browsing, js, needs_browser, open_form
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st
from parks import record as park
from strategies import records, texts

from siteassess.advice.assess import assess
from siteassess.advice.verdict import DECIDING
from siteassess.errors import FaultyInput
from siteassess.papers.form import write_form
from siteassess.papers.form_data import parts
from siteassess.places.geodesy import bearing_distance, destination
from siteassess.records.blank import blank_record
from siteassess.records.reading import read_text
from siteassess.records.schema import members
from siteassess.records.site import Position
from siteassess.records.writing import write_text
from siteassess.reference.locate import shipped
from siteassess.units import UNITS, UnitText, parse

pytestmark = needs_browser
# no shrinking: a record that disagrees is told as it is, rather than made smaller for minutes
ANYHOW = settings(
    deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.reuse, Phase.generate]
)
AT_ONCE = 30
PARK = shipped("examples") / "brindlewick" / "park.yaml"
RETURN = "arguments[0].map((one) => { try { return f.%s } catch (error) { return {fault: String(error.message)} } })"


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    path = write_form(tmp_path_factory.mktemp("form") / "form.html")
    with browsing() as driver:
        open_form(driver, path)
        yield driver


def each(page, call: str, values: list) -> list:
    return js(page, RETURN % call, values)


# ---- the record through the form and back


@settings(ANYHOW, max_examples=3)
@given(st.lists(records(), min_size=AT_ONCE, max_size=AT_ONCE))
def test_every_record_comes_back_unchanged_through_the_form(page, some):
    """What the program wrote, the form reads and writes again, and the program reads: the same record."""
    sent = [write_text(record) for record in some]
    for record, text in zip(some, each(page, "writeRecord(f.readRecord(one))", sent), strict=True):
        assert isinstance(text, str), (text, write_text(record))
        assert read_text(text) == record


@settings(ANYHOW, max_examples=8)
@given(st.lists(texts(200), min_size=AT_ONCE, max_size=AT_ONCE))
def test_every_text_typed_comes_back_as_it_was(page, notes):
    """Straight from the form's own answers: what was typed is what the program reads."""
    empty = {"anchors": [], "lines": []}
    typed = [
        {"site": {"name": note, "notes": note}, "survey": {"by": note, "date": "2026-01-01"}, **empty} for note in notes
    ]
    for note, text in zip(notes, each(page, "writeRecord(one)", typed), strict=True):
        again = read_text(text)
        assert again.site.name == again.site.notes == again.survey.by == note


def test_the_bundled_park_comes_back_unchanged(page):
    text = PARK.read_text(encoding="utf-8")
    (back,) = each(page, "writeRecord(f.readRecord(one))", [text])
    assert read_text(back) == read_text(text)


@pytest.mark.parametrize("full", [False, True])
def test_a_blank_record_is_read_as_the_program_reads_it(page, full):
    """Keys left blank are not answers; what is left is what must be filled in."""
    (read,) = each(page, "readRecord(one)", [blank_record(full)])
    assert read["lines"][0]["id"] == "L1" and read["anchors"][0]["code"] == "T1"
    assert read["anchors"][0]["signs"]["dead_tree"] == "not looked"
    assert "height" not in read["anchors"][0] and read["survey"] == {}


HAND_WRITTEN = {
    "folded plain": "by: one\n    two\n\n    three",
    "folded double": 'by: "one\n    two \\\n    three\\n\n\n    four"',
    "folded single": "by: 'it''s\n    so'",
    "literal": "by: |\n    one\n      two\n\n    three\n",
    "literal kept": "by: |+\n    one\n\n",
    "literal stripped": "by: |-\n    one\n",
    "comment": "by: one # two",
    "no comment": "by: one#two",
    "colon": "by: 10:30",
    "flow": 'by: {a: "b"}',
    "escapes": r'by: "\x41\u00e9\U0001F333\t\/"',
    "key in quotes": '"by": one',
}


@pytest.mark.parametrize("name", HAND_WRITTEN)
def test_hand_written_yaml_is_read_as_a_yaml_reader_reads_it(page, name):
    text = f"siteassess_record: 1\nsite: {{name: x}}\nsurvey:\n  {HAND_WRITTEN[name]}\n  date: 2026-01-01\n"
    wanted = yaml.load(text, yaml.BaseLoader)["survey"]["by"]
    (read,) = each(page, "readRecord(one)", [text])
    if isinstance(wanted, dict):
        assert "fault" in read
    else:
        assert read["survey"]["by"] == wanted


@pytest.mark.parametrize("line, text", [
    (2, "siteassess_record: 1\nsite: &a {name: x}\n"),
    (3, "siteassess_record: 1\nsite:\n\tname: x\n"),
    (3, "siteassess_record: 1\nsite:\n  name: !!str x\n"),
    (3, "siteassess_record: 1\nsite:\n  name: >\n    x\n"),
    (4, "siteassess_record: 1\nsite:\n  name: x\n  name: y\n"),
    (3, "siteassess_record: 1\nsite:\n  nmae: x\n"),
    (3, "siteassess_record: 1\nsite:\n  name: a: b\n"),
    (4, "siteassess_record: 1\nsite: {name: x}\nanchors:\n  - kind: bush\n"),
    (1, "siteassess_record: 2\n"),
    (1, "- a\n- b\n"),
    (3, 'siteassess_record: 1\nsite:\n  name: "x\n'),
    (3, "siteassess_record: 1\nsite:\n  name: x\n---\nsite: {}\n"),
    (2, "siteassess_record: 1\nsite: [name\n"),
    (1, ""),
])  # fmt: skip
def test_what_the_form_does_not_read_is_refused_with_its_line(page, line, text):
    (answer,) = each(page, "readRecord(one)", [text])
    assert "fault" in answer, answer
    named = int(answer["fault"].split(":")[0].removeprefix("Line "))
    assert abs(named - line) <= 1, answer
    with pytest.raises(FaultyInput):
        read_text(text)


ODD_TEXTS = st.text(st.sampled_from('abc:-#"\'[]{}|>&*!%@,?\n \t\\0.'), max_size=60)


@settings(ANYHOW, max_examples=15)
@example(["[:a'. #{*", "[a #]", "[a, # b\n]", "{a #: b"])  # a note begun where a text in brackets ends
@given(st.lists(ODD_TEXTS, min_size=AT_ONCE, max_size=AT_ONCE))
def test_any_text_is_read_or_refused_in_a_sentence(page, some):
    """Whatever file is opened, the form answers with a sentence that names a line, never with a break of its own."""
    for answer in each(page, "readRecord('siteassess_record: 1\\nsite:\\n  notes: ' + one)", some):
        assert "site" in answer or answer["fault"].startswith("Line "), answer


# ---- quantities


NUMBERS = st.from_regex(r"[-+]?[0-9]{0,4}([ \u00a0\u202f][0-9]{3})?[.,]?[0-9]{0,3}", fullmatch=True)
ODD_UNITS = ("kg", "lb", "CM", "", "ft 3 in", "' 4\"")


@settings(ANYHOW, max_examples=10)
@given(st.data())
def test_quantities_are_read_alike(page, data):
    """Every text is read as the same number, or refused by both."""
    tried = []
    for _ in range(AT_ONCE):
        kind = data.draw(st.sampled_from(["length", "force", "mass", "slope", "bearing", "duration", "stretch"]))
        number = data.draw(NUMBERS | st.text(max_size=4))
        unit = data.draw(st.sampled_from([*UNITS[kind], *ODD_UNITS]) | st.text(max_size=3))
        tried.append([number + data.draw(st.sampled_from(["", " ", "  "])) + unit, kind])
    for (text, kind), answer in zip(tried, each(page, "readQuantity(one[0], one[1])", tried), strict=True):
        try:
            wanted = parse(text, kind).si
        except UnitText:
            assert answer.get("fault"), (text, kind, answer)
        else:
            assert answer["si"] == pytest.approx(wanted, rel=1e-12, abs=1e-15), (text, kind)


def test_ranges_are_refused_alike(page):
    """At each end of each range the form says nothing; a hundredth beyond, it speaks, as the program does."""
    fields_ = [(part, one) for part, model in parts().items() for one in members(model) if one.kind == "quantity"]
    asked = []
    for part, one in fields_:
        low, high = parse(one.low, one.quantity), parse(one.high, one.quantity)
        unit = one.high.split()[-1]
        beyond = f"{float(one.high.split()[0]) * 1.01:.6f} {unit}"
        asked += [(part, one.name, one.low, False), (part, one.name, one.high, False), (part, one.name, beyond, True)]
        assert low.si <= high.si
    body = "arguments[0].map(([part, name, text]) => f.checkField(part, name, text))"
    for (part, name, text, refused), answer in zip(asked, js(page, body, [one[:3] for one in asked]), strict=True):
        assert bool(answer) == refused, (part, name, text, answer)


# ---- things missing


EDITS = [
    "T1.position", "T1.species", "T1.trunk", "T1.height", "T1.stems", "T1.bark", "T1.lean", "T1.roots",
    "T1.hard_edge_near", "T1.ground", "T1.signs", "L1.span", "L1.webbing", "L1.standing", "L1.walkers",
    "L1.a.tie_height", "L1.b.tie_height", "L1.backup",
]  # fmt: skip
USED = st.tuples(st.sampled_from(sorted(DECIDING)), st.sets(st.sampled_from(EDITS), max_size=6))


@settings(ANYHOW, max_examples=3)
@given(st.lists(USED, min_size=8, max_size=8))
def test_the_form_counts_missing_what_the_program_finds_missing(page, drawn):
    """For each end of a line: the same deciding things, and the same ones not looked at."""
    made = [park({"L1.use": use} | dict.fromkeys(gone)) for use, gone in drawn]
    body = """arguments[0].map((text) => { const { anchors, lines: [line] } = f.readRecord(text);
        const at = (end) => anchors.find((one) => one.code === line[end].anchor);
        return ["a", "b"].map((end) => f.decidingOf(at(end), line, end)); })"""
    for record, ends in zip(made, js(page, body, [write_text(record) for record in made]), strict=True):
        for anchor, told in zip(assess(record).lines[0].anchors, ends, strict=True):
            assert told["count"] == len(anchor.evidence.deciding)
            assert sorted(told["missing"]) == sorted(anchor.evidence.missing), write_text(record)


def test_a_boulder_counts_what_the_program_counts(page):
    text = PARK.read_text(encoding="utf-8").replace("anchor: T2", "anchor: B1", 1)
    text = text.replace('    edge_distance: "6 m"\n', "")
    record = read_text(text)
    body = """(() => { const { anchors, lines: [line] } = f.readRecord(arguments[0]);
        return f.decidingOf(anchors.find((one) => one.code === "B1"), line, "b"); })()"""
    ends = js(page, body.replace("arguments[0]", json.dumps(text)))
    wanted = assess(record, line_id="L1").lines[0].anchors[1].evidence
    assert ends["count"] == len(wanted.deciding)
    assert sorted(ends["missing"]) == sorted(wanted.missing) == ["distance to an edge"]


# ---- places


WAYS = st.tuples(st.floats(-75, 75), st.floats(-180, 180), st.floats(0, 360), st.floats(1, 500))


@settings(ANYHOW, max_examples=3)
@given(st.lists(WAYS, min_size=200, max_size=200))
def test_bearing_and_distance_on_the_phone_are_those_of_the_ellipsoid(page, drawn):
    """Within 0.1 m and 0.05 degrees of Karney's geodesic over 500 m (GeographicLib through PROJ), up to 75 degrees."""
    pairs = []
    for lat, lon, bearing, distance in drawn:
        lat2, lon2 = destination(lat, lon, bearing, distance)[:2]
        pairs.append([{"lat": lat, "lon": lon}, {"lat": float(lat2), "lon": float(lon2)}])
    for (a, b), answer in zip(pairs, each(page, "course(one[0], one[1])", pairs), strict=True):
        wanted = bearing_distance(a["lat"], a["lon"], b["lat"], b["lon"])
        assert answer["distance"] == pytest.approx(wanted.distance_m, abs=0.1)
        off = math.remainder(answer["bearing"] - wanted.bearing_true_deg, 360)
        assert abs(off) < 0.05


def test_several_fixes_are_averaged_and_promise_no_more_than_was_stated(page):
    taken = [{"latitude": 54.5 + east * 1e-5, "longitude": 2.5, "accuracy": accuracy}
             for east, accuracy in ((0, 4), (1, 4), (2, 8))]  # fmt: skip
    (fix,) = each(page, "meanFix(one)", [taken])
    # weights 1/16, 1/16, 1/64: (0 + 1 + 2/4) / 2.25 = 0.667 of the step, worked out by hand
    assert float(fix["lat"]) == pytest.approx(54.5 + 0.66667e-5, abs=6e-8)
    assert fix["accuracy"] == "4 m" and fix["accuracy_means"] == "95 %"
    assert Position.model_validate(fix | {"lat": float(fix["lat"]), "lon": float(fix["lon"])}).fixes[0].how == "phone"


# ---- the archive


def test_the_archive_opens_as_one(page):
    body = """(async () => { const files = [["record.yaml", "a: 1\\n"], ["photos/T1-1.jpg", "ÿØnot really"]]
        .map(([name, text]) => ({ name, bytes: new TextEncoder().encode(text) }));
        return [...new Uint8Array(await f.archive(files).arrayBuffer())]; })()"""
    with zipfile.ZipFile(io.BytesIO(bytes(js(page, body)))) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["record.yaml", "photos/T1-1.jpg"]
        assert archive.read("photos/T1-1.jpg").decode() == "ÿØnot really"
