"""Pictures of a line: its profile over the ground, and tension swept along it or against its standing tension.

What is not known is written into the picture, never drawn as nought.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from siteassess.advice.results import Clearance, LineResult, Sweep
from siteassess.mechanics.arrays import Array, Flags
from siteassess.mechanics.loadcases import USES
from siteassess.papers.language import Words, words_in
from siteassess.papers.look import Numbers
from siteassess.papers.svg_sheet import BARK, SMALL_MM, SvgSheet, nothing
from siteassess.reference.findings import in_words, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

ROOM_MM = 5.0  # that a word needs upright, its air included
LINE, TOUCH, GROUND = "#0072B2", "#D55E00", "#c9c6bb"


def profile_picture(line: LineResult, prefix: str = "profile", language: str = "en") -> str:
    """The line over the ground, height drawn larger than length where that helps; the factor is written in."""
    view, t = line.clearance, words_in(language)
    sheet = SvgSheet(180, 70)
    if view is None or len(view.x_m) < 2:
        return nothing(sheet, t("px-no-profile", why=_why_not_drawn(line, t)), prefix)
    frame = _ProfileFrame(view, sheet, t)
    frame.draw_ground()
    frame.draw_axis()
    frame.curve(frame.unloaded, "ink", 0.4, (2, 1.2))
    frame.curve(frame.walker, LINE, 0.7, None)
    touching = frame.walker <= frame.ground
    if touching.any():
        frame.touching(touching)
    frame.ends(line)
    frame.lowest(view)
    frame.legend(bool(touching.any()))
    says = t("between").join(map(plain, in_words(view.told, language)))
    return sheet.picture(prefix, t("px-profile", line=line.id, says=says))


def _why_not_drawn(line: LineResult, t: Words) -> str:
    if USES[line.use].hung:
        return t("px-hammock-slack")
    told = next((one.in_words(t.language) for one in line.findings if one.about == "ground"), "")
    return plain(told) or t("px-line-not-known")


def _step(metres: float) -> int:
    """A round distance between ticks, so that no more than ten fit."""
    return next(step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if metres / step <= 10)


class _ProfileFrame:
    """From metres along and above to millimetres of the sheet."""

    LEFT, RIGHT, LOW, HIGH = 16.0, 168.0, 15.0, 56.0

    def __init__(self, view: Clearance, sheet: SvgSheet, t: Words):
        self.sheet, self.t = sheet, t
        columns = (view.x_m, view.ground_m, view.unloaded_m, view.walker_m)
        self.x, self.ground, self.unloaded, self.walker = (np.array(column, dtype=float) for column in columns)
        heights = np.concatenate([self.ground, self.unloaded, self.walker])
        heights = heights[np.isfinite(heights)]
        self.low, self.high = float(heights.min()) - 0.3, float(heights.max()) + 0.4
        self.first, self.span = float(self.x[0]), float(self.x[-1] - self.x[0])
        self.per_metre = (self.RIGHT - self.LEFT) / max(self.span, 0.1)
        self.up_per_metre = min((self.HIGH - self.LOW) / (self.high - self.low), 12 * self.per_metre)

    def across(self, x: Numbers) -> Numbers:
        return self.LEFT + (x - self.first) * self.per_metre

    def up(self, height: Numbers) -> Numbers:
        return self.LOW + (height - self.low) * self.up_per_metre

    def curve(self, heights: Array, colour: str, width: float, dash: Sequence[float] | None) -> None:
        shown = np.isfinite(heights)
        self.sheet.line(self.across(self.x[shown]), self.up(heights[shown]), colour, width, dash, order=4)

    def draw_ground(self) -> None:
        xs = self.across(self.x)
        foot = np.full_like(xs, self.LOW - 2)
        self.sheet.area([*xs, *xs[::-1]], [*self.up(self.ground), *foot], GROUND, "none", order=1)
        self.sheet.line(xs, self.up(self.ground), "ink", 0.5, order=3)

    def draw_axis(self) -> None:
        for metre in np.arange(0, self.span + 1e-9, _step(self.span)):
            x = float(self.across(self.first + metre))
            self.sheet.line([x, x], [self.LOW - 2, self.LOW - 3.2], width_mm=0.25)
            self.sheet.text(x, self.LOW - 6.2, f"{metre:g}", SMALL_MM, across="center")
        self.sheet.text(self.RIGHT + 3, self.LOW - 6.2, "m", SMALL_MM)
        step = _step(self.high - self.low)
        for height in range(math.ceil(self.low / step) * step, math.floor(self.high) + 1, step):
            y = float(self.up(height))
            self.sheet.line([self.LEFT, self.RIGHT], [y, y], "hair", 0.15, order=0)
            self.sheet.text(self.LEFT - 2.5, y - 0.9, f"{height:+d}" if height else "0", SMALL_MM, across="right")
        self.sheet.text(3, self.HIGH + 9.4, self.t("px-height-at-a"), SMALL_MM)
        factor = self.up_per_metre / self.per_metre
        self.sheet.text(
            self.RIGHT,
            self.HIGH + 9.4,
            self.t("px-heights-drawn", factor=Measures(self.t.language).number(factor, 0 if factor >= 2 else 1)),
            SMALL_MM,
            across="right",
            colour="soft_ink",
        )

    def touching(self, touching: Flags) -> None:
        for i in np.flatnonzero(touching):
            self.sheet.circle(float(self.across(self.x[i])), float(self.up(self.walker[i])), 0.8, TOUCH, order=5)

    def ends(self, line: LineResult) -> None:
        for i, anchor in zip((0, -1), line.anchors):
            x = float(self.across(self.x[i]))
            foot, top = float(self.up(self.ground[i])), float(self.up(self.unloaded[i]))
            side, aside = ("left", 1.5) if i == 0 else ("right", -1.5)
            if not math.isfinite(top):  # no tie height: no post is drawn up to it
                top = foot
            self.sheet.line([x, x], [foot, top + 4], BARK, 1.6, order=2)
            tied = known(anchor.tie_height_m)
            told = f", {Measures(self.t.language).length(anchor.tie_height_m, 2)}" if tied else ""
            self.sheet.text(x + aside, top + 2.5, f"{anchor.end} {anchor.code}{told}", across=side, bold=True)

    def lowest(self, view: Clearance) -> None:
        """Where feet come nearest to the ground, and how near."""
        at = float(np.interp(view.lowest_at_m, self.x, self.walker)) if known(view.lowest_at_m) else math.nan
        if view.touches or not (math.isfinite(at) and known(view.lowest_m)):
            return
        x, foot = float(self.across(view.lowest_at_m)), float(self.up(at - view.lowest_m))
        self.sheet.line([x, x], [foot, float(self.up(at))], "ink", 0.4, order=5)
        for y in (foot, float(self.up(at))):
            self.sheet.line([x - 1.2, x + 1.2], [y, y], "ink", 0.4, order=5)
        told, top = Measures(self.t.language).length(view.lowest_m, 2), float(self.up(at))
        if top - foot >= ROOM_MM:
            self.sheet.text(x + 2, (foot + top) / 2, told, bold=True, up="center", halo=True)
            return
        # too low a gap for words: they stand over the curve, at the end of a thin line
        near = np.abs(self.across(self.x) - x) < ROOM_MM + SMALL_MM * len(told) / 4
        walked, bare = (self.up(row[near & np.isfinite(row)]) for row in (self.walker, self.unloaded))
        over = float(np.max(walked, initial=top)) + 1.6
        if bare.size and bare.min() - over < ROOM_MM:  # nor is there room between the curves
            over = max(over, float(bare.max()) + 1.6)
        self.sheet.line([x, x], [top, over], "ink", 0.2, order=5)
        self.sheet.text(x, over + 0.8, told, bold=True, across="center")

    def legend(self, touches: bool) -> None:
        y = 3
        entries = [(self.t("px-nobody"), "ink", 0.4, (2, 1.2)), (self.t("px-walker"), LINE, 0.7, None)]
        for i, (words, colour, width, dash) in enumerate(entries):
            self.sheet.line([16 + 50 * i, 24 + 50 * i], [y + 0.9] * 2, colour, width, dash)
            self.sheet.text(26 + 50 * i, y, words, SMALL_MM)
        if touches:
            self.sheet.circle(122, y + 0.9, 0.9, TOUCH)
            self.sheet.text(125, y, self.t("px-feet-low"), SMALL_MM)


def sweep_picture(drawn: Sweep, prefix: str = "sweep", language: str = "en") -> str:
    """Tension against position or against standing tension, with the height of the line beneath it where known.

    Unknown tensions are left out of the curve.
    """
    t, axis = words_in(language), word(drawn.x_words, language)
    rows = 1 if drawn.height_m is None else 2
    sheet = SvgSheet(180, 12 + 38 * rows)
    xs, tensions = np.array(drawn.x, float), np.array(drawn.tension_n, float)
    _curve(sheet, 14 + 38 * (rows - 1), xs, tensions / 1e3, t("px-tension"), "ink", drawn.planned, t)
    if drawn.height_m is not None:
        _curve(sheet, 14, xs, np.array(drawn.height_m, float), t("px-height"), LINE, drawn.planned, t)
    sheet.text(100, 2.2, axis, SMALL_MM, across="center")
    known = tensions[np.isfinite(tensions)]
    span = t("not-known")
    if known.size:
        m = Measures(t.language)
        span = t("px-from-to", low=m.told(known.min(), "kN bare 1"), high=m.force(known.max()))
    return sheet.picture(prefix, t("px-tension-against", axis=axis, span=span))


def _curve(
    sheet: SvgSheet, foot: float, xs: Array, ys: Array, name: str, colour: str, planned: float | None, t: Words
) -> None:
    left, right, tall = 22.0, 172.0, 28.0
    shown = np.isfinite(xs) & np.isfinite(ys)
    sheet.text(4, foot + tall + 3, name, SMALL_MM)
    if shown.sum() < 2:
        sheet.text(left, foot + tall / 2, t("not-known"), SMALL_MM)
        return
    xs, ys = xs[shown], ys[shown]
    first, last = float(xs.min()), float(xs.max())
    low, high = min(0.0, float(ys.min())), max(float(ys.max()), 1e-6)
    step = _nice((high - low) / 4)

    def across(x: Numbers) -> Numbers:
        return left + (x - first) / max(last - first, 1e-9) * (right - left)

    def up(y: Numbers) -> Numbers:
        return foot + (y - low) / (high - low) * tall

    for tick in np.arange(math.ceil(low / step) * step, high + 1e-9, step):
        sheet.line([left, right], [up(tick)] * 2, "hair", 0.15, order=0)
        sheet.text(left - 1.5, up(tick) - 0.9, Measures(t.language).told(tick, "g"), SMALL_MM, across="right")
    x_step = _nice((last - first) / 6)
    for tick in np.arange(math.ceil(first / x_step) * x_step, last + 1e-9, x_step):
        sheet.line([across(tick)] * 2, [foot, foot - 1], width_mm=0.25)
        sheet.text(across(tick), foot - 4.2, Measures(t.language).marked(f"{tick:.6g}"), SMALL_MM, across="center")
    sheet.line(across(xs), up(ys), colour, 0.7, order=3)
    sheet.line([left, right], [up(0) if low <= 0 <= high else foot] * 2, "ink", 0.3)
    if planned is not None and first <= planned <= last:
        sheet.line([across(planned)] * 2, [foot, foot + tall], "ink", 0.4, (1.5, 1))
        sheet.text(across(planned) + 1, foot + tall - 2, t("px-planned"), SMALL_MM, halo=True)


def _nice(step: float) -> float:
    """The next round number of 1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(max(step, 1e-9)))
    return next(m * power for m in (1, 2, 5, 10) if m * power >= step * 0.999)
