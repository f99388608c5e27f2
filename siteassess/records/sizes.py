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
from decimal import Decimal

from siteassess.records.finding import Doubt, number_and_unit
from siteassess.records.size_terms import Meaning, Reading, Term, terms_of
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import UNITS, Quantity, parse, quantity

# Misfit is counted as in a sum of squares: (distance beyond the usual, in ln) over the ln sd, squared;
# tests/bench/bench_slips.py measures what they find.
SLIP_MISFIT = constant("misfit of a unit")
STRANGE_MISFIT = constant("misfit of a strange unit")
POINT_MISFIT = constant("misfit of a point")
GIRTH_MISFIT = constant("misfit of a girth")
TRUNK_MISFIT = constant("misfit of a trunk")
FAR_MISFIT = constant("misfit of a far meaning")
ODD_UNIT_MISFIT = constant("misfit of an odd unit")
FINER_MISFIT = constant("misfit of a finer reading")
LEAST_MISFIT = min(SLIP_MISFIT, POINT_MISFIT, GIRTH_MISFIT)  # that anything mends, of what is neither odd nor finer
LEFT_MISFIT = constant("misfit left")
RARE_MISFIT = constant("misfit that is rare")
ALSO_MISFIT = constant("misfit named beside")
LEAST_OTHERS = int(constant("least other readings"))

OTHER_UNITS = {
    "length": ("mm", "cm", "m", "in", "ft"), "mass": ("kg", "lb"), "force": ("N", "daN", "kN", "kgf", "lbf"),
    "slope": ("deg", "%"),
}
CUSTOMARY = ("in", "inch", "inches", "ft", "feet", "foot", "yd", "lb", "lbs", "lbf")  # units of inch and pound
# sold in whichever unit, and marked in mm or in
BY_CATALOGUE = ("line.webbing.width", "line.webbing.strength", "line.webbing.stiffness", "line.backup_line.stiffness",
                "line.gear.rating", "end.sling.width", "end.sling.rating", "end.padding.thickness")
ANYWHERE = ("kN", "daN", "kgf")  # what a load cell shows says nothing of the country it is read in
NO_PERCENT = ("tree.lean",)  # nobody reads a lean in percent
ALIKE = 0.05  # meanings this near, as kgf and daN, are one
LEAST_WRITTEN = 1e-6  # smaller numbers nobody types
LONG_UNITS = ("m", "ft")
POINT_SHIFTS = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001)


def size_doubts(data: dict[str, object]) -> Iterator[Doubt]:
    """Doubtful sizes of a record.

    Parameters
    ----------
    data : the record as plain data, quantities as texts

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
    while best := _surest(readings, touching, odd, finer):
        reading, gains = best
        yield _doubt(reading, gains, touching[id(reading)])
        reading.size, reading.told = gains[0][1].size, True
        odd = [one for one in odd if one.name != reading.name]  # of two in two units one is enough
    for term in terms:
        if term.misfit() > RARE_MISFIT and not term.size.told:
            term.size.told = True
            yield Doubt(term.size.path, _far_out(term, term.size), then=said("check-again"))


def _surest(
    readings: list[Reading], touching: dict[int, list[Term]], odd: list[Reading], finer: list[Reading]
) -> tuple[Reading, list[tuple[float, Meaning]]] | None:
    """The reading that another meaning mends most beyond what a slip must mend, with what each meaning mends."""
    best, most = None, 0.0
    for reading in readings:
        if reading.told:
            continue
        now = sum(term.misfit() for term in touching[id(reading)])
        if sum(term.rule.asked_of == "genus" for term in touching[id(reading)]) > 1:
            now -= TRUNK_MISFIT
        if now < LEAST_MISFIT and not (reading in odd or reading in finer):
            continue
        gains = []
        for meaning in meanings_of(reading):
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


def _doubt(reading: Reading, gains: list[tuple[float, Meaning]], terms: list[Term]) -> Doubt:
    (most, meant), *others = gains
    worst = max(terms, key=lambda term: term.misfit() - term.misfit(reading, meant.size))
    mends = worst.misfit() > worst.misfit(reading, meant.size)
    told = _far_out(worst, reading) if mends else said("only-in-unit", one=reading.name_typed())
    also = [said("slip-and-meant", slip=one.slip, meant=one.told) for gain, one in others
            if gain >= 0.0 and most - gain <= ALSO_MISFIT
            and not math.isclose(one.size, meant.size, rel_tol=ALIKE)]
    return Doubt(reading.path, told, meant.slip, meant.told, tuple(also))


def _far_out(term: Term, reading: Reading) -> Said:
    if term.beside is not None:
        other = term.beside if term.size is reading else term.size
        return said("not-beside", one=reading.name_typed(), other=other.name_typed())
    low = term.rule.usual_low
    less = low is not None and reading.size < low
    return said("less-than-usual" if less else "more-than-usual", one=reading.name_typed())


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
                   and number_and_unit(one.typed.text)[1] not in ANYWHERE]
            found += odd if len(odd) == 1 else []
    for one in feet + metric:
        others = [other for other in taped if other.name == one.name and other is not one]
        if others and all(_customary(other) != _customary(one) for other in others) and one not in found:
            found.append(one)
    return found


def _finer_ones(readings: list[Reading]) -> list[Reading]:
    """The only lean or slope with more decimals than the others: a phone shows as many of them all."""
    decimals = {id(one): len(number_and_unit(one.typed.text)[0].partition(".")[2])
                for one in readings if one.typed.kind == "slope"}
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
            found.append(_meaning(reading, meant, said("slip-typed-as", one=other, other=unit), other))
    for shift in POINT_SHIFTS:
        moved = Decimal(f"{float(number) * shift:.6g}")
        if abs(moved) < LEAST_WRITTEN:
            continue
        meant = parse(f"{moved:f} {unit}", kind)
        if not any(math.isclose(abs(meant.si), _typed_size(reading, one), rel_tol=0.01) for one in found):
            found.append(_meaning(reading, meant, said("slip-point"), ""))
    return found


def _typed_size(reading: Reading, meaning: Meaning) -> float:
    return meaning.size * math.pi if reading.is_girth and not meaning.trunk else meaning.size


def _meaning(reading: Reading, meant: Quantity, slip: Said, unit: str) -> Meaning:
    size = abs(meant.si) / math.pi if reading.is_girth else abs(meant.si)
    would_be = meant.text
    if unit and (unit in CUSTOMARY) != _customary(reading):
        would_be += f" ({quantity(meant.si, number_and_unit(reading.typed.text)[1], meant.kind, 3).text})"
    if reading.name != "tree.diameter":
        return Meaning(size, slip, said("as-meant", typed=would_be), unit)
    return Meaning(size, slip, said("size-meant", name=reading.path[-1], typed=would_be), unit)


def _other_round(reading: Reading) -> Meaning:
    if reading.is_girth:
        told = said("size-typed", name="diameter", typed=reading.typed.text)
        return Meaning(reading.typed.si, said("slip-diameter-as-girth"), told, trunk=True)
    size = reading.typed.si / math.pi
    told = said("girth-so-thick", typed=reading.typed.text, thick=size)
    return Meaning(size, said("slip-girth-as-diameter"), told, trunk=True)
