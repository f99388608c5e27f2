"""Slips of unit and size: a reading that another reading of the same figures would fit so much better.

`data/size_rules.csv` says what is usual for each size, by itself or beside another: a band and how fast it thins out
beyond (ln sd). Each reading is tried as its figures might have been meant: in another unit, with the point elsewhere,
as a girth or a diameter. The reading whose other meaning mends most of what looks odd in the whole record is doubted;
the rest is then looked at with that one mended. The field form carries the same table and the same sums
(`form.sizes.js`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Any

from siteassess.records.finding import Finding, number_and_unit
from siteassess.records.schema import asked_at
from siteassess.reference.tables import rows
from siteassess.units import UNITS, Quantity, UnitText, parse, quantity

# Misfit is counted as in a sum of squares: (distance beyond the usual, in ln) over the ln sd, squared. All judgement,
# set so that few clean records are doubted; tests/bench/bench_slips.py measures what they find.
SLIP_MISFIT = 9.0  # least gain of another unit
STRANGE_MISFIT = 3.0  # asked more of units nobody takes for each other, as feet for centimetres
POINT_MISFIT = 10.5  # the same of another place of the point
GIRTH_MISFIT = 5.0  # the same of a girth for a typed diameter: the slip that flatters a trunk most
FAR_MISFIT = 0.2  # asked more for each ln of size between what was typed and what it may have meant
ODD_UNIT_MISFIT = -6.0  # the same for the only reading of a record in units of inch and pound, or the only one not
# The same for the only lean or slope with its decimals, were it ten times larger: under what FAR_MISFIT asks of so long
# a way, so that what is usual by itself is let be.
FINER_MISFIT = -0.4
LEFT_MISFIT = 6.25  # what another meaning may leave unusual, two and a half ln sd; what strays farther mends nothing
RARE_MISFIT = 25.0  # misfit that is doubted although no slip explains it
ALSO_MISFIT = 2.5  # another meaning that is as near as this is named beside the likeliest
LEAST_OTHERS = 2  # readings in one system of units beside which a single other one is odd

OTHER_UNITS = {
    "length": ("mm", "cm", "m", "in", "ft"), "mass": ("kg", "lb"), "force": ("N", "daN", "kN", "kgf", "lbf"),
    "slope": ("deg", "%"),
}  # fmt: skip
CUSTOMARY = ("in", "inch", "inches", "ft", "feet", "foot", "yd", "lb", "lbs", "lbf")  # units of inch and pound
# sold in whichever unit, and marked in mm or in
BY_CATALOGUE = ("line.webbing.width", "line.webbing.strength", "line.webbing.stiffness", "line.backup_line.stiffness",
                "line.gear.rating", "end.sling.width", "end.sling.rating", "end.padding.thickness")  # fmt: skip
ANYWHERE = ("kN", "daN", "kgf")  # what a load cell shows says nothing of the country it is read in
NO_PERCENT = ("tree.lean",)  # nobody reads a lean in percent
ALIKE = 0.05  # meanings this near, as kgf and daN, are one
LEAST_WRITTEN = 1e-6  # smaller numbers nobody types
LONG_UNITS = ("m", "ft")
SHIFTS = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001)


@dataclass(frozen=True)
class Meaning:
    """What the figures of a reading may have been meant as."""

    size: float  # [SI]
    likelier: str
    would_be: str
    unit: str = ""
    trunk: bool = False  # a girth for a diameter, or the other way


@dataclass(eq=False)
class Reading:
    """A size of the record: where it stands, as typed, and as a number."""

    name: str
    path: tuple
    typed: Quantity
    size: float  # [SI]; of a girth, the diameter
    is_girth: bool = False
    told: bool = False
    meanings: list[Meaning] = field(default_factory=list)

    def name_typed(self) -> str:
        """Its name and what was typed, "girth 142 cm"."""
        name = self.path[-1] if isinstance(self.path[-1], str) else self.path[-2]
        return f"{name.replace('_', ' ')} {self.typed.text}"


@dataclass(frozen=True)
class Term:
    """A rule at work: a reading, and the one beside it where the rule has one."""

    rule: Any
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
            limit, word = low, "at least"
        elif high is not None and self.size.size > high * self.beside.size * (1 + 1e-9):
            limit, word = high, "at most"
        else:
            return ""
        shown = quantity(limit * self.beside.size, unit or "ft", "length", 3).text
        return f"{word} {shown} beside {self.beside.name_typed()}"


def size_findings(data: dict) -> Iterator[Finding]:
    """Doubtful sizes of a record.

    Parameters
    ----------
    data : dict
        The record as plain data, quantities as texts.

    Yields
    ------
    Finding
        One for each reading that another meaning would mend, the surest first; then those that nothing mends.
    """
    terms = terms_of(data)
    touching: dict[int, list[Term]] = {}
    readings = []
    for term in terms:
        for reading in (term.size, term.beside):
            if reading is not None:
                if id(reading) not in touching:
                    readings.append(reading)
                touching.setdefault(id(reading), []).append(term)
    odd, finer = _odd_ones(readings), _finer_ones(readings)
    for reading in readings:
        reading.meanings = meanings_of(reading)
    while best := _surest(readings, touching, odd, finer):
        reading, gains = best
        yield _doubt(reading, gains, touching[id(reading)])
        reading.size, reading.told = gains[0][1].size, True
        odd = [one for one in odd if one.name != reading.name]  # of two in two units one is enough
    for term in terms:
        if term.misfit() > RARE_MISFIT and not term.size.told:
            term.size.told = True
            yield Finding(term.size.path, _far_out(term, term.size), "", "", "check it again")


def _surest(readings: list[Reading], touching: dict, odd: list[Reading], finer: list[Reading]):
    """The reading that another meaning mends most beyond what a slip must mend, with what each meaning mends."""
    best, most = None, 0.0
    for reading in readings:
        if reading.told:
            continue
        now = sum(term.misfit() for term in touching[id(reading)])
        gains = []
        for meaning in reading.meanings:
            left = [(term.misfit(reading, meaning.size), term) for term in touching[id(reading)]]
            asked = _asked(reading, meaning, odd, finer)
            if asked > 0 and any(most > LEFT_MISFIT and term.rule.misfit_high is None for most, term in left):
                continue  # the thinnest of saplings, a crown wider than such a trunk ever bore
            asked += FAR_MISFIT * abs(math.log(meaning.size / reading.size))
            gains.append((now - sum(most for most, _ in left) - asked, meaning))
        gains.sort(key=lambda gain: -gain[0])
        if gains and gains[0][0] >= 0.0 and (best is None or gains[0][0] > most):
            best, most = (reading, gains), gains[0][0]
    return best


def _asked(reading: Reading, meaning: Meaning, odd: list[Reading], finer: list[Reading]) -> float:
    """Misfit that another meaning has to mend before it is believed."""
    if meaning.trunk:
        return SLIP_MISFIT if reading.is_girth else GIRTH_MISFIT
    if not meaning.unit:
        return FINER_MISFIT if reading in finer and meaning.size > reading.size else POINT_MISFIT
    _, unit = number_and_unit(reading.typed.text)
    crosses = (meaning.unit in CUSTOMARY) != (unit in CUSTOMARY)
    asked = ODD_UNIT_MISFIT if reading in odd and crosses else SLIP_MISFIT
    strange = crosses and (meaning.unit in LONG_UNITS) != (unit in LONG_UNITS)
    return asked + (STRANGE_MISFIT if strange else 0.0)


def _doubt(reading: Reading, gains: list[tuple[float, Meaning]], terms: list[Term]) -> Finding:
    (most, meant), *others = gains
    worst = max(terms, key=lambda term: term.misfit() - term.misfit(reading, meant.size))
    mends = worst.misfit() > worst.misfit(reading, meant.size)
    says = _far_out(worst, reading) if mends else f"{reading.name_typed()} is the only size in such a unit"
    also = [f"{one.likelier}, {one.would_be}" for gain, one in others if gain >= 0.0 and most - gain <= ALSO_MISFIT
            and not math.isclose(one.size, meant.size, rel_tol=ALIKE)]  # fmt: skip
    return Finding(reading.path, says, meant.likelier, meant.would_be, "; ".join(also))


def _far_out(term: Term, reading: Reading) -> str:
    if term.beside is not None:
        other = term.beside if term.size is reading else term.size
        return f"{reading.name_typed()} does not go with {other.name_typed()}"
    low = term.rule.usual_low
    return f"{reading.name_typed()} is {'less' if low is not None and reading.size < low else 'more'} than is usual"


def _customary(reading: Reading) -> bool:
    return number_and_unit(reading.typed.text)[1] in CUSTOMARY


def _odd_ones(readings: list[Reading]) -> list[Reading]:
    """The only length in feet and inches among metric ones, or the only metric one; the same of forces and masses.

    Whether a force or a mass is the odd one is told by the lengths, where these are all of one kind. Where lengths are
    of both, as heights of a tool of the other system, one is odd whose namesakes at the other tree or end are not.
    """
    taped = [one for one in readings if one.name not in BY_CATALOGUE or number_and_unit(one.typed.text)[1] == "cm"]
    feet = [one for one in taped if one.typed.kind == "length" and _customary(one)]
    metric = [one for one in taped if one.typed.kind == "length" and not _customary(one)]
    found = []
    for few, many in ((feet, metric), (metric, feet)):
        if len(many) < LEAST_OTHERS:
            continue
        if len(few) == 1:
            found += few
        for kind in ("force", "mass") if not few else ():
            odd = [one for one in taped if one.typed.kind == kind and _customary(one) != _customary(many[0])
                   and number_and_unit(one.typed.text)[1] not in ANYWHERE]  # fmt: skip
            found += odd if len(odd) == 1 else []
    for one in feet + metric:
        others = [other for other in taped if other.name == one.name and other is not one]
        if others and all(_customary(other) != _customary(one) for other in others) and one not in found:
            found.append(one)
    return found


def _finer_ones(readings: list[Reading]) -> list[Reading]:
    """The only lean or slope with more decimals than the others: a phone shows as many of them all."""
    decimals = {id(one): len(number_and_unit(one.typed.text)[0].partition(".")[2])
                for one in readings if one.typed.kind == "slope"}  # fmt: skip
    finest = [one for one in readings if decimals.get(id(one)) == max(decimals.values(), default=0)]
    return finest if len(finest) == 1 < len(decimals) else []


# ---- what the figures may have meant


def meanings_of(reading: Reading) -> list[Meaning]:
    """Other readings of the figures that were typed."""
    number, unit = number_and_unit(reading.typed.text)
    kind = reading.typed.kind
    found = []
    if reading.name == "tree.diameter":
        found.append(_other_round(reading))
    if not unit:
        return found
    for other in OTHER_UNITS.get(kind, ()) if reading.name not in NO_PERCENT else ():
        if UNITS[kind][other] != UNITS[kind][unit]:
            meant = parse(f"{number} {other}", kind)
            found.append(_meaning(reading, meant, f"{other} typed as {unit}", other))
    for shift in SHIFTS:
        moved = Decimal(f"{float(number) * shift:.6g}")
        if abs(moved) < LEAST_WRITTEN:
            continue
        meant = parse(f"{moved:f} {unit}", kind)
        if not any(math.isclose(abs(meant.si), _typed_size(reading, one), rel_tol=0.01) for one in found):
            found.append(_meaning(reading, meant, "the point misplaced", ""))
    return found


def _typed_size(reading: Reading, meaning: Meaning) -> float:
    return meaning.size * math.pi if reading.is_girth and not meaning.trunk else meaning.size


def _meaning(reading: Reading, meant: Quantity, likelier: str, unit: str) -> Meaning:
    size = abs(meant.si) / math.pi if reading.is_girth else abs(meant.si)
    would_be = meant.text
    if unit and (unit in CUSTOMARY) != _customary(reading):
        would_be += f" ({quantity(meant.si, number_and_unit(reading.typed.text)[1], meant.kind, 3).text})"
    name = ("girth " if reading.is_girth else "diameter ") if reading.name == "tree.diameter" else ""
    return Meaning(size, likelier, name + would_be, unit)


def _other_round(reading: Reading) -> Meaning:
    if reading.is_girth:
        return Meaning(reading.typed.si, "a diameter typed as a girth", f"diameter {reading.typed.text}", trunk=True)
    size = reading.typed.si / math.pi
    would_be = f"girth {reading.typed.text}, {quantity(size, 'cm', 'length', 2).text} thick"
    return Meaning(size, "a girth typed as a diameter", would_be, trunk=True)


# ---- the readings of a record, and the rules at work between them


@cache
def size_rules() -> tuple:
    """The rules of `data/size_rules.csv`."""
    return rows("size_rules")


@cache
def genera() -> dict[str, dict[str, float]]:
    """Height and crown of a genus over those of all trees as thick, of `data/size_by_genus.csv`."""
    return {row.genus: {"tree.height": row.height_factor, "tree.crown_spread": row.crown_factor}
            for row in rows("size_by_genus")}  # fmt: skip


def _genus(anchor: dict) -> str:
    """The first word of a tree's name, the genus where the name is a scientific one."""
    species = anchor.get("species")
    name = species.get("name") if isinstance(species, dict) else None
    return name.split(" ")[0] if isinstance(name, str) else ""


