"""What members' copies told of hidden trees so far, and what a new copy may show and tell beside it.

Readers keep copies and lay them side by side. So the register keeps an entry of what each copy newly told, and of a
hidden tree five candidates have to be left after all of them. What was told can be said again, which tells nothing
new. A tree that no copy showed yet and that would leave too few is left out, as if it were not listed: that nobody is
told of it tells nobody where it stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from siteassess.errors import StoreError
from siteassess.places.exchange import Place
from siteassess.reference.findings import worded
from siteassess.register import reading_records
from siteassess.register.crowd import SHOWN_M, Crowd, CrowdCell, KnownTree, Saying, TreeTold
from siteassess.register.fold import Subject
from siteassess.register.hidden import (
    founding_survey,
    hidden_parts,
    stay_lost_together,
    stays_lost,
    told_of,
    told_of_all,
)
from siteassess.register.intact import history_of, lost, taken_out
from siteassess.register.reasons import reason, sentence
from siteassess.register.views import Folded
from siteassess.units import DEGREE_M

if TYPE_CHECKING:
    from siteassess.register.share import Copy
    from siteassess.register.store import Store
    from siteassess.register.writer import Writer

# the hidden trees of a park by name: all that was told of each, and where it stands
Park = Mapping[str, tuple[list[Saying], Place | None]]
# an entry has to stay under the size and depth that reading allows
MOST_PLACES = 10_000


class Memory:
    """What the copies made for members told, from the register's own entries, merged ones too."""

    def __init__(self, store: Store):
        self._store = store
        subjects = store.db.execute("SELECT DISTINCT subject FROM events WHERE kind IN ('register', 'copy')").fetchall()
        histories = [history_of(store.db, subject) for (subject,) in subjects]
        found = [event for history in histories for event in history.events if event.kind == "copy"]
        found.sort(key=lambda event: (event.recorded, event.name))
        self.names = frozenset(event.name for event in found)
        # whether nothing speaks for it that a copy told more than is known here
        self.whole = (
            all(history.complete for history in histories)
            and not any(event.body.get("lost") for event in found)
            and not lost(store.db)
            and not taken_out(store.db)
        )
        self._parks: dict[str, list[Mapping[str, Any]]] = {}
        for park in (park for event in found for park in event.body.get("parks", ())):
            self._parks.setdefault(park["site"], []).append(park)
        self._places: dict[str, Place | None] = {}

    @cached_property
    def shown(self) -> frozenset[Place]:
        """Where anchors stand that some copy showed, (longitude, latitude) [deg]."""
        parks = (park for told in self._parks.values() for park in told)
        return frozenset((lon, lat) for park in parks for lat, lon in park.get("shown", ()))

    @cached_property
    def _sayings(self) -> dict[str, list[Saying]]:
        found: dict[str, list[Saying]] = {}
        for park in (park for told in self._parks.values() for park in told):
            beside = [(lon, lat) for lat, lon in park.get("shown", ())]
            beside = beside or [p for tree in park.get("hidden", ()) if (p := self.place(tree["tree"]))]
            for tree in park.get("hidden", ()):
                cell = CrowdCell(*(tree["cell"][key] for key in ("lat", "lon", "side_m"))) if "cell" in tree else None
                told = TreeTold(cell, tree.get("genus"), tree.get("girth_class"))
                saying = Saying(told, tuple(beside), frozenset(tree.get("unlike", ())))
                found.setdefault(tree["tree"], []).append(saying)
        return found

    @property
    def tells(self) -> bool:
        """Whether a copy told more of any tree than that it is hidden."""
        return any("cell" in tree for told in self._parks.values() for park in told for tree in park.get("hidden", ()))

    def of(self, tree: str) -> list[Saying]:
        """All that was told of a hidden tree, the oldest first."""
        return self._sayings.get(tree, [])

    def founding(self, tree: str) -> Mapping[str, Any]:
        surveyed = (event for event in self._store.events(tree) if event.kind == "anchor" and event.about == tree)
        in_order = sorted(surveyed, key=lambda event: (event.recorded, event.name))
        return founding_survey(event.body["record"] for event in in_order)

    def place(self, tree: str) -> Place | None:
        """Where a tree stood at its first survey, (longitude, latitude) [deg]."""
        if tree not in self._places:
            place = reading_records.position(self.founding(tree))
            self._places[tree] = (place[1], place[0]) if place else None
        return self._places[tree]

    def has_shown(self, tree: str, place: Place) -> bool:
        """Whether a tree stood where some copy showed one, at any of its surveys."""
        if _rounded(place) in self.shown:
            return True
        surveyed = [event.body["record"] for event in self._store.events(tree) if event.kind == "anchor"]
        return any(p and _rounded((p[1], p[0])) in self.shown for p in map(reading_records.position, surveyed))

    def lists_beside(self, trees: Iterable[str], seen: Iterable[Place]) -> bool:
        """Whether copies told already that each of these is hidden beside some of the trees that are seen."""
        seen = {_rounded(place) for place in seen}
        return all(any(saying.beside and seen.issuperset(saying.beside) for saying in self.of(t)) for t in trees)

    def knows(self, park: Mapping[str, Any]) -> bool:
        return park in self._parks.get(park["site"], ())


