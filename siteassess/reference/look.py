"""How maps, plans and map files look: colours, symbols and the looks of words, read once from `maps/style.yaml`."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TypedDict

import yaml

from siteassess.reference.locate import shipped

NOT_JUDGED = "not judged"


@dataclass(frozen=True)
class VerdictLook:
    """How one verdict word is drawn."""

    word: str
    fill: str
    shape: str
    dash: str = ""  # of a line with this verdict [screen pixels]
    gps: str = ""  # name of a symbol that satellite receivers know (from memory)


class FeatureLook(TypedDict, total=False):
    """How a surrounding thing is drawn: by a symbol, else by these."""

    symbol: str
    stroke: str
    fill: str
    width_m: float
    dash: str  # lengths on and off [screen pixels]


@dataclass(frozen=True)
class PageLook:
    """Colours by name, looks of verdicts and features, and symbols as painted parts."""

    colours: dict[str, str]
    verdicts: dict[str, VerdictLook]
    features: dict[str, FeatureLook]
    symbols: dict[str, tuple[dict[str, str], ...]]
    copies: dict[str, dict[str, str]]  # by field of a register's copy: verdicts by its words

    def verdict(self, word: str | None) -> VerdictLook:
        return self.verdicts.get(word or NOT_JUDGED, self.verdicts[NOT_JUDGED])

    def words_of(self, field: str) -> dict[str, VerdictLook]:
        """Looks by the words that a field of a map file may hold; none where it holds no such words.

        Parameters
        ----------
        field : "verdict", "may_rig_now" or "may_rig_codes"
        """
        if field in self.copies:
            return {word: self.verdict(of) for word, of in self.copies[field].items()}
        return self.verdicts if field == "verdict" else {}

    def paint(self, name: str, fill: str) -> str:
        """Colour behind a part's `paint` or `line`: "none", the verdict's fill, or a named colour."""
        return {"none": "none", "fill": fill}.get(name) or self.colours[name]


@functools.cache
def look() -> PageLook:
    """The look as `maps/style.yaml` has it."""
    sheet = yaml.safe_load((shipped("maps") / "style.yaml").read_text(encoding="utf-8"))
    colours = {key: value for key, value in sheet.items() if isinstance(value, str)}
    verdicts = {word: VerdictLook(word, **how) for word, how in sheet["verdicts"].items()}
    symbols = {name: tuple(parts) for name, parts in sheet["symbols"].items()}
    return PageLook(colours, verdicts, sheet["features"], symbols, sheet["copies"])
