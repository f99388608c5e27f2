"""What a copy for one layer of readers says: built once here, then written by each format.

Every format carries the same features and the same facts about the copy (licence, last day, layer, head), so what one
of them may not say none of them says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from siteassess.register import privacy, reading_records
from siteassess.register.fold import Subject
from siteassess.register.moves import CAUTION_ORDER, DRAFT, SURVEYED
from siteassess.register.permission import MAY_NOT, conditions_on, permission
from siteassess.register.standing import label, standing
from siteassess.register.store import Store
from siteassess.register.views import Folded

COPY_DAYS = 90
CAUTIONS = (
    "A user's list and an estimate, not an inspection by a qualified arborist or engineer.",
    "Local law, the land manager's word and the makers' instructions come first.",
    "Trees fail without warning signs. Look again on the day.",
    "A fall from a high line can kill; high lines need trained people and independent backups.",
    "An old copy is no permission: ask the group for today's status.",
)
@dataclass
class Feature:
    """One site, anchor or line as a layer may see it; `points` are (longitude, latitude) [deg]."""

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
    # what is read from a file is no leave to rig here, so the fields below are only ever filled from the register
    may_rig_now: str = MAY_NOT
    may_rig_why: str = "not worked out"
    group_mark: str | None = None
    owner_mark: str | None = None
    is_open: bool = False


@dataclass
class Copy:
    """A copy of the register for one layer."""

    title: str
    layer: str
    licence: str
    made_on: str
    copy_valid_until: str
    heads: tuple[str, ...]
    features: list[Feature] = field(default_factory=list)
    photos: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    cautions: tuple[str, ...] = CAUTIONS
    whole: bool = True

    def in_words(self) -> str:
        """Cautions, licence and last day as sentences."""
        return f"{' '.join(self.cautions)} Licence: {self.licence}. Copy valid until {self.copy_valid_until}."

    def facts(self) -> dict[str, str]:
        """What every file says of itself."""
        return {
            "title": self.title,
            "layer": self.layer,
            "licence": self.licence,
            "made_on": self.made_on,
            "copy_valid_until": self.copy_valid_until,
            "heads": " ".join(self.heads),
            "cautions": " ".join(self.cautions),
        }


def make_copy(
    store: Store,
    layer: str,
    on: date,
    *,
    licence: str | None = None,
    sites: Iterable[str] | None = None,
    copy_days: int = COPY_DAYS,
    tick: Callable[[int], None] = lambda done: None,
) -> Copy:
    """A copy of what a layer may see.

    Parameters
    ----------
    layer : "public", "members" or "officer"
    on : the day of the copy; statuses are those of that day
    licence : None takes the register's own
    sites : names of the sites wanted; None takes all
    copy_days : how long the copy may be passed on [d]

    Returns
    -------
    Copy, features sorted by site, kind and code.
    """
    register = store.first_register()
    copy = Copy(
        title=register.body["title"],
        layer=layer,
        licence=licence or register.body["licence"],
        made_on=on.isoformat(),
        copy_valid_until=(on + timedelta(days=copy_days)).isoformat(),
        heads=store.heads(),
        whole=sites is None,
    )
    folded = Folded(store.db)
    wanted = set(sites) if sites is not None else None
    rows = store.db.execute("SELECT subject FROM sites ORDER BY name, subject").fetchall()
    for done, (site_name,) in enumerate(rows, start=1):
        if wanted is None or site_name in wanted:
            _add_site(store, folded, copy, folded.subject(site_name), on)
        folded.keep_small()
        tick(done)
    return copy


def _add_site(store: Store, folded: Folded, copy: Copy, site: Subject, on: date) -> None:
    site_reach = _reach(site, site)
    if not privacy.may_see(copy.layer, site_reach):
        return
    parts = []
    for table in ("anchors", "lines"):
        rows = store.db.execute(f"SELECT code, subject FROM {table} WHERE site = ?", (site.id,)).fetchall()
        rows.sort(key=lambda row: (reading_records.natural(row[0]), row[1]))
        parts += [folded.subject(row[1]) for row in rows]
    parts = [part for part in parts if _shown(part, site, folded, copy.layer)]
    hidden = _sensitive(parts, site)
    features = [_part(part, site, folded, copy, on, part.id in hidden) for part in parts]
    feature = _site(site, folded, copy, on)
    feature.points, feature.exact = _site_points(store, site, features, copy.layer)
    if not site.moves and feature.status == DRAFT:
        # nobody moves a park by itself: it is as open as the most open thing in it
        feature.status = _most_open({f.status for f in features if f.kind == "line"}, copy.layer)
        feature.is_open = any(f.is_open for f in features if f.kind == "line")
    if copy.layer == "public":
        if feature.status in (DRAFT, SURVEYED):
            return
        copy.features.append(feature)
    else:
        copy.features += [feature, *features]
    for part in (site, *parts):
        if shown := _photos(part, copy.layer, part.id in hidden):
            copy.photos[part.id] = shown


def _most_open(statuses: set[str], layer: str) -> str:
    # the public sees no lines: that the last open one was withdrawn must show in the park, whatever is still drafted
    shown = statuses - {DRAFT, SURVEYED} if layer == "public" else statuses
    return max(shown or statuses, key=CAUTION_ORDER.index, default=DRAFT)


def _shown(part: Subject, site: Subject, folded: Folded, layer: str) -> bool:
    # a line points at its anchors: it goes no further than they do
    ends = {name for version in part.versions for name in version.body.get("anchors", ())}
    return all(
        one is not None and privacy.may_see(layer, _reach(one, site))
        for one in (part, *map(folded.subject, sorted(ends)))
    )


def _reach(part: Subject, site: Subject) -> str:
    """The narrowest of what every version in force of the part and of its site says."""
    said = [privacy.reach(v.body["record"].get("land_status"), v.body.get("share")) for v in site.versions]
    if part is not site:
        said += [v.body["share"] for v in part.versions if "share" in v.body]
    return max(said, key=privacy.LAYERS.index)


def _sensitive(parts: list[Subject], site: Subject) -> set[str]:
    """Names whose exact point stays with the officers."""
    if any(v.body["record"].get("land_status") in privacy.SENSITIVE_LAND for v in site.versions):
        return {part.id for part in parts}
    found = {part.id for part in parts if any(_is_sensitive(version.body) for version in part.versions)}
    while True:
        # span and compass from a line's other end would lead to the place: hide both ends, and what hangs on them
        more = set(found)
        for line in parts:
            ends = {name for version in line.versions for name in version.body.get("anchors", ())}
            if line.kind == "line" and (line.id in found or ends & found):
                more |= {line.id, *ends}
        if more == found:
            return found
        found = more


def _is_sensitive(body: Mapping[str, Any]) -> bool:
    record = body["record"]
    return (
        bool(body.get("sensitive"))
        or record.get("status") in privacy.SENSITIVE_STANDING
        or (record.get("signs") or {}).get("nest_in_use") == "yes"
    )


def _site(site: Subject, folded: Folded, copy: Copy, on: date) -> Feature:
    record = privacy.visible(site.record, copy.layer, "site") or {}
    # a site without its name could not be read back: this layer sees it, or it would not be here
    return _feature("site", site, site, folded, record or {"name": site.record["name"]}, copy, on)


def _part(part: Subject, site: Subject, folded: Folded, copy: Copy, on: date, hidden: bool) -> Feature:
    layer = copy.layer
    hidden = hidden and layer != "officer"
    record = privacy.visible(part.record, layer, part.kind, hidden) or {}
    feature = _feature(part.kind, part, site, folded, record, copy, on)
    if part.kind == "anchor":
        place = reading_records.position(part.record)
        if layer != "officer":
            record.pop("position", None)
            if place:
                record["position"] = {"fixes": [_shared_fix(part.record, place, hidden)]}
        if place:
            feature.points = [_point(place, hidden, privacy.SENSITIVE_GRID_M)]
        feature.exact = not hidden
    else:
        feature.anchors = tuple(part.current.body["anchors"])
        points = [reading_records.position(folded.subject(name).record) for name in feature.anchors]
        if not hidden and None not in points:
            feature.points = [(place[1], place[0]) for place in points]
        feature.exact = not hidden
    return feature


def _feature(
    kind: str, part: Subject, site: Subject, folded: Folded, record: dict[str, Any], copy: Copy, on: date
) -> Feature:
    now = standing(part, folded.around, on)
    may = permission(part, now, on, copy.copy_valid_until)
    stands_on = [folded.subject(name) for name in part.current.body.get("anchors", ())]
    stands_on += [site] if part is not site else []
    return Feature(
        kind,
        part.id,
        site.id,
        site.record["name"],
        label(part),
        now.status,
        record,
        status_until=now.until,
        valid_until=now.valid_until,
        conditions=_conditions(conditions_on(part, now, filter(None, stands_on)), copy.layer),
        may_rig_now=may.may_rig_now,
        may_rig_why=may.why,
        group_mark=may.group_mark,
        owner_mark=may.owner_mark,
        is_open=may.is_open,
    )


def _conditions(texts: list[str], layer: str) -> str | None:
    if layer == "public":
        return None
    shown = [text for text in texts if layer == "officer" or not privacy.looks_personal(text)]
    if len(shown) < len(texts):
        # a condition that may not be shown still binds
        shown.append(f"{len(texts) - len(shown)} more, kept by the group's officers: ask them")
    return "; ".join(shown) or None


def _point(place: tuple[float, float, float | None], hidden: bool, grid_m: float) -> tuple[float, float]:
    lat, lon = privacy.rounded(place[0], place[1], grid_m) if hidden else place[:2]
    return lon, lat


def _shared_fix(record: Mapping[str, Any], place, hidden: bool) -> dict[str, Any]:
    lon, lat = _point(place, hidden, privacy.SENSITIVE_GRID_M)
    if hidden:
        half_diagonal = privacy.SENSITIVE_GRID_M / 2**0.5
        return {"lat": lat, "lon": lon, "accuracy": f"{half_diagonal:.0f} m", "source": "middle of a grid cell"}
    fixes = record["position"]["fixes"]
    typed = next((fix for fix in fixes if (fix.get("lat"), fix.get("lon")) == (lat, lon)), {})
    kept = {key: typed[key] for key in ("accuracy", "accuracy_means", "how") if key in typed}
    return {"lat": lat, "lon": lon, **kept}


def _site_points(store: Store, site: Subject, features: list[Feature], layer: str):
    """A site's point out of nothing that its layer may not see."""
    if layer == "members":
        exact = [
            feature.points[0] for feature in features if feature.kind == "anchor" and feature.exact and feature.points
        ]
        if exact:
            lons, lats = [p[0] for p in exact], [p[1] for p in exact]
            if max(lons) - min(lons) < 180:
                return [((min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2)], True
            return [exact[0]], True
    from siteassess.register.views import site_point

    points = site_point(store.db, site.id)
    if points is None or layer == "officer":
        return points, True
    grid = privacy.PUBLIC_GRID_M if layer == "public" else privacy.SENSITIVE_GRID_M
    lat, lon = privacy.rounded(points[0][1], points[0][0], grid)
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
