"""Every fault of a file in one run, each on its own line; never a traceback, whatever the bytes."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput
from siteassess.records.reading import read_record, read_text, read_with_lines
from siteassess.records.yaml_lines import MAX_BYTES, MAX_FAULTS, MAX_YAML_DEPTH

# each line that ends in "#!" holds one planted fault: the field named, and a word of what is wanted or how to mend it
PLANTED = """\
siteassess_record: 1
site:
  name: Otter Mead
  land_status: mown  #! site.land_status | one of: mown amenity
  country: nl  #! site.country | two letters
  invented: maybe  #! site.invented | true or false
  managr: the town  #! site.managr | Did you mean manager?
  landmarks:
    - code: LM1
      what: bench
      position:
        lat: 95  #! site.landmarks[LM1].position.lat | between -90 and 90
        lon: 4.1
survey:
  by: 12  #! survey.by | in quotes
  date: 2031-05-01  #! survey.date | today is 2026-06-01
anchors:
  - kind: tree
    code: T1
    tag: .nan  #! anchors[T1].tag | finite
    species:
      certainty: certain  #! anchors[T1].species.certainty | one of: sure
      name: oak
    trunk:
      - girht: 142 cm  #! anchors[T1].trunk[1].girht | Did you mean girth?
        read_at: 1,300 m  #! anchors[T1].trunk[1].read_at | point for decimals
        girth: 142  #! anchors[T1].trunk[1].girth | 142 cm
      - girth: 142 mm
        read_at: 25 mPa  #! anchors[T1].trunk[2].read_at | length
    height: 400 m  #! anchors[T1].height | between 1.5 m and 100 m
    signs:
      dead_tree: perhaps  #! anchors[T1].signs.dead_tree | one of: yes
      nest_in_us: no  #! anchors[T1].signs.nest_in_us | Did you mean nest_in_use?
    roots: none  #! anchors[T1].roots | block of keys
    bark: &b {form: smooth}  #! anchors[T1].bark | no anchors
    trial: {date: 2026-07-01, pull: 2 kN, tie_height: 1 m}  #! anchors[T1].trial.date | a day that has come
    photos:
      - path: ../../secret.jpg  #! anchors[T1].photos[1].path | below the record
  - kind: treee  #! anchors[T2].kind | Did you mean tree?
    code: T2
    lean: 80 deg  #! anchors[T2].lean | between 0 deg and 60 deg
  - kind: tree
    code: T1  #! anchors[T1].code | line 19 has this one already
    notes: !!python/name:os.system x  #! anchors[T1].notes | no tags
    trunk:
      - read_at: x  #! anchors[T1].trunk[1].read_at | number
        girth: 40 cm
        how: by eye  #! anchors[T1].trunk[1].how | taped
lines:
  - id: L1
    use: slackline  #! lines[L1].use | hammock
    a: {anchor: T9}  #! lines[L1].a.anchor | an anchor in this record
    b:
      anchor: T1
      tie_height: 3 kn  #! lines[L1].b.tie_height | length
      sling: {strands: "2"}  #! lines[L1].b.sling.strands | out of its quotes
    standing: {tension: 5 kg}  #! lines[L1].standing.tension | kgf, lbf or kN
    span:  #! lines[L1].span.taped | taped:
      along: slope
    standing: {how: guess}  #! lines[L1] | first on line 57
    walkers: {at_once: 40}  #! lines[L1].walkers.at_once | between 1 and 20
    planned:
      date: 2026-13-01  #! lines[L1].planned.date | year-month-day
      start: 25:00  #! lines[L1].planned.start | 14:30
  - id: L1  #! lines[L1].id | its own id
    use: hammock
    a: {anchor: T1}
    b: {anchor: T1}  #! lines[L1].b.anchor | two anchors
    compass: {out: 370 deg}  #! lines[L1].compass.out | 360 deg
"""
TODAY = datetime.date(2026, 6, 1)


def faults_of(text: str, **options):
    with pytest.raises(FaultyInput) as caught:
        read_text(text, "park.yaml", **options)
    return caught.value.faults


def test_every_planted_fault_is_found_on_its_own_line_and_nothing_else():
    planted = {}
    for number, line in enumerate(PLANTED.splitlines(), 1):
        if "#!" in line:
            field, word = line.split("#!")[1].split("|")
            planted[number, field.strip()] = word.strip()
    assert len(planted) >= 15
    found = {(fault.line, fault.field): fault for fault in faults_of(PLANTED, today=TODAY)}
    assert set(found) == set(planted)
    for place, word in planted.items():
        assert word in found[place].sentence(), (place, found[place].sentence())


def test_the_listing_names_the_file_and_line_of_every_fault():
    with pytest.raises(FaultyInput) as caught:
        read_text(PLANTED, "park.yaml", today=TODAY)
    listing = str(caught.value)
    assert all(f"park.yaml:{fault.line}: {fault.field}: read " in listing for fault in caught.value.faults)


GOOD = """\
siteassess_record: 1
site: {name: Otter Mead}
survey: {by: Ada Example, date: 2026-05-01}
anchors:
  - {kind: tree, code: T1}
  - {kind: tree, code: T2}
