"""Imports run one way through the rooms, late imports included; and the quick paths stay light."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "siteassess"

CONSTANTS = "reference.constants"  # the one file of its room that `mechanics` may know
# what each room may know of; rooms beside a bar in the design do not know each other
MAY_KNOW = {
    "errors": set(),
    "units": {"errors"},
    "reference": {"errors", "units"},
    "records": {"errors", "units", "reference"},
    "places": {"errors", "units", "reference", "records"},
    "mechanics": {"errors", "units", CONSTANTS},  # takes numbers, never looks up a table; constants are no look-up
    "advice": {"errors", "units", "reference", "records", "places", "mechanics"},
    "register": {"errors", "units", "reference", "records", "places", "mechanics", "advice"},
    "survey": {"errors", "units", "reference", "records", "places", "mechanics", "advice"},
    "papers": {"errors", "units", "reference", "records", "places", "mechanics", "advice", "register", "survey"},
    "group": {
        "errors", "units", "reference", "records", "places", "mechanics", "advice", "register", "survey", "papers",
    },
    "cli": {
        "errors", "units", "reference", "records", "places", "mechanics", "advice", "register", "survey", "papers",
        "group",
    },
    "api": {
        "errors", "units", "reference", "records", "places", "mechanics", "advice", "register", "survey", "papers",
        "group", "cli",
    },
}
# what `__init__` offers it names for a checker of types alone
TOP_LEVEL = {"__init__": {"errors", "reference", "records", "api"}, "__main__": {"cli"}}


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported_rooms(path: Path) -> set[str]:
    """Rooms a file names in any import statement, wherever it stands."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import, line {node.lineno}"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "siteassess" and len(parts) > 1:
                found.add(CONSTANTS if name.startswith(f"siteassess.{CONSTANTS}.") else parts[1])
    return found


FILES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_file_imports_only_from_rooms_before_its_own(path):
    room = room_of(path)
    allowed = TOP_LEVEL.get(room) if room in TOP_LEVEL else MAY_KNOW[room] | {room}
    allowed = allowed | {CONSTANTS} if "reference" in allowed else allowed
    assert imported_rooms(path) - {"__version__"} <= allowed


def test_the_walk_sees_a_late_import(tmp_path):
    late = tmp_path / "late.py"
    late.write_text("def f():\n    from siteassess.papers.plan import write_plan\n    return write_plan\n")
    assert imported_rooms(late) == {"papers"}
    late.write_text("from siteassess.reference.constants import constant\nfrom siteassess.reference import constants\n")
    assert imported_rooms(late) == {CONSTANTS, "reference"}


def test_only_units_imports_pint():
    users = [path.name for path in FILES if "pint" in _top_modules(path)]
    assert users == ["units.py"]


def _top_modules(path: Path) -> set[str]:
    tops = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            tops |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            tops.add(node.module.split(".")[0])
    return tops


def test_one_template_engine_renders_once():
    """Nothing that was written is compiled as a template: they are read by name, from `maps/pages`, in one file."""
    users = {str(path.relative_to(PACKAGE)) for path in FILES if "jinja2" in _top_modules(path)}
    assert users == {"reference/pages.py"}
    assert not {path.name for path in FILES if "branca" in _top_modules(path)}
    text = "".join(path.read_text(encoding="utf-8") for path in FILES)
    assert "get_template(" in text  # the words below are looked for in the right files
    assert not re.findall(r"from_string\(|\bTemplate\(|\.render\(\*\*|safe_substitute", text)


def test_folium_is_asked_for_one_thing():
    users = [path.name for path in FILES if "folium" in _top_modules(path)]
    assert users == ["sitemap.py"]


DISTRIBUTION = {"yaml": "pyyaml", "PIL": "pillow", "argon2": "argon2-cffi"}


def test_what_is_imported_is_declared():
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = {name: packages for name, packages in project["optional-dependencies"].items() if name != "test"}
    wanted = [*project["dependencies"], *(n for packages in extras.values() for n in packages)]
    declared = {re.match(r"[\w-]+", name)[0].lower() for name in wanted}
    used = {top for path in FILES for top in _top_modules(path)} - set(sys.stdlib_module_names) - {"siteassess"}
    assert {"numpy", "jinja2"} <= used
    assert {DISTRIBUTION.get(top, top).replace("_", "-").lower() for top in used} <= declared


@pytest.mark.parametrize("code, heavy", [
    ("import siteassess.cli; siteassess.cli.group", ["numpy", "pint", "pydantic", "geopandas", "folium", "matplotlib"]),
    ("import siteassess.mechanics.cable", ["pint", "pandas", "geopandas", "folium", "matplotlib", "pydantic"]),
])
def test_what_a_light_import_leaves_alone(code, heavy):
    told = subprocess.run(
        [sys.executable, "-c", f"import sys; {code}; print([m for m in {heavy!r} if m in sys.modules])"],
        capture_output=True, text=True, check=True,
    )
    assert told.stdout.strip() == "[]"


def test_files_stay_short():
    long = {str(path.relative_to(PACKAGE)): n for path in FILES if (n := len(path.read_text().splitlines())) > 400}
    assert not long
