"""Where a number comes from: author, title, year, DOI or clause, licence."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from siteassess.errors import UnknownName
from siteassess.reference.tables import rows


@dataclass(frozen=True)
class Source:
    """One entry of sources.yaml."""

    id: str
    author: str = ""
    title: str = ""
    year: str = ""
    doi: str = ""
    clause: str = ""
    licence: str = ""
    note: str = ""

    def citation(self) -> str:
        """One line for a list of sources."""
        parts = [f"{self.author}: {self.title}" if self.author else self.title, self.year, self.clause]
        if self.doi:
            parts.append(f"doi {self.doi}")
        return ", ".join(part for part in parts if part)


@cache
def sources() -> dict[str, Source]:
    """All sources by id; do not change the answer."""
    return {row["id"]: Source(**{key: str(text) for key, text in row.items()}) for row in rows("sources")}


def source(source_id: str) -> Source:
    """The source with an id.

    Raises
    ------
    UnknownName : if sources.yaml does not hold it
    """
    try:
        return sources()[source_id]
    except KeyError:
        raise UnknownName(f"no source {source_id!r} in sources.yaml") from None
