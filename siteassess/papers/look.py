"""The look shared by map, plan and report: colours, symbols and words, read once from `maps/style.yaml`."""

from __future__ import annotations

import functools
import html
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict, TypeVar

import numpy as np
import yaml
from numpy.typing import NDArray

from siteassess.reference.locate import shipped
from siteassess.reference.pages import plain

Numbers = TypeVar("Numbers", float, NDArray[np.float64])  # along or up a sheet: one, or many
NOT_JUDGED = "not judged"
SYMBOL_BOX = 24.0


class Ink(TypedDict, total=False):
    """What a shape on a sheet may have beside fill and stroke."""

    hatch: str | None
    dash: Sequence[float] | None  # lengths on and off [mm]
    alpha: float | None


@dataclass(frozen=True)
class VerdictLook:
    """How one verdict word is drawn."""

    word: str
    fill: str
    shape: str
    dash: str = ""  # of a line with this verdict [screen pixels]


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

    def verdict(self, word: str | None) -> VerdictLook:
        return self.verdicts.get(word or NOT_JUDGED, self.verdicts[NOT_JUDGED])

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
    return PageLook(colours, verdicts, sheet["features"], symbols)


def symbol_svg(name: str, fill: str = "none", size_px: float = 24, title: str = "") -> str:
    """One symbol as an inline SVG element; the title is escaped, and hidden from readers where there is none."""
    style = look()
    parts = "".join(
        f'<path d="{part["d"]}" fill="{style.paint(part["paint"], fill)}" stroke="{style.paint(part["line"], fill)}" '
        'stroke-width="1.8" stroke-linejoin="round"/>'
        for part in style.symbols[name]
    )
    named = f'role="img" aria-label="{html.escape(title, quote=True)}"' if title else 'aria-hidden="true"'
    return f'<svg {named} width="{size_px:g}" height="{size_px:g}" viewBox="0 0 24 24">{parts}</svg>'


def verdict_svg(word: str | None, size_px: float = 24) -> str:
    """The shape of a verdict; the word always stands beside it in the page, so the picture is hidden from readers."""
    how = look().verdict(word)
    return symbol_svg(how.shape, how.fill, size_px)


_COMMANDS = re.compile(r"([MLCZ])([^MLCZ]*)")


@functools.cache
def outline(d: str) -> tuple[tuple[str, tuple[float, ...]], ...]:
    """Path data of a symbol as (command, numbers); absolute M, L, C, Z only."""
    return tuple(
        (command, tuple(float(number) for number in numbers.split())) for command, numbers in _COMMANDS.findall(d)
    )


def shorten(text: object, length: int) -> str:
    """A text cut to `length` characters, the cut shown by three points."""
    told = plain(text)
    return told if len(told) <= length else told[: max(1, length - 3)].rstrip() + "..."
