"""Names a record gives that no table holds: each counts for nothing until it is one the program knows.

Also pulls too small to be meant, since a walked line that stands at a few newtons is a slip of the unit.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterator

from siteassess.advice.crew_inputs import sheave_range
from siteassess.advice.finding import whys
from siteassess.advice.gear_inputs import pad_row
from siteassess.advice.gear_loads import knots_like, left_by
from siteassess.errors import UnknownName
from siteassess.records.anchor import Tree
from siteassess.records.finding import Doubt, number_and_unit
from siteassess.records.line import ON_FOOT, End, Line, Webbing
from siteassess.records.record import Record
from siteassess.records.yaml_lines import Steps
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.names import is_nothing
from siteassess.reference.species import find_species, species_names
from siteassess.reference.tables import rows
from siteassess.reference.webbing import webbing_class
from siteassess.units import parse, show

NEAR_SPECIES = 0.9  # judgement: likeness of letters above which another species was likely meant
SMALLEST_WALKED_N = constant("smallest walked tension")


def unknown_names(record: Record) -> Iterator[Doubt]:
    """Every name of a species, webbing, pad, knot or sheave that is in no table, with the near ones."""
    for index, anchor in enumerate(record.anchors):
        if isinstance(anchor, Tree) and anchor.species is not None:
            path = ("anchors", index, "species", "name")
            yield from _looked_up(find_species, anchor.species.name, path)
            yield from _taken_as_genus(anchor.species.name, path)
    for index, line in enumerate(record.lines):
        yield from _names_of_line(line, ("lines", index))


def _taken_as_genus(name: str, path: Steps) -> Iterator[Doubt]:
    """A species no row has, taken as its genus though a name like it is known."""
    try:
        match = find_species(name)
    except UnknownName:
        return
    near = difflib.get_close_matches(name.strip(), species_names(), n=1, cutoff=NEAR_SPECIES) if match.note else []
    if match.matched_by == "genus" and near:
        told = said("taken-as-genus", name=name, genus=match.genus)
        yield Doubt(path, told, said("slip-letter"), said("as-typed", typed=near[0]))


def _names_of_line(line: Line, path: Steps) -> Iterator[Doubt]:
    if line.webbing is not None:
        yield from _webbing(line.webbing, (*path, "webbing"))
    for index, section in enumerate(line.sections):
        yield from _webbing(section, (*path, "sections", index))
    if line.backup_line is not None and line.backup_line.kind:
        yield from _looked_up(webbing_class, line.backup_line.kind, (*path, "backup_line", "kind"))
    for name, end in (("a", line.a), ("b", line.b)):
        yield from _pad(end, (*path, name))
    for index, piece in enumerate(line.gear):
        yield from _held(piece.knot, (*path, "gear", index, "knot"))
    for index, stage in enumerate(line.crew.stages if line.crew is not None else ()):
        if stage.sheave:
            yield from _looked_up(sheave_range, stage.sheave, (*path, "crew", "stages", index, "sheave"))


def _webbing(webbing: Webbing, path: Steps) -> Iterator[Doubt]:
    if webbing.kind:
        yield from _looked_up(webbing_class, webbing.kind, (*path, "kind"))
    yield from _held(webbing.held_by, (*path, "held_by"))


def _pad(end: End, path: Steps) -> Iterator[Doubt]:
    material = end.padding.material if end.padding is not None else None
    if material and not is_nothing(material) and pad_row(material) is None:
        known = [row["id"] for row in rows("pads")]
        told, like = _counts_for_nothing(said("no-such-pad", name=material)), _near(material, known)
        yield Doubt((*path, "padding", "material"), told, others=(said("word-of-the-table", names=like),))


def _held(name: str | None, path: Steps) -> Iterator[Doubt]:
    if name and not is_nothing(name) and not math.isfinite(left_by(name)):
        told = _counts_for_nothing(said("no-such-knot", name=name))
        yield Doubt(path, told, others=(said("word-of-the-table", names=knots_like(name)),))


def _looked_up(find: Callable[[str], object], name: str, path: Steps) -> Iterator[Doubt]:
    if is_nothing(name):
        return
    try:
        find(name)
    except UnknownName as error:
        yield Doubt(path, _counts_for_nothing(*whys(error)))  # what the table says names the near ones


def _counts_for_nothing(*why: Said) -> Said:
    return said("counts-for-nothing", why=why)


def _near(name: str, known: list[str]) -> tuple[str, ...]:
    return tuple(difflib.get_close_matches(name.strip().casefold(), known, n=3, cutoff=0.5) or known)


def small_pulls(record: Record) -> Iterator[Doubt]:
    """Walked lines said to stand at less than anybody can walk on."""
    for index, line in enumerate(record.lines):
        tension = line.standing.tension if line.standing is not None else None
        if line.use not in ON_FOOT or tension is None or tension.si >= SMALLEST_WALKED_N:
            continue
        number, unit = number_and_unit(tension.text)
        told = said("under-any-walked", typed=tension.text)
        path = ("lines", index, "standing", "tension")
        if unit == "N":
            meant = parse(f"{number} kN", "force")
            typed = f"{meant.text} ({show(meant.si, 'lbf ~2')})"
            yield Doubt(path, told, said("slip-newtons"), said("as-meant", typed=typed))
        else:
            yield Doubt(path, told, said("slip-unit-or-digit"))
