"""Insets of the plan: where anchors stand too close for their words, a blank of the map shows them larger."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from siteassess.mechanics.arrays import Array
from siteassess.papers.drawing import Sheet, text_width
from siteassess.papers.plan_frame import IMPERIAL, METRIC, SCALES, TEXT, Box, Extent, View
from siteassess.papers.plan_furniture import north_box, plan_bar
from siteassess.papers.plan_ground import draw_ground, draw_site, drawn_in, labelled, named_labels
from siteassess.papers.plan_labels import Wanted
from siteassess.papers.scene import Scene
from siteassess.units import FOOT_M

CAPTION_MM, STEP_MM, CLEAR_OF_MM = 5.5, 2.0, 5.0
LEAST_CROWD, AROUND_M = 3, 5.0  # anchors of an inset, and metres of ground about them
LINKED_MM = (16.0, 11.0, 8.0, 6.0)  # anchors so close on a map are one crowd; closer ones where no blank holds it
MOST_OF_FRAME, LARGER = 0.62, 1.5  # of the map's width and height that an inset takes, and how much larger it is
PLACE_TEXT, BAR_MM, CAPTION_AIR_MM = 2.8, 1.4, 6.0  # air: before, between and after an inset's name and bar
LEAST_MM, LEAST_FEET_MM = 30.0, 34.0  # width of an inset, whose name in feet is longer
BAR_METRES, BAR_FEET = (20, 10, 5, 2, 1), (100, 50, 20, 10, 5, 2, 1)  # that an inset's bar may tell
FRAME_COLOUR, INSET_LETTERS, MOST_INSETS = "#0072B2", "ABCDEFGH", 4  # on one sheet


@dataclass(frozen=True)
class Inset:
    """A part of the map drawn larger: its letter, its whole box with the caption, and what it looks at."""

    letter: str
    box: Box
    view: View
    name: str  # of its scale

    @property
    def caption(self) -> str:
        return f"{self.letter}  {self.name}"

    def part_of(self, view: View) -> Box:
        """The same ground on the map [mm]."""
        west, south, east, north = self.view.reach()
        return Box(view.x(west), view.y(south), view.x(east) - view.x(west), view.y(north) - view.y(south))


def find_insets(
    view: View, scene: Scene, taken: list[Box], feet: bool, most_scale: float,
    lost: Callable[[list[Inset]], list[Wanted]], first: int = 0,
) -> list[Inset]:
    """Insets for what finds no room on a map, as long as each lessens what is left out.

    Parameters
    ----------
    view, scene : the sheet in whose blanks they stand, and what is on it
    taken : boxes of the sheet that are taken
    feet : choose among scales in feet
    most_scale : of the smallest scale that is worth an inset, what one unit stands for
    lost : labels that find no room with some insets, in places of the sheet [mm]
    first : letters that insets of another sheet have
    """
    found: list[Inset] = []
    left = lost(found)
    while left and len(found) < MOST_INSETS:
        inset = _next_inset(view, scene, taken, feet, most_scale, found, left, first)
        now = lost([*found, inset]) if inset else left
        if inset is None or len(now) >= len(left):
            break
        found, left = [*found, inset], now
    return found


def map_insets(
    view: View, scene: Scene, taken: list[Box], feet: bool, others: list[Inset], told: frozenset[str]
) -> list[Inset]:
    """Insets in the blanks of a map itself, where those of another sheet and labels told there are not enough."""
    elsewhere = names_within(scene, others)

    def lost(insets: list[Inset]) -> list[Wanted]:
        leave = elsewhere | names_within(scene, insets)
        left = labelled(view, scene, [*taken, *boxes_of(insets, view)], leave=leave)[1]
        for inset in insets:
            left += labelled(inset.view, scene, [], only=names_within(scene, [inset]))[1]
        return [wanted for wanted in left if wanted.name and wanted.name not in told]

    return find_insets(view, scene, taken, feet, view.scale / LARGER, lost, len(others))


def overview_insets(whole: View, scene: Scene, views: list[View], taken: list[Box], feet: bool) -> list[Inset]:
    """Insets in the blanks of the overview for what finds no room on any of the maps."""
    every = {wanted.name: wanted for wanted in named_labels(whole, scene)}

    def lost(insets: list[Inset]) -> list[Wanted]:
        inside = names_within(scene, insets)
        placed = [one for view in views for one in labelled(view, scene, furniture(view, scene, feet), leave=inside)[0]]
        placed += [one for inset in insets for one in labelled(inset.view, scene, [], only=inside)[0]]
        told = {one.wanted.name for one in placed}
        return [wanted for name, wanted in every.items() if name not in told]

    return find_insets(whole, scene, taken, feet, views[0].scale / LARGER, lost)


def furniture(view: View, scene: Scene, feet: bool) -> list[Box]:
    """Boxes of bar and north arrows, that labels keep off."""
    return [plan_bar(view, scene, feet).box, north_box(view, scene)]


def names_within(scene: Scene, insets: list[Inset]) -> frozenset[str]:
    """Anchors, and lines with both ends, that insets show."""
    inside: set[str] = set()
    for inset in insets:
        here = {spot.code for spot in scene.spots if drawn_in(inset.view, spot)}
        inside |= here | {s.result.id for s in scene.stretches if {s.a.code, s.b.code} <= here}
    return frozenset(inside)


def _next_inset(
    view: View, scene: Scene, taken: list[Box], feet: bool, most_scale: float, found: list[Inset], left: list[Wanted],
    first: int,
) -> Inset | None:
    """An inset of the crowd that most of what is left out belongs to, in the largest scale a blank has room for."""
    inside = names_within(scene, found)
    spots = [spot for spot in scene.spots if drawn_in(view, spot) and spot.code not in inside]
    if not spots:
        return None
    at = np.array([(view.x(spot.east_m), view.y(spot.north_m)) for spot in spots])
    blank = _Blank(view, scene, [*taken, *boxes_of(found, view)])
    known = sorted(IMPERIAL if feet else METRIC, key=SCALES.__getitem__)
    for link in LINKED_MM:
        members = _fullest(at, link * most_scale * LARGER / view.scale, left)
        if not members:
            continue
        ground = np.array([(spots[i].east_m, spots[i].north_m) for i in members])
        west, south = map(float, ground.min(axis=0) - AROUND_M)
        east, north = map(float, ground.max(axis=0) + AROUND_M)
        for name in known:
            if SCALES[name] > most_scale:
                break
            box = blank.room((west, south, east, north), name)
            if box:
                inner = Box(box.x, box.y + CAPTION_MM, box.width, box.height - CAPTION_MM)
                looks = View(inner, (west + east) / 2, (south + north) / 2, SCALES[name])
                return Inset(INSET_LETTERS[first + len(found)], box, looks, name)
    return None


def _fullest(at: Array, link: float, left: list[Wanted]) -> list[int]:
    """The crowd, of anchors each within `link` of another, that most of what is left out is nearest to."""
    crowd = list(range(len(at)))
    for i, j in zip(*np.nonzero(np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1)) <= link)):
        old, new = crowd[i], crowd[j]
        crowd = [new if one == old else one for one in crowd]
    nearest = [crowd[int(np.argmin(np.hypot(*(at - (wanted.x, wanted.y)).T)))] for wanted in left]
    many = sorted(one for one in set(nearest) if crowd.count(one) >= LEAST_CROWD)
    most = max(many, key=nearest.count, default=None)
    return [i for i, one in enumerate(crowd) if one == most]


class _Blank:
    """Where a map shows nothing, in steps of a few millimetres."""

    def __init__(self, view: View, scene: Scene, taken: list[Box]):
        self.frame, b = view.box, view.box
        xs, ys = (np.arange(low + 1, high - 1 - STEP_MM, STEP_MM) for low, high in ((b.x, b.right), (b.y, b.top)))
        things = [shapely.Point(view.x(spot.east_m), view.y(spot.north_m)) for spot in scene.spots]
        things += [shapely.LineString([(view.x(s.a.east_m), view.y(s.a.north_m)),
                                       (view.x(s.b.east_m), view.y(s.b.north_m))])
                   for s in scene.stretches]  # fmt: skip
        for shape in scene.shapes:
            points = list(zip(view.x(shape.east_m), view.y(shape.north_m)))
            things.append(shapely.Point(points[0]) if len(points) == 1 else
                          shapely.make_valid(shapely.Polygon(points)) if shape.closed and len(points) > 2 else
                          shapely.LineString(points))  # fmt: skip
        full = shapely.union_all([*(thing.buffer(CLEAR_OF_MM) for thing in things),
                                  *(shapely.box(t.x, t.y, t.right, t.top) for t in taken)])  # fmt: skip
        shapely.prepare(full)
        # sums of what is taken below and left of each corner, so that any window is counted at once
        cells = shapely.contains_xy(full, *np.meshgrid(xs + STEP_MM / 2, ys + STEP_MM / 2, indexing="ij"))
        self.sums = np.pad(cells.astype(int).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))

    def room(self, ground: Extent, name: str) -> Box | None:
        """A blank for some ground at a scale, or None where none is large enough."""
        west, south, east, north = ground
        scale, least = SCALES[name], LEAST_FEET_MM if name in IMPERIAL else LEAST_MM
        wide = max(least, (east - west) * 1000 / scale)
        tall = (north - south) * 1000 / scale + CAPTION_MM
        m, n = math.ceil(wide / STEP_MM), math.ceil(tall / STEP_MM)
        rows, columns = self.sums.shape
        if wide > self.frame.width * MOST_OF_FRAME or tall > self.frame.height * MOST_OF_FRAME:
            return None
        if m >= rows - 1 or n >= columns - 1:
            return None
        s = self.sums
        counts = s[m:, n:] - s[:-m, n:] - s[m:, :-n] + s[:-m, :-n]
        free = np.argwhere(counts == 0)
        if not len(free):
            return None
        # in a corner of the blank, so that what is left of it has room for the next
        places = free * STEP_MM + (self.frame.x + 1, self.frame.y + 1)
        far = [np.hypot(*(places - corner).T) for corner in self._corners(wide, tall)]
        x, y = places[int(np.argmin(np.min(far, axis=0)))]
        return Box(float(x), float(y), float(wide), float(tall))

    def _corners(self, wide: float, tall: float) -> list[tuple[float, float]]:
        b = self.frame
        return [(x, y) for x in (b.x, b.right - wide) for y in (b.y, b.top - tall)]


def kept_clear(inset: Inset, view: View, told: str) -> Box:
    """The place of an inset on a map with its caption, which no label of the map is to cover."""
    part = inset.part_of(view)
    wide = max(part.width, text_width(told, PLACE_TEXT, True) + 1.5)
    return Box(part.x, part.y, wide, part.height + PLACE_TEXT + 1.5)


def boxes_of(insets: list[Inset], view: View) -> list[Box]:
    """What insets take of the map they stand on: their boxes, and the places they show."""
    return [box for inset in insets for box in (inset.box, kept_clear(inset, view, inset.letter))]


def draw_place(sheet: Sheet, inset: Inset, view: View, told: str) -> None:
    """Where an inset lies on a map, and what tells it."""
    b, part = view.box, inset.part_of(view)
    x, y = max(b.x, part.x), max(b.y, part.y)
    wide, tall = min(b.right, part.right) - x, min(b.top, part.top) - y
    if wide > 0 and tall > 0:
        sheet.box(x, y, wide, tall, None, FRAME_COLOUR, 0.5, order=7)
        sheet.text(x + 0.6, y + tall + 0.8, told, PLACE_TEXT, bold=True, colour=FRAME_COLOUR, halo=True, order=8)


def inset_bar(inset: Inset, feet: bool) -> tuple[str, float]:
    """The longest bar that stands right of an inset's name: what it tells, and its length [mm]."""
    unit, each = ("ft", FOOT_M * inset.view.per_metre) if feet else ("m", inset.view.per_metre)
    steps = BAR_FEET if feet else BAR_METRES
    beside = inset.box.width - text_width(inset.caption, TEXT, True) - CAPTION_AIR_MM
    return next((f"{n} {unit}", n * each) for n in steps
                if n == 1 or n * each + text_width(f"{n} {unit}", TEXT) <= beside)  # fmt: skip


def draw_inset(sheet: Sheet, inset: Inset, view: View, scene: Scene, errors: bool, feet: bool) -> list[Wanted]:
    """The inset, its caption with a bar, and its place on the map; what finds no room in it."""
    box, looks = inset.box, inset.view
    draw_place(sheet, inset, view, inset.letter)
    with sheet.lifted(20):
        draw_ground(sheet, looks, scene, errors)
        left_out = draw_site(sheet, looks, scene, [], only=names_within(scene, [inset]))
        sheet.box(box.x, box.y, box.width, CAPTION_MM, "paper", "none", order=8)
        sheet.box(box.x, box.y, box.width, box.height, None, FRAME_COLOUR, 0.5, order=8)
        sheet.text(box.x + 1.5, box.y + 1.7, inset.caption, TEXT, bold=True, order=9)
        told, length = inset_bar(inset, feet)
        x, y = box.right - text_width(told, TEXT) - 2.5, box.y + 1.8
        sheet.box(x - length, y, length, BAR_MM, "ink", "none", order=9)
        sheet.text(x + 1, y - 0.1, told, TEXT, order=9)
    return left_out
