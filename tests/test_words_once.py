"""A list of words has one home: no list repeats the words of a type, and no two types share theirs.

A choice of some words of a type is no second list of it, and neither is a table that says something of each word.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "siteassess"
ENOUGH = 3
ANYWHERE = {"unknown", "not looked", "other", "none", "yes", "no"}  # what any question may be answered with
BY_DESIGN = {
    "advice/look_first.py ESTIMATED": "ways of reading a tree, a span and a tension that are no more than a guess",
    "mechanics/bark.py WRAPS": "mechanics know no record; gear_inputs says which of theirs each wrap is",
    "mechanics/rootzone.py STANDARDS": "the sums by name; a record's standard says the factor of one of them as well",
    "places/agreement.py LEVELS": "of readings against each other; a pair's answer tells them in words of its own",
    "places/features.py FEATURE_KINDS": "what a map file tells apart: trees and parks too, not what only a person sees",
    "records/sizes.py OTHER_UNITS": "units that a slip may have meant, in the order they are tried",
    "reference/rules.py Crossed": "reference knows no record; what a set may forbid a line to cross",
    "reference/tables.py NUMBER_ENDINGS": "last words of columns; some are units",
    "register/log_bodies.py pull_how": "a log reads a pull off a sag or an assessment, and knows no maker's figure",
}


def texts(nodes: list[ast.expr]) -> tuple[str, ...]:
    found = [node.value for node in nodes if isinstance(node, ast.Constant)]
    return tuple(found) if len(found) == len(nodes) and all(isinstance(one, str) for one in found) else ()


def named(tree: ast.Module) -> Iterator[tuple[str, ast.AST]]:
    """Every node with what the statement it stands in gives a name to."""
    left: list[tuple[str, ast.AST]] = [("", tree)]
    while left:
        name, node = left.pop()
        if isinstance(node, ast.Assign):
            name = next((one.id for one in node.targets if isinstance(one, ast.Name)), "")
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            name = node.target.id
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            name = node.name
        yield name, node
        left += [(name, child) for child in ast.iter_child_nodes(node)]


def lists_of(text: str, file: str = "") -> tuple[dict[str, tuple[str, ...]], dict[str, tuple[str, ...]]]:
    """The lists of words that a file declares as types, and those it writes down, by file, name and place."""
    types, written, within = {}, {}, set()
    for name, node in named(ast.parse(text)):
        where = f"{file} {name}"
        if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal":
            within |= {id(node.slice)}
            types[f"{where} {node.lineno}"] = texts(node.slice.elts if isinstance(node.slice, ast.Tuple) else [])
        elif isinstance(node, ast.ClassDef) and any(getattr(base, "id", "").endswith("Enum") for base in node.bases):
            types[f"{where} {node.lineno}"] = texts([one.value for one in node.body if isinstance(one, ast.Assign)])
        elif isinstance(node, ast.Tuple | ast.List | ast.Set) and id(node) not in within:
            written[f"{where} {node.lineno}"] = texts(node.elts)
    return types, written


def repeats(types: dict[str, tuple[str, ...]], written: dict[str, tuple[str, ...]]) -> Iterator[tuple[str, str]]:
    """What repeats a type: all that it says, or enough of it beside words of its own."""
    own = {where: set(words) - ANYWHERE for where, words in types.items()}
    own = {where: words for where, words in own.items() if len(words) >= ENOUGH}
    for where, listed in written.items():
        words = set(listed) - ANYWHERE
        is_choice = any(words < declared for declared in own.values())
        for home, declared in own.items():
            shared = words & declared
            if len(shared) >= ENOUGH and not is_choice and (shared == declared or words - declared):
                yield where, home
    for where, words in own.items():
        yield from ((where, home) for home, declared in own.items()
                    if where > home and len(words & declared) >= ENOUGH)


def test_no_list_of_words_is_declared_twice():
    types, written = {}, {}
    for path in sorted(PACKAGE.rglob("*.py")):
        some, others = lists_of(path.read_text("utf-8"), path.relative_to(PACKAGE).as_posix())
        types |= some
        written |= others
    found = sorted(set(repeats(types, written)))
    assert [(one, home) for one, home in found if one.rpartition(" ")[0] not in BY_DESIGN] == []
    assert {one.rpartition(" ")[0] for one, _ in found} == set(BY_DESIGN), "these are no exceptions any more"


HOME = 'Use = Literal["hammock", "low line", "long line", "unknown"]\n'


@pytest.mark.parametrize("more, told", [
    ('USES = ("hammock", "low line", "long line")', True),
    ('click.Choice(["long line", "hammock", "low line", "all"])', True),
    ('class Line:\n    use: Literal["hammock", "low line", "long line", "slackline"] = "hammock"', True),
    ('class Use(StrEnum):\n    A = "hammock"\n    B = "low line"\n    C = "long line"', True),
    ('SOME = ("hammock", "low line")', False),
    ('PULLS = {"hammock": 1, "low line": 2, "long line": 3}', False),
    ("USES = get_args(Use)", False),
])
def test_the_walk_sees_a_second_list(more, told):
    assert bool(list(repeats(*lists_of(HOME + more)))) == told
