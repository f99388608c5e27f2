"""What the field form is generated from: the record's schema, ranges, units, signs, thresholds and suggestions.

Everything the script on the phone knows of the record comes from here, so that the form and the program cannot drift.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import groupby, pairwise
from os.path import commonprefix
from typing import Any, TypeAlias, TypeVar

from pydantic import BaseModel

from siteassess.advice import verdict
from siteassess.advice.first_word import LETTERS, MOST, OFFSET, STEP, first_word_tables, kind_of, kinds, wood_steps
from siteassess.advice.gear_inputs import WIDTHS_MAY_DIFFER, WIDTHS_TOO_FAR, stiffness_of_class
from siteassess.papers.form_words import FormWords
from siteassess.records import agreement, doubtful, size_terms, sizes, tree_sizes, trunk
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import SECTORS
from siteassess.records.record import RECORD_FORMAT, Record
from siteassess.records.schema import Asked, members
from siteassess.reference.findings import word
from siteassess.reference.names import LEAF_TYPE_WORDS
from siteassess.reference.rules import rule_ids
from siteassess.reference.species import NAME_COLUMN, common_names, find_species
from siteassess.reference.tables import rows
from siteassess.reference.texts import cautions
from siteassess.reference.webbing import webbing_class
from siteassess.units import SI_UNIT, UNITS, si_factor

T = TypeVar("T")
Measure: TypeAlias = tuple[str, str, str, str, str]
# unit offered first where the form is asked for US units, by the unit of the schema's example
US_UNITS = {"cm": "in", "mm": "in", "m": "ft", "kN": "lbf", "N": "lbf", "kg": "lb", "g/m": "oz/yd"}
# bounds of the classes a tree's height may be told by, the last named by its lower one only (judgement); a class stands
# for its middle: its lower end would be careful for the roots and kind in the wind
HEIGHT_CLASSES = {"metric": ("m", 5, 10, 15, 20, 25, 30, 40), "us": ("ft", 15, 30, 50, 65, 80, 100, 130)}
PALMS = commonprefix([word.casefold() for word in LEAF_TYPE_WORDS["palm"]])  # what most names of a palm hold
USUAL_TIE = {"metric": "1 m", "us": "3 ft"}  # what a trunk carries is told at, where no line names its tie
# sentences that stand in the page itself; the script needs them no more
OF_THE_PAGE = ("title", "needs-script", "mode", "mode-quick", "mode-full", "where", "paper-title",
               "paper-hint", "paper-sheet")  # fmt: skip
UNKNOWN_TREES = {"unknown broadleaf": "broadleaf", "unknown conifer": "conifer"}


def _height_classes(unit: str, *bounds: float) -> list[list[str]]:
    """Of each class the estimate it stands for, by whose ends both are off by the same share, and its name."""
    names = [f"{low}–{high} {unit}" for low, high in pairwise(bounds[:-1])] + [f"> {bounds[-2]} {unit}"]
    return [[f"{math.floor(math.sqrt(low * high))} {unit}", name] for (low, high), name in zip(pairwise(bounds), names)]


def form_data(words: FormWords, told: Iterable[str], units: str = "metric") -> dict[str, Any]:
    """Everything the form's script reads, ready for JSON.

    Parameters
    ----------
    words : Words
        The language the form speaks.
    told : iterable of str
        The codes that the script tells doubtful readings by, in its order.
    units : {'metric', 'us'}
        Units offered first; any unit of the record may be chosen beside each number.

    Returns
    -------
    dict
        `parts` (fields by part), `words`, `units`, `limits`, `deciding`, `signs`, `species` and so on.
    """
    every = [asked for model in parts().values() for asked in members(model)]
    lists = list(dict.fromkeys(asked.choices for asked in every if asked.choices))
    measures = list(dict.fromkeys(measure(asked, units) for asked in every if asked.quantity))
    things, answers = all_things(), all_choices()
    return {
        "format": RECORD_FORMAT,
        "language": words.language,
        "parts": {name: [_field(one, words, lists, measures, units) for one in members(model)]
                  for name, model in parts().items()},
        "lists": [_places(one, answers) for one in lists],
        "measures": measures,
        "kinds": {kind: model.__name__ for kind, model in ANCHOR_KINDS.items()},
        "answers": answers,
        "said": [] if words.language == "en" else [words.choice(one) for one in answers],
        "words": {key: text for key, text in words.sentences.items() if key not in OF_THE_PAGE},
        "told": words.told(told),
        "named": words.named,
        "units": _units(),
        "limits": limits(),
        "sizes": size_data(),
        "deciding": {
            "things": things,
            "says": [words.thing(thing) for thing in things],
            "by_use": {use: _places(listed, things) for use, listed in verdict.DECIDING.items()},
            "boulder": {use: _places(verdict.boulder_deciding(use), things) for use in verdict.DECIDING},
            "signs": dict(verdict.STOP_SIGNS),
        },
        "signs": {row["id"]: words.look(row["look"]) for row in rows("warning_signs")},
        "sectors": list(SECTORS),
        "species": _folded(names_of_kinds(words.language)),
        "suggested": suggestions(words.language),
        "heights": _height_classes(*HEIGHT_CLASSES[units]),
        "webbing": webbing_names(),
        "cautions": list(cautions(words.language)),
        "first": first_word(words.language, units),
    }


@cache
def first_word(language: str, units: str = "metric") -> dict[str, Any]:
    """The tables of the first word, and where the form's species and webbings stand in them."""
    names, palm = [name for name, *_ in names_of_kinds(language)], len(kinds())
    named = "".join(LETTERS[palm if find_species(name).leaf_type == "palm" else kind_of(name, guessed)]
                    for name in names for guessed in (False, True))  # fmt: skip
    classes = {name: webbing_class(name) for name in webbing_names()}
    listed = list(dict.fromkeys(classes.values()))
    stiff = [stiffness_of_class(row.name)[0] for row in listed]
    tables = first_word_tables()
    return tables | {
        "held": [in_runs(letters) for letters in tables["held"]],
        "letters": LETTERS, "step": STEP, "offset": OFFSET, "most": MOST, "named": named,
        "palm": palm, "palms": PALMS,
        "unknown": {leaf: kind_of(f"unknown {leaf}") for leaf in ("broadleaf", "conifer")},
        "wood": "".join(LETTERS[wood_steps(name)] for name in names),
        "ea": [[one if isinstance(one, float) else None, row.fibre, row.width_mm / 1e3]
               for one, row in zip(stiff, listed)],
        "classes": [listed.index(row) for row in classes.values()],
        "widths_differ": WIDTHS_MAY_DIFFER.value, "widths_far": WIDTHS_TOO_FAR.value, "usual_tie": USUAL_TIE[units],
    }  # fmt: skip


