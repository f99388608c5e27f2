"""What is found, as a code with values, and how each code is worded: the table `findings`.

Nothing is decided on a wording. A value is an SI number, a word of the table, what somebody wrote, or a code within a
code; how it is written is said by the wording that names it, after a colon:

    {tie:m 1}      an SI number in a unit, with so many decimals
    {pull:kN ~2}   the same with so many figures that count; {low:kN bare ~2} where the next number brings the unit
    {margin:m g}   the same as somebody chose it, with no more decimals than it has
    {use:% 0}      a share
    {days:0}       a plain number
    {tie:down m 2} a most, never rounded up, so that who keeps to what is read keeps to the limit; {width:up mm 0} a
                   least, never rounded down
    {chance:g2}    a plain number with so many figures that count, with an exponent where it is very small
    {asked:sum N}  a side of a sum in an SI unit, with as many figures as `Measures.sum_of` gives it
    {way:bearing}  a bearing in whole degrees with three figures
    {start:day}    a day of every year, "03-15", as day and month
    {limit:word}   a word of the table, in the reader's language; {things:words} several, {things:and} or
                   {things:or} with such a word before the last
    {how:answer}   an answer of the field form that means something else as a word of the table
    {name:text}    what somebody wrote, or a code of a record: never translated, but for a text that knows its code
    {limit:marked} the same where we worked the number out: with the mark of the language
    {key:question} a question of the record within a sentence; {key:question low} without capitals in English
    {why:said}     a code within the code; {why:saids} several, {rests:clauses} several that bring their own marks;
                   {parts:saids and} with a word before the last, {parts:saids list} with commas alone
    {why:unstopped} a code within the code without its full stop
    {feet:short}   the short line of a code within the code, else the whole; {still:brief} its briefest, {still:briefs}
                   that of several
    {things:count} how many they are; {things:few} the first of them as words, and how many more
    {days:day|days} the word for one and for several, beside the number
    {gust:gust}    a gust in the units of forecasts, rounded down; {gust:gust alone} in the reader's own
    {many:spelled} a half, a third, a quarter, two, three or four in words, any other number in figures;
                   {opening:round} the same of an angle as a share of the round
    {=root loss half:spelled}
                   a constant of ours by its code, written in any of these ways: a wording has no figure of its own
                   for a limit that a row of the table `constants` sets
Numbers are written by `Measures`, which knows the units of the other system and the decimal mark.
"""

from __future__ import annotations

import calendar
import re
import string
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from siteassess.errors import UnknownName
from siteassess.reference.constants import constant
from siteassess.reference.measures import Measures
from siteassess.reference.tables import document, rows
from siteassess.reference.texts import of_count, text
from siteassess.units import show_bearing

FEW = 3  # of several things that a short line names
TOWARD = {"up": 1, "down": -1}
PARTS = ("about", "short", "full", "condition", "action", "brief")
_OURS = re.compile(r"\{=([^{}]+):([^:{}]+)\}")


@dataclass(frozen=True)
class Said:
    """A code of the table, the values that its wording names, by name, and which of its wordings is meant."""

    code: str
    values: tuple[tuple[str, Any], ...] = ()
    part: str = "full"

    def in_words(self, language: str = "en", system: str = "metric") -> str:
        """That wording; empty where the code has none of that kind."""
        return wording(self.code, dict(self.values), self.part, language, system)


class Worded(str):
    """The English of a code as a text that knows its code: whoever shows it may tell it in another language.

    It is a text wherever one is wanted, so that an error made of several stays what it was.
    """

    said: Said

    def __new__(cls, told: Said) -> Worded:
        made = super().__new__(cls, told.in_words())
        made.said = told
        return made

    def __reduce__(self) -> tuple[type[Worded], tuple[Said]]:
        return Worded, (self.said,)

    def in_words(self, language: str = "en", system: str = "metric") -> str:
        """The same in a language."""
        return self.said.in_words(language, system)


def in_language(told: str, language: str) -> str:
    """A text in a language, if it knows its code; else as it is.

    Parameters
    ----------
    told : plain, or a `Worded`
    language : to tell it in
    """
    return told.in_words(language) if isinstance(told, Worded) else told


def worded(code: str, **values: Any) -> Worded:
    """The English of a code with its values, which can be told in another language.

    Parameters
    ----------
    code : of the table
    values : as for `said`
    """
    return Worded(said(code, **values))


def said(code: str, **values: Any) -> Said:
    """A code with its values.

    Parameters
    ----------
    code : of the table
    values : SI numbers, words of the table, what somebody wrote, or codes within codes

    Raises
    ------
    UnknownName : the table has no such code
    """
    row_of(code)
    return Said(code, tuple(values.items()))


