"""Readings that are doubted, in short beside what rests on them: a slip of the pen is mended before anybody rigs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from siteassess.advice.results import Assessment, LineResult
from siteassess.papers.language import Words
from siteassess.reference.pages import plain

_PART = re.compile(r"(\w+)\[([^\]]*)\](?:\.([ab])\b)?")
_LATER = (".position", "survey.", "site.")  # told last: a size that is off moves more than a place that is rough


def doubts_of(assessment: Assessment, line: LineResult, language: str = "en", system: str = "metric") -> list[str]:
    """The doubtful readings that a line rests on, each with its anchor's code, what it would be first.

    Parameters
    ----------
    assessment : with the readings that are doubted
    line : one of its lines
    language, system : to tell them in
    """
    told = []
    for one in assessment.warnings:
        values = dict(one.values)
        field = str(values.get("field", ""))
        if one.code == "doubted" and (at := _at(field, line)) is not None:
            meant = [more for more in values["more"] if more.code == "doubt-would-be"]
            what = replace(values["what"], part="brief").in_words(language, system)
            what = what or values["what"].in_words(language, system)
            says = what + "".join(part.in_words(language, system) for part in meant)
            told.append((field.startswith(_LATER[1:]) or _LATER[0] in field, not meant, at, plain(says)))
    told.sort(key=lambda doubt: doubt[:2])
    return [f"{at} {says}".strip() for *_, at, says in told]


def doubtful(doubts: Sequence[str], t: Words, most: int | None = None) -> str:
    """How many readings are doubted, and the first of them; empty where none is.

    Parameters
    ----------
    doubts : of `doubts_of`
    t : words of the reader
    most : of them that are told, None for all
    """
    if not doubts:
        return ""
    first = t("between").join(doubts[:most])
    left = f" (+{len(doubts) - most})" if most is not None and len(doubts) > most else ""
    return t("doubtful-first", count=len(doubts)) + (f"{t('colon')} {first}{left}" if first else "")


def _at(field: str, line: LineResult) -> str | None:
    """The code of the anchor that a field is of, empty for none of them; None for a field of another line."""
    part = _PART.match(field)
    if part is None:
        return ""
    kind, name, end = part.groups()
    codes = [anchor.code for anchor in line.anchors]
    if kind == "lines":
        return None if name != line.id else codes["ab".index(end)] if end else ""
    return name if name in codes else None

