"""What people type where a record has another word: told as a hint, and never taken in its place."""

from __future__ import annotations

from functools import cache

from siteassess.reference.tables import rows


def meant_by(typed: str) -> tuple[str, ...]:
    """Words of a record that a word is often typed for; empty for others.

    Parameters
    ----------
    typed : by a person, in one of the program's languages
    """
    return _meant().get(_plain(typed), ())


@cache
def _meant() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for row in rows("form_texts"):
        if row["group"] == "choice":
            for language in ("de", "fr", "es"):
                found.setdefault(_plain(str(row.get(language, ""))), (str(row["en"]),))
    # what is written down by hand comes before what is merely the wording of an answer elsewhere
    return found | {_plain(word): tuple(row["means"]) for row in rows("near_words") for word in row["typed"]}


def _plain(word: str) -> str:
    return " ".join(word.casefold().replace("_", " ").replace("-", " ").split())
