"""A name means one thing: no two files of the package give one name to a class, constant, type or public function.

A name with an underscore is known by its file alone.
"""

import ast
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "siteassess"
BY_DESIGN = {
    "Array": "an array of floats in both: rooms beside each other do not know each other",
}

FROM_PYTHON = (
    "bark", "bearing", "boulder", "load", "plan", "report", "root", "schema", "site_map",
    "sling", "stem", "tight",
)
FUNCTIONS_BY_DESIGN = {
    "assess": "a command, and what it does", "correct": "a command, and what it does",
    "haul": "a command, and what it does", "join": "a command, and what it does", "log": "a command, and what it does",
    "mark": "a command, and what it does", "redraw": "a command, and what it does",
    "check": "a command of records and one of rules", "new": "a command of records and one of rules",
    "show": "a command of a register and one of rules; `units.show`, which whole rooms know by this name",
    "main": "where the program begins, and what of it needs imports",
    "geojson": "a format, by what is written in it", "gpx": "a format, by what is written in it",
    **dict.fromkeys(FROM_PYTHON, "a command, and the same from Python"),
    "read": "a format, known by its file: `bundle.read`", "write": "a format, known by its file: `bundle.write`",
}


def given(text: str) -> set[str]:
    """The classes, constants and types that a file declares at its top for others to read."""
    found = set()
    for node in ast.parse(text).body:
        if isinstance(node, ast.ClassDef):
            found.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [one for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)]
            found |= {one.id for one in names if isinstance(one.ctx, ast.Store)}
    return {name for name in found if not name.startswith("_")}


def functions(text: str) -> set[str]:
    """The functions at the top of a file that others may call; one with overloads is one."""
    return {node.name for node in ast.parse(text).body
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")}  # fmt: skip


def doubles(files: dict[str, str], of: Callable[[str], set[str]] = given) -> dict[str, list[str]]:
    homes = defaultdict(list)
    for file, text in files.items():
        for name in of(text):
            homes[name].append(file)
    return {name: sorted(where) for name, where in sorted(homes.items()) if len(where) > 1}


@pytest.mark.parametrize(("of", "by_design"), [(given, BY_DESIGN), (functions, FUNCTIONS_BY_DESIGN)])
def test_no_name_is_given_twice(of, by_design):
    texts = {path.relative_to(PACKAGE).as_posix(): path.read_text("utf-8") for path in PACKAGE.rglob("*.py")}
    found = doubles(texts, of)
    assert {name: where for name, where in found.items() if name not in by_design} == {}
    assert set(found) == set(by_design), "these are no exceptions any more"


def test_no_two_files_of_a_room_look_alike():
    """`reading.py` beside `readings.py` is read as the other by whoever looks in a hurry."""
    homes = defaultdict(set)
    for path in PACKAGE.rglob("*.py"):
        homes[path.parent.relative_to(PACKAGE).as_posix(), path.stem.removesuffix("s")].add(path.name)
    assert {where: names for where, names in homes.items() if len(names) > 1} == {}


@pytest.mark.parametrize("other, told", [
    ("NEAR_M = 3.0", True),
    ("FAR_M, NEAR_M = 9.0, 3.0", True),
    ("NEAR_M: float = 3.0", True),
    ("class NEAR_M: ...", True),
    ("from siteassess.places.near import NEAR_M", False),
    ("def far():\n    NEAR_M = 3.0", False),
    ("_NEAR_M = 3.0", False),
    ("NEAR_M['tree'] = 3.0", False),
])
def test_the_walk_sees_a_second_home(other, told):
    assert bool(doubles({"one": "NEAR_M = 2.0", "other": other})) == told


@pytest.mark.parametrize("other, told", [
    ("def near(): ...", True),
    ("def _near(): ...", False),
    ("class A:\n    def near(self): ...", False),
    ("from siteassess.places.near import near", False),
])
def test_the_walk_sees_a_second_function(other, told):
    assert bool(doubles({"one": "def near(): ...", "other": other}, functions)) == told
