"""Pictures of use: each limit as a bar, the root plate by direction of pull, the twelve months.

Use over our limit is hatched as well as coloured; what is not known is written, never drawn as nought.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteassess.advice.finding import Limit
from siteassess.advice.judge import SUITS_UP_TO
from siteassess.advice.results import AnchorResult
from siteassess.papers import wording
from siteassess.papers.drawing import in_rows
from siteassess.papers.language import words_in
from siteassess.papers.look import shorten
from siteassess.papers.svg_sheet import BARK, SMALL_MM, SvgSheet, lines_of_text, nothing
from siteassess.records.fields import SECTOR_BEARING_DEG, SECTORS
from siteassess.reference.anchorage import FIVE_PERCENT
from siteassess.reference.findings import in_words, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

TRIAL_BAND, LIMIT = SUITS_UP_TO, 1.0
LOW, BAND, OVER, WINDOW = "#0072B2", "#E69F00", "#D55E00", "#b9b5a6"


def bars_of_use(limits: Sequence[Limit], prefix: str = "bars", language: str = "en") -> str:
    """Each limit's use as a bar, with the range in which 90 uses of 100 fall if the scatters are right."""
    t, m = words_in(language), Measures(language)
    height = 16 + 10 * max(1, len(limits))
    sheet = SvgSheet(180, height)
    left, right = 40.0, 140.0
    most = max([1.2, *(_use_range(limit, limit.use)[1] * 1.05 for limit in limits if limit.use is not None)])
    most = min(most, 3.0)

    def across(use: float) -> float:
        return left + (right - left) * min(use, most) / most

    for share, words in ((TRIAL_BAND, m.share(TRIAL_BAND)), (LIMIT, t("px-our-limit"))):
        sheet.line([across(share)] * 2, [9, height - 5], "ink", 0.35, (1.5, 1) if share < 1 else None, order=4)
        sheet.text(across(share), height - 3.4, words, SMALL_MM, across="center")
    for i, limit in enumerate(limits):
        y = height - 13 - 10 * i
        sheet.text(left - 2, y + 0.8, word(limit.name, language), 3, across="right")
        if limit.use is None:
            why = t("px-cannot-say", why=t("between").join(in_words(limit.told, language)))
            sheet.text(left + 2, y + 0.8, shorten(why, 84), SMALL_MM)
            continue
        fill = LOW if limit.use <= TRIAL_BAND else BAND if limit.use <= LIMIT else OVER
        hatch = None if limit.use <= LIMIT else "xx"
        sheet.box(left, y, across(limit.use) - left, 5, fill, "ink", 0.3, hatch=hatch)
        low, high = _use_range(limit, limit.use)
        if high > low:
            sheet.line([across(low), across(high)], [y + 2.5] * 2, "ink", 0.5, order=5)
            for end in (low, high):
                sheet.line([across(end)] * 2, [y + 1.3, y + 3.7], "ink", 0.5, order=5)
        rows = in_rows(f"{m.share(limit.use)}, {wording.case(limit, language)}", 180 - right - 4, SMALL_MM)[:2]
        lines_of_text(sheet, right + 3, y + 0.9 + 1.9 * (len(rows) - 1), rows, SMALL_MM)
    sheet.line([left] * 2, [9, height - 5], "ink", 0.35)
    sheet.text(12, 1.2, t("px-bars", band=m.share(TRIAL_BAND)), SMALL_MM, colour="soft_ink")
    words = t("between").join(f"{word(limit.name, language)}{t('colon')} {m.share(limit.use)}" for limit in limits)
    return sheet.picture(prefix, t("px-use-of-each", uses=words))


def _use_range(limit: Limit, use: float) -> tuple[float, float]:
    """Use that 5 and 95 of 100 such cases stay under, the scatter of demand and of capacity taken together."""
    if limit.use_p05 is not None and limit.use_p95 is not None:
        return limit.use_p05, limit.use_p95
    scatter = FIVE_PERCENT * math.hypot(limit.ln_sd_demand or 0.0, limit.ln_sd_capacity or 0.0)
    return use * math.exp(-scatter), use * math.exp(scatter)


