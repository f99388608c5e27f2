"""Faults as they are told: in English what they are made of, in another language by the codes of their texts."""

from __future__ import annotations

import re

from siteassess.errors import Fault, FaultyInput, SiteassessError, WordedError
from siteassess.reference.findings import Said, Worded, in_language, in_words, said, worded
from siteassess.reference.texts import text
from siteassess.units import UNITS, UnitText


def of_unit(error: UnitText) -> tuple[Worded, str]:
    """What is wanted instead of a text that is no quantity, and how to mend it; empty where nobody knows."""
    wanted = worded("want-a-unit", kind=error.kind, units=tuple(UNITS[error.kind]))
    return wanted, worded(error.mend, kind=error.kind, **error.values) if error.mend else ""


def told(fault: Fault) -> Said:
    """A fault as one code."""
    mend = (said("fault-mend", mend=fault.mend),) if fault.mend else ()
    return said("fault-told", field=fault.field, read=fault.read, wanted=fault.wanted, mend=mend)


def of_error(error: SiteassessError, language: str) -> str:
    """What an error tells, in a language as far as it knows codes; else its message."""
    if isinstance(error, FaultyInput):
        return listing(error, language)
    if isinstance(error, WordedError) and error.codes:
        codes = (said(code, **error.values) for code in error.codes)
        return text("between", language).join(in_words(codes, language))
    message = error.args[0] if error.args else ""
    return in_language(message, language) if isinstance(message, str) else str(error)


def listing(error: FaultyInput, language: str) -> str:
    """One input with all its faults, a line each, as the error lists them in English."""
    count = len(error.faults)
    head = said("one-fault", source=error.source) if count == 1 else said("many-faults", source=error.source,
                                                                          count=count)  # fmt: skip
    lines = [head.in_words(language)]
    for fault in error.faults:
        place = f"{error.source}:{fault.line}: " if fault.line else ""
        lines.append(f"  {place}{told(fault).in_words(language)}")
    return "\n".join(re.sub(r"\s*[\r\n]+\s*", " ", line) for line in lines)
