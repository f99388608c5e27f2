"""What the docstring of a public function tells: one that another room takes, and each of the rooms of sums."""

import ast
import re
from collections.abc import Iterator

import pytest
from test_layers import FILES, PACKAGE, room_of

WHOLE_ROOMS = ("mechanics", "places", "api")
NUMBER = re.compile(r"\b(float|ArrayLike|Array|ndarray)\b")
Address = tuple[str, str]  # module, name


def module_of(path) -> str:
    return ".".join(("siteassess", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


TREES = {module_of(path): (room_of(path), ast.parse(path.read_text(encoding="utf-8"))) for path in FILES}


def taken_by(room: str, tree: ast.Module) -> Iterator[tuple[str, Address]]:
    """What a file takes by name, or as `module.name`, wherever the import stands."""
    modules = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            for one in node.names:
                if f"{node.module}.{one.name}" in TREES:
                    modules[one.asname or one.name] = f"{node.module}.{one.name}"
                else:
                    yield room, (node.module, one.name)
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
            yield room, (modules[node.value.id], node.attr)


TAKEN = {(TREES[address[0]][0], address) for room, tree in TREES.values() for by, address in taken_by(room, tree)
         if address[0] in TREES and TREES[address[0]][0] != by}  # fmt: skip
FUNCTIONS = {(module, node.name): node for module, (room, tree) in TREES.items() for node in tree.body
             if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
             and (room in WHOLE_ROOMS or (room, (module, node.name)) in TAKEN)}  # fmt: skip


def left_out(function: ast.FunctionDef) -> list[str]:
    """What its docstring should tell and does not.

    A number that goes in wants its unit in brackets, or the name of what takes it alike ("as in `solve`"). Numbers,
    dictionaries and tuples of unlike things want a section of what comes out, unless the first words name the unit; of
    other types the annotation and the first words say enough.
    """
    told, args = ast.get_docstring(function) or "", function.args
    given = [one for one in (*args.posonlyargs, *args.args, *args.kwonlyargs, args.vararg, args.kwarg) if one]
    entries = re.split(r"\n(?=\S)", told.partition("Parameters\n")[2].partition("\n\n")[0])
    missing = []
    for one in given:
        entry = next((entry for entry in entries if re.search(rf"^[^:]*\b{one.arg}\b", entry)), "")
        if not entry:
            missing.append(one.arg)
        elif NUMBER.search(ast.unparse(one.annotation)) and "[" not in entry and not re.search(r"\b[Aa]s ", entry):
            missing.append(f"unit of {one.arg}")
    if "Raises\n" not in told and any(isinstance(node, ast.Raise) for node in ast.walk(function)):
        missing.append("Raises")
    out = ast.unparse(function.returns).removesuffix(" | None") if function.returns else "None"
    wants = re.search(r"\b(float|int|Array|dict|Mapping|Any)\b|tuple\[(?!\w+, \.\.\.\])", out)
    if wants and not re.search(r"(Returns|Yields)\n", told) and "[" not in told.partition("\n\n")[0]:
        missing.append("Returns")
    return missing if told else ["everything"]


@pytest.mark.parametrize("address", FUNCTIONS, ids=lambda address: ".".join(address).removeprefix("siteassess."))
def test_a_public_function_tells_what_goes_in_and_comes_out_and_its_errors(address):
    assert left_out(FUNCTIONS[address]) == []


def test_the_walk_sees_what_is_taken_by_name_as_an_attribute_and_late():
    assert {room for room, _ in TREES.values()} == {TREES[module][0] for module, _ in FUNCTIONS} | {
        "__init__", "__main__"}  # fmt: skip
    assert ("siteassess.records.trunk", "trunk_at") in FUNCTIONS
    assert ("siteassess.reference.faults", "of_error") in FUNCTIONS
    late = "def f():\n    from siteassess.mechanics import dynamics as dyn\n    return dyn.catch\n"
    assert list(taken_by("advice", ast.parse(late))) == [("advice", ("siteassess.mechanics.dynamics", "catch"))]


@pytest.mark.parametrize("docstring, missing", [
    ("", ["everything"]),
    ("Sum.", ["one", "other", "Raises", "Returns"]),
    ("Sum [m].\n\n    Parameters\n    -\n    one : [m]\n    ", ["other", "Raises"]),
    ("Sum [m].\n\n    Parameters\n    -\n    one : long\n    other : as in `one`\n    ", ["unit of one", "Raises"]),
    ("Sum [m].\n\n    Parameters\n    -\n    one, other : [m]\n\n    Raises\n    E : no\n    ", []),
])  # fmt: skip
def test_what_is_left_out_is_seen(docstring, missing):
    body = f'    """{docstring}"""\n' if docstring else ""
    code = f"def add(one: float, other: float) -> float:\n{body}    raise E\n"
    assert left_out(ast.parse(code).body[0]) == missing