def _rounded(place: Place) -> Place:
    return round(place[0], 5), round(place[1], 5)


def points_of(parts: Iterable[Subject]) -> list[Place]:
    """Where anchors stand, (longitude, latitude) [deg]."""
    places = [reading_records.position(part.record) for part in parts if part.kind == "anchor"]
    return [(place[1], place[0]) for place in places if place]


@dataclass(frozen=True)
class LeftOutOfCopy:
    """A tree that is not shown: it would leave `left` candidates for a hidden one; None where nobody can see that."""

    tree: Subject
    hidden: str
    left: int | None


@dataclass
class Keeping:
    """What is kept back while one copy is made; see `Keeping.begin`."""

    memory: Memory
    crowd: Crowd | None
    left_out: dict[str, LeftOutOfCopy] = field(default_factory=dict)
    # hidden trees of which nothing is told any more, since earlier copies together leave too few
    too_few: list[str] = field(default_factory=list)
    # sites of whose hidden trees something is told, and whose outline nobody held against it
    no_outline: list[Subject] = field(default_factory=list)

    @classmethod
    def begin(cls, store: Store, folded: Folded, crowd: Crowd | None, fewer_is_right: bool) -> Keeping:
        """Looks at all parks, for readers put their copies side by side.

        Parameters
        ----------
        crowd : an open inventory, None where nobody holds one against the copy
        fewer_is_right : somebody said that trees are shown whatever they leave of a hidden one
        """
        memory = Memory(store)
        shown: dict[str, tuple[Subject, Place]] = {}
        told: list[Park] = []
        # where nothing was told and nothing can be, nobody need look
        for name in folded.site_names() if crowd is not None or memory.tells else ():
            site = folded.known(name)
            parts = [part for part in folded.parts(name, "anchor", "line") if part.versions]
            hidden = hidden_parts(parts, site, folded.around)
            shown |= {part.id: (part, p) for part in parts if part.id not in hidden for p in points_of([part])}
            # one that is hidden no more is looked for as long as it is not shown
            park = {part.id: (said, memory.place(part.id)) for part in parts if (said := memory.of(part.id))}
            if any(saying.told.cell for sayings, _ in park.values() for saying in sayings):
                told.append(park)
            folded.keep_small()
        found: dict[str, LeftOutOfCopy] = {}
        # whoever looks may hold no outlines, or others: a tree outside them takes a candidate away too
        for held in () if fewer_is_right else _as_held(crowd):
            found = _left_out(memory, held, shown, told) | found
        if crowd is not None:
            crowd = crowd.without([*memory.shown, *(p for name, (_, p) in shown.items() if name not in found)])
        # what was told and is lost might be anything: then nothing is told beside it
        return cls(memory, crowd if memory.whole or fewer_is_right else None, found)

    def leaves_out(self, part: Subject) -> bool:
        """Whether an anchor or line is not listed at all; what copies listed as hidden stays hidden instead."""
        ends = {name for version in part.versions for name in version.body.get("anchors", ())}
        return any(name in self.left_out and not self.memory.of(name) for name in (part.id, *ends))

    def of_park(self, parts: list[Subject], site: Subject, folded: Folded) -> tuple[set[str], dict[str, Saying]]:
        """Names of what is hidden of a park, and what is said of each hidden anchor."""
        stay = {part.id for part in parts if part.id in self.left_out}
        hidden = hidden_parts(parts, site, folded.around, stay)
        seen = points_of(part for part in parts if part.id not in hidden)
        trees = [part for part in parts if part.id in hidden and part.kind == "anchor"]
        places = seen or [place for tree in trees if (place := self.memory.place(tree.id))]
        nothing = {tree.id: Saying(beside=tuple(places)) for tree in trees}
        earlier = {tree.id: self.memory.of(tree.id) for tree in trees}
        told_before = [tree for tree, said in earlier.items() if any(saying.told.cell for saying in said)]
        if self.crowd is None:
            # nobody can see what neighbours that are new beside a tree leave of what was told of it
            fits = not seen or self.memory.lists_beside(told_before, seen)
            return (hidden, nothing) if fits else _all_hidden(parts)
        told = {t.id: told_of(t, self.memory.founding(t.id), self.crowd, earlier[t.id]) for t in trees}
        alone = {t: self.crowd.saying(told[t], seen, t not in told_before) for t in told}
        if not seen or all(stays_lost([*earlier[t], alone[t]], self.crowd) for t in told):
            # who is told a park's name, by which members find it, knows where it lies
            by_itself = {tree.id: (told[tree.id], self.memory.place(tree.id)) for tree in trees}
            said = told_of_all(by_itself, self.crowd, places, earlier)
            lost_beside = [tree for tree in told_before if said[tree].told.cell is None]
        else:
            said, lost_beside = nothing, list(told)
        if seen and not self.memory.lists_beside(lost_beside, seen):
            # its neighbours would show the park it stands in, and too few trees there are like it
            hidden, said = _all_hidden(parts)
        self.too_few += [tree for tree in told_before if said[tree].told.cell is None]
        if not self.crowd.knows_park(places) and any(one.told.cell for one in said.values()):
            self.no_outline.append(site)
        return hidden, said


