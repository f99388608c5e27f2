"""Finds trunks, sites and lines that two surveys may have listed under two names. It proposes; people decide.

Of two trunks position, girth and genus must each agree or be unknown; a pair that differs in any is not proposed.
Girths say nothing where one was read on the flare of the roots and the other above it, or one round a trunk and the
other round a stem.

A site is proposed where one was imported from the other, where trees of both may be or are the same, or where both
bear one name and do not lie far apart. A line is proposed where it was imported from the other, or where both of its
ends may be or are the same as both ends of the other.

References
----------
Phone positions under leaves or in town lie 7 to 13 m off (PLOS ONE 2019; read in an excerpt): a fix without a stated
accuracy counts as 10 m. The other limits are ours (judgement): girth within 15 %, since readings at two heights and a
few years' growth differ by less, and for the later reading 3 cm more a year where both days are known; within one
survey of one site only 2 m, since its surveyor told the trees apart. How far apart the middles of two lists of one park
may lie is ours too: groups list different corners of it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from siteassess.reference.constants import constant
from siteassess.reference.findings import Worded, worded
from siteassess.register.fold import Subject
from siteassess.register.reading_records import genus, girth, girth_place, position
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.views import Folded, site_point
from siteassess.units import DEGREE_M

UNSTATED_ACCURACY_M = constant("unstated accuracy")
WITHIN_ACCURACIES = constant("within accuracies")
NEAREST_LIMIT_M, FARTHEST_LIMIT_M = constant("same trunk within at least"), constant("same trunk within at most")
GIRTH_SHARE = constant("same girth")
SAME_SITE_LIMIT_M = constant("same site trunk")
GROWTH_M_A_YEAR = constant("girth growth")
_CELL_DEG = 1.01 * FARTHEST_LIMIT_M / DEGREE_M  # no cell is narrower than the limit: on the equator a degree is less


@dataclass(frozen=True)
class MayBeOne:
    """Two things of a kind that may be one, and why; `kind` is "tree", "site" or "line"."""

    a: str
    b: str
    labels: tuple[str, str]
    distance_m: float | None
    reasons: tuple[Worded, ...]
    kind: str = "tree"


@dataclass(frozen=True)
class _Known:
    subject: Subject
    place: tuple[float, float, float | None] | None
    girth_m: float | None
    girth_place: str | None
    genus: str | None
    tag: str | None
    site: str
    day: str | None


def proposals(store: Store, tick: Callable[[int], None] = lambda done: None) -> list[MayBeOne]:
    """Pairs of trees that may be the same trunk and on which nobody has found yet, nearest first.

    Parameters
    ----------
    store : of the register
    tick : told how many trees have been read
    """
    folded = Folded(store.db)
    rows = store.db.execute("SELECT subject FROM anchors WHERE kind = 'tree' ORDER BY subject").fetchall()
    trees = []
    for done, (name,) in enumerate(rows, start=1):
        trees.append(_known(folded.known(name)))
        folded.keep_small()
        tick(done)
    settled = {(a, b) for a, b in store.db.execute("SELECT a, b FROM joins WHERE void = 0")}
    found = {}
    for one, other in _near_pairs(trees):
        a, b = sorted((one, other), key=lambda tree: tree.subject.id)
        pair = (a.subject.id, b.subject.id)
        if pair in settled or pair in found or b.subject.id in folded.mates(a.subject.id):
            continue
        if proposal := _compare(a, b):
            found[pair] = proposal
    return sorted(found.values(), key=lambda p: (p.distance_m if p.distance_m is not None else math.inf, p.a, p.b))


def _known(subject: Subject) -> _Known:
    record = subject.record
    size = girth(record)
    around = size[0] if size else None
    body = subject.current.body
    return _Known(
        subject, position(record), around, girth_place(record), genus(record), record.get("tag"), body["site"],
        body.get("surveyed"),
    )


def _origin(tree: _Known) -> str | None:
    return tree.subject.current.body.get("origin")


def _near_pairs(trees: list[_Known]) -> Iterable[tuple[_Known, _Known]]:
    cells: dict[tuple[int, int], list[_Known]] = {}
    by_tag: dict[str, list[_Known]] = {}
    by_id = {tree.subject.id: tree for tree in trees}
    for tree in trees:
        if first := by_id.get(_origin(tree) or ""):
            yield first, tree
        if tree.tag:
            yield from ((other, tree) for other in by_tag.setdefault(tree.tag, []))
            by_tag[tree.tag].append(tree)
        if tree.place is None or abs(tree.place[0]) > 89.0:
            continue
        for cell in _cells_about(tree.place):
            yield from ((other, tree) for other in cells.get(cell, ()))
        cells.setdefault(_cell(tree.place[0], tree.place[1]), []).append(tree)


def _columns(row: int) -> int:
    """Whole number of cells round the earth in a band, each at least the limit wide at the band's narrow edge."""
    edge = min(89.9, max(abs(row), abs(row + 1)) * _CELL_DEG)
    return max(3, math.floor(360.0 * math.cos(math.radians(edge)) / _CELL_DEG))


