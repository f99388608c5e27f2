"""Wording of the field form in the language asked for: its own texts, and those that it tells as the program does."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, cached_property

from siteassess.records.size_terms import size_names
from siteassess.reference.findings import unfilled, with_constants, word
from siteassess.reference.tables import rows
from siteassess.reference.texts import known_language, text


@dataclass(frozen=True)
class FormWords:
    """The form's words in one language.

    Raises
    ------
    UnknownName
        If the form has no such language.
    """

    language: str = "en"

    def __post_init__(self) -> None:
        known_language(self.language)

    @cached_property
    def sentences(self) -> dict[str, str]:
        """The form's own sentences by key, and the marks of a language."""
        own = (row for row in rows("form_texts") if row["group"] == "sentence")
        marks = {key: text(key, self.language) for key in ("between", "colon", "decimal-mark")}
        return {row["key"]: row[self.language] for row in own} | marks

    def told(self, codes: Iterable[str]) -> list[str]:
        """The wordings of some codes, with their places; what goes into one as it is needs no word on that."""
        whole = (with_constants(unfilled(code, language=self.language), self.language) for code in codes)
        return [re.sub(":(text|said)}", "}", text) for text in whole]

    @cached_property
    def named(self) -> list[str]:
        """What the sizes are called, each once, in the order of the table; nothing where they are said in English."""
        english = dict.fromkeys(name.rpartition(".")[2].replace("_", " ") for name in size_names())
        return [] if self.language == "en" else [word(name, self.language) for name in english]

    def sentence(self, key: str) -> str:
        return self.sentences[key]

    def question(self, english: str) -> str:
        return self._in("question", english)

    def choice(self, english: object) -> str:
        return self._in("choice", str(english))

    def look(self, english: str) -> str:
        """Where to look for a sign."""
        return self._in("look", english)

    def thing(self, english: str) -> str:
        """A deciding thing."""
        return word(english, self.language)

    def _in(self, group: str, english: str) -> str:
        row = wordings(group).get(english)
        return row[self.language] if row else english


@cache
def wordings(group: str) -> dict[str, dict[str, str]]:
    """The rows of a group by their English wording."""
    return {row["en"]: row for row in rows("form_texts") if row["group"] == group}