"""


def test_a_break_in_the_grammar_is_named_with_the_faults_before_it_and_none_it_only_seems_to_make():
    broken = GOOD + "  - kind: tree\n    code: T1!\n    height: 12\n    trunk: [{girth: 3 m\nlines: []\n"
    found = faults_of(broken, today=TODAY)
    assert [fault.field for fault in found] == ["anchors[T1!].code", "anchors[T1!].height", "grammar"]
    assert [fault.line for fault in found][:2] == [8, 9]
    assert found[-1].line in (10, 11)
    assert f"after line {found[-1].line} could not be read, and may hold more faults" in found[-1].mend


@pytest.mark.parametrize(
    "line, clue",
    [
        ("\tlines: []", "never a tab"),
        ("note: a: b", "second colon"),
        ("note: 'open", "never closed"),
        ("note: [open", "never closed"),
        ("note: @home", "in quotes"),
        (" note: x", "Line the keys"),
        ('note: "\\q"', "backslash"),
        ("note: *x", "Write the value out again"),
        ("<<: {note: x}", "Write the keys out again"),
        ("note: .inf", "finite"),
        ("note: 1e999", "finite"),
        ("note: 123456789012345678", "17 digits"),
        ('note: "\\u0007"', "U+0007"),
        ('note: "\\ud800"', ""),
        ("note: a\u202eb", "U+202E"),
        ("note: ''", "at least 1 character"),
        ("note: '  '", "blank space only"),
        ("---", "one record a file"),
        ("? [a]\n: b", "Put the key in quotes"),
        ("note: " + "x" * 2001, "at most 2000 characters"),
        ("note: " + "[" * (MAX_YAML_DEPTH + 1), "nesting"),
    ],
)
def test_each_slip_of_form_is_named_on_its_line(line, clue):
    found = faults_of(GOOD + line + ("\nsite: x" if line == "---" else "") + "\n", today=TODAY)
    assert any(clue in fault.sentence() and fault.line >= 7 for fault in found), found


def test_words_and_numbers_that_other_readers_guess_at_stay_as_typed():
    typed = ["yes", "no", "on", "off", "010", "0x1F", "1:30", "2026-05-01", "1_000", "True", "Null"]
    for word in typed:
        assert read_text(GOOD + f"note: {word}\n", today=TODAY).note == word


def test_a_part_fills_in_nothing_where_lines_are_left_blank():
    blank = "  - kind: tree\n    code: T3\n    height:\n    bark: {form: , firmness: }\n    trunk:\n      - girth:\n"
    blank = GOOD + blank
    tree = read_text(blank, today=TODAY).anchor("T3")
    assert tree.height is None and tree.bark is None and tree.trunk == ()


def test_lines_stay_right_behind_an_item_left_blank():
    text = GOOD + "  -\n  - {kind: tree, code: T4, height: 9}\n"
    (fault,) = faults_of(text, today=TODAY)
    assert (fault.line, fault.field) == (8, "anchors[T4].height")


def test_a_field_knows_its_line_after_reading(tmp_path):
    path = tmp_path / "park.yaml"
    path.write_text(GOOD, encoding="utf-8")
    read = read_with_lines(path, TODAY)
    assert read.line_at(("anchors", 1, "code")) == 6
    assert read.line_at(("anchors", 1, "trunk", 0, "girth")) == 6


def test_a_byte_order_mark_and_any_line_ends_do_no_harm(tmp_path):
    path = tmp_path / "park.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_record(path, TODAY) == read_text(GOOD, today=TODAY)


def test_two_sizes_and_half_a_position_are_found_beside_other_faults():
    text = GOOD.replace("code: T2", "code: T2, trunk: [{girth: 9 m, diameter: 1 m, read_at: x}], position: {lat: 5}")
    said = [fault.sentence() for fault in faults_of(text, today=TODAY)]
    assert any("both girth and diameter" in one for one in said)
    assert any("read_at" in one for one in said)
    assert any("lat and lon together" in one for one in said)


def test_ties_to_places_that_are_not_there_and_days_out_of_order():
    ties = "[{landmark: T2, distance: 3 m}, {landmark: X, distance: 3 m}]"
    text = GOOD.replace("code: T2}", f"code: T2, position: {{ties: {ties}}}}}")
    ends, days = "a: {anchor: T1}, b: {anchor: t2}", "{date: 2026-07-02, until: 2026-07-01}"
    text += f"lines: [{{id: L1, use: hammock, {ends}, planned: {days}}}]\n"
    said = [fault.sentence() for fault in faults_of(text, today=TODAY)]
    assert len(said) == 4
    assert any("another place than itself" in one for one in said)
    assert any("a landmark or anchor in this record" in one for one in said)
    assert any("read t2" in one and "Did you mean T2?" in one for one in said)
    assert any("not before 2026-07-02" in one for one in said)


@pytest.mark.parametrize(
    "slip, clue",
    [
        (("siteassess_record: 1", "siteassess_record: 2"), "a later form needs a later program"),
        (("siteassess_record: 1\n", ""), "Fill in `siteassess_record:`"),
        (("code: T2", 'code: T2, photos: [{path: "a\\u0007b"}]'), "U+0007"),
        (("code: T2", "code: T2, photos: [{path: 'C:/x.jpg'}]"), "below the record's own folder"),
        (("code: T2", "code: T 2"), "short code"),
        (("code: T2", "code: 2"), 'in quotes: "2"'),
        (("kind: tree, code: T2", "code: T2"), "kind: tree, boulder, other"),
        (("code: T2", "code: T2, hollow: {height: 1 m, opening: 30 %}"), "a unit of slope"),
        (("code: T2", "code: T2, position: {at: x, lat: 5, lon: 4}"), "Give the position in one way"),
    ],
)
def test_other_slips_are_named(slip, clue):
    assert any(clue in fault.sentence() for fault in faults_of(GOOD.replace(*slip), today=TODAY))


def test_very_many_faults_are_counted_not_all_told():
    found = faults_of(GOOD + "lines: [" + "1," * 3000 + "]\n", today=TODAY)
    assert len(found) == MAX_FAULTS + 1
    assert any(fault.read == "2000 more faults" for fault in found)


def test_today_somewhere_on_earth_is_not_the_future():
    here = datetime.date.today()
    assert read_text(GOOD.replace("2026-05-01", here.isoformat()))
    (fault,) = faults_of(GOOD.replace("2026-05-01", (here + datetime.timedelta(days=3)).isoformat()))
    assert fault.field == "survey.date"


@pytest.mark.parametrize(
    "data, clue",
    [
        (b"", "read nothing"), (b"- a\n- b\n", "read a list"), (b"just words\n", "one text"), (b"\xff\xfe\x00", "0xFF"),
        (b"a: \xc3\x28\n", "UTF-8"), (bytes(range(256)), "characters"), (b"a: 1\nb: \x00\n", "U+0000"),
        (b"x" * (MAX_BYTES + 1), "million bytes"), (b"null", "read nothing"), (b"{}", "read nothing"),
    ],
)
def test_files_that_are_no_record(tmp_path, data, clue):
    path = tmp_path / "park.yaml"
    path.write_bytes(data)
    with pytest.raises(FaultyInput) as caught:
        read_record(path)
    assert clue in str(caught.value)


def test_a_folder_a_missing_file_and_a_name_no_file_can_have(tmp_path):
    for path, clue in ((tmp_path, "a folder"), (tmp_path / "none.yaml", "no such file"), ("a\0b", "cannot be opened")):
        with pytest.raises(FaultyInput, match=clue):
            read_record(path)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_no_bytes_end_in_anything_but_faults(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("bytes") / "x.yaml"
    path.write_bytes(data)
    with pytest.raises(FaultyInput):
        read_record(path)


HOSTILE = '"\\u001b[31m\\n"', '"a\\n b"', '"' + "x" * 500 + '"', "<img src=x onerror=y>", "${x}"


@pytest.mark.parametrize("text", HOSTILE)
def test_a_fault_repeats_texts_on_one_line_printable_and_short(text):
    for place in (f"code: {text}", f"code: T2, {text}: 1", f"code: T2, height: {text}"):
        for fault in faults_of(GOOD.replace("code: T2", place), today=TODAY):
            assert fault.sentence().isprintable()
            assert len(fault.field) < 120 and len(fault.read) < 120


@settings(max_examples=300, deadline=None)
@given(st.integers(0, len(PLANTED) - 1), st.integers(0, 60), st.text("\t\n :-{}[]&*!|>'\"%@`#?,a1.~<", max_size=4))
def test_a_record_cut_and_patched_anywhere_ends_in_faults_with_lines(start, length, patch):
    text = PLANTED[:start] + patch + PLANTED[start + length :]
    found = faults_of(text, today=TODAY)
    assert all(1 <= fault.line <= text.count("\n") + 2 for fault in found)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.integers(0, 9), st.text("\t\n :-{}[]&*!|>'\"%@`#?,a1.~<", max_size=4))
def test_a_good_record_cut_and_patched_reads_or_ends_in_faults(start, length, patch):
    try:
        read_text(GOOD[:start] + patch + GOOD[start + length :], today=TODAY)
    except FaultyInput as error:
        assert error.faults
