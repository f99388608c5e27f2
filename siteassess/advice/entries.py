"""Which entries of a record are one tree, told again under another code, and which may be.

One number of the manager's is one tree, however it was spelt; so is one place, whatever the tags say, since a tag is
typed wrong more often than two trunks stand in each other.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise, permutations, product

from siteassess.advice.geometry import SAME_PLACE_M, Places
from siteassess.errors import UnknownName
from siteassess.places.instruments import length_sigma
from siteassess.places.positions import Located
from siteassess.records.anchor import Anchor, Boulder, Tree
from siteassess.records.doubtful import ONE_POSITION_DECIMALS
from siteassess.records.record import Record
from siteassess.records.trunk import FLARE_UP_TO, MEASURED, diameter_m
from siteassess.reference.constants import constant
from siteassess.reference.species import SpeciesMatch, find_species
from siteassess.units import DEGREE_M

Pair = tuple[str, str]
ONE_POINT_M = math.sqrt(2.0) * DEGREE_M * 10.0**-ONE_POSITION_DECIMALS  # across what is equal as rounded
ERRORS_APART = constant("entries apart")
MOST_OF_A_NAME = int(constant("entries of a name"))
SURVEYOR_TELLS_M, SAME_GIRTH = constant("same site trunk"), constant("same girth")
LIKE_HEIGHTS = constant("like heights")
# small letters of other alphabets that look like Latin ones
LOOK_ALIKE = str.maketrans("авекмнорстухіјѕαβεηικμνορτυχζ", "abekmhopctyxijsabehikmvoptyxz")
# what is written before a number in four languages, and a note behind it
_BEFORE = re.compile(
    r"^(?:[\W_]|n(?=[°.])|(?:no|nr|num|number|nummer|numero|tree|baum|arbre|arbol|tag)(?![^\W\d_]))+(?=.*\d)"
)
_LEADING_ZEROS = re.compile(r"(?<!\d)(?<!\d[\W_])0+(?=\d)")  # not those behind a point
_OF_A_NUMBER = re.compile(r"\d+|(?<![^\W\d_])[^\W\d_](?![^\W\d_])")  # figures, and a letter that stands alone


@dataclass(frozen=True)
class Entries:
    """By code of an anchor the code that stands for its tree, and by that the trees it may be."""

    stands_for: dict[str, str]
    doubted: dict[str, frozenset[str]]

    def of(self, code: str) -> str:
        """The code that stands for a tree: its own where it was entered once."""
        return self.stands_for.get(code, code)

    def others(self, code: str) -> tuple[str, ...]:
        """Other codes of the same tree."""
        return tuple(other for other, tree in self.stands_for.items() if tree == self.of(code) and other != code)

    def may_be(self, code: str) -> tuple[str, ...]:
        """Codes of other trees that may be the same for all the record tells."""
        doubted = self.doubted.get(self.of(code), frozenset())
        return tuple(other for other, tree in self.stands_for.items() if tree in doubted)


def entries_of(record: Record, places: Places) -> Entries:
    """The entries of every anchor's tree.

    Parameters
    ----------
    record, places : whole, and where its anchors stand
    """
    told = _Told(record, places)
    stands_for = {anchor.code: anchor.code for anchor in record.anchors}
    for one, other in told.surely():
        first, last = stands_for[one], stands_for[other]
        stands_for = {code: first if tree == last else tree for code, tree in stands_for.items()}
    doubted: dict[str, frozenset[str]] = {}
    for one, other in told.perhaps():
        trees = frozenset((stands_for[one], stands_for[other]))
        for tree in trees if len(trees) == 2 else ():
            doubted[tree] = doubted.get(tree, frozenset()) | trees - {tree}
    return Entries(stands_for, doubted)


class _Told:
    """What a record tells of its anchors in pairs."""

    def __init__(self, record: Record, places: Places):
        self._anchors = {anchor.code: anchor for anchor in record.anchors}
        self._places = places
        self._taped = _taped(record)
        self._thick = {anchor.code: _thick_m(anchor) for anchor in record.anchors}
        self._parts = {anchor.code: _parts(anchor) for anchor in record.anchors}
        self._errors = {frozenset((line.a.anchor, line.b.anchor)): length_sigma(line.span.taped.si, line.span.how)
                        for line in record.lines if line.span is not None}  # fmt: skip
        self._ends = {end.anchor for line in record.lines for end in line.ends}
        self._beside: dict[str, dict[str, float]] = {}  # by an end the others of its lines, and how far they are
        for line in record.lines:
            for end, other in permutations((line.a.anchor, line.b.anchor)):
                self._beside.setdefault(end, {})[other] = self._apart(end, other)

    def surely(self) -> Iterator[Pair]:
        """One number, one place, or a tape between the two that is no longer than the thinner is thick."""
        yield from (pair for group in self._alike(_number) for pair in pairwise(group))
        for pair in (*self._near(), *map(_sorted, self._taped)):
            if self._of_a_kind(*pair) and self._apart(*pair) <= self._reach(*pair):
                yield pair
        for pair in self._with_one_reading():
            if len({_number(self._anchors[code]) for code in pair} - {""}) < 2 and not self._taped_apart(*pair):
                yield pair

    def perhaps(self) -> Iterator[Pair]:
        """One number but for what stands around it, one name, one place or nearly, or none told of a tree like it."""
        groups = (*self._alike(_name), *self._figures())
        named = (pair for group in groups for pair in self._of(group))
        yield from (pair for pair in (*named, *self._with_one_reading()) if not self._plainly_two(*pair))
        for pair in (*self._near(), *self._of_no_place()):
            if not (self._both_numbered(*pair) or self._unlike(*pair) or self._taped_apart(*pair)
                    or self._apart(*pair) > SURVEYOR_TELLS_M):  # fmt: skip
                yield pair

    def _of(self, group: list[str]) -> Iterator[Pair]:
        """Its pairs; of a name that many bear only those with an end of a line, which alone are told of."""
        many = len(group) > MOST_OF_A_NAME
        return (pair for pair in combinations(group, 2) if not many or not self._ends.isdisjoint(pair))

    def _figures(self) -> Iterable[list[str]]:
        """Codes whose number has a figure in common."""
        groups: dict[Hashable, list[str]] = {}
        for code, parts in self._parts.items():
            for figures in (part for part in parts if part.isdigit()):
                groups.setdefault((self._anchors[code].kind, figures), []).append(code)
        return groups.values()

    def _of_no_place(self) -> Iterator[Pair]:
        """Pairs of which one has no place, that no line joins, nor lines from a third tree tell apart by their length.

        Only those with an end of a line, which alone are told of.
        """
        lost = [code for code in self._anchors if self._places.at(code) is None]
        for at, one in enumerate(lost):
            for other in self._anchors:
                if other in lost[: at + 1] or {one, other}.isdisjoint(self._ends) or other in self._beside.get(one, {}):
                    continue
                thirds = [(end, beside) for end, beside in self._beside.items() if one in beside and other in beside]
                if not any(abs(beside[one] - beside[other]) > self._told_apart(end, one, other)
                           for end, beside in thirds):  # fmt: skip
                    yield one, other

    def _told_apart(self, end: str, one: str, other: str) -> float:
        """By how much two lengths from one anchor differ for two trees: more where one was paced or guessed [m]."""
        errors = [self._errors.get(frozenset((end, far)), 0.0) for far in (one, other)]
        return max(SURVEYOR_TELLS_M, ERRORS_APART * math.hypot(*errors))

    def _alike(self, key: Callable[[Anchor], Hashable]) -> Iterable[list[str]]:
        groups: dict[Hashable, list[str]] = {}
        for code, anchor in self._anchors.items():
            if found := key(anchor):
                groups.setdefault((anchor.kind, found), []).append(code)
        return groups.values()

    def _near(self) -> Iterator[Pair]:
        """Pairs that may stand nearer than the thickest is thick, or than a surveyor tells apart."""
        stand = {code: place for code in self._anchors if (place := self._places.at(code))}
        ranked = sorted(stand, key=lambda code: stand[code].latitude_deg)
        most = max([SURVEYOR_TELLS_M, *self._thick.values()])
        for at, one in enumerate(ranked):
            for other in ranked[at + 1 :]:
                if (stand[other].latitude_deg - stand[one].latitude_deg) * DEGREE_M > most:
                    break
                yield one, other

    def _with_one_reading(self) -> Iterator[Pair]:
        """Pairs of one kind with a reading of the place in common."""
        at: dict[Hashable, dict[str, None]] = {}
        for code, anchor in self._anchors.items():
            for place in self._places.readings(code):
                point = (round(degrees, ONE_POSITION_DECIMALS) for degrees in (place.latitude_deg, place.longitude_deg))
                at.setdefault((anchor.kind, *point), {})[code] = None
        yield from (pair for codes in at.values() for pair in combinations(codes, 2))

    def _of_a_kind(self, one: str, other: str) -> bool:
        here, there = self._anchors.get(one), self._anchors.get(other)
        return here is not None and there is not None and here.kind == there.kind

    def _reach(self, one: str, other: str) -> float:
        """How far apart two entries of one trunk may be placed: as far as the thinner is thick [m]."""
        return max(ONE_POINT_M, min(self._thick[one], self._thick[other]))

    def _apart(self, one: str, other: str) -> float:
        """Between two anchors, by the tape where there is one, else by their positions [m]; NaN where unknown."""
        if (length := self._taped.get(frozenset((one, other)))) is not None:
            return length
        here, there = self._places.at(one), self._places.at(other)
        return _between(here, there) if here and there else math.nan

    def _two_numbers(self, one: str, other: str) -> bool:
        """Whether each of two numbers has something that the other has not."""
        here, there = self._parts[one], self._parts[other]
        return self._both_numbered(one, other) and not (here <= there or there <= here)

    def _both_numbered(self, one: str, other: str) -> bool:
        """Whether both bear the manager's number, or both one in their name: either tells nothing against the other."""
        tagged = {bool(getattr(self._anchors[code], "tag", None)) for code in (one, other) if self._parts[code]}
        return bool(self._parts[one] and self._parts[other]) and len(tagged) == 1

    def _taped_apart(self, one: str, other: str) -> bool:
        return self._taped.get(frozenset((one, other)), 0.0) > self._reach(one, other)

    def _plainly_two(self, one: str, other: str) -> bool:
        """Whether numbers or the way between them tell them apart, or, where it is unknown, what is said of them."""
        apart = self._apart(one, other)
        if frozenset((one, other)) in self._taped:
            return self._taped_apart(one, other)
        if math.isnan(apart):
            return self._two_numbers(one, other) or self._unlike(one, other)
        errors = [place.sigma_m for code in (one, other) if (place := self._places.at(code))]
        return apart > self._reach(one, other) and apart > ERRORS_APART * math.hypot(*errors)

    def _unlike(self, one: str, other: str) -> bool:
        """Whether two are of other kinds of anchor or of tree, or too far apart in thickness for two tapes of one.

        A guess of either proves nothing, nor do tapes at heights between which a trunk of its own differs so much.
        """
        here, there = self._anchors[one], self._anchors[other]
        if not (isinstance(here, Tree) and isinstance(there, Tree)):
            return here.kind != there.kind
        genera = {_genus(tree) for tree in (here, there)} - {""}
        leaves = {_leaves(tree) for tree in (here, there)} - {"", "unknown"}
        tapes = [[one for one in tree.trunk if one.how in MEASURED and one.read_at.si >= FLARE_UP_TO]
                 for tree in (here, there)]  # fmt: skip
        sizes = [sorted(map(diameter_m, pair)) for pair in product(*tapes)
                 if abs(pair[0].read_at.si - pair[1].read_at.si) <= LIKE_HEIGHTS]  # fmt: skip
        shares = [1.0 - thin / thick for thin, thick in sizes]  # of the thicker, whichever comes first
        return len(genera) > 1 or len(leaves) > 1 or min(shares, default=0.0) > SAME_GIRTH


