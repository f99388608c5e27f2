"""Why a thing stands as it does: a code with its values. Sentences are made of it only where it is shown.

The wording of each code stands in the table `register_texts`, in every language.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

from siteassess.reference.findings import answered
from siteassess.reference.tables import rows
from siteassess.reference.texts import filled, text

# stands for the name of a part that the reader may not know
SOME_PART = "one of its anchors"
_OUR_WORDS = frozenset(("word", "words", "by", "what", "sign", "kind", "wetness"))
Value: TypeAlias = "str | Reason | tuple[str, ...] | tuple[Reason, ...]"


@dataclass(frozen=True)
class Reason:
    """A code of `register_texts` and the values its wording names: plain text or another reason, or several of one."""

    code: str
    values: tuple[tuple[str, Value], ...] = ()

    def in_words(self, language: str = "en", system: str = "metric") -> str:
        """As a sentence, for a code that this is within."""
        return in_words(self, language, lambda word: answered(word, language))

    def as_dict(self) -> dict[str, str]:
        """Code, values and the English sentence, for other programs."""
        return {"code": self.code, **{key: text_of(value) for key, value in self.values}, "says": in_words(self)}


def reason(code: str, **values: Any) -> Reason:
    """A reason with its values, which are kept as text where they are no reasons and not several."""
    kept = ((key, value if isinstance(value, Reason | tuple) else str(value)) for key, value in values.items())
    return Reason(code, tuple(kept))


def in_words(
    why: Reason, language: str = "en", of: Callable[[str], str] = lambda word: word, *, group: str = "reason"
) -> str:
    """One reason as a sentence.

    Parameters
    ----------
    of : says a word of a record or register in the language
    group : of wordings: "reason", "mark" for how a mark stands where a title says already whose it is, "copy" for
        what a copy says of a thing, "column" for what a column of one means
    """
    values = {key: text_of(value, language, of, ours=key in _OUR_WORDS) for key, value in why.values}
    return filled(_wording(why.code, group)[language], values, language)


def text_of(
    value: Value, language: str = "en", of: Callable[[str], str] = lambda word: word, *, ours: bool = False
) -> str:
    """A reason, or several, as a sentence, or what somebody wrote as it is; of `ours` a word is translated."""
    if isinstance(value, Reason):
        return in_words(value, language, of)
    if isinstance(value, tuple):
        between = text("between", language) if any(isinstance(one, Reason) for one in value) else ", "
        return between.join(text_of(one, language, of, ours=ours) for one in value)
    return of(value) if ours or value == SOME_PART else value


@cache
def _wording(code: str, group: str) -> dict[str, str]:
    return next(row for row in rows("register_texts") if row["key"] == code and row["group"] == group)
