"""Parts of a sentence are joined by `between` and `colon` of the texts: a French reader sees a space before both."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
ROOMS = [*(ROOT / "siteassess/papers").glob("*.py"), *(ROOT / "siteassess/register").glob("*.py")]
TEMPLATES = [path for path in (ROOT / "maps/pages").iterdir() if path.suffix in (".j2", ".js")]
IN_PAGES = re.compile(r"""[%}]\}[;:] |(?:[(+?{]|else) ?["'][;:] ["']|\}[;:] \$\{|>[;:] """)
BY_DESIGN = {
    "adopt.py _source": "what a copy says of itself, under its own keys",
    "bundle.py write": "a line of a bundle's facts, each by its key",
    "check_text.py check_text": "a file and its line, as other programs write them",
    "terminal.py explain": "what a finding is about, in English alone",
}


def _and_more(part: ast.Constant, whole: ast.JoinedStr) -> str:
    """A part of a text; what ends in it goes on with a space wherever it is told."""
    return str(part.value) + " " * (part is whole.values[-1])


def joined(text: str) -> Iterator[str]:
    """The functions of a file that join by a mark of their own."""
    for function in ast.walk(ast.parse(text)):
        if not isinstance(function, ast.FunctionDef):
            continue
        for node in ast.walk(function):
            if isinstance(node, ast.Constant) and node.value in ("; ", ": "):
                yield function.name
            elif isinstance(node, ast.JoinedStr):
                for before, after in zip(node.values, node.values[1:]):
                    begins = isinstance(after, ast.Constant) and re.match(r"[;:]\s", _and_more(after, node))
                    if begins and isinstance(before, ast.FormattedValue):
                        yield function.name


def test_no_paper_or_answer_joins_by_a_mark_of_its_own():
    found = {f"{path.name} {name}" for path in ROOMS for name in joined(path.read_text("utf-8"))}
    assert found == set(BY_DESIGN)


def test_no_page_joins_by_a_mark_of_its_own():
    found = {(path.name, bare) for path in TEMPLATES for bare in IN_PAGES.findall(path.read_text("utf-8"))}
    assert not found


@pytest.mark.parametrize("bare", ['"; ".join(why)', 'f"{name}: {why}"', 'f"{name}; {why}"', 'f"{name}:"', '": " + why'])
def test_a_bare_join_is_found(bare):
    assert list(joined(f"def made(name, why):\n    return {bare}\n"))


BARE = ["{{ a }}: {{ b }}", "{% endif %}; {{ b }}", "<b>; </b>", '{{ all|join("; ") }}', "`${a}: ${b}`", 'a + ": " + b']


@pytest.mark.parametrize("bare", BARE)
def test_a_bare_join_of_a_page_is_found(bare):
    assert IN_PAGES.search(bare)