def _taped(record: Record) -> dict[frozenset[str], float]:
    """The shortest tape between two places, of a line, a measured pair or a tie [m]."""
    spans = [(end.a.anchor, end.b.anchor, end.span) for end in record.lines] + [
        (pair.a, pair.b, pair.span) for pair in record.measured_pairs]  # fmt: skip
    told = [(frozenset((a, b)), span.taped.si) for a, b, span in spans if span is not None]
    told += [(frozenset((anchor.code, tie.landmark)), tie.distance.si)
             for anchor in record.anchors if anchor.position for tie in anchor.position.ties]  # fmt: skip
    return {pair: length for pair, length in sorted(told, key=lambda one: -one[1]) if len(pair) == 2}


def _sorted(pair: frozenset[str]) -> Pair:
    one, other = sorted(pair)
    return one, other


def _between(here: Located, there: Located) -> float:
    """Between two places that lie near each other [m]."""
    east = ((there.longitude_deg - here.longitude_deg + 180.0) % 360.0 - 180.0) * math.cos(
        math.radians(here.latitude_deg))  # fmt: skip
    return DEGREE_M * math.hypot(there.latitude_deg - here.latitude_deg, east)


def _thick_m(anchor: Anchor) -> float:
    """How thick an anchor is that two others cannot stand in [m]."""
    if isinstance(anchor, Tree):
        return max((diameter_m(reading) for reading in anchor.trunk), default=SAME_PLACE_M)
    sizes = (anchor.along_pull, anchor.across_pull) if isinstance(anchor, Boulder) else ()
    return min((size.si for size in sizes if size), default=0.0)