def _column(lon: float, row: int) -> int:
    # whole cells all round: the two sides of the antimeridian are neighbours
    count = _columns(row)
    return math.floor((lon % 360.0) / 360.0 * count) % count


def _cell(lat: float, lon: float) -> tuple[int, int]:
    row = math.floor(lat / _CELL_DEG)
    return row, _column(lon, row)


def _cells_about(place: tuple[float, float, float | None]) -> set[tuple[int, int]]:
    middle = math.floor(place[0] / _CELL_DEG)
    rows = (middle - 1, middle, middle + 1)
    return {(row, (_column(place[1], row) + shift) % _columns(row)) for row in rows for shift in (-1, 0, 1)}


def _compare(a: _Known, b: _Known) -> MayBeOne | None:
    reasons = []
    same_tag = a.tag is not None and a.tag == b.tag
    came_from = _origin(a) == b.subject.id or _origin(b) == a.subject.id
    if came_from:
        reasons.append(worded("rg-came-from"))
    if same_tag:
        reasons.append(worded("rg-same-tag", tag=a.tag))
    apart = _distance(a, b)
    if apart is not None:
        limit = _limit(a, b)
        if apart > limit:
            return None
        reasons.append(worded("rg-within", apart=apart, limit=limit))
    elif not (same_tag or came_from):
        return None
    if a.girth_m is None or b.girth_m is None:
        reasons.append(worded("rg-girth-unknown"))
    elif a.girth_place != b.girth_place:
        # between flare and trunk, or a trunk and one of its stems, there is no rule by which they might differ
        code = "rg-girths-apart" if a.girth_place and b.girth_place else "rg-girths-at-unknown"
        reasons.append(worded(code, one=a.girth_place, other=b.girth_place))
    elif abs(a.girth_m - b.girth_m) > GIRTH_SHARE * max(a.girth_m, b.girth_m) + _growth(a, b):
        return None
    else:
        reasons.append(worded("rg-girths", one=_dated(a), other=_dated(b)))
    if a.genus is not None and b.genus is not None and a.genus != b.genus:
        return None
    both = a.genus and b.genus
    reasons.append(worded("rg-both-genus", genus=a.genus) if both else worded("rg-genus-unknown"))
    return MayBeOne(a.subject.id, b.subject.id, (label(a.subject), label(b.subject)), apart, tuple(reasons))


def _dated(tree: _Known) -> Worded:
    return worded("rg-a-girth-on" if tree.day else "rg-a-girth", girth=tree.girth_m, day=tree.day)


def _growth(a: _Known, b: _Known) -> float:
    """How much thicker the later reading may be for its years [m]; zero where it is not, or a day is unknown."""
    read = sorted((tree.day, tree.girth_m) for tree in (a, b) if tree.day is not None and tree.girth_m is not None)
    if len(read) < 2:
        return 0.0
    (earlier, before), (later, after) = read
    years = (date.fromisoformat(later) - date.fromisoformat(earlier)).days / 365.25
    return GROWTH_M_A_YEAR * years if after > before else 0.0


def _distance(a: _Known, b: _Known) -> float | None:
    if a.place is None or b.place is None:
        return None
    from siteassess.places.geodesy import bearing_distance

    return float(bearing_distance(a.place[0], a.place[1], b.place[0], b.place[1]).distance_m)


def _limit(a: _Known, b: _Known) -> float:
    if a.site == b.site:
        return SAME_SITE_LIMIT_M
    accuracies = [UNSTATED_ACCURACY_M if p[2] is None else p[2] for p in (a.place, b.place) if p]
    return min(FARTHEST_LIMIT_M, max(NEAREST_LIMIT_M, WITHIN_ACCURACIES * math.hypot(*accuracies)))


SAME_NAME_LIMIT_M = constant("same park name")
# pairs of trees that are or may be the same
_Same = set[frozenset[str]]


def alike(store: Store, trunks: Iterable[MayBeOne]) -> list[MayBeOne]:
    """Pairs of sites and of lines that may be the same and on which nobody has found yet, sites first.

    Parameters
    ----------
    store : of the register
    trunks : pairs of trees that may be the same, of `trunks.proposals`
    """
    folded = Folded(store.db)
    settled = {(a, b) for a, b in store.db.execute("SELECT a, b FROM joins WHERE void = 0")}
    may_be = {frozenset((pair.a, pair.b)) for pair in trunks}
    anchors = dict(store.db.execute("SELECT subject, site FROM anchors").fetchall())
    same = may_be | {
        frozenset((one, other)) for one in _joined(store, "anchor") if one in anchors for other in folded.mates(one)
    }

    def new(one: str, other: str) -> bool:
        return one != other and _pair(one, other) not in settled and other not in folded.mates(one)

    return _sites(store, folded, same, anchors, new) + _lines(store, folded, same, new)


