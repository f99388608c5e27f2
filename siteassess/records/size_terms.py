"""The sizes of a record that `data/size_rules.csv` knows, and its rules at work between them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple, TypeAlias

from siteassess.records.finding import number_and_unit
from siteassess.records.schema import asked_at
from siteassess.records.yaml_lines import Steps
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.tables import rows
from siteassess.units import Quantity, UnitText, parse, quantity


@dataclass(frozen=True)
class Meaning:
    """What the figures of a reading may have been meant as."""

    size: float  # [SI]
    slip: Said
    told: Said
    unit: str = ""
    trunk: bool = False  # a girth for a diameter, or the other way


@dataclass(eq=False)
class Reading:
    """A size of the record: where it stands, as typed, and as a number."""

    name: str
    path: Steps
    typed: Quantity
    size: float  # [SI]; of a girth, the diameter
    is_girth: bool = False
    told: bool = False

    def name_typed(self) -> Said:
        """Its name and what was typed, "girth 142 cm"."""
        name = next(step for step in reversed(self.path) if isinstance(step, str))
        return said("size-typed", name=name.replace("_", " "), typed=self.typed.text)


class SizeRule(NamedTuple):
    """A row of `data/size_rules.csv`, by its columns."""

    size: str
    beside: str
    asked_of: str
    answer: str
    usual_low: float | None
    usual_high: float | None
    exponent: float
    ln_sd: float | None
    misfit_high: float | None
    possible_low: float | None
    possible_high: float | None
    source: str
    page: str
    flag: str
    note: str


ByName: TypeAlias = dict[str, list[Reading]]


@dataclass(frozen=True)
class Term:
    """A rule at work: a reading, and the one beside it where the rule has one."""

    rule: SizeRule
    size: Reading
    beside: Reading | None
    factor: float = 1.0  # on the usual, by the kind of tree

    def misfit(self, instead: Reading | None = None, meant: float = 0.0) -> float:
        """How far out of the usual, with one of the readings taken as something else."""
        if self.rule.ln_sd is None:
            return 0.0
        size = meant if self.size is instead else self.size.size
        other = 1.0 if self.beside is None else meant if self.beside is instead else self.beside.size
        scale = self.factor * other**self.rule.exponent
        beyond = 0.0
        if self.rule.usual_low is not None:
            beyond = max(beyond, math.log(self.rule.usual_low * scale / size))
        if self.rule.usual_high is not None:
            beyond = max(beyond, math.log(size / (self.rule.usual_high * scale)))
        return min((beyond / self.rule.ln_sd) ** 2, self.rule.misfit_high or math.inf)

    def impossible(self) -> str:
        """What is wanted of a size that cannot stand beside the other; nothing where it can."""
        if self.beside is None:
            return ""
        low, high = self.rule.possible_low, self.rule.possible_high
        _, unit = number_and_unit(self.size.typed.text)
        if low is not None and self.size.size < low * self.beside.size:
            limit, code = low, "want-at-least-beside"
        elif high is not None and self.size.size > high * self.beside.size * (1 + 1e-9):
            limit, code = high, "want-at-most-beside"
        else:
            return ""
        shown = quantity(limit * self.beside.size, unit or "ft", "length", 3).text
        return worded(code, limit=shown, other=self.beside.name_typed())


@cache
def size_rules() -> tuple[SizeRule, ...]:
    """The rules of `data/size_rules.csv`."""
    return tuple(SizeRule(**row._asdict()) for row in rows("size_rules"))


@cache
def genera() -> dict[str, dict[str, float]]:
    """Height and crown of a genus over those of all trees as thick, of `data/size_by_genus.csv`.

    Returns
    -------
    By genus, then by size, a factor [-].
    """
    return {row.genus: {"tree.height": row.height_factor, "tree.crown_spread": row.crown_factor}
            for row in rows("size_by_genus")}


def _genus(anchor: dict[str, object]) -> str:
    """The first word of a tree's name, the genus where the name is a scientific one."""
    species = anchor.get("species")
    name = species.get("name") if isinstance(species, dict) else None
    return name.split(" ")[0] if isinstance(name, str) else ""


@cache
def size_names() -> dict[str, str]:
    """Every size the rules know, and its kind of quantity.

    Returns
    -------
    By name, such as "tree.height", a key of `units.UNITS`.
    """
    named = dict.fromkeys(name for rule in size_rules() for name in (rule.size, rule.beside) if name)
    return {name: _kind_of(name) for name in named}


