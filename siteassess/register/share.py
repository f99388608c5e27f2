"""What a copy for one layer of readers says: built once here, then written by each format.

Every format carries the same features and the same facts about the copy (licence, last day, layer, head), so what one
of them may not say none of them says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from siteassess.reference.constants import constant
from siteassess.reference.texts import cautions, text
from siteassess.register import privacy, reading_records
from siteassess.register.answer import (
    MAY_NOT,
    answer,
    conditions_for_readers,
    conditions_on,
    for_readers,
    why_told,
)
from siteassess.register.copies import Keeping, LeftOutOfCopy, points_of, told_park
from siteassess.register.crowd import Crowd, Saying, TreeTold
from siteassess.register.fold import Subject
from siteassess.register.free_texts import KEPT_BACK, NOTHING_UNSAID, Unsaid
from siteassess.register.hidden import hidden_code, reach_of
from siteassess.register.intact import Doubts
from siteassess.register.moves import CAUTION_ORDER, DRAFT, SURVEYED, most_cautious
from siteassess.register.reasons import Reason, licence_told, reason, sentence, text_of
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.views import Folded, ends_of_line, site_point
from siteassess.units import show

COPY_DAYS = int(constant("copy good for"))


@dataclass
class Shared:
    """One site, anchor or line as a layer may see it; `points` are (longitude, latitude) [deg].

    Of a hidden tree `points` is the middle of a cell, if anything, and `girth_class` stands for its girth.
    """

    kind: str
    id: str
    site_id: str
    site_name: str
    code: str
    status: str
    record: dict[str, Any]
    points: list[tuple[float, float]] | None = None
    exact: bool = True
    status_until: str | None = None
    valid_until: str | None = None
    conditions: str | None = None
    anchors: tuple[str, str] | None = None
    girth_class: str | None = None
    # what is read from a file is no leave to rig here, so the fields below are only ever filled from the register
    may_rig_now: str = MAY_NOT
    may_rig_until: str | None = None
    may_rig_codes: str = ""
    may_rig_why: str = "not worked out"
    group_mark: str | None = None
    owner_mark: str | None = None
    is_open: bool = False
    # the same as codes, for a page in other languages
    why: Reason | None = None
    marks: Mapping[str, Reason] = field(default_factory=dict)
    conditions_told: tuple[str | Reason, ...] = ()


@dataclass
class Copy:
    """A copy of the register for one layer."""

    title: str
    layer: str
    licence: str
    made_on: str
    copy_valid_until: str
    heads: tuple[str, ...]
    features: list[Shared] = field(default_factory=list)
    photos: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    whole: bool = True
    language: str = "en"  # in what it is told
    # what the register has to keep of it once it is written, and what it kept of others when this one was made
    parks: list[dict[str, Any]] = field(default_factory=list)
    known_copies: frozenset[str] = frozenset()
    # what somebody has to be told who makes it, see `copies`
    left_out: list[LeftOutOfCopy] = field(default_factory=list)
    too_few: list[str] = field(default_factory=list)
    no_outline: list[Subject] = field(default_factory=list)
    memory_whole: bool = True

    @property
    def cautions(self) -> tuple[str, ...]:
        return cautions(self.language, on="copy")

    def in_words(self) -> str:
        """Cautions, licence and last day as sentences."""
        licence = licence_told(self.licence, self.language)
        told = reason("whole", cautions=" ".join(self.cautions), licence=licence, day=self.copy_valid_until)
        return sentence(told, self.language, group="copy")

    def facts(self) -> dict[str, str]:
        """What every file says of itself."""
        return {
            "title": self.title, "layer": self.layer, "licence": self.licence, "made_on": self.made_on,
            "copy_valid_until": self.copy_valid_until, "heads": " ".join(self.heads),
            "cautions": " ".join(self.cautions),
        }


def make_copy(
    store: Store, layer: str, on: date, *, licence: str | None = None, sites: Iterable[str] | None = None,
    copy_days: int = COPY_DAYS, crowd: Crowd | None = None, fewer_is_right: bool = False,
    tick: Callable[[int], None] = lambda done: None, language: str = "en",
) -> Copy:
    """A copy of what a layer may see.

    Parameters
    ----------
    store : of the register
    layer : "public", "members" or "officer"
    on : the day of the copy; statuses are those of that day
    licence : None takes the register's own
    sites : names of the sites wanted; None takes all
    copy_days : how long the copy may be passed on [d]
    crowd : an open inventory of the place's trees; without it a hidden tree's kind, girth and cell are not told
    fewer_is_right : show trees also where earlier copies and they together leave fewer than five for a hidden one
    language : in what it is told
    tick : told how many things are done

    Returns
    -------
    Copy, features sorted by site, kind and code.
    """
    register = store.first_register()
    copy = Copy(
        title=register.body["title"], layer=layer, licence=licence or register.body["licence"], made_on=on.isoformat(),
        copy_valid_until=(on + timedelta(days=copy_days)).isoformat(), heads=store.heads(), whole=sites is None,
        language=language,
    )
    wanted = set(sites) if sites is not None else None
    desk = _Desk(copy, on, Folded(store.db))
    desk.doubts = store.doubts(desk.folded)
    if layer != "officer":
        desk.keeping = Keeping.begin(store, desk.folded, crowd, fewer_is_right)
    for done, name in enumerate(desk.folded.site_names(), start=1):
        if wanted is None or name in wanted:
            _add_site(store, desk, desk.folded.known(name))
        desk.folded.keep_small()
        tick(done)
    if layer == "members" and (keeping := desk.keeping) is not None:
        copy.known_copies, copy.memory_whole = keeping.memory.names, keeping.memory.whole
        copy.too_few, copy.no_outline = keeping.too_few, keeping.no_outline
    return copy


@dataclass
class _Desk:
    """What lies on the desk while a copy is made."""

    copy: Copy
    on: date
    folded: Folded
    keeping: Keeping | None = None
    doubts: Doubts = Doubts()
    # names that no text of the park at hand may hold
    unsaid: Unsaid = NOTHING_UNSAID

    @property
    def layer(self) -> str:
        return self.copy.layer


def _add_site(store: Store, desk: _Desk, site: Subject) -> None:
    if not site.versions or not privacy.may_see(desk.layer, reach_of(site, site)):
        return
    listed = desk.folded.parts(site.id, "anchor", "line")
    parts = [part for part in listed if part.versions and _shown(part, site, desk.folded, desk.layer)]
    hidden: set[str] = set()
    said: dict[str, Saying] = {}
    if desk.keeping is not None:
        if desk.layer == "members":
            desk.copy.left_out += [found for part in parts if (found := desk.keeping.left_out.get(part.id))]
        parts = [part for part in parts if not desk.keeping.leaves_out(part)]
        hidden, said = desk.keeping.of_park(parts, site, desk.folded)
        unknown = {part.id for part in listed} - {part.id for part in parts} | hidden
        desk.unsaid = Unsaid(map(desk.folded.known, sorted(unknown)))
    told = {name: said[name].told if name in said else TreeTold() for name in hidden}
    features = [_part(part, site, desk, told.get(part.id)) for part in parts]
    # codes of hidden things are made of their names: their order tells nothing
    features.sort(key=lambda f: (f.kind, reading_records.natural(f.code), f.id))
    feature = _site(site, desk)
    if desk.layer != "officer" and parts and all(part.id in hidden for part in parts):
        # how to reach a place where every tree is hidden leads to them; whom to call does not
        number = (feature.record.pop("emergency", None) or {}).get("number")
        feature.record |= {"emergency": {"number": number}} if number else {}
    feature.points, feature.exact = _site_points(store, site, parts, hidden, desk.layer)
    lines = [one for one in features if one.kind == "line"]
    best = _most_open({line.status for line in lines}, desk.layer)
    if not site.moves and feature.status == DRAFT:
        # nobody moves a park by itself: it is as open as the most open thing in it
        feature.status = best
    elif desk.layer == "public" and best not in (DRAFT, SURVEYED):
        feature.status = most_cautious((feature.status, best))
    # whoever did move it spoke of the park, and nobody rigs there while every line is closed
    feature.is_open = any(line.is_open for line in lines)
    if desk.layer == "public":
        if feature.status in (DRAFT, SURVEYED):
            return
        desk.copy.features.append(feature)
    else:
        desk.copy.features += [feature, *features]
        if desk.layer == "members" and (said or any(f.kind == "anchor" for f in features)):
            desk.copy.parks.append(told_park(site.id, points_of(p for p in parts if p.id not in hidden), said))
    for part in (site, *parts):
        if shown := _photos(part, desk.layer, part.id in hidden):
            desk.copy.photos[part.id] = shown


def _most_open(statuses: set[str], layer: str) -> str:
    # the public sees no lines: that the last open one was withdrawn must show in the park, whatever is still drafted
    shown = statuses - {DRAFT, SURVEYED} if layer == "public" else statuses
    return max(shown or statuses, key=CAUTION_ORDER.index, default=DRAFT)


def _shown(part: Subject, site: Subject, folded: Folded, layer: str) -> bool:
    # a line points at its anchors: it goes no further than they do
    ends = {name for version in part.versions for name in version.body.get("anchors", ())}
    return all(
        one is not None and privacy.may_see(layer, reach_of(one, site))
        for one in (part, *map(folded.subject, sorted(ends)))
    )


def _site(site: Subject, desk: _Desk) -> Shared:
    return _feature("site", site, site, privacy.visible(site.record, desk.layer, "site", unsaid=desk.unsaid), desk)


def _part(part: Subject, site: Subject, desk: _Desk, told: TreeTold | None) -> Shared:
    """An anchor or line; `told` is what may be said of a hidden one, None for any other."""
    record = privacy.visible(part.record, desk.layer, part.kind, told is not None, desk.unsaid) or {}
    if told is not None:
        _under_another_code(record, part)
    feature = _feature(part.kind, part, site, record, desk, told is not None)
    feature.exact = told is None
    if part.kind == "line":
        feature.anchors = tuple(part.current.body["anchors"])
        feature.points = ends_of_line(desk.folded, part) if told is None else None
    elif told is not None:
        _tell(feature, told, desk.copy.language)
    else:
        place = reading_records.position(part.record)
        feature.points = [(place[1], place[0])] if place else None
        if desk.layer != "officer":
            record.pop("position", None)
            record |= {"position": {"fixes": [_shared_fix(part.record, place)]}} if place else {}
    return feature


def _under_another_code(record: dict[str, Any], part: Subject) -> None:
    record["code" if part.kind == "anchor" else "id"] = hidden_code(part.id)
    if record.get("kind") == "other":
        record["what"] = KEPT_BACK
    if part.kind == "line":
        for end, name in zip("ab", part.current.body["anchors"], strict=True):
            record[end] = {"anchor": hidden_code(name)}


def _tell(feature: Shared, told: TreeTold, language: str) -> None:
    """What may be said of a hidden tree, entered as any survey would say it."""
    if told.cell is not None:
        feature.points = [(told.cell.longitude, told.cell.latitude)]
        accuracy = show(told.cell.side_m / 2**0.5, "m 0")
        fix = {"lat": told.cell.latitude, "lon": told.cell.longitude, "accuracy": accuracy}
        source = sentence(reason("middle-of-cell"), language, group="copy")
        feature.record["position"] = {"fixes": [{**fix, "source": source}]}
    if told.genus is not None:
        feature.record["species"] = {"name": told.genus.capitalize(), "certainty": "think so"}
    feature.girth_class = told.girth_class


def _feature(
    kind: str, part: Subject, site: Subject, record: dict[str, Any], desk: _Desk, hidden: bool = False
) -> Shared:
    may = answer(part, desk.folded.around, desk.on, desk.doubts, copy_ends=desk.copy.copy_valid_until)
    if desk.layer != "officer":
        may = for_readers(may, hidden)
    stands_on = [desk.folded.subject(name) for name in part.current.body.get("anchors", ())]
    stands_on += [site] if part is not site else []
    why = why_told(may, desk.on)
    conditions = _conditions(conditions_on(part, may.standing, filter(None, stands_on)), desk, hidden)
    return Shared(
        kind, part.id, site.id, site.record["name"], hidden_code(part.id) if hidden else label(part),
        may.standing.status, record, status_until=may.standing.until, valid_until=may.standing.valid_until,
        conditions=text("between").join(map(text_of, conditions)) or None,
        may_rig_now=may.word, may_rig_until=may.until,
        may_rig_codes=" ".join(dict.fromkeys(why.code for why in may.reasons)),
        may_rig_why=sentence(why), group_mark=sentence(may.marks["group"], group="mark"),
        owner_mark=sentence(may.marks["owner"], group="mark"), is_open=may.is_open, why=why, marks=may.marks,
        conditions_told=tuple(conditions),
    )


def _conditions(asked: list[str | Reason], desk: _Desk, hidden: bool) -> list[str | Reason]:
    if desk.layer == "public":
        return []
    return asked if desk.layer == "officer" else conditions_for_readers(asked, hidden, desk.unsaid)


def _shared_fix(record: Mapping[str, Any], place: tuple[float, float, float | None]) -> dict[str, Any]:
    lat, lon = place[:2]
    fixes = record["position"]["fixes"]
    typed: Mapping[str, Any] = next((fix for fix in fixes if (fix.get("lat"), fix.get("lon")) == (lat, lon)), {})
    kept = {key: typed[key] for key in ("accuracy", "accuracy_means", "how") if key in typed}
    return {"lat": lat, "lon": lon, **kept}


def _site_points(
    store: Store, site: Subject, parts: list[Subject], hidden: set[str], layer: str
) -> tuple[list[tuple[float, float]] | None, bool]:
    """A site's point out of nothing that its layer may not see: of hidden trees it says nothing at all."""
    if layer == "officer":
        return site_point(store.db, site.id), True
    seen = points_of(part for part in parts if part.id not in hidden)
    if not seen:
        return None, False
    lons, lats = [p[0] for p in seen], [p[1] for p in seen]
    across = max(lons) - min(lons) >= 180
    lon, lat = seen[0] if across else ((min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2)
    if layer == "members":
        return [(lon, lat)], True
    lat, lon = privacy.middle_of_cell(lat, lon, privacy.PUBLIC_GRID_M)
    return [(lon, lat)], False


def _photos(part: Subject, layer: str, hidden: bool) -> list[dict[str, Any]]:
    shown = []
    for entry in part.of("photo"):
        bodies = entry.bodies
        needed = max((body.get("share", "officer") for body in bodies), key=privacy.LAYERS.index)
        if layer != "officer":
            if hidden or not privacy.may_see(layer, needed) or not all(body.get("no_people") for body in bodies):
                continue
            shown.append({key: entry.body[key] for key in ("sha256", "media_type", "size_bytes")})
        else:
            shown.append(dict(entry.body))
    return shown