def _pair(one: str, other: str) -> tuple[str, str]:
    return (one, other) if one < other else (other, one)


def _joined(store: Store, kind: str) -> set[str]:
    joined = f"SELECT a, b FROM joins JOIN {kind}s ON a = subject"
    rows = store.db.execute(f"{joined} WHERE void = 0 AND finding = 'the same'")
    return {name for row in rows for name in row}


def _sites(
    store: Store, folded: Folded, same: _Same, anchors: Mapping[str, str], new: Callable[[str, str], bool]
) -> list[MayBeOne]:
    reasons: dict[tuple[str, str], list[Worded]] = {}
    shared: dict[tuple[str, str], int] = {}
    for one, other in map(sorted, same):
        pair = _pair(anchors.get(one, ""), anchors.get(other, ""))
        if all(pair) and pair[0] != pair[1]:
            shared[pair] = shared.get(pair, 0) + 1
    for pair, count in shared.items():
        reasons.setdefault(pair, []).append(worded("rg-trees-shared", count=count))
    by_name: dict[str, list[str]] = {}
    for name, subject, origin in store.db.execute("SELECT name, subject, origin FROM sites ORDER BY subject"):
        by_name.setdefault((name or "").strip().casefold(), []).append(subject)
        if origin and folded.subject(origin) is not None:
            reasons.setdefault(tuple(sorted((origin, subject))), []).append(worded("rg-came-from"))
    for name, subjects in by_name.items():
        for pair in itertools.combinations(subjects, 2):
            apart = _apart(store, *pair) if name else None
            if name and (apart is None or apart <= SAME_NAME_LIMIT_M):
                code = "rg-one-name-no-place" if apart is None else "rg-one-name"
                called = label(folded.known(pair[0]))
                reasons.setdefault(pair, []).append(worded(code, name=called, apart=apart))
    chosen = sorted((pair, said) for pair, said in reasons.items() if new(*pair))
    return [_proposal("site", folded, pair, said, _apart(store, *pair)) for pair, said in chosen]


def _lines(store: Store, folded: Folded, same: _Same, new: Callable[[str, str], bool]) -> list[MayBeOne]:
    by_end: dict[str, list[str]] = {}
    ends: dict[str, frozenset[str]] = {}
    reasons: dict[tuple[str, str], list[Worded]] = {}
    rows = store.db.execute("SELECT subject, anchor_a, anchor_b, origin FROM lines ORDER BY subject").fetchall()
    for subject, a, b, origin in rows:
        ends[subject] = frozenset((a, b))
        for end in ends[subject]:
            by_end.setdefault(end, []).append(subject)
        if origin and folded.subject(origin) is not None:
            reasons.setdefault(tuple(sorted((origin, subject))), []).append(worded("rg-came-from"))
    for one, other in map(sorted, same):
        for pair in itertools.product(by_end.get(one, ()), by_end.get(other, ())):
            if _ends_agree(ends[pair[0]], ends[pair[1]], same):
                said = reasons.setdefault(_pair(*pair), [])
                ends_agree = worded("rg-ends-shared")
                said += [] if ends_agree in said else [ends_agree]
    chosen = sorted((pair, said) for pair, said in reasons.items() if new(*pair))
    return [_proposal("line", folded, pair, said, None) for pair, said in chosen]


def _ends_agree(one: frozenset[str], other: frozenset[str], same: _Same) -> bool:
    if len(one) != 2 or len(other) != 2:
        return False
    (a, b), (c, d) = one, other

    def agree(x: str, y: str) -> bool:
        return x == y or frozenset((x, y)) in same

    return (agree(a, c) and agree(b, d)) or (agree(a, d) and agree(b, c))


def _apart(store: Store, one: str, other: str) -> float | None:
    from siteassess.places.geodesy import bearing_distance

    here, there = site_point(store.db, one), site_point(store.db, other)
    if here is None or there is None:
        return None
    (lon, lat), (other_lon, other_lat) = here[0], there[0]
    return float(bearing_distance(lat, lon, other_lat, other_lon).distance_m)


def _proposal(kind: str, folded: Folded, pair: tuple[str, str], said: list[Worded], apart: float | None) -> MayBeOne:
    one, other = map(folded.known, pair)
    return MayBeOne(*pair, (_called(one, folded), _called(other, folded)), apart, tuple(said), kind)


def _called(subject: Subject, folded: Folded) -> str:
    """A line with its park: two lists both have an L1."""
    sites = folded.around.sites(subject) if subject.kind == "line" else []
    return f"{label(sites[0])}/{label(subject)}" if sites else label(subject)
