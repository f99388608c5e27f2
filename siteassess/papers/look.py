"""What map, plan and report draw alike: symbols, and texts cut to their room."""

from __future__ import annotations

import functools
import html
import re
from collections.abc import Sequence
from typing import TypedDict, TypeVar

import numpy as np
from numpy.typing import NDArray

from siteassess.reference.look import look
from siteassess.reference.pages import plain

Numbers = TypeVar("Numbers", float, NDArray[np.float64])  # along or up a sheet: one, or many
SYMBOL_BOX = 24.0


class Ink(TypedDict, total=False):
    """What a shape on a sheet may have beside fill and stroke."""

    hatch: str | None
    dash: Sequence[float] | None  # lengths on and off [mm]
    alpha: float | None


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