@cache
def size_names() -> dict[str, str]:
    """Every size the rules know, and its kind of quantity."""
    named = dict.fromkeys(name for rule in size_rules() for name in (rule.size, rule.beside) if name)
    return {name: _kind_of(name) for name in named}


def _kind_of(name: str) -> str:
    if name in ("tree.diameter", "tree.read_at"):
        return "length"
    scope, *steps = name.split(".")
    below = {"line": ("lines",), "end": ("lines", "a")}.get(scope, ("anchors", scope))
    return asked_at((*below, *steps)).quantity


def terms_of(data: dict) -> list[Term]:
    """Every rule of the table on every reading it is about."""
    terms: list[Term] = []
    by_code: dict[str, dict] = {}
    before: dict[str, list[Reading]] = {}
    for index, anchor in enumerate(_list(data, "anchors")):
        found = _readings(anchor, str(anchor.get("kind")), ("anchors", index))
        by_code.setdefault(str(anchor.get("code")), found)
        genus = _genus(anchor)
        holder = anchor | {"genus": "known genus" if genus in genera() else "no genus"}
        terms += _terms(found, found, holder, before | {"tree.diameter": found.get("tree.diameter", [None])}, genus)
        before |= found
    for index, line in enumerate(_list(data, "lines")):
        found = _readings(line, "line", ("lines", index))
        terms += _terms(found, found, line, found)
        far: dict[str, list[Reading]] = {}
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


