"""A number with a unit that a person reads is written by `units.show` or by `Measures`, and nowhere else."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# a unit behind a number, or a name that holds one
UNIT = re.compile(
    r"[ -]?(?:[mck]?m2?|ft|in|inch|lbf|lb|[kM]?N|k?g|t|[kM]?Pa|psi|km/h|mph|m/s|MB|s|h|%|°|deg(?:rees)?)(?![\w])"
)
ROUNDED = re.compile(r"[fgeGE%dn]$")
IN_A_TEMPLATE = re.compile(r"\|\s*(?:round|int|format)\b[^}]*\}\}(?:" + UNIT.pattern + r")|['\"]%[.\d]*[fgd]['\"]")
OWN = {
    "advice/geometry.py": (1, "a position handed to the reader of positions, not to a person"),
    "records/sizes.py": (1, "a size in the unit it was typed in, read again at once"),
}
"""Files that write a number beside a unit by hand: how many, and why."""


def by_hand(source: str) -> Iterator[str]:
    """Line and format of each number that is rounded and followed by a unit, or is one of the two of a position."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.JoinedStr):
            continue
        for piece, after in zip(node.values, [*node.values[1:], None]):
            if not isinstance(piece, ast.FormattedValue):
                continue
            told = ast.unparse(piece.format_spec).removeprefix("f").strip("'\"") if piece.format_spec else ""
            called = getattr(piece.value.func, "id", "") if isinstance(piece.value, ast.Call) else ""
            tail = after.value if isinstance(after, ast.Constant) else ""
            beyond = node.values[node.values.index(after) + 1 :][:1] if tail == " " else []
            unit = UNIT.match(tail) or any(map(_names_a_unit, beyond))
            if told.endswith("%") or (ROUNDED.search(told) or called in ("round", "int")) and unit:
                yield f"{node.lineno}: {{:{told}}}{tail[:9]}"
            elif tail == ", " and re.fullmatch(r"\.[3-9]f", told):
                yield f"{node.lineno}: a position"


def _names_a_unit(piece: ast.expr) -> bool:
    return isinstance(piece, ast.FormattedValue) and "unit" in ast.unparse(piece.value)


def test_no_number_with_a_unit_is_written_by_hand():
    rooms = ROOT / "siteassess"
    found = {path.relative_to(rooms).as_posix(): list(by_hand(path.read_text(encoding="utf-8")))
             for path in sorted(rooms.rglob("*.py"))}
    assert {name: told for name, told in found.items() if len(told) != OWN.get(name, (0, ""))[0]} == {}
    assert [f"{path.name}: {match[0]}" for path in sorted((ROOT / "maps" / "pages").glob("*.j2"))
            for match in IN_A_TEMPLATE.finditer(path.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize("source", [
    'f"{x:.1f} m"', 'f"{x / 1e3:.2f} kN and more"', 'f"{x:g} degrees"', 'f"{x:.0%} of it"', 'f"{x:,.0f} {limit.unit}"',
    'f"{round(x)}°"', 'f"{x:.{n}f} kPa"', 'f"{x:6.1f} m  "', 'f"{x:03d} degrees true"', 'f"{lat:.5f}, {lon:.5f}"',
])
def test_what_is_written_by_hand_is_found(source):
    assert len(list(by_hand(source))) == 1


@pytest.mark.parametrize("source", [
    'f"{x:.1f} times"', 'f"{name} m"', 'f"{x:.2f}"', "f'x=\"{x:.1f}\" y=\"{y:.1f}\"'", 'f"{number:4d} lines"',
    "f\"{show(x, 'm 1')} from here\"", 'f"{x:g} million bytes"',
])
def test_what_is_no_number_with_a_unit_is_not(source):
    assert not list(by_hand(source))


@pytest.mark.parametrize("page", ['{{ "%.0f"|format(x) }} m', "{{ (x * 1000)|round|int }} mm", "{{ x|round }}°"])
def test_a_template_rounds_nothing_itself(page):
    assert IN_A_TEMPLATE.search(page) and not IN_A_TEMPLATE.search("{{ m.width(x) }} {{ rows|length }} rows")
