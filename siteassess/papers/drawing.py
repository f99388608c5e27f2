"""A sheet measured in millimetres, drawn by matplotlib and written as SVG or PDF from the same drawing."""

from __future__ import annotations

import contextlib
import functools
import io
import warnings
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Unpack

import matplotlib
from matplotlib.artist import Artist
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, PathPatch, Polygon, Rectangle, Wedge
from matplotlib.path import Path as Outline
from matplotlib.textpath import text_to_path

from siteassess.papers.look import SYMBOL_BOX, Ink, outline
from siteassess.records.files import write_whole
from siteassess.reference.look import look
from siteassess.reference.pages import plain

if TYPE_CHECKING:
    from matplotlib.typing import RcKeyType

MM_PER_INCH = 25.4
POINTS_PER_MM = 72.0 / MM_PER_INCH
# A text of size s mm stands s mm tall from the foot of p to the head of h, about; capitals are 0.73 of that.
FONT = "DejaVu Sans"  # comes with matplotlib, so a drawing is the same on every machine
BASE_RC: dict[RcKeyType, Any] = {
    "text.parse_math": False, "hatch.linewidth": 0.8, "pdf.fonttype": 3, "font.family": FONT,
}
_CODES = {"M": Outline.MOVETO, "L": Outline.LINETO, "C": Outline.CURVE4, "Z": Outline.CLOSEPOLY}