def _list(node: Any, name: str) -> list[dict]:
    value = node.get(name) if isinstance(node, dict) else None
    return [one if isinstance(one, dict) else {} for one in value] if isinstance(value, (list, tuple)) else []


def _terms(
    own: dict[str, list[Reading]], known: dict[str, list[Reading]], holder: dict, like: dict, genus: str = ""
) -> Iterator[Term]:
    """Rules on a thing's own readings, beside others that are known, or beside the same one of a like thing."""
    for rule in size_rules():
        if rule.size not in own or (rule.asked_of and holder.get(rule.asked_of) not in _answers(rule)):
            continue
        beside = (like if rule.beside == rule.size else known).get(rule.beside, [None])[0] if rule.beside else None
        for reading in own[rule.size]:
            # of several readings of a trunk only the first stands by itself; the others stand beside it
            if not rule.beside and rule.size == "tree.diameter" and reading is not own[rule.size][0]:
                continue
            if (beside is not None) == bool(rule.beside) and beside is not reading:
                yield Term(rule, reading, beside, genera()[genus][rule.size] if rule.answer == "known genus" else 1.0)


@cache
def _answers(rule: Any) -> tuple[str, ...]:
    return tuple(rule.answer.split(";"))


def _readings(node: dict, scope: str, path: tuple) -> dict[str, list[Reading]]:
    """The readings of an anchor, a line or an end that the rules know, by name; nothing of nought or less."""
    found: dict[str, list[Reading]] = {}
    for name, kind in size_names().items():
        if name == "tree.diameter" == f"{scope}.diameter":
            some = [_sized(name, kind, *one) for one in (*_at(node, ("trunk", "girth"), path),
                                                         *_at(node, ("trunk", "diameter"), path))]  # fmt: skip
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


def _at(node: Any, steps: tuple, path: tuple) -> Iterator[tuple[tuple, str]]:
    if isinstance(node, (list, tuple)):
        for index, item in enumerate(node):
            yield from _at(item, steps, (*path, index))
    elif isinstance(node, dict) and steps and steps[0] in node:
        yield from _at(node[steps[0]], steps[1:], (*path, steps[0]))
    elif isinstance(node, str) and not steps:
        yield path, node


def _sized(name: str, kind: str, path: tuple, text: str) -> Reading | None:
    try:
        typed = parse(text, kind)
    except UnitText:
        return None
    is_girth = name == "tree.diameter" and path[-1] == "girth"
    size = abs(typed.si) / math.pi if is_girth else abs(typed.si)
    return Reading(name, path, typed, size, is_girth) if size > 0 else None
