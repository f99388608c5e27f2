"""Why a thing stands as it does: a code with its values. Sentences are made of it only where it is shown.

The wording of each code stands in the table `register_texts`, in every language.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from siteassess.reference.tables import rows

# stands for the name of a part that the reader may not know
SOME_PART = "one of its anchors"
_OUR_WORDS = frozenset(("word", "by", "what", "sign", "kind"))


@dataclass(frozen=True)
class Reason:
    """A code of `register_texts` and the values its wording names: plain text, or another reason."""

    code: str
    values: tuple[tuple[str, str | Reason], ...] = ()

    def as_dict(self) -> dict[str, str]:
        """Code, values and the English sentence, for other programs."""
        values = {key: in_words(value) if isinstance(value, Reason) else value for key, value in self.values}
        return {"code": self.code, **values, "says": in_words(self)}


def reason(code: str, **values: Any) -> Reason:
    """A reason with its values, which are kept as text where they are no reasons."""
    kept = ((key, value if isinstance(value, Reason) else str(value)) for key, value in values.items())
    return Reason(code, tuple(kept))


def in_words(why: Reason, language: str = "en", of: Callable[[str], str] = lambda word: word) -> str:
    """One reason as a sentence.

    Parameters
    ----------
    of : says a word of a record or register in the language
    """
    def told(key: str, value: str | Reason) -> str:
        if isinstance(value, Reason):
            return in_words(value, language, of)
        # only words of our own tables are translated: a name, a code or what somebody wrote stays as it is
        return of(value) if key in _OUR_WORDS or value == SOME_PART else value

    return _wording(why.code)[language].format(**{key: told(key, value) for key, value in why.values})


@cache
def _wording(code: str) -> dict[str, str]:
    return next(row for row in rows("register_texts") if row["key"] == code)