def in_words(codes: Iterable[Said], language: str = "en", system: str = "metric") -> tuple[str, ...]:
    """Several codes, each worded whole.

    Parameters
    ----------
    codes : in their order
    language : to tell them in
    system : "metric", or "us" for feet, inches, pounds and psi
    """
    return tuple(one.in_words(language, system) for one in codes)


@dataclass(frozen=True)
class English:
    """On a class, the English of a field of codes: a sentence of one code, empty for None, or a tuple of several.

    JSON has it under the name it stands at, and the codes beside it.
    """

    of: str

    def __get__(self, instance: Any, owner: type | None = None) -> Any:
        if instance is None:
            return self
        told = getattr(instance, self.of)
        return in_words(told) if isinstance(told, tuple) else told.in_words() if told else ""


def said_by(code: str, part: str, values: Iterable[tuple[str, Any]]) -> Said | None:
    """One wording of a code as a code of its own, with no value that it does not name; None where there is none.

    Two codes that take the wording from the same third one say the same.

    Parameters
    ----------
    code : of the table
    part : which wording, one of `PARTS`
    values : names and values; those that it does not name are left out
    """
    told = row_of(code).get(part)
    if not told:
        return None
    if isinstance(told, Mapping) and "of" in told:
        return said_by(told["of"], "full", values)
    named = {name for name, _ in names_in(unfilled(code, part))}
    return Said(code, tuple((name, value) for name, value in values if name in named), part)


@cache
def _rows() -> Mapping[str, Mapping[str, Any]]:
    return {row["code"]: row for row in document("findings")["rows"]}


@cache
def _words() -> Mapping[str, Mapping[str, Any]]:
    verdicts = (row for row in rows("texts") if row["group"] == "verdict")
    return {row["en"]: row for row in (*document("findings")["words"], *verdicts)}


def row_of(code: str) -> Mapping[str, Any]:
    """Row of a code: what it is about, its rank and its wordings.

    Parameters
    ----------
    code : of the table

    Returns
    -------
    Frozen; texts by part, then by language.

    Raises
    ------
    UnknownName : the table has no such code
    """
    if code not in _rows():
        raise UnknownName(f"no finding {code!r} in findings.yaml")
    return _rows()[code]


def codes() -> tuple[str, ...]:
    """All codes of the table."""
    return tuple(_rows())


@cache
def _answers() -> Mapping[str, Mapping[str, Any]]:
    return {row["en"]: row for row in rows("form_texts") if row["group"] == "choice"}


def word(english: str, language: str = "en") -> str:
    """A word of the table, else an answer of the field form, in a language; one that neither holds stays as it is.

    Parameters
    ----------
    english : of the table
    language : to tell it in
    """
    row = None if language == "en" else _words().get(english) or _answers().get(english)
    return str(row[language]) if row else english


def answered(english: str, language: str = "en") -> str:
    """An answer of the field form, else a word of the table, in a language; one that neither holds stays as it is.

    Some answers are a word of the table that means something else.

    Parameters
    ----------
    english : as a record holds it
    language : to tell it in
    """
    row = None if language == "en" else _answers().get(english) or _words().get(english)
    return str(row[language]) if row else english


@cache
def _questions() -> Mapping[str, Mapping[str, Any]]:
    return {row["en"]: row for row in rows("form_texts") if row["group"] == "question"}


def asked(question: str, language: str = "en", every: bool = False) -> str:
    """A question of the record as part of a sentence; `every` takes all capitals from the English one."""
    if language == "en":
        return question.lower() if every else question[:1].lower() + question[1:]
    told = str(_questions()[question][language]) if question in _questions() else question
    # German keeps the capital of a noun, and every language that of what is written in capitals
    return told if language == "de" or told[1:2].isupper() else told[:1].lower() + told[1:]


def wording(
    code: str, values: Mapping[str, Any], part: str = "full", language: str = "en", system: str = "metric"
) -> str:
    """One wording of a code, filled in; empty where it has none of that kind.

    Parameters
    ----------
    code : of the table
    values : what its wordings name, by name: SI numbers, words, texts, other codes.
    part : one of `PARTS`
    language : one of `languages()`
    system : of units, one of `measures.SYSTEMS`
    """
    text = with_constants(unfilled(code, part, language), language, system)
    return _filler(language, system).vformat(text, (), values) if "{" in text else text


@cache
def with_constants(text: str, language: str = "en", system: str = "metric") -> str:
    """A text of any table with the constants it names, as `{=least tie:m 1}`; what else it is filled with stays.

    Parameters
    ----------
    text : with or without `{=...}`
    language : to write numbers in
    system : "metric" or "us"
    """
    written = _filler(language, system).format_field
    return _OURS.sub(lambda named: written(constant(named[1]), named[2]), text)


