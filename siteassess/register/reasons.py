"""Why a thing stands as it does: a code with its values. Sentences are made of it only where it is shown.

The wording of each code stands in the table `register_texts`, in every language.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

from siteassess.reference.findings import answered, with_constants
from siteassess.reference.tables import rows
from siteassess.reference.texts import filled, text

# stands for the name of a part that the reader may not know
SOME_PART = "one of its anchors"
WORD_GROUPS = frozenset(("verdict", "status", "word"))
_OUR_WORDS = frozenset(("word", "words", "by", "what", "sign", "kind", "wetness"))
ReasonValue: TypeAlias = "str | Reason | tuple[str, ...] | tuple[Reason, ...]"


@dataclass(frozen=True)
class Reason:
    """A code of `register_texts` and the values its wording names: plain text or another reason, or several of one."""

    code: str
    values: tuple[tuple[str, ReasonValue], ...] = ()

    def in_words(self, language: str = "en", system: str = "metric") -> str:
        """As a sentence, for a code that this is within."""
        return sentence(self, language)

    def as_dict(self) -> dict[str, str]:
        """Code, values and the English sentence, for other programs."""
        return {"code": self.code, **{key: text_of(value) for key, value in self.values}, "says": sentence(self)}


def reason(code: str, **values: Any) -> Reason:
    """A reason with its values, which are kept as text where they are no reasons and not several.

    Parameters
    ----------
    code : of the table `register_texts`
    values : by the names of its wording
    """
    kept = ((key, value if isinstance(value, Reason | tuple) else str(value)) for key, value in values.items())
    return Reason(code, tuple(kept))


def sentence(why: Reason, language: str = "en", *, group: str = "reason") -> str:
    """One reason as a sentence.

    Parameters
    ----------
    why, language : the reason; to tell it in
    group : of wordings: "reason", "mark" for how a mark stands where a title says already whose it is, "copy" for
        what a copy says of a thing, "column" for what a column of one means
    """
    values = {key: text_of(value, language, ours=key in _OUR_WORDS) for key, value in why.values}
    return filled(_wording(why.code, group)[language], values, language)


def text_of(value: ReasonValue, language: str = "en", *, ours: bool = False) -> str:
    """A reason, or several, as a sentence, or what somebody wrote as it is.

    Parameters
    ----------
    value : of a reason
    language : to tell it in
    ours : whether a word of it is one of the tables, to be translated
    """
    if isinstance(value, Reason):
        return sentence(value, language)
    if isinstance(value, tuple):
        between = text("between", language) if any(isinstance(one, Reason) for one in value) else ", "
        return between.join(text_of(one, language, ours=ours) for one in value)
    return word_here(value, language) if ours or value == SOME_PART else value


GROUP_ONLY = "group only"  # what a register is begun with where nobody names a licence


def licence_told(licence: str, language: str = "en") -> str:
    """A register's licence in a language: the usual one is ours; what somebody wrote stays, even where it is a word.

    Parameters
    ----------
    licence : as it is kept
    language : to tell it in
    """
    return word_here(licence, language) if licence == GROUP_ONLY else licence


def word_here(english: str, language: str = "en") -> str:
    """A word of a record or register in a language; as it is where no table holds it.

    Parameters
    ----------
    english : as it is kept
    language : to tell it in
    """
    return _own_words(language).get(english) or answered(english, language)


@cache
def _own_words(language: str) -> dict[str, str]:
    """The words of papers and registers alone; the others have their own home."""
    own = (row for table in ("register_texts", "texts", "paper_texts") for row in rows(table))
    return {row["key"]: with_constants(row[language], language) for row in own if row["group"] in WORD_GROUPS}


@cache
def _wording(code: str, group: str) -> dict[str, str]:
    return next(row for row in rows("register_texts") if row["key"] == code and row["group"] == group)
