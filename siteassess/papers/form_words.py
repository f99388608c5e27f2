"""Wording of the field form in the language asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

from siteassess.reference.tables import rows
from siteassess.reference.texts import known


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
        known(self.language)

    @cached_property
    def sentences(self) -> dict[str, str]:
        """The form's own sentences by key."""
        own = (row for row in rows("form_texts") if row["group"] == "sentence")
        return {row["key"]: row[self.language] for row in own}

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
        return self._in("thing", english)

    def _in(self, group: str, english: str) -> str:
        row = wordings(group).get(english)
        return row[self.language] if row else english


@cache
def wordings(group: str) -> dict[str, dict[str, str]]:
    """The rows of a group by their English wording."""
    return {row["en"]: row for row in rows("form_texts") if row["group"] == group}
