"""The field form as a file: small, sealed, and nothing in it that the record's schema and the tables do not say."""

from __future__ import annotations

import json
import math
import re
from html import unescape

import pytest
import yaml
from click.testing import CliRunner

from siteassess.advice import verdict
from siteassess.cli import group
from siteassess.errors import UnknownName
from siteassess.mechanics.scatter import READING_LN_SD
from siteassess.papers.form import MOST_BYTES, SCRIPTS, UNIT_CHOICES, codes_told, form_page, script
from siteassess.papers.form_data import HEIGHT_CLASSES, all_choices, all_questions, form_data, parts
from siteassess.papers.form_paper import sheets
from siteassess.papers.form_words import FormWords, wordings
from siteassess.records import doubtful, tree_sizes, trunk
from siteassess.records.anchor import ANCHOR_KINDS, Signs, Tree
from siteassess.records.schema import fields, members
from siteassess.reference.findings import unfilled, with_constants
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.languages import languages
from siteassess.reference.locate import shipped
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows
from siteassess.units import UNITS, parse, si_factor


@pytest.fixture(scope="module")
def pages():
    return {(language, units): form_page(language, units) for language in LANGUAGES for units in UNIT_CHOICES}


@pytest.fixture(scope="module")
def data(pages):
    """What the script of the written page reads, as it stands in the page."""
    text = re.search(r'<script type="application/json" id="form-data">(.*?)</script>', pages["en", "metric"], re.S)[1]
    return json.loads(text)


def test_the_form_speaks_four_languages():
    assert languages()[:4] == LANGUAGES
    with pytest.raises(UnknownName):
        form_page("xx")


def test_every_page_weighs_less_than_a_form_may(pages):
    for which, page in pages.items():
        assert len(page.encode("utf-8")) < MOST_BYTES, which


def test_the_policy_lets_nothing_in_from_anywhere(pages):
    for page in pages.values():
        policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)[1]
        kinds = dict(one.strip().split(" ", 1) for one in policy.split(";"))
        assert kinds["default-src"] == "'none'"
        assert kinds["img-src"] == "blob:"  # photos the page itself holds
        assert re.fullmatch(r"'sha256-[A-Za-z0-9+/=]+'", kinds["script-src"])
        assert re.fullmatch(r"'sha256-[A-Za-z0-9+/=]+'", kinds["style-src"])
        assert "unsafe" not in policy


def test_the_page_names_no_address_of_any_server(pages):
    for page in pages.values():
        addresses = set(re.findall(r"[a-z]+://[^\s\"'<)]+", page))
        assert addresses <= {"http://www.w3.org/2000/svg"}  # the name of a vocabulary, never asked for
        assert not re.search(r'(?:src|href)="(?!#)', page)
        assert "@import" not in page and "url(" not in page


def test_no_text_becomes_markup():
    """A text of a record can only be shown as a text: the script has no way to make markup of one."""
    ways = ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(", "srcdoc",
            "setHTML", "createContextualFragment", "DOMParser", "javascript:")  # fmt: skip
    assert [way for way in ways if way in script()] == []


@pytest.mark.parametrize("units, size", [("metric", "size:A4;"), ("us", "size:letter;")])
def test_the_paper_form_names_its_sheet(units, size):
    assert f"@page{{{size}" in form_page("en", units)


def test_leaving_out_notes_leaves_the_program_whole():
    """Nothing but lines of notes, blank lines and indents is taken out; no text of ours runs over a line's end."""
    for name in SCRIPTS:
        text = (shipped("maps") / "pages" / f"form.{name}.js").read_text(encoding="utf-8")
        for line in text.splitlines():
            # a backtick inside a regular expression or a quoted text stands alone
            without = re.sub(r"\"[^\"]*\"|/\^?[^/\n]*`[^/\n]*/", "", line)
            assert without.count("`") % 2 == 0, (name, line)


# ---- the schema


def expand(data: dict) -> dict[str, list[dict]]:
    """Fields with the answers and ranges they share, as the script puts them together."""
    full = {}
    for part, listed in data["parts"].items():
        full[part] = []
        for name, ask, *more in listed:
            how, rest = (*more, *(0, {})[len(more):])
            field = {"kind": "part" if "parts" in rest else "text", "name": name, "ask": ask, "quick": how & 1,
                     "required": how & 2, **rest}  # fmt: skip
            if "choices" in rest:
                choices = [data["answers"][index] for index in data["lists"][rest["choices"]]]
                preset = choices[rest["preset"]] if "preset" in rest else None
                field |= {"kind": "choice", "choices": choices, "preset": preset}
            elif "measure" in rest:
                names = ("of", "low", "high", "example", "unit")
                field |= {"kind": "quantity", **dict(zip(names, data["measures"][rest["measure"]], strict=True))}
            full[part].append(field)
    return full