def sectors(anchor: AnchorResult, prefix: str = "sectors", language: str = "en") -> str:
    """Root-plate use if the line pulled towards each of the eight sectors of the record, true north up."""
    sheet, t, m = SvgSheet(92, 92), words_in(language), Measures(language)
    x, y, full = 46.0, 45.0, 22.0
    if not anchor.use_by_sector:
        return nothing(sheet, t("px-no-sectors", code=anchor.code), prefix)
    for ring, words in ((TRIAL_BAND, m.share(TRIAL_BAND)), (LIMIT, t("px-our-limit"))):
        sheet.circle(x, y, full * ring, None, "soft_ink", 0.25, order=1, dash=(1.2, 1) if ring < 1 else None)
        sheet.text(x, y + full * ring, words, SMALL_MM, across="center", up="center", halo=True, order=6)
    for sector in SECTORS:
        bearing = SECTOR_BEARING_DEG[sector]
        turn = math.radians(bearing)
        use = anchor.use_by_sector.get(sector)
        out = 31
        sheet.text(x + 39 * math.sin(turn), y + 39 * math.cos(turn), word(sector, language), 3, across="center",
                   up="center", bold=True)  # fmt: skip
        if not known(use):
            sheet.text(x + out * math.sin(turn), y + out * math.cos(turn), "?", 3, across="center", up="center")
            continue
        reach = full * min(use, 1.25)
        fill = LOW if use <= TRIAL_BAND else BAND if use <= LIMIT else OVER
        sheet.arc_band(
            x,
            y,
            reach,
            max(reach - 2, 0.5),
            bearing - 16,
            bearing + 16,
            fill,
            "ink",
            0.25,
            hatch=None if use <= LIMIT else "xx",
        )
        sheet.text(x + out * math.sin(turn), y + out * math.cos(turn), m.share(use), SMALL_MM, across="center",
                   up="center")  # fmt: skip
    if known(anchor.pull_bearing_true_deg):
        turn = math.radians(anchor.pull_bearing_true_deg)
        sheet.line([x, x + 34 * math.sin(turn)], [y, y + 34 * math.cos(turn)], "ink", 0.6, (2.5, 1), order=5)
    sheet.circle(x, y, 2, "#efe3c8", BARK, 0.6, order=6)
    sheet.text(2, 1.6, t("px-dashed"), SMALL_MM, colour="soft_ink")
    sheet.text(2, 88, t("px-inside", band=m.share(TRIAL_BAND)), SMALL_MM, colour="soft_ink")
    words = t("between").join(f"{word(s, language)}{t('colon')} {m.share(anchor.use_by_sector.get(s))}"
                              for s in SECTORS)  # fmt: skip
    return sheet.picture(prefix, t("px-sectors", code=anchor.code, uses=words))


def year_picture(
    months: Sequence[str], windows: Sequence[tuple[str, Sequence[int]]], month_now: int | None,
    prefix: str = "season", language: str = "en",
) -> str:  # fmt: skip
    """Twelve months in a row, each window of the year as a bar under them.

    Parameters
    ----------
    months : one word for the bark in each of the twelve months, such as "growing", "dormant" or "not known"
    windows : (words, months from 1 to 12 it covers), such as ("nesting birds", (3, 4, 5, 6, 7))
    month_now : the planned month from 1 to 12, marked; None where no day is planned
    language : what it is told in, the words of the windows apart

    Raises
    ------
    ValueError : not twelve months.
    """
    if len(months) != 12:
        raise ValueError(f"a season bar wants twelve months, got {len(months)}")
    height = 21 + 6.5 * len(windows)
    sheet = SvgSheet(180, height)
    left, step = 58.0, 10.0
    t = words_in(language)
    names = t("px-months").split()
    top = height - 14
    sheet.text(left - 2, top + 1.6, t("bark"), SMALL_MM, across="right")
    for i, (name, state) in enumerate(zip(names, months)):
        x = left + i * step
        fill, hatch = {"growing": ("#E69F00", "//"), "dormant": ("#0072B2", None)}.get(state, ("paper", None))
        sheet.text(x + step / 2, top + 7.5, name, SMALL_MM, across="center", bold=month_now == i + 1)
        sheet.box(x, top, step, 5.5, fill, "ink", 0.3, hatch=hatch)
        if fill == "paper":
            sheet.text(x + step / 2, top + 1.8, "?", SMALL_MM, across="center")
    for row, (words, covered) in enumerate(windows):
        y = top - 6.5 * (row + 1)
        rows = in_rows(words, left - 4, SMALL_MM)[:2]
        for i, part in enumerate(rows):
            sheet.text(left - 2, y + 1.2 + 1.45 * (len(rows) - 1) - 2.9 * i, part, SMALL_MM, across="right")
        for month in covered:
            sheet.box(left + (month - 1) * step, y, step, 4.4, WINDOW, "ink", 0.25)
    if month_now:
        x = left + (month_now - 1) * step
        sheet.box(x, top - 6.5 * len(windows) - 0.8, step, 6.3 + 6.5 * len(windows), None, "ink", 0.9, order=6)
    sheet.text(4, 1.2, t("px-season-key"), SMALL_MM, colour="soft_ink")
    words = t("between").join(f"{name} {word(state, language)}" for name, state in zip(names, months))
    more = t("between").join(t("px-in-months", what=plain(w), months=", ".join(map(str, m))) for w, m in windows)
    return sheet.picture(prefix, t("px-seasons", months=words, windows=more))