class Sheet:
    """A sheet of paper; x to the right and y upward from its lower left corner, in millimetres."""

    def __init__(self, width_mm: float, height_mm: float, colour: str | None = None):
        self.width_mm, self.height_mm = width_mm, height_mm
        self.figure = Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH))
        FigureCanvasSVG(self.figure)
        self.figure.patch.set_facecolor(colour or "none")
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set_xlim(0, width_mm)
        self.axes.set_ylim(0, height_mm)
        self.clip: Rectangle | None = None
        self.lift = 0.0
        self._written: dict[bool, str] = {}  # a finished sheet may go into several papers
        self._look = look()

    def colour(self, name: str) -> str:
        return self._look.colours.get(name, name)

    def clipped_to(self, x: float, y: float, width: float, height: float) -> None:
        """Cut all that is drawn from here on at a frame, until `unclipped`."""
        self.clip = Rectangle((x, y), width, height, transform=self.axes.transData)

    def unclipped(self) -> None:
        self.clip = None

    @contextlib.contextmanager
    def lifted(self, by: float) -> Iterator[None]:
        """Draw above all that was drawn with an order up to `by`."""
        self.lift = by
        try:
            yield
        finally:
            self.lift = 0.0

    def add(self, artist: Artist) -> None:
        # as a plain artist: the axes' own ways of adding also work out data limits, of no use to a sheet of paper
        self.axes.add_artist(artist)
        artist.set_zorder(artist.get_zorder() + self.lift)
        # set after adding: the axes would put their own frame in its place
        artist.set_clip_path(self.clip) if self.clip is not None else artist.set_clip_on(False)

    def line(
        self, xs: Iterable[float], ys: Iterable[float], colour: str = "ink", width_mm: float = 0.35,
        dash: Sequence[float] | None = None, order: float = 2, cap: Literal["butt", "round"] = "butt",
    ) -> None:
        """A line through points; `dash` is on-off lengths in millimetres."""
        self.add(
            Line2D(
                [*xs], [*ys], color=self.colour(colour), linewidth=width_mm * POINTS_PER_MM, zorder=order,
                linestyle=_style(dash, width_mm), solid_capstyle=cap, dash_capstyle="butt",
            )
        )

    def strokes(
        self, ends: Iterable[tuple[float, float, float, float]], colour: str = "ink", width_mm: float = 0.25,
        order: float = 2,
    ) -> None:
        """Many short straight strokes at once, each as (x0, y0, x1, y1)."""
        points = [point for x0, y0, x1, y1 in ends for point in ((x0, y0), (x1, y1))]
        if points:
            codes = [Outline.MOVETO, Outline.LINETO] * (len(points) // 2)
            self.add(PathPatch(Outline(points, codes), **self._ink(None, colour, width_mm, order)))

    def _ink(
        self, fill: str | None, stroke: str | None, width_mm: float, order: float, **how: Unpack[Ink]
    ) -> dict[str, Any]:
        """Keywords of a patch."""
        return {
            "facecolor": self.colour(fill or "none"), "alpha": how.get("alpha"), "hatch": how.get("hatch"),
            "edgecolor": self.colour(stroke or "none"), "linestyle": _style(how.get("dash"), width_mm),
            "linewidth": 0 if stroke in (None, "none") else width_mm * POINTS_PER_MM, "zorder": order,
        }

    def box(
        self, x: float, y: float, width: float, height: float, fill: str | None = None, stroke: str | None = "ink",
        width_mm: float = 0.35, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        self.add(Rectangle((x, y), width, height, **self._ink(fill, stroke, width_mm, order, **how)))

    def circle(
        self, x: float, y: float, radius: float, fill: str | None = None, stroke: str | None = "ink",
        width_mm: float = 0.35, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        self.add(Circle((x, y), radius, **self._ink(fill, stroke, width_mm, order, **how)))

    def area(
        self, xs: Iterable[float], ys: Iterable[float], fill: str | None = None, stroke: str | None = "ink",
        width_mm: float = 0.35, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        self.add(Polygon(list(zip(xs, ys)), closed=True, **self._ink(fill, stroke, width_mm, order, **how)))

    def arc_band(
        self, x: float, y: float, radius: float, thickness: float, start_deg: float, end_deg: float, fill: str | None,
        stroke: str | None = "ink", width_mm: float = 0.25, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        """Part of a ring clockwise from one bearing to another, bearings counted from the top."""
        first, last = 90.0 - end_deg, 90.0 - start_deg
        if last <= first:
            last += 360.0
        self.add(Wedge((x, y), radius, first, last, width=thickness, **self._ink(fill, stroke, width_mm, order, **how)))

    def symbol(self, name: str, x: float, y: float, size_mm: float, fill: str = "none", order: float = 5) -> None:
        """One symbol of the look, centred on a point."""
        step = size_mm / SYMBOL_BOX
        for part in self._look.symbols[name]:
            points, codes = [], []
            for command, numbers in outline(part["d"]):
                pairs = list(zip(numbers[::2], numbers[1::2])) or [(0.0, 0.0)]
                points += [(x + (px - 12) * step, y - (py - 12) * step) for px, py in pairs]
                codes += [_CODES[command]] * len(pairs)
            fill_colour = self._look.paint(part["paint"], fill)
            stroke = self._look.paint(part["line"], fill)
            ink = self._ink(fill_colour, stroke, 1.8 * step, order)
            self.add(PathPatch(Outline(points, codes), **ink))

    def verdict(self, word: str | None, x: float, y: float, size_mm: float, order: float = 6) -> None:
        how = self._look.verdict(word)
        self.symbol(how.shape, x, y, size_mm, how.fill, order)

    def text(
        self, x: float, y: float, text: object, size_mm: float = 2.8, *, across: str = "left", up: str = "baseline",
        colour: str = "ink", bold: bool = False, turn_deg: float = 0.0, halo: bool = False, order: float = 7,
    ) -> None:
        """One line of text."""
        box = {"facecolor": self.colour("paper"), "edgecolor": "none", "pad": 0.8, "alpha": 0.85} if halo else None
        drawn = self.axes.text(
            x, y, plain(text), fontsize=size_mm * POINTS_PER_MM, ha=across, va=up, color=self.colour(colour),
            fontweight="bold" if bold else "normal", rotation=turn_deg, rotation_mode="anchor", bbox=box,
            zorder=order + self.lift,
            parse_math=False,
        )
        if self.clip is not None:
            drawn.set_clip_path(self.clip)

    def lines_of_text(
        self, x: float, y: float, text: object, width_mm: float, size_mm: float = 2.8, *, lead: float = 1.35,
        most: int = 99, bold: bool = False, colour: str = "ink",
    ) -> float:
        """A text wrapped to a width, from its first baseline downward; returns the next baseline."""
        for row in in_rows(text, width_mm, size_mm, bold)[:most]:
            self.text(x, y, row, size_mm, bold=bold, colour=colour)
            y -= size_mm * lead
        return y

    def svg(self, *, text_as_shapes: bool = False) -> str:
        """The drawing as an SVG document, the same for the same drawing.

        With `text_as_shapes` letters are outlines, so that a printed sheet looks the same everywhere; without, they
        stay text that can be read aloud, searched and selected.
        """
        if text_as_shapes in self._written:
            return self._written[text_as_shapes]
        buffer = io.StringIO()
        fonts = "path" if text_as_shapes else "none"
        with matplotlib.rc_context({**BASE_RC, "svg.fonttype": fonts, "svg.hashsalt": "siteassess"}), _quiet():
            self.figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
        return self._written.setdefault(text_as_shapes, buffer.getvalue())


def write_pdf(sheets: Sequence[Sheet], path: Path, title: str) -> None:
    """Sheets as the pages of one PDF, the same bytes for the same drawing."""
    told = {"Title": title, "CreationDate": None, "ModDate": None, "Creator": None, "Producer": None}
    # fonts are written when the file closes, so the settings must hold until then
    buffer = io.BytesIO()
    with matplotlib.rc_context(BASE_RC), _quiet(), PdfPages(buffer, metadata=told) as pages:
        for sheet in sheets:
            pages.savefig(sheet.figure)
    write_whole(buffer.getvalue(), path)


def _style(dash: Sequence[float] | None, width_mm: float) -> Literal["-"] | tuple[float, tuple[float, ...]]:
    return "-" if dash is None else (0, tuple(d / width_mm for d in dash))


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """A letter the font lacks is drawn as an empty box, which the reader sees; the terminal need not repeat it."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


@functools.lru_cache(maxsize=8192)
def text_width(text: str, size_mm: float, bold: bool = False) -> float:
    """Width of a text as drawn [mm]."""
    font = FontProperties(family=FONT, size=size_mm * POINTS_PER_MM, weight="bold" if bold else "normal")
    with _quiet():
        width, _, _ = text_to_path.get_text_width_height_descent(text or " ", font, ismath=False)
    return float(width) / POINTS_PER_MM


def in_rows(text: object, width_mm: float, size_mm: float, bold: bool = False) -> list[str]:
    """A text cut into lines no wider than `width_mm`; words too long for a line are broken."""
    rows: list[str] = []
    row = ""
    for word in plain(text).split():
        while text_width(word, size_mm, bold) > width_mm and len(word) > 1:
            fits = next(
                n for n in range(len(word) - 1, 0, -1) if n == 1 or text_width(word[:n], size_mm, bold) <= width_mm
            )
            if row:
                rows.append(row)
                row = ""
            rows.append(word[:fits])
            word = word[fits:]
        joined = f"{row} {word}".strip()
        if row and text_width(joined, size_mm, bold) > width_mm:
            rows.append(row)
            row = word
        else:
            row = joined
    return [*rows, row] if row else rows


def fitted(text: object, width_mm: float, size_mm: float, bold: bool = False) -> str:
    """A text cut to a width, the cut shown by three points."""
    told = plain(text)
    if text_width(told, size_mm, bold) <= width_mm:
        return told
    while told and text_width(told + "...", size_mm, bold) > width_mm:
        told = told[: max(0, len(told) - max(1, len(told) // 12))]
    return told.rstrip() + "..."