def test_the_form_asks_what_the_schema_asks_and_nothing_else(data):
    full = expand(data)
    assert list(full) == list(parts())
    for part, model in parts().items():
        asked = {one.name: one for one in members(model)}
        assert [one["name"] for one in full[part]] == list(asked), part
        for one in full[part]:
            told = asked[one["name"]]
            where = (part, told.name)
            assert one["ask"] == told.question, where
            assert one["kind"] == told.kind, where
            assert tuple(one.get("choices", ())) == told.choices, where
            assert bool(one.get("quick")) == told.quick, where
            assert bool(one.get("required")) == told.required, where
            if told.kind == "quantity":
                assert (one["of"], one["low"], one["high"], one["example"]) == (
                    told.quantity, told.low, told.high, told.example), where  # fmt: skip
            elif told.low is not None:
                assert (one["low"], one["high"]) == (told.low, told.high), where
            if not told.models and told.default not in (None, ()):
                assert one["preset"] == told.default, where


def test_units_and_their_sizes_are_those_of_the_program(data):
    for kind, units in data["units"].items():
        assert list(units) == list(UNITS[kind])
        for unit, si in units.items():
            assert si == (None if (kind, unit) == ("slope", "%") else si_factor(kind, unit))
    asked = {one.quantity for model in parts().values() for one in members(model) if one.quantity}
    assert set(data["units"]) == asked


def test_us_units_are_offered_first_where_they_are_asked_for(pages):
    text = re.search(r'id="form-data">(.*?)</script>', pages["en", "us"], re.S)[1]
    full = expand(json.loads(text))
    units = {one["name"]: one["unit"] for one in full["Tree"] if one["kind"] == "quantity"}
    assert units["height"] == "ft" and units["lean"] == "deg"
    assert next(one["unit"] for one in full["TrunkReading"] if one["name"] == "girth") == "in"
    offered = {one["unit"] for listed in full.values() for one in listed if one["kind"] == "quantity"}
    assert not offered & {"m", "cm", "mm", "kN", "N", "kg", "g/m"}


def test_the_thresholds_are_those_of_the_check_of_readings(data):
    for module in (doubtful, tree_sizes, trunk):
        for name, value in vars(module).items():
            if name.isupper() and isinstance(value, float):
                assert data["limits"][name] == value, name


def test_every_threshold_the_script_uses_is_given(data):
    used = set(re.findall(r"LIMIT\.([A-Z_]+)", script()))
    assert used and used <= set(data["limits"])


def test_stop_signs_stand_one_by_one_with_where_to_look(data):
    signs = [one["name"] for one in expand(data)["Signs"]]
    assert signs == list(Signs.model_fields) == list(verdict.STOP_SIGNS)
    table = {row["id"]: row["look"] for row in rows("warning_signs")}
    assert {name: data["signs"][name] for name in signs} == {name: table[name] for name in signs}
    assert all(one["preset"] == "not looked" for one in expand(data)["Signs"])


def test_the_deciding_things_are_the_published_ones_and_the_script_knows_each(data):
    told, things = data["deciding"], data["deciding"]["things"]
    for use, listed in verdict.DECIDING.items():
        assert tuple(things[index] for index in told["by_use"][use]) == listed
        assert tuple(things[index] for index in told["boulder"][use]) == verdict.boulder_deciding(use)
    text = (shipped("maps") / "pages" / "form.missing.js").read_text(encoding="utf-8")
    known = set(re.findall(r'^  "([a-z: ]+)": \(', text, re.M))
    known |= {f"stop sign: {name}" for name in verdict.STOP_SIGNS.values()}
    assert set(things) == known


def test_suggested_trees_are_known_to_the_program(data):
    names = []
    for line in data["species"].split("\n"):
        name = line.split("|")[0]
        names.append(names[-1].split()[0] + name if name.startswith(" ") else name)
    genera = {row.genus for row in rows("species") if row.rank == "species" or row.bark or row.leaf_type == "palm"}
    assert len(names) == sum(row.genus in genera for row in rows("species")) + 2
    assert {row.scientific_name for row in rows("species") if row.rank == "species"} <= set(names)
    for name in names:
        assert find_species(name).asked == name


def test_ranges_are_read_alike(data):
    """The text of each range is one the program reads, and reads in order."""
    for of, low, high, example, unit in data["measures"]:
        least, most, usual = (parse(text, of).si for text in (low, high, example))
        assert least <= usual <= most
        assert unit in UNITS[of]


# ---- the words


@pytest.mark.parametrize("group_name, wanted", [
    ("question", all_questions), ("choice", lambda: [str(one) for one in all_choices()]),
    ("look", lambda: [row["look"] for row in rows("warning_signs")]),
])  # fmt: skip
def test_every_word_of_the_schema_has_its_wording_in_every_language(group_name, wanted):
    told = wordings(group_name)
    missing = [one for one in wanted() if one not in told]
    assert missing == [], "add them to data/form_texts.yaml"
    assert [one for one in told if one not in set(wanted())] == [], "nothing asks for these any more"
    for row in told.values():
        assert all(row.get(language, "").strip() for language in LANGUAGES), row["en"]


