"""What the docstring of a public function tells: one that another room takes, and each of the rooms of sums."""

import ast
import re
from collections.abc import Iterator
from importlib import import_module

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
        "__init__", "__main__", "group"}  # fmt: skip  # nothing else asks the group's room
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


def of_its_own(node: ast.AST) -> Iterator[ast.AST]:
    """What stands in a body, without the functions and classes within."""
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, ast.FunctionDef | ast.ClassDef | ast.Lambda):
            yield child
            yield from of_its_own(child)


def class_of(raised: ast.expr, module: object) -> type | None:
    """The class that a statement raises, by itself or by a function that makes it; None of an error caught before."""
    named = raised.func if isinstance(raised, ast.Call) else raised
    found = module.__builtins__.get(named.id) if isinstance(named, ast.Name) else None
    for part in ast.unparse(named).split("."):
        found = getattr(module, part, found)
        module = found
    if not isinstance(found, type) and callable(found):
        made = found.__annotations__.get("return")
        found = getattr(import_module(found.__module__), made) if isinstance(made, str) else made
    return found if isinstance(found, type) else None


def untold(function: ast.FunctionDef, module: object) -> list[str]:
    """The classes it raises in its own body of which its section tells neither them nor one they are kinds of."""
    section = (ast.get_docstring(function) or "").partition("Raises\n-")[2].partition("\n\n")[0]
    entries = [line.partition(":")[0] for line in section.splitlines()[1:] if line[:1] != " "]
    names = {name.strip() for entry in entries for name in entry.split(",")}
    raises = [node.exc for node in of_its_own(function) if isinstance(node, ast.Raise) and node.exc is not None]
    missing = [] if names or not raises else ["Raises"]
    for raised in (class_of(one, module) for one in raises):
        if raised is not None and not names & {one.__name__ for one in raised.__mro__} - {"Exception"}:
            missing.append(raised.__name__)
    return missing


def public(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Public functions at the top of a file, and public methods of its public classes."""
    for node in tree.body:
        within = node.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_") else [node]
        yield from (one for one in within if isinstance(one, ast.FunctionDef) and not one.name.startswith("_"))


def test_what_a_public_function_raises_itself_stands_in_its_docstring():
    """But for commands, whose docstrings are what `--help` shows."""
    told = {(name, function.name): untold(function, import_module(name)) for name, (room, tree) in TREES.items()
            if room not in ("cli", "__main__") for function in public(tree)}  # fmt: skip
    assert len(told) > 900
    assert {where: missing for where, missing in told.items() if missing} == {}


@pytest.mark.parametrize("raised, told, missing", [
    ("KeyError('a')", "KeyError : none", []),
    ("KeyError('a')", "LookupError : none", []),
    ("KeyError('a')", "ValueError : none", ["KeyError"]),
    ("KeyError('a')", "Exception : none", ["KeyError"]),
    ("ValueError('a')", "KeyError, ValueError : none", []),
    ("found", "", ["Raises"]),
])  # fmt: skip
def test_what_is_raised_is_seen(raised, told, missing):
    code = f'def f(found):\n    """One.\n\n    Raises\n    ------\n    {told}\n    """\n    raise {raised}\n'
    assert untold(ast.parse(code).body[0], import_module("test_docstrings")) == missing