def _all_hidden(parts: list[Subject]) -> tuple[set[str], dict[str, Saying]]:
    anchors = [part for part in parts if part.kind == "anchor"]
    saying = Saying(beside=tuple(points_of(anchors)))
    return {part.id for part in parts}, {anchor.id: saying for anchor in anchors}


def _as_held(crowd: Crowd | None) -> list[Crowd | None]:
    """The inventory with the outlines that are held against a copy, and without."""
    return [crowd] if crowd is None or crowd.outlines is None else [crowd, crowd.without_outlines()]


def _left_out(
    memory: Memory, crowd: Crowd | None, shown: Mapping[str, tuple[Subject, Place]], told: Sequence[Park]
) -> dict[str, LeftOutOfCopy]:
    """Trees that no copy showed yet and that would leave fewer than five for one whose park was told of."""
    touched: dict[str, list[int]] = {}
    for name, (_, place) in shown.items() if told else ():
        parks = [at for at, park in enumerate(told) if _touches(place, park, crowd)]
        if parks and not memory.has_shown(name, place):
            touched[name] = parks
    if not touched:
        return {}
    found: dict[str, LeftOutOfCopy] = {}
    told = [{tree: said for tree, said in park.items() if tree in touched or tree not in shown} for park in told]
    now = crowd and crowd.without([*memory.shown, *(p for name, (_, p) in shown.items() if name not in touched)])
    # the oldest first: what is left out once is left out again, whatever comes later
    for name in sorted(touched, key=lambda name: (min(v.recorded for v in shown[name][0].versions), name)):
        tree, place = shown[name]
        tried = now and now.without([place])
        beside = [{one: said for one, said in park.items() if one != name} for park in told]
        worst = [w for at in touched[name] if (w := _narrowed(beside[at], tried))]
        if worst:
            found[name] = LeftOutOfCopy(tree, *min(worst, key=lambda w: (w[1] or 0, w[0])))
        else:
            now, told = tried, beside
    return found


