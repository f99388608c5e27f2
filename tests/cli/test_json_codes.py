"""Beside every sentence of a `--json` answer stands what it is made of: a program never reads a sentence."""

import json

import pytest
from click.testing import CliRunner
from quick_sums import SUMS

from siteassess.cli import group
from siteassess.reference.locate import shipped

PARK = str(shipped("examples") / "brindlewick" / "park.yaml")
A_SENTENCE = 4  # words
EXCUSED = {
    "name": "of a place or a constant, as somebody wrote it", "source": "of a rule or a number, as it is cited",
    "check_current_text": "a rule set's own words", "value": "of a constant, which `tables constants` tells",
    "manager": "as the record says", "manager_contact": "as the record says", "contact": "as the record says",
    "note": "a text of the program that is always the same", "cautions": "rows of the table `texts`",
    "verdict_tail": "a text of the program that is always the same", "model": "a name",
    "what": "a word of the table of seasons", "do": "a word of the table beside its kind or code",
    "does": "a word of the table of pads", "does_not": "a word of the table of pads",
    "reason": "of a limit, by its `why`", "do_next": "of a limit, by its `why`", "reasons": "what `findings` say",
    "deciding": "words of the list of deciding things", "thing": "a word of the list of deciding things",
    "relation": "a word of the list of relations", "outside": "flags of the model by name",
}


def bare(told, key="", beside=(), path="") -> list[str]:
    """Every sentence with neither a code in its own object, nor codes under its own name."""
    if isinstance(told, dict):
        return [one for name, value in told.items() if not name.endswith("codes") and name != "values"
                for one in bare(value, name, told, f"{path}.{name}")]  # fmt: skip
    if isinstance(told, list):
        return [one for value in told for one in bare(value, key, beside, path)]
    sentence = isinstance(told, str) and len(told.split()) >= A_SENTENCE
    coded = {"code", "codes", f"{key}_codes"} & set(beside)
    return [f"{path}: {told}"] if sentence and not coded and key not in EXCUSED else []


@pytest.mark.parametrize("command", [
    ("assess", PARK), ("check", PARK), ("pack", PARK), ("rules", "check", PARK), *(("quick", *one) for one in SUMS),
], ids=lambda command: " ".join(command[:3])[-60:])  # fmt: skip
def test_no_sentence_stands_without_its_code(command):
    answer = CliRunner().invoke(group, [*command, "--json"])
    assert answer.exit_code == 0, answer.output
    assert bare(json.loads(answer.stdout)) == []


def test_the_walk_sees_a_bare_sentence():
    said = {"says": "three people pull a line"}
    assert bare({"lines": [said]}) and bare({"says": ["one", said["says"]]})
    assert not bare({"lines": [said | {"code": "people-pull"}]}) and not bare(said | {"says_codes": {}})
    assert not bare({"use": "low line"})
