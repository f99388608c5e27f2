"""A sketch of the proposed pairs to take along: one page, no script, nothing fetched, one drawing a place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeAlias

import numpy as np
import shapely
from markupsafe import Markup, escape
from numpy.typing import NDArray

from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import said, word
from siteassess.reference.measures import Measures
from siteassess.reference.pages import part, render
from siteassess.reference.texts import cautions
from siteassess.survey.proposal import Proposal
from siteassess.survey.sheets import groups

WIDTH_PX, HEIGHT_PX, MARGIN_PX = 640, 480, 36
MOST_SKETCHED = 60
PAIR_HEADS = ("pair", "trees", "span", "bearing", "species", "trunks", "score", "answer")
Corners: TypeAlias = tuple[float, float, float, float]  # the least x and y, then the most
ToPage: TypeAlias = Callable[[NDArray[np.float64]], NDArray[np.float64]]  # of the ground on the page
INK, LINE_INK, GREY, GREEN = "#111111", "#0072B2", "#8a8a8a", "#eef4ea"


def sketch_page(proposal: Proposal, language: str = "en") -> str:
    """The whole page as HTML.

    Parameters
    ----------
    proposal : of a desk survey
    language : to tell it in
    """
    survey, t, m = proposal.survey, words_in(language), Measures(language)
    places = groups(proposal, language)
    by_code = {tree["code"]: tree for tree in proposal.trees}
    shown = [
        {
            "name": name, "drawing": _drawing(proposal, members, t),
            "pairs": [(pair := proposal.pairs[n], by_code[pair["a"]], by_code[pair["b"]]) for n in members],
        }
        for name, members in places[:MOST_SKETCHED]
    ]
    return render(
        "sketch", styles=[part("report.css"), part("sketch.css")], language=language, t=t, m=m,
        title=said("ds-title", inventory=survey.inventory.name).in_words(language), inventory=survey.inventory,
        summary=_summary(proposal, t, m), heads=[t(f"sk-h-{head}") for head in PAIR_HEADS], answer=t("sk-answer"),
        licence=word(survey.inventory.licence, language), places=shown,
        places_left_out=max(0, len(places) - MOST_SKETCHED),
        cautions=cautions(language, on="desk survey"),
    )  # fmt: skip


def _summary(proposal: Proposal, t: Words, m: Measures) -> str:
    survey, counts = proposal.survey, proposal.survey.inventory.counts
    return t(
        "sk-summary", read=counts["rows_read"], kept=counts["rows_kept"], repaired=counts["rows_repaired"],
        aside=counts["rows_set_aside"], candidates=int(survey.trees["candidate"].sum()), pairs=len(survey.pairs),
        shortest=m.told(survey.window.shortest_m, "g"), longest=m.told(survey.window.longest_m, "m g"),
        chosen=len(survey.chosen), use=t.of(survey.wish.use),
    )  # fmt: skip


def _drawing(proposal: Proposal, members: list[int], t: Words) -> Markup:
    survey = proposal.survey
    xy: NDArray[np.float64] = survey.trees[["east_m", "north_m"]].to_numpy()
    pairs = survey.pairs[survey.chosen[members]]
    ends = xy[pairs.ravel()]
    middle, half = (
        (ends.min(axis=0) + ends.max(axis=0)) / 2, np.maximum((ends.max(axis=0) - ends.min(axis=0)) / 2, 25.0) * 1.12
    )
    scale = min((WIDTH_PX - 2 * MARGIN_PX) / (2 * half[0]), (HEIGHT_PX - 2 * MARGIN_PX) / (2 * half[1]))
    page_middle = np.array([WIDTH_PX, HEIGHT_PX]) / 2

    def place(points: NDArray[np.float64]) -> NDArray[np.float64]:
        shown: NDArray[np.float64] = (np.atleast_2d(points) - middle) * scale * [1, -1] + page_middle
        return shown

    corner = page_middle / scale
    box = (*(middle - corner), *(middle + corner))
    seen = np.flatnonzero(((xy >= box[:2]) & (xy <= box[2:])).all(axis=1))
    layers = survey.layers
    parts = [_outlines(layers.parks, box, place, f'fill="{GREEN}" stroke="{GREY}"')]
    parts += [
        _outlines(shapes, box, place, f'fill="none" stroke="{GREY}" stroke-dasharray="6 4"')
        for shapes in layers.avoid.values()
    ]
    parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.2" fill="{GREY}"/>' for x, y in place(xy[seen])]
    taken: list[Corners] = []
    names = []
    for number, (a, b) in zip(members, pairs):
        start, end = place(xy[[a, b]])
        parts.append(
            f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}" '
            f'stroke="{LINE_INK}" stroke-width="3"/>'
        )
        along = [start + share * (end - start) + [-16, 4] for share in (0.5, 0.38, 0.62, 0.26, 0.74)]
        names.append(_label(proposal.pairs[number]["id"], along, 13, taken))
    for row in dict.fromkeys(pairs.ravel().tolist()):
        x, y = place(xy[row])[0]
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="#fff" stroke="{INK}" stroke-width="2"/>')
        beside = np.array([x, y]) + [[8, 4], [-42, 4], [-17, -9], [-17, 18], [8, -9], [8, 18], [-42, -9], [-42, 18]]
        names.append(_label(proposal.codes[row], beside, 11, taken))
    parts += names
    parts.append(_scale_bar(scale, t))
    title = escape(t("sk-drawing", count=len(members)))
    return Markup(
        f'<svg viewBox="0 0 {WIDTH_PX} {HEIGHT_PX}" role="img" aria-label="{title}"><title>{title}</title>'
        f"{''.join(parts)}</svg>"
    )


def _label(text: str, spots: Iterable[NDArray[np.float64]], size: int, taken: list[Corners]) -> str:
    """A text at the first of its spots that crosses no earlier text, else at the one that crosses fewest."""

    def box(spot: NDArray[np.float64]) -> Corners:
        return spot[0], spot[1] - size, spot[0] + 0.62 * size * len(text), spot[1] + 3

    def crossings(one: Corners) -> int:
        return sum(one[0] < b[2] and b[0] < one[2] and one[1] < b[3] and b[1] < one[3] for b in taken)

    spot = min(spots, key=lambda spot: crossings(box(spot)))
    taken.append(box(spot))
    weight = ' font-weight="bold"' if size > 12 else ""
    return (
        f'<text x="{spot[0]:.1f}" y="{spot[1]:.1f}" font-size="{size}" fill="{INK}" stroke="#fff" stroke-width="3" '
        f'paint-order="stroke"{weight}>{escape(text)}</text>'
    )


def _outlines(shapes: np.ndarray, box: Corners, place: ToPage, look: str) -> str:
    if len(shapes) == 0:
        return ""
    paths = []
    for shape in shapely.get_parts(shapely.clip_by_rect(shapes, *box)):
        rings = shapely.get_rings(shape) if shapely.get_type_id(shape) == 3 else [shape]
        for ring in rings:
            points = place(shapely.get_coordinates(ring))
            if len(points) > 1:
                paths.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points))
    return f'<path d="{"".join(paths)}" {look} fill-rule="evenodd"/>' if paths else ""


def _scale_bar(scale: float, t: Words) -> str:
    length = next(step for step in (500, 200, 100, 50, 20, 10, 5, 2, 1) if step * scale <= WIDTH_PX / 3 or step == 1)
    x0, y = 14, HEIGHT_PX - 14
    return (
        f'<rect x="{x0 - 6}" y="{y - 24}" width="{max(length * scale, 80) + 16:.0f}" height="32" fill="#fff"/>'
        f'<path d="M{x0} {y - 6}v6h{length * scale:.1f}v-6" fill="none" stroke="{INK}" stroke-width="2"/>'
        f'<text x="{x0 + 4}" y="{y - 8}" font-size="12" fill="{INK}">{length} m, {escape(t("sk-north-up"))}</text>'
    )