def _touches(place: Place, park: Park, crowd: Crowd | None) -> bool:
    """Whether showing a tree takes away one that a hidden tree of a park might be."""
    sayings = [said for said, _ in park.values() if any(saying.told.cell for saying in said)]
    if crowd is not None:
        return any(crowd.fitting(said, crowd.near(place)) for said in sayings)
    step = SHOWN_M / DEGREE_M
    along = step / max(math.cos(math.radians(place[1])), 1e-3)
    around = [KnownTree(place[1] + i * step, place[0] + j * along, None, None) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    anywhere = [[Saying(TreeTold(saying.told.cell), saying.beside) for saying in said] for said in sayings]
    return any(all(s.fits(point) for s in said) for point in around for said in anywhere)


def _narrowed(park: Park, crowd: Crowd | None) -> tuple[str, int | None] | None:
    """The hidden tree of a park with the fewest candidates, and how many, unless enough are left of each."""
    told = {name: said for name, (said, _) in park.items() if any(saying.told.cell for saying in said)}
    if crowd is None:
        return (min(told), None) if told else None
    if stay_lost_together(park, crowd):
        return None
    return min(((name, len(crowd.may_be(said))) for name, said in told.items()), key=lambda found: (found[1], found[0]))


def told_park(site: str, shown: Iterable[Place], said: Mapping[str, Saying]) -> dict[str, Any]:
    """What a copy shows and tells of one site, as it is kept."""
    park: dict[str, Any] = {"site": site}
    if places := sorted({_rounded(place) for place in shown}):
        park["shown"] = [[lat, lon] for lon, lat in places]
    if said:
        park["hidden"] = [_told_tree(name, said[name]) for name in sorted(said)]
    return park


def _told_tree(name: str, saying: Saying) -> dict[str, Any]:
    told = saying.told
    kept: dict[str, Any] = {"tree": name}
    if told.cell is not None:
        kept["cell"] = {"lat": told.cell.latitude, "lon": told.cell.longitude, "side_m": told.cell.side_m}
    kept |= {key: value for key in ("genus", "girth_class") if (value := getattr(told, key))}
    return kept | ({"unlike": sorted(saying.unlike)} if saying.unlike else {})


def remember(store: Store, copy: Copy, who: str) -> None:
    """Keep what a copy newly tells; a copy that tells nothing new is not written down.

    Raises
    ------
    StoreError : the register cannot be written, or another copy was made since this one was.
    """
    if not any(not Memory(store).knows(park) for park in copy.parks):
        return
    try:
        with store.change() as writer:
            memory = Memory(store)
            new = [park for park in copy.parks if not memory.knows(park)]
            if memory.names != copy.known_copies:
                raise StoreError(worded("rg-copy-meanwhile", file=store.path.name))
            as_made = store.heads() == copy.heads
            _write(writer, new, copy.made_on, who, sentence(reason("copy-for-members"), copy.language))
        if as_made:
            # noted in a copy, the head is proof of this entry too
            copy.heads = store.heads()
    except StoreError as error:
        raise StoreError(worded("rg-copy-not-kept", why=error.args[0])) from error


def _write(writer: Writer, parks: list[dict[str, Any]], on: str, who: str, why: str) -> None:
    register = writer.store.first_register().name
    part: list[dict[str, Any]] = []
    for at, park in enumerate(parks, start=1):
        part.append(park)
        if at == len(parks) or sum(len(one.get("shown", ())) for one in part) > MOST_PLACES:
            writer.add("copy", register, {"date": on, "parks": part}, who=who, why=why)
            part = []
