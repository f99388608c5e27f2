"""What the field form is generated from: the record's schema, ranges, units, signs, thresholds and suggestions.

Everything the script on the phone knows of the record comes from here, so that the form and the program cannot drift.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import BaseModel

from siteassess.advice import deciding
from siteassess.papers.form_words import Words
from siteassess.records import agreement, readings, tree_sizes
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import SECTORS
from siteassess.records.record import FORMAT, Record
from siteassess.records.schema import Asked, members
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows
from siteassess.units import SI_UNIT, UNITS, parse, si_factor

# unit offered first where the form is asked for US units, by the unit of the schema's example
US_UNITS = {"cm": "in", "mm": "in", "m": "ft", "kN": "lbf", "N": "lbf", "kg": "lb", "g/m": "oz/yd"}
NAME_COLUMN = {"en": "english", "de": "german", "fr": "french", "es": "spanish"}
# texts whose answer stands in a table: which column of which table is suggested
SUGGESTED = {
    "Webbing.kind": ("webbing", "name"), "BackupLine.kind": ("webbing", "name"), "Padding.material": ("pads", "name"),
    "Webbing.held_by": ("knots", "knot"), "Gear.knot": ("knots", "knot"), "HaulStage.sheave": ("sheaves", "sheave"),
    "Site.rule_set": ("rules", ""),
}  # fmt: skip
UNKNOWN_TREES = ("unknown broadleaf", "unknown conifer")


def form_data(words: Words, units: str = "metric") -> dict[str, Any]:
    """Everything the form's script reads, ready for JSON.

    Parameters
    ----------
    words : Words
        The language the form speaks.
    units : {'metric', 'us'}
        Units offered first; any unit of the record may be chosen beside each number.

    Returns
    -------
    dict
        `parts` (fields by part), `words`, `units`, `limits`, `deciding`, `signs`, `species`, `suggested`.
    """
    return {
        "format": FORMAT,
        "language": words.language,
        "parts": {name: [_field(name, one, words, units) for one in members(model)] for name, model in parts().items()},
        "kinds": {kind: model.__name__ for kind, model in ANCHOR_KINDS.items()},
        "choices": {} if words.language == "en" else {one: words.choice(one) for one in all_choices()},
        "words": words.sentences,
        "units": _units(),
        "limits": limits(),
        "deciding": {
            "by_use": {use: list(things) for use, things in deciding.DECIDING.items()},
            "boulder": list(deciding.BOULDER),
            "signs": dict(deciding.STOP_SIGNS),
            "worst": list(deciding.WORST_CASE_TAKEN),
            "says": {thing: words.thing(thing) for thing in all_things()},
        },
        "signs": {row["id"]: words.look(row["look"]) for row in rows("warning_signs")},
        "sectors": list(SECTORS),
        "species": species_names(words.language),
        "suggested": suggestions(),
    }


@cache
def parts() -> dict[str, type[BaseModel]]:
    """Every part of the record by name, in the order of the form."""
    found: dict[str, type[BaseModel]] = {}

    def add(model: type[BaseModel]) -> None:
        if model.__name__ not in found:
            found[model.__name__] = model
            for asked in members(model):
                for inner in asked.models:
                    add(inner)

    add(Record)
    return found


@cache
def all_choices() -> tuple[str, ...]:
    """Every answer that is chosen from a list, once each."""
    every = (str(choice) for model in parts().values() for asked in members(model) for choice in asked.choices)
    return tuple(dict.fromkeys(every))


@cache
def all_questions() -> tuple[str, ...]:
    """Every question of the schema, once each."""
    return tuple(dict.fromkeys(asked.question for model in parts().values() for asked in members(model)))


@cache
def all_things() -> tuple[str, ...]:
    """Every deciding thing, once each."""
    return tuple(dict.fromkeys(thing for things in (*deciding.DECIDING.values(), deciding.BOULDER) for thing in things))


def limits() -> dict[str, float]:
    """The thresholds of the check of readings, by the name they have there."""
    numbers: dict[str, float] = {}
    for module in (readings, tree_sizes):
        for name, value in vars(module).items():
            if name.isupper() and isinstance(value, (int, float)) and not isinstance(value, bool):
                numbers[name.lstrip("_")] = value
    return {**numbers, "EARLIEST_SURVEY": agreement.EARLIEST_SURVEY.isoformat()}


def _field(part: str, asked: Asked, words: Words, units: str) -> dict[str, Any]:
    """One field as the script reads it; short keys, since there are nearly three hundred."""
    field: dict[str, Any] = {"name": asked.name, "ask": words.question(asked.question), "kind": asked.kind}
    field |= {key: 1 for key in ("quick", "required") if getattr(asked, key)}
    if not asked.models and asked.default is not None and asked.default != ():
        field["preset"] = asked.default
    if asked.choices:
        field["choices"] = list(asked.choices)
    if asked.models:
        field["parts"] = [model.__name__ for model in asked.models]
    if asked.kind == "quantity":
        field |= quantity_field(asked, units)
    elif asked.low is not None:
        field |= {"low": asked.low, "high": asked.high}
    if f"{part}.{asked.name}" in SUGGESTED:
        field["suggest"] = SUGGESTED[f"{part}.{asked.name}"][0]
    return field


def quantity_field(asked: Asked, units: str = "metric") -> dict[str, Any]:
    """Kind, range as said and in SI, example and the unit offered first, of a field that is a quantity."""
    usual = asked.example.split()[-1]
    offered = US_UNITS.get(usual, usual) if units == "us" else usual
    low, high = (parse(text, asked.quantity).si for text in (asked.low, asked.high))
    return {"of": asked.quantity, "low": asked.low, "high": asked.high, "least": low, "most": high,
            "example": asked.example, "unit": offered}  # fmt: skip


def _units() -> dict[str, dict[str, float | None]]:
    """SI value of one of each unit, by kind; None for a slope in percent, which is no multiple of a degree."""
    used = {asked.quantity for model in parts().values() for asked in members(model) if asked.quantity}
    return {
        kind: {unit: None if (kind, unit) == ("slope", "%") else si_factor(kind, unit) for unit in units}
        for kind, units in UNITS.items() if kind in used and SI_UNIT[kind]
    }


@cache
def species_names(language: str) -> tuple[tuple[str, str], ...]:
    """Scientific name and a common name of every tree of the table, and the two names for an unknown one."""
    column = NAME_COLUMN[language]
    named = []
    for row in rows("species"):
        scientific = row.genus if row.rank == "genus" else row.scientific_name
        named.append((scientific, getattr(row, column).split(";")[0]))
    unknown = tuple((name, "") for name in UNKNOWN_TREES if find_species(name))
    return (*unknown, *named)


@cache
def suggestions() -> dict[str, tuple[str, ...]]:
    """Names of the small tables that a text may hold, by table."""
    from siteassess.reference.rules import rule_set_names

    found: dict[str, tuple[str, ...]] = {}
    for table, _ in SUGGESTED.values():
        if table == "rules":
            found[table] = tuple(rule_set_names())
        else:
            found[table] = tuple(dict.fromkeys(str(_name_of(row)) for row in rows(table)))
    return found


def _name_of(row: Any) -> str:
    return row["id"] if not isinstance(row, tuple) else row[0]
