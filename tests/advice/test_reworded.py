"""Nothing is decided on a wording: with every text of the catalogue reworded at random, the answers are the same."""

from __future__ import annotations

import ast
import copy
import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from drawn import drawn

import siteassess
from siteassess.advice.assess import assess
from siteassess.records.reading import read_record
from siteassess.records.record import Record
from siteassess.reference import findings
from siteassess.reference.tables import document

PARK = Path(__file__).resolve().parents[2] / "examples" / "brindlewick" / "park.yaml"


@pytest.fixture
def reworded(monkeypatch):
    """Each wording becomes letters drawn by lot around the values it names; what it is about is a key, and stays."""
    usual, draw = findings.unfilled, random.Random(7)

    def other(code: str, part: str = "full", language: str = "en") -> str:
        text = usual(code, part, language)
        if part == "about" or not text:
            return text
        named = [f"{{{name}:{how}}}" for name, how in sorted(findings.names_in(text))]
        return " ".join(["".join(draw.choices("bcdfgh", k=6)), *named])

    monkeypatch.setattr(findings, "unfilled", other)


def decided(record: Record) -> list:
    """Everything of an answer that is no sentence."""
    answer = assess(record)
    told = [stated.named for stated in answer.assumptions]
    for line in answer.lines:
        told += [line.verdict, [(one.code, one.effect, one.looked_at) for one in line.findings], line.looks]
        told += [(met.kind, met.relation, met.advice, met.along_m) for met in line.crossings]
        told += [(part.answer, part.load, part.wanted, part.hangs_on) for part in line.gear_checks]
        if crew := line.hauling:
            told += [crew.answer, crew.needed_n, crew.rounds, crew.planned_answer, crew.grip_slips,
                     [(one.name, one.answer) for one in crew.helps], [one.code for one in crew.told]]  # fmt: skip
        for end in line.anchors:
            told += [end.verdict, end.hold_use, end.care_use, end.take_down_wind_m_s, len(end.conditions)]
            told += [(one.code, one.about, one.effect, one.looked_at) for one in end.findings]
            told += [(one.what, one.field, one.value, one.reaches, one.still) for one in end.remedies]
            told += [one.asked for one in end.findings]
            told += [(clause.clause, clause.answer, clause.asks.code, clause.shows.code, clause.cites.code)
                     for clause in end.rules.clauses] if end.rules else []  # fmt: skip
    told += [(item.kind, item.thing.code, item.count, item.length_m, item.width_m, item.thickness_m, item.lines)
             for item in answer.packing]  # fmt: skip
    return [*told, [(tree.code, tree.verdict, len(tree.deciding)) for tree in answer.trees]]


def records() -> list[Record]:
    made = [read_record(PARK)]
    for seed in (*range(6), *range(1000, 1012)):
        one = copy.deepcopy(drawn(seed))
        if seed % 3 == 0:
            sheaves = ("good pulley", "magic wheel")
            one["lines"][0]["crew"] = {"people": 1 + seed % 4, "stages": [{"ratio": 3, "sheave": sheaves[seed % 2]}]}
        try:
            made.append(Record.model_validate(one))
        except ValueError:
            continue
    return made


@pytest.fixture(scope="module")
def usual() -> list[list]:
    """What is decided of each record with the texts as they are; not at import, as each worker imports every test."""
    return [decided(record) for record in records()]


def test_there_is_something_to_reword(usual):
    """Remedies with conditions of their own, limits that ask for one of several, bark that does, and crews."""
    told = str(usual)
    for code in ("any-of", "or-else", "and-then", "sling-wider", "bark-pressed-mended", "tie-no-higher", "guyed",
                 "people-reach", "crew-not-worked-out", "crew-cannot-clear", "pack-sling", "pack-tape"):  # fmt: skip
        assert f"'{code}'" in told, code


def test_no_answer_changes_when_every_text_does(usual, reworded):
    assert len(findings.wording("roots-half-lost", {})) == 6
    for before, record in zip(usual, records(), strict=True):
        assert decided(record) == before


WORDINGS = ("says", "do_next", "in_words", "change", "sentence", "conditions")
TOLD = (*WORDINGS, "note", "notes", "sentences")  # names that a wording goes by
LOOKED_INTO = ("startswith", "endswith", "removeprefix", "removesuffix", "partition", "split", "find", "index")


def code_of_the_program() -> Iterator[tuple[str, ast.AST]]:
    for path in sorted(Path(siteassess.__file__).parent.rglob("*.py")):
        yield from ((path.name, node) for node in ast.walk(ast.parse(path.read_text("utf-8"))))


def test_no_code_compares_or_looks_into_a_wording():
    seen = []
    for name, node in code_of_the_program():
        looks = isinstance(node, ast.Call) and getattr(node.func, "attr", "") in LOOKED_INTO
        inside = list(ast.walk(node.func if looks else node)) if looks or isinstance(node, ast.Compare) else []
        if any(getattr(one, "attr", "") in WORDINGS or looks and getattr(one, "id", "") in TOLD for one in inside):
            seen.append(f"{name}:{node.lineno} {ast.unparse(node)}")
    assert not seen


def test_nothing_is_put_in_order_by_a_wording():
    seen = [f"{name}:{node.value.lineno} {ast.unparse(node.value)}" for name, node in code_of_the_program()
            if isinstance(node, ast.keyword) and node.arg == "key"
            and any(getattr(one, "attr", "") in WORDINGS for one in ast.walk(node.value))]  # fmt: skip
    assert not seen


def test_what_a_finding_is_about_is_asked_by_keys_of_the_catalogue():
    """A key that no row bears would be asked for in vain, and nothing else would say so."""
    keys = {row["about"] for row in document("findings")["rows"] if "about" in row}
    asked = {other.value for _, node in code_of_the_program() if isinstance(node, ast.Compare)
             and getattr(node.left, "attr", "") == "about" and isinstance(other := node.comparators[0], ast.Constant)}
    assert {"bark", "ground", "hollow", "stop sign", "surroundings", "trial load", "wind stood"} <= asked
    assert asked <= keys
