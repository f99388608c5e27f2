"""A sketch of the proposed pairs to take along: one page, no script, nothing fetched, one drawing a place."""

from __future__ import annotations

from html import escape

import numpy as np
import shapely

from siteassess.survey.proposal import CAUTIONS, Proposal
from siteassess.survey.sheets import groups

WIDTH_PX, HEIGHT_PX, MARGIN_PX = 640, 480, 36
MOST_PLACES = 60
INK, LINE, GREY, GREEN = "#111111", "#0072B2", "#8a8a8a", "#eef4ea"
STYLE = f"""
body{{font:16px/1.45 sans-serif;color:{INK};background:#fff;margin:0 auto;max-width:46rem;padding:1rem}}
svg{{width:100%;height:auto;border:1px solid {GREY}}}
table{{border-collapse:collapse;font-size:.85rem}}td,th{{border:1px solid {GREY};padding:.25rem .4rem;text-align:left}}
.wide{{overflow-x:auto}}.caution{{border-left:.4rem solid {INK};padding:.1rem .8rem;margin:1rem 0}}
h1,h2{{overflow-wrap:anywhere}}h2{{margin-top:2rem}}@media print{{section{{break-inside:avoid}}}}
"""


def page(proposal: Proposal) -> str:
    """The whole page as HTML."""
    survey = proposal.survey
    places = groups(proposal)
    counts = survey.inventory.counts
    head = (
        f"<h1>Desk survey: {escape(survey.inventory.name)}</h1>"
        f"<p>{counts['rows_read']} rows read: {counts['rows_kept']} kept, {counts['rows_repaired']} repaired, "
        f"{counts['rows_set_aside']} set aside. {int(survey.trees['candidate'].sum())} candidate trees, "
        f"{len(survey.pairs)} pairs of {survey.window.shortest_m:g} to {survey.window.longest_m:g} m "
        f"with a free corridor; "
        f"{len(survey.chosen)} shown, best first within each place. Planned use: {escape(survey.wish.use)}.</p>"
        + "<div class=caution>"
        + "".join(f"<p>{escape(text)}</p>" for text in CAUTIONS)
        + "</div>"
    )
    sections = "".join(_section(proposal, name, members) for name, members in places[:MOST_PLACES])
    more = (
        f"<p>{len(places) - MOST_PLACES} more places stand in the tables only.</p>" if len(places) > MOST_PLACES else ""
    )
    credit = (
        f"<footer><p>{escape(survey.inventory.title)}; {escape(survey.inventory.licence)}. North is up.</p></footer>"
    )
    policy = "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8">{policy}<meta name="viewport" '
        f'content="width=device-width,initial-scale=1"><title>Desk survey: '
        f"{escape(survey.inventory.name)}</title><style>{STYLE}</style></head><body>{head}{sections}{more}{credit}</body></html>\n"
    )


def _section(proposal: Proposal, name: str, members: list[int]) -> str:
    rows = "".join(_row(proposal, number) for number in members)
    return (
        f"<section><h2>{escape(name)}</h2>{_drawing(proposal, members)}<div class=wide><table><thead>"
        f"<tr><th>pair<th>trees<th>span<th>bearing (true)<th>species<th>trunks<th>rank score<th>answer</tr></thead>"
        f"<tbody>{rows}</tbody></table></div></section>"
    )


def _row(proposal: Proposal, number: int) -> str:
    pair = proposal.pairs[number]
    by_code = {tree["code"]: tree for tree in proposal.trees}
    ends = [by_code[pair["a"]], by_code[pair["b"]]]
    species = " / ".join(escape(tree["species"]) for tree in ends)
    trunks = " / ".join(
        "not known" if tree["diameter_m"] is None else f"{100 * tree['diameter_m']:.0f} cm" for tree in ends
    )
    return (
        f"<tr><td>{pair['id']}<td>{pair['a']}, {pair['b']}<td>{pair['span_m']:.0f} m"
        f"<td>{round(pair['bearing_true_deg']) % 360:03d}°<td>{species}<td>{trunks}<td>{pair['score']:.2f}"
        f"<td>{pair['verdict']}: {pair['to_do']}</tr>"
    )


