"""Which of the texts people typed are read beyond the officers: whoever typed one may have named somebody or a tree.

Three rules, for every text of a record and every condition of a mark. What seems to hold a phone number, an address or
a position is kept back. So is what names a hidden thing by its code, tag or name. And where a reference table has the
words for an answer, only its words are read: any other may be "Anna's rope", and nobody can tell.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from functools import cache

from siteassess.errors import UnknownName
from siteassess.reference.names import is_nothing
from siteassess.register.fold import Subject

# stands for a text that is kept back where a record, or its judgement, cannot do without one: a knot nobody names
# is still a knot
KEPT_BACK = "kept back"

GEAR_TABLES = ("webbing", "knots", "pads", "sheaves")

_DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")
# a phone number, a mail address or a position written into a text
_PERSONAL = re.compile(r"(?:\+?\d[\s()/.-]{0,2}){7,}|@|\b(?:https?|tel|mailto|geo):|\d[.]\d{3,}", re.IGNORECASE)
# a letter or a bare number is a name only behind such a word: every text holds some
_BARE = re.compile(r"[^\W\d_]|\d{1,3}")
_TREE_WORD = (
    r"(?:#|\b(?:trees?|b(?:aum|äume)|arbres?|[áa]rbol(?:es)?|lines?|leinen?|lignes?|l[íi]neas?|nr|no|n?[°º]"
    r"|n[uú]m(?:ber|mer|[eé]ro)?|anchors?|anker|ancrages?|anclajes?|boulders?|bl(?:ock|öcke|ocs?|oques?)"
    r"|posts?|pfosten|poteaux?|postes?))[\W_]{0,3}"
)


def looks_personal(text: str) -> bool:
    """Whether a text seems to hold a phone number, an address or a position."""
    return _PERSONAL.search(_DATE.sub("", text)) is not None


class Unsaid:
    """The names of things that readers may not know of: codes, tags and names of every survey in force.

    A name is found however it is spaced, cased or filled up with noughts: T7, t 07, T-007.
    """

    def __init__(self, subjects: Iterable[Subject] = ()):
        records = [version.body["record"] for subject in subjects for version in subject.versions]
        names = {record[key].strip() for record in records for key in ("code", "id", "tag", "name") if record.get(key)}
        patterns = [_pattern(name) for name in sorted(names - {""})]
        self._names = re.compile("|".join(patterns), re.IGNORECASE) if patterns else None

    def named_in(self, text: str) -> bool:
        return self._names is not None and self._names.search(text) is not None

    def kept_back(self, text: str) -> bool:
        """Whether a text may not be shown as it stands."""
        return looks_personal(text) or self.named_in(text)


NOTHING_UNSAID = Unsaid()


def _pattern(name: str) -> str:
    parts = re.findall(r"[^\W\d_]+|\d+", name)
    if not parts:
        return re.escape(name)
    told = r"[\W_]*".join(f"0*{int(part)}" if part.isdecimal() else re.escape(part) for part in parts)
    before = r"(?<!\d)" if parts[0].isdecimal() else r"(?<![^\W\d_])"
    after = r"(?!\d)" if parts[-1].isdecimal() else r"(?!(?!s\b)[^\W\d_])"
    return before + (_TREE_WORD if _BARE.fullmatch(name) else "") + told + after


def is_word_of(table: str, text: str) -> bool:
    """Whether a text is a word of a table of gear, or says that there is nothing or that nobody knows."""
    return is_nothing(text) or _lookups()[table](text)


@cache
def _lookups() -> dict[str, Callable[[str], bool]]:
    # judging is slow to start: a list of trees must not wait for it
    from siteassess.advice.gear_inputs import pad_row
    from siteassess.advice.gear_loads import left_by, sheave_range
    from siteassess.reference.webbing import webbing_class

    def found(look_up: Callable[[str], object]) -> Callable[[str], bool]:
        def finds(text: str) -> bool:
            try:
                look_up(text)
            except UnknownName:
                return False
            return True

        return finds

    return {
        "webbing": found(webbing_class), "sheaves": found(sheave_range),
        "knots": lambda text: math.isfinite(left_by(text)), "pads": lambda text: pad_row(text) is not None,
    }
