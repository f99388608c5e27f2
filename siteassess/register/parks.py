"""Finds sites and lines that two groups may have listed twice. It proposes; people decide, as with trunks.

A site is proposed where one was imported from the other, where trees of both may be or are the same, or where both
bear one name and do not lie far apart. A line is proposed where it was imported from the other, or where both of its
ends may be or are the same as both ends of the other.

References
----------
How far apart the middles of two lists of one park may lie is ours (judgement): groups list different corners of it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping

from siteassess.reference.constants import constant
from siteassess.reference.findings import Worded, worded
from siteassess.register.fold import Subject
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.trunks import MayBeOne
from siteassess.register.views import Folded, site_point

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