def in_runs(letters: str) -> str:
    """Letters with each run of one told once, after a blank and before a letter that counts it; the page undoes it."""
    runs = [(letter, len(list(run))) for letter, run in groupby(letters)]
    return "".join(letter * many if many < 4 else (" " + letter + LETTERS[-1]) * (many // (len(LETTERS) - 1))
                   + f" {letter}{LETTERS[many % (len(LETTERS) - 1)]}" for letter, many in runs)  # fmt: skip


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
def all_choices() -> tuple[str | int, ...]:
    """Every answer that is chosen from a list, once each."""
    every = (choice for model in parts().values() for asked in members(model) for choice in asked.choices)
    return tuple(dict.fromkeys(every))


@cache
def all_questions() -> tuple[str, ...]:
    """Every question of the schema, once each."""
    return tuple(dict.fromkeys(asked.question for model in parts().values() for asked in members(model)))


@cache
def all_things() -> tuple[str, ...]:
    """Every deciding thing, once each."""
    return tuple(dict.fromkeys(thing for things in (*verdict.DECIDING.values(), verdict.BOULDER) for thing in things))


def _places(some: Iterable[T], among: Sequence[T]) -> list[int]:
    return [among.index(one) for one in some]


def limits() -> dict[str, float | str]:
    """The thresholds of the check of readings, by the name they have there."""
    numbers: dict[str, float] = {}
    for module in (doubtful, sizes, tree_sizes, trunk):
        for name, value in vars(module).items():
            if name.isupper() and isinstance(value, (int, float)) and not isinstance(value, bool):
                numbers[name.lstrip("_")] = value
    return {**numbers, "EARLIEST_SURVEY": agreement.EARLIEST_SURVEY.isoformat()}


def _size_rule(rule: size_terms.SizeRule, places: dict[str, int]) -> list[float | str]:
    """A rule as short as it can be, since the page is weighed: nought is nothing said, and none trails."""
    numbers = [rule.usual_low, rule.usual_high, rule.exponent, rule.ln_sd, rule.misfit_high, rule.possible_low,
               rule.possible_high]  # fmt: skip
    while not numbers[-1]:
        numbers.pop()
    short = [int(one or 0) if one in (None, int(one or 0)) else one for one in numbers]
    return [places[rule.size], places.get(rule.beside, -1), rule.answer, *short]


def size_data() -> dict[str, Any]:
    """The table of what sizes are usual: names with their kinds, and rules that tell a size by its place among them."""
    names = size_terms.size_names()
    places = {name: place for place, name in enumerate(names)}
    return {
        "names": ",".join(name if kind == "length" else f"{name}:{kind}" for name, kind in names.items()),
        "units": sizes.OTHER_UNITS, "catalogue": [places[name] for name in sizes.BY_CATALOGUE],
        "customary": sizes.CUSTOMARY, "anywhere": sizes.ANYWHERE, "no_percent": sizes.NO_PERCENT,
        "long": sizes.LONG_UNITS, "shifts": sizes.POINT_SHIFTS,
        "genera": ",".join(f"{genus} {100 * tall:.0f} {100 * wide:.0f}" for genus, (tall, wide) in
                           ((genus, factors.values()) for genus, factors in size_terms.genera().items())),
        "rules": [_size_rule(rule, places) for rule in size_terms.size_rules()],
    }  # fmt: skip


def _field(
    asked: Asked, words: FormWords, lists: list[tuple[str | int, ...]], measures: list[Measure], units: str
) -> list[str | int | dict[str, Any]]:
    """One field as the script reads it: its name, its question, 1 if quick and 2 if required, and the rest, if any.

    Answers and ranges that many fields share are told by their place in a list; they give the field's kind as well,
    and a text or a part needs no kind.
    """
    field: dict[str, Any] = {}
    if not asked.models and asked.default is not None and asked.default != ():
        # of an answer from a list, its place there
        field["preset"] = asked.choices.index(asked.default) if asked.choices else asked.default
    if asked.choices:
        field["choices"] = lists.index(asked.choices)
    elif asked.quantity:
        field["measure"] = measures.index(measure(asked, units))
    elif asked.kind not in ("text", "part"):
        field["kind"] = asked.kind
    if asked.models:
        field["parts"] = [model.__name__ for model in asked.models]
    if asked.low is not None and not asked.quantity:
        field |= {"low": asked.low, "high": asked.high}
    if asked.table:
        field["suggest"] = asked.table
    told: list[str | int | dict[str, Any]] = [asked.name, words.question(asked.question),
                                              asked.quick + 2 * asked.required, field]  # fmt: skip
    while not told[-1]:
        told.pop()
    return told


def measure(asked: Asked, units: str = "metric") -> Measure:
    """Kind, range, example and the unit offered first, of a field that is a quantity."""
    usual = asked.example.split()[-1]
    offered = US_UNITS.get(usual, usual) if units == "us" else usual
    return asked.quantity, asked.low, asked.high, asked.example, offered


def _units() -> dict[str, dict[str, float | None]]:
    """SI value of one of each unit, by kind; None for a slope in percent, which is no multiple of a degree."""
    used = {asked.quantity for model in parts().values() for asked in members(model) if asked.quantity}
    return {
        kind: {unit: None if (kind, unit) == ("slope", "%") else si_factor(kind, unit) for unit in units}
        for kind, units in UNITS.items() if kind in used and SI_UNIT[kind]
    }


@cache
def names_of_kinds(language: str) -> tuple[tuple[str, str, str], ...]:
    """Of the trees of the table, and of the two unknown ones: its scientific name, its common names in the language
    of the form, and those in the other languages, which a visitor may know alone.

    A genus of which no species is told and no bark is left out, or the page would be too heavy for a phone: whoever
    types one keeps it in the record, and the first word takes it for a kind nobody knows. A palm gets no first word, so
    it stays, but for names that tell that it is one.
    """
    named, genera = [], {row.genus for row in rows("species") if row.rank == "species" or row.bark}
    for row in rows("species"):
        if row.genus not in genera and row.leaf_type != "palm":
            continue
        scientific = row.genus if row.rank == "genus" else row.scientific_name
        common = common_names(row, language)
        known = {scientific.casefold(), *common.casefold().split(";")}
        others = {name.casefold(): name for column in (*NAME_COLUMN.values(), "synonyms")
                  for name in getattr(row, column).split(";") if name.casefold() not in known
                  and (row.genus in genera or PALMS not in name.casefold())}  # fmt: skip
        named.append((scientific, common, ";".join(others.values())))
    unknown = tuple((name, "" if language == "en" else word(name, language), ";".join(LEAF_TYPE_WORDS[leaf]))
                    for name, leaf in UNKNOWN_TREES.items())  # fmt: skip
    return (*unknown, *named)


def _folded(named: tuple[tuple[str, str, str], ...]) -> str:
    """One tree a line with its common names, a genus said once: what follows it begins with a space."""
    lines, genus = [], ""
    for name, *common in named:
        first = name.split()[0]
        lines.append("|".join((name.removeprefix(first) if first == genus and name != first else name, *common)))
        genus = first
    return "\n".join(line.rstrip("|") for line in lines)


@cache
def suggestions(language: str) -> dict[str, tuple[tuple[str, ...], ...]]:
    """What a text may name of the small tables, by table: each name with its word in a language, where there is one."""
    named = {table: tuple(row[0] for row in rows(table)) for table in ("webbing", "knots", "sheaves")}
    tables = {**named, "pads": tuple(row["id"] for row in rows("pads"))}
    told = {table: tuple((name, word(name, language)) for name in names) for table, names in tables.items()}
    return {**told, "rule sets": tuple((name,) for name in rule_ids())}


@cache
def webbing_names() -> tuple[str, ...]:
    """Every name a class of webbing is known by."""
    return tuple(name for row in rows("webbing") for name in (row.name, *row.other_names.split(";")) if name.strip())