def test_sentences_have_the_same_places_in_every_language():
    own = [row for row in rows("form_texts") if row["group"] == "sentence"]
    assert len({row["key"] for row in own}) == len(own)
    for row in own:
        places = {language: sorted(re.findall(r"\{(\w+)\}", row[language])) for language in LANGUAGES}
        assert len({tuple(found) for found in places.values()}) == 1, row["key"]


def test_the_script_asks_for_no_sentence_that_is_not_there(data):
    asked = set(re.findall(r'say\("([a-z0-9-]+)"', script())) | set(re.findall(r'"(refused-[a-z-]+)"', script()))
    assert asked <= set(data["words"])


def test_no_sentence_waits_in_vain():
    """Each is asked for by the script or stands in the page; doubtful readings are told by the table of findings."""
    page = (shipped("maps") / "pages" / "form.html.j2").read_text(encoding="utf-8")
    left = {key for key in FormWords().sentences if f'"{key}"' not in script() and f'"{key}"' not in page}
    assert left == {f"add-{kind}" for kind in ANCHOR_KINDS}


def test_the_page_carries_the_wordings_of_doubts_that_the_script_tells(data):
    assert 60 < len(codes_told()) == len(data["told"])
    for code, told in zip(codes_told(), data["told"], strict=True):
        assert told == with_constants(unfilled(code)).replace(":text}", "}").replace(":said}", "}")
        assert not re.search(rf'"{code}"', script())  # on the page it is a number


def test_the_words_of_one_language_tell_answers_apart():
    """Two answers of one question never get the same word."""
    for language in LANGUAGES:
        words = FormWords(language)
        for model in parts().values():
            for asked in members(model):
                told = [words.choice(choice) for choice in asked.choices]
                assert len(set(told)) == len(told), (language, asked.path, told)


def test_the_languages_really_differ():
    for language in LANGUAGES[1:]:
        same = [row["en"] for row in wordings("question").values() if row[language] == row["en"]]
        assert len(same) < 8, same  # "Notes", "Conditions", "Name" and their like


# ---- the paper form


def test_the_paper_form_asks_the_same_in_the_same_order(pages):
    page = pages["en", "metric"]
    paper = page[page.index('<div class="paper"') : page.index('<script type="application/json"')]
    tree = paper[paper.index(": Tree <span>") : paper.index(": Boulder <span>")]
    asked = [unescape(text) for text in re.findall(r"<b>(.*?)</b>|<h3[^>]*>(.*?)</h3>", tree) for text in text if text]
    wanted = [one.question for one in fields(Tree) if one.path != ("kind",)]
    twice = [one.question for one in fields(Tree) if one.path[:2] == ("trunk", "[]")]
    start = wanted.index(twice[0])
    assert asked == [*wanted[: start + len(twice)], *twice, *wanted[start + len(twice) :]]


def test_the_short_paper_form_is_the_short_form(pages):
    page = pages["en", "metric"]
    tree = page[page.index(": Tree <span>") : page.index(": Boulder <span>")]
    shown = re.findall(r"<p(?: class=\"?([^\">]*)\"?)?><b>(.*?)</b>", tree)
    short = list(dict.fromkeys(unescape(ask) for classes, ask in shown if "f" not in classes.split()))
    asked = (one for one in fields(Tree, quick=True) if not one.models and one.path != ("kind",))
    assert short == list(dict.fromkeys(one.question for one in asked))


def test_every_list_of_the_record_has_its_sheet():
    made = sheets(FormWords("en"))
    leaves = {blank.ask for sheet in made for blank in sheet.blanks}
    not_on_paper = {"Version of this form of record", "Anchors", "Planned lines", "Kind of anchor"}
    assert set(all_questions()) - leaves <= not_on_paper


# ---- the command


def test_the_command_writes_the_form(tmp_path):
    target = tmp_path / "f.html"
    result = CliRunner().invoke(group, ["form", "--lang", "de", "--units", "us", "--out", str(target), "--json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert told["bytes"] == target.stat().st_size
    assert '<html lang="de">' in target.read_text(encoding="utf-8")
    assert CliRunner().invoke(group, ["form", "--lang", "xx"]).exit_code == 2
    assert CliRunner().invoke(group, ["form", "--out", str(tmp_path / "none" / "f.html")]).exit_code != 0


def test_the_table_of_words_is_plain_yaml():
    text = (shipped("data") / "form_texts.yaml").read_text(encoding="utf-8")
    assert all(isinstance(value, str) for row in yaml.safe_load(text)["rows"] for value in row.values())


@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_class_of_heights_is_no_wider_than_an_estimate(units):
    """A tree anywhere in its class, evenly drawn in logarithms, scatters by width over root 12 (textbook)."""
    estimated = READING_LN_SD["height", "estimated"].value
    unit, *bounds = HEIGHT_CLASSES[units]
    for (middle, name), low, high in zip(form_data(FormWords("en"), (), units)["heights"], bounds, bounds[1:]):
        assert math.log(high / low) / math.sqrt(12) < 1.01 * estimated, name
        assert float(middle.split()[0]) == pytest.approx(math.sqrt(low * high), rel=0.03) and middle.endswith(unit)
        assert str(low) in name