def _drawing(proposal: Proposal, members: list[int]) -> str:
    survey = proposal.survey
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    pairs = survey.pairs[survey.chosen[members]]
    ends = xy[pairs.ravel()]
    middle, half = (
        (ends.min(axis=0) + ends.max(axis=0)) / 2,
        np.maximum((ends.max(axis=0) - ends.min(axis=0)) / 2, 25.0) * 1.12,
    )
    scale = min((WIDTH_PX - 2 * MARGIN_PX) / (2 * half[0]), (HEIGHT_PX - 2 * MARGIN_PX) / (2 * half[1]))

    def place(points: np.ndarray) -> np.ndarray:
        return np.array([WIDTH_PX / 2, HEIGHT_PX / 2]) + (np.atleast_2d(points) - middle) * scale * [1, -1]

    corner = np.array([WIDTH_PX, HEIGHT_PX]) / 2 / scale
    box = (*(middle - corner), *(middle + corner))
    seen = np.flatnonzero(((xy >= box[:2]) & (xy <= box[2:])).all(axis=1))
    layers = survey.layers
    parts = [_outlines(layers.parks, box, place, f'fill="{GREEN}" stroke="{GREY}"')]
    parts += [
        _outlines(shapes, box, place, f'fill="none" stroke="{GREY}" stroke-dasharray="6 4"')
        for shapes in layers.avoid.values()
    ]
    parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.2" fill="{GREY}"/>' for x, y in place(xy[seen])]
    taken: list[tuple[float, float, float, float]] = []
    names = []
    for number, (a, b) in zip(members, pairs):
        start, end = place(xy[[a, b]])
        parts.append(
            f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}" '
            f'stroke="{LINE}" stroke-width="3"/>'
        )
        along = [start + share * (end - start) + [-16, 4] for share in (0.5, 0.38, 0.62, 0.26, 0.74)]
        names.append(_label(proposal.pairs[number]["id"], along, 13, taken))
    for row in dict.fromkeys(pairs.ravel().tolist()):
        x, y = place(xy[row])[0]
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="#fff" stroke="{INK}" stroke-width="2"/>')
        beside = np.array([x, y]) + [[8, 4], [-42, 4], [-17, -9], [-17, 18], [8, -9], [8, 18], [-42, -9], [-42, 18]]
        names.append(_label(proposal.codes[row], beside, 11, taken))
    parts += names
    parts.append(_scale_bar(scale))
    title = f"Sketch of {len(members)} pairs, north up"
    return (
        f'<svg viewBox="0 0 {WIDTH_PX} {HEIGHT_PX}" role="img" aria-label="{title}"><title>{title}</title>'
        f"{''.join(parts)}</svg>"
    )


def _label(text: str, spots, size: int, taken: list) -> str:
    """A text at the first of its spots that crosses no earlier text, else at the one that crosses fewest."""

    def box(spot):
        return spot[0], spot[1] - size, spot[0] + 0.62 * size * len(text), spot[1] + 3

    def crossings(one):
        return sum(one[0] < b[2] and b[0] < one[2] and one[1] < b[3] and b[1] < one[3] for b in taken)

    spot = min(spots, key=lambda spot: crossings(box(spot)))
    taken.append(box(spot))
    weight = ' font-weight="bold"' if size > 12 else ""
    return (
        f'<text x="{spot[0]:.1f}" y="{spot[1]:.1f}" font-size="{size}" fill="{INK}" stroke="#fff" stroke-width="3" '
        f'paint-order="stroke"{weight}>{escape(text)}</text>'
    )


def _outlines(shapes: np.ndarray, box, place, look: str) -> str:
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


def _scale_bar(scale: float) -> str:
    length = next(step for step in (500, 200, 100, 50, 20, 10, 5, 2, 1) if step * scale <= WIDTH_PX / 3 or step == 1)
    x0, y = 14, HEIGHT_PX - 14
    return (
        f'<rect x="{x0 - 6}" y="{y - 24}" width="{max(length * scale, 80) + 16:.0f}" height="32" fill="#fff"/>'
        f'<path d="M{x0} {y - 6}v6h{length * scale:.1f}v-6" fill="none" stroke="{INK}" stroke-width="2"/>'
        f'<text x="{x0 + 4}" y="{y - 8}" font-size="12" fill="{INK}">{length} m, north up</text>'
    )