@cache
def unfilled(code: str, part: str = "full", language: str = "en") -> str:
    """One wording of a code as the table has it, its values by name.

    Parameters
    ----------
    code : of the table
    part : which wording, one of `PARTS`
    language : to tell it in
    """
    told = row_of(code).get(part, "")
    if isinstance(told, str):  # the same in every language
        return told
    if "of" in told:
        return unfilled(told["of"], "short" if part == "short" else "full", language)
    return str(told[language])


@cache
def names_of(code: str) -> frozenset[str]:
    """What the wordings of a code name.

    Parameters
    ----------
    code : of the table
    """
    return frozenset(name for part in PARTS for name, _ in names_in(unfilled(code, part)))


def names_in(text: str) -> set[tuple[str, str]]:
    """What a wording names, each with how it is written; a constant needs no value, a word for a count its number."""
    parts = string.Formatter().parse(_OURS.sub("", text))
    return {(name, how or "") for _, name, how, _ in parts if name is not None and "|" not in (how or "")}


@cache
def _filler(language: str, system: str) -> string.Formatter:
    return _Filler(language, system)


class _Filler(string.Formatter):
    def __init__(self, language: str, system: str):
        self.language, self.system, self.measures = language, system, Measures(language, system)

    def format_field(self, value: Any, format_spec: str) -> str:
        if "|" in format_spec:
            return of_count(value, format_spec, self.language)
        alone = {"texts": lambda: self._list(list(value)), "bearing": lambda: show_bearing(value),
                 "day": lambda: self._day(value), "said": lambda: self._said(value), "count": lambda: str(len(value)),
                 "unstopped": lambda: self._said(value).rstrip(".")}  # fmt: skip
        if format_spec in alone:
            return alone[format_spec]()
        if format_spec in ("words", "and", "or"):
            return self._list([word(one, self.language) for one in value], format_spec.removeprefix("words"))
        if format_spec == "saids":
            return text("between", self.language).join(map(self._said, value))
        if format_spec.startswith("saids "):
            return self._list([*map(self._said, value)], format_spec.removeprefix("saids ").removesuffix("list"))
        if format_spec == "clauses":
            return "".join(self._said(one) for one in value)
        if format_spec in ("gust", "gust alone"):
            return self.measures.gust(float(value), others=format_spec == "gust")
        if format_spec in ("spelled", "round"):
            return self.measures.spelled(float(value) / (360 if format_spec == "round" else 1))
        if format_spec == "short":
            return self._said(replace(value, part="short")) or self._said(value)
        if format_spec in ("brief", "briefs"):
            return text("between", self.language).join(map(self._brief, value if format_spec == "briefs" else (value,)))
        if format_spec == "few":
            rest = len(value) - FEW
            return self._list([word(one, self.language) for one in value[:FEW]]) + f" (+{rest})" * (rest > 0)
        if format_spec == "word":
            return self._said(value) if isinstance(value, Said) else word(value, self.language)
        if format_spec == "marked":
            return self.measures.marked(str(value))
        if format_spec == "text":
            return self._said(value) if isinstance(value, Worded) else str(value)
        if format_spec.startswith("question"):
            return asked(value, self.language, every=format_spec.endswith("low"))
        if format_spec == "answer":
            return answered(value, self.language)
        if format_spec.startswith("sum "):
            return self.measures.sum_of(float(value), format_spec.removeprefix("sum "))
        way, _, how = format_spec.partition(" ")
        if way in TOWARD:
            return self.measures.told(float(value), how, TOWARD[way])
        number = None if value is None else float(value)
        return self.measures.told(number, format_spec + " 0" * format_spec.endswith("bare"))

    def _said(self, told: Any) -> str:
        return str(told.in_words(self.language, system=self.system))

    def _brief(self, told: Said) -> str:
        short = ("short",) if told.part == "full" else ()  # of a condition that is what was found
        parts = ("brief", *short, told.part)
        return next(filter(None, (self._said(replace(told, part=part)) for part in parts)), "")

    def _day(self, month_day: str) -> str:
        month, day = map(int, month_day.split("-"))
        named = calendar.month_name[month]
        return self._said(said("first-of-the-month", month=named) if day == 1 else
                          said("day-of-the-year", day=day, month=named))  # fmt: skip

    def _list(self, told: list[str], joined: str = "") -> str:
        if not joined or len(told) < 2:
            return ", ".join(told)
        return f"{', '.join(told[:-1])} {text(joined, self.language)} {told[-1]}"
