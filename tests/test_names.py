"""A name means one thing: no two files of the package give one name to a class, or to a constant or type, of their own.

A function is known by its file as well (`quantity.show`, `bundle.read`); a name with an underscore, by its file alone.
"""

import ast
from collections import defaultdict
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "siteassess"
BY_DESIGN = {
    "Array": "an array of floats in both: rooms beside each other do not know each other",
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


def doubles(files: dict[str, str]) -> dict[str, list[str]]:
    homes = defaultdict(list)
    for file, text in files.items():
        for name in given(text):
            homes[name].append(file)
    return {name: sorted(where) for name, where in sorted(homes.items()) if len(where) > 1}


def test_no_name_is_given_twice():
    found = doubles({path.relative_to(PACKAGE).as_posix(): path.read_text("utf-8") for path in PACKAGE.rglob("*.py")})
    assert {name: where for name, where in found.items() if name not in BY_DESIGN} == {}
    assert set(found) == set(BY_DESIGN), "these are no exceptions any more"


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