def _kind_of(name: str) -> str:
    if name in ("tree.diameter", "tree.read_at"):
        return "length"
    scope, *steps = name.split(".")
    below = {"line": ("lines",), "end": ("lines", "a")}.get(scope, ("anchors", scope))
    asked = asked_at((*below, *steps))
    assert asked is not None, f"size_rules.csv names {name}, which no record has"
    return asked.quantity


def terms_of(data: dict[str, object]) -> list[Term]:
    """Every rule of the table on every reading it is about."""
    terms: list[Term] = []
    by_code: dict[str, ByName] = {}
    before: ByName = {}
    for index, anchor in enumerate(_list(data, "anchors")):
        found = _readings(anchor, str(anchor.get("kind")), ("anchors", index))
        by_code.setdefault(str(anchor.get("code")), found)
        genus = _genus(anchor)
        holder = anchor | {"genus": "genus" if genus in genera() else "no genus"}
        terms += _terms(found, found, holder, before | {"tree.diameter": found.get("tree.diameter", [])}, genus)
        before |= found
    for index, line in enumerate(_list(data, "lines")):
        found = _readings(line, "line", ("lines", index))
        terms += _terms(found, found, line, found)
        far: ByName = {}
        for side in ("a", "b"):
            end = line.get(side)
            if isinstance(end, dict):
                own = _readings(end, "end", ("lines", index, side))
                sling = end.get("sling")
                kind = sling.get("kind", "unknown") if isinstance(sling, dict) else "unknown"
                tree = by_code.get(str(end.get("anchor")), {})
                terms += _terms(own, {**tree, **found, **own}, {"use": line.get("use"), "kind": kind}, far)
                far = own
    return terms


def _list(node: object, name: str) -> list[dict[str, object]]:
    value = node.get(name) if isinstance(node, dict) else None
    return [one if isinstance(one, dict) else {} for one in value] if isinstance(value, (list, tuple)) else []


def _terms(own: ByName, known: ByName, holder: dict[str, object], like: ByName, genus: str = "") -> Iterator[Term]:
    """Rules on a thing's own readings, beside others that are known, or beside the same one of a like thing."""
    for rule in size_rules():
        if rule.size not in own or (rule.asked_of and holder.get(rule.asked_of) not in rule.answer.split(";")):
            continue
        beside = next(iter((like if rule.beside == rule.size else known).get(rule.beside, ())), None)
        for reading in own[rule.size]:
            # of several readings of a trunk only the first stands by itself; the others stand beside it
            if not rule.beside and rule.size == "tree.diameter" and reading is not own[rule.size][0]:
                continue
            if (beside is not None) == bool(rule.beside) and beside is not reading:
                yield Term(rule, reading, beside, genera()[genus][rule.size] if rule.answer == "genus" else 1.0)


def _readings(node: dict[str, object], scope: str, path: Steps) -> ByName:
    """The readings of an anchor, a line or an end that the rules know, by name; nothing of nought or less."""
    found: ByName = {}
    for name, kind in size_names().items():
        if name == "tree.diameter" == f"{scope}.diameter":
            some = [_sized(name, kind, *one) for one in (*_at(node, ("trunk", "girth"), path),
                                                         *_at(node, ("trunk", "diameter"), path))]
            some.sort(key=lambda one: one.path if one else path)
        elif name == "tree.read_at" == f"{scope}.read_at":
            some = [_sized(name, kind, *one) for one in list(_at(node, ("trunk", "read_at"), path))[:1]]
        elif name.startswith(f"{scope}."):
            some = [_sized(name, kind, *one) for one in _at(node, tuple(name.split(".")[1:]), path)]
        else:
            continue
        if some := [one for one in some if one is not None]:
            found[name] = some
    return found


def _at(node: object, steps: tuple[str, ...], path: Steps) -> Iterator[tuple[Steps, str]]:
    if isinstance(node, (list, tuple)):
        for index, item in enumerate(node):
            yield from _at(item, steps, (*path, index))
    elif isinstance(node, dict) and steps and steps[0] in node:
        yield from _at(node[steps[0]], steps[1:], (*path, steps[0]))
    elif isinstance(node, str) and not steps:
        yield path, node


def _sized(name: str, kind: str, path: Steps, text: str) -> Reading | None:
    try:
        typed = parse(text, kind)
    except UnitText:
        return None
    if typed.si < 0 and kind != "slope" and not name.startswith("line.ground"):
        return None  # a wrong sign, which no other unit mends: its field tells it
    is_girth = name == "tree.diameter" and path[-1] == "girth"
    size = abs(typed.si) / math.pi if is_girth else abs(typed.si)
    return Reading(name, path, typed, size, is_girth) if size > 0 else None