def _number(anchor: Anchor) -> str:
    """The manager's number, however it is spelt and spaced; what has no figure in it is none."""
    return _as_number(anchor.tag or "") if isinstance(anchor, Tree) else ""


def _parts(anchor: Anchor) -> frozenset[str]:
    """Figures and lone letters of the number, or of the name where there is no tag; none where it has no figure."""
    text = _plain(anchor.tag or anchor.name or "") if isinstance(anchor, Tree) else ""
    parts = frozenset(part.lstrip("0") or "0" for part in _OF_A_NUMBER.findall(text))
    return parts if any(part.isdigit() for part in parts) else frozenset()


def _genus(tree: Tree) -> str:
    """Empty where no table knows the tree's name, or it was guessed."""
    known = _species(tree)
    return known.genus if known and tree.species and tree.species.certainty != "guess" else ""


def _leaves(tree: Tree) -> str:
    """Broadleaf, conifer or palm, which nobody guesses wrong; empty where no table knows the tree's name."""
    known = _species(tree)
    return known.leaf_type if known else ""


def _species(tree: Tree) -> SpeciesMatch | None:
    try:
        return find_species(tree.species.name) if tree.species else None
    except UnknownName:
        return None


def _as_number(text: str) -> str:
    told = _LEADING_ZEROS.sub("", _plain(text))
    told = told.replace("o", "0") if any(letter.isdigit() for letter in told) else ""
    kept = re.split(r"(?<=\d)[\W_]+(?=\d)", told)  # what parts figures makes another number of them
    return "/".join(re.sub(r"[\W_]+", "", part) for part in kept)


@lru_cache(maxsize=4096)
def _plain(text: str) -> str:
    """Small letters without accents, figures of any script as ours, and nothing of what is written before a number."""
    plain = unicodedata.normalize("NFD", unicodedata.normalize("NFKC", text.replace("º", "°")).casefold())
    letters = ("" if unicodedata.combining(letter) else str(unicodedata.decimal(letter, letter)) for letter in plain)
    return _BEFORE.sub("", "".join(letters).translate(LOOK_ALIKE))


def _name(anchor: Anchor) -> str:
    name = getattr(anchor, "name", None) or ""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())
