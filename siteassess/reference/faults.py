"""Faults as they are told: in English what they are made of, in another language by the codes of their texts."""

from __future__ import annotations

import re
from functools import reduce
from typing import TYPE_CHECKING

from siteassess.errors import Fault, FaultyFiles, FaultyInput, MissingExtra, SiteassessError, WordedError
from siteassess.reference.findings import Said, Worded, in_language, in_words, said, worded
from siteassess.reference.locate import install_command
from siteassess.reference.texts import text
from siteassess.units import UNITS, UnitText

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


def of_unit(error: UnitText, called: str = "") -> tuple[Worded, str]:
    """What is wanted instead of a text that is no quantity, and how to mend it.

    Parameters
    ----------
    error : of reading a quantity
    called : what the quantity is, where that is not its kind

    Returns
    -------
    What is wanted; how to mend it, empty where nobody knows.
    """
    kind = called or error.kind
    wanted = worded("want-a-unit", kind=kind, units=tuple(UNITS[error.kind]))
    return wanted, worded(error.mend, kind=kind, **error.values) if error.mend else ""


def missing_extra(what: str, extra: str) -> MissingExtra:
    """The error of something asked for whose libraries are not installed.

    Parameters
    ----------
    what : needs them, a word of the table
    extra : its name
    """
    return MissingExtra(worded("needs-extra", what=what, extra=extra, command=install_command(extra)))


def told(fault: Fault) -> Said:
    """A fault as one code.

    Parameters
    ----------
    fault : of whichever record, rule set or register
    """
    mend = (said("fault-mend", mend=fault.mend),) if fault.mend else ()
    return said("fault-told", field=fault.field, read=fault.read, wanted=fault.wanted, mend=mend)


def of_error(error: SiteassessError, language: str) -> str:
    """What an error tells, in a language as far as it knows codes; else its message.

    Parameters
    ----------
    error : of ours, with or without codes
    language : to tell it in
    """
    if isinstance(error, FaultyInput):
        return listing(error, language)
    if isinstance(error, WordedError) and error.codes:
        codes = (said(code, **error.values) for code in error.codes)
        return text("between", language).join(in_words(codes, language))
    message = error.args[0] if error.args else ""
    return in_language(message, language) if isinstance(message, str) else str(error)


def listing(error: FaultyInput, language: str) -> str:
    """One input with all its faults, a line each, as the error lists them in English; of several one by one."""
    if isinstance(error, FaultyFiles):
        return "\n".join(listing(one, language) for one in error.errors)
    lines = [said("many-faults", source=error.source, count=len(error.faults)).in_words(language)]
    for fault in error.faults:
        place = f"{error.source}:{fault.line}: " if fault.line else ""
        lines.append(f"  {place}{told(fault).in_words(language)}")
    return "\n".join(re.sub(r"\s*[\r\n]+\s*", " ", line) for line in lines)


def any_of(*names: str) -> str:
    """One name, or one of several in a row.

    Parameters
    ----------
    names : at least one, as somebody would type them
    """
    return reduce(lambda one, other: worded("want-this-or-that", one=one, other=other), names)


def of_model(error: ErrorDetails, field: str, line: int = 0, of_clause: bool = False) -> Fault:
    """A fault that a model found in plain content.

    Parameters
    ----------
    error : as pydantic tells it
    field : that it is about, as somebody typed it
    line : of the file; 0 where there is none
    of_clause : whether it is a clause of a rule set, which may be taken out whole
    """
    read = error["input"]
    blank = error["type"] == "missing" or read is None
    shown = repr(read)[:80]
    if blank or isinstance(read, dict):
        shown = worded("read-nothing" if blank else "a-block-of-keys")
    mend = worded("mend-fill-or-take-out" if of_clause else "mend-fill-it-in") if blank else ""
    return Fault(line, field, shown, _wanted(error), mend)


_WANTED = {
    "missing": "want-this-field", "string_type": "want-a-text", "string_too_short": "want-a-text",
    "float_type": "want-a-number", "float_parsing": "want-a-number", "int_type": "want-a-whole-number",
    "int_parsing": "want-a-whole-number", "tuple_type": "want-bracketed-list", "model_type": "a-block-of-keys",
    "model_attributes_type": "a-block-of-keys", "extra_forbidden": "want-no-such-field",
    "bool_type": "want-true-or-false",
}

_PATTERNS = {
    r"^[a-z0-9][a-z0-9_-]*$": "want-small-letters", r"^[A-Z]{2}$": "want-two-capitals",
    r"^\d{4}-\d{2}$": "want-year-and-month", r"^https?://": "want-web-address",
}


def _wanted(error: ErrorDetails) -> str:
    """What pydantic wanted, in the reader's words."""
    kind, context = error["type"], error.get("ctx", {})
    if kind == "literal_error":
        *others, last = context["expected"].rsplit(" or ", 1)
        return worded("want-one-of-these" if others else "want-only-this", others=others[0] if others else "",
                      last=last)  # fmt: skip
    if kind == "union_tag_invalid":
        return worded("want-kind-of-clause", kinds=context["expected_tags"])
    if kind == "union_tag_not_found":
        return worded("want-clause-with-kind")
    if kind == "string_pattern_mismatch":
        pattern = str(context["pattern"])
        return worded(_PATTERNS[pattern]) if pattern in _PATTERNS else worded("want-text-like", pattern=pattern)
    if kind == "value_error" and isinstance(own := context["error"].args[0], Worded):
        return own
    if kind in _WANTED:
        return worded(_WANTED[kind])
    limit = next((one for one in _LIMITS if one in context), "")
    if limit and isinstance(context[limit], (int, float)):
        return worded(_LIMITS[limit], limit=context[limit])
    return error["msg"][0].lower() + error["msg"][1:]


_LIMITS = {"gt": "want-input-above", "ge": "want-input-at-least", "lt": "want-input-under", "le": "want-input-at-most"}
