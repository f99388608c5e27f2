"""Takes features from a file into the register as drafts of its own.

Another group's approval is not ours: whatever comes in starts as a draft here, but one thing travels at once: a
withdrawal beats every copy. What is known already is left as it is and said.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from siteassess.errors import StoreError
from siteassess.reference.findings import worded
from siteassess.register.actions import By, move
from siteassess.register.events import is_name
from siteassess.register.incoming import Incoming
from siteassess.register.moves import ARCHIVED, WITHDRAWN
from siteassess.register.share import Shared
from siteassess.register.views import Folded
from siteassess.register.writer import Writer


@dataclass
class AdoptReport:
    """What an import did, by name of the subject here."""

    added: dict[str, str] = field(default_factory=dict)
    known: list[str] = field(default_factory=list)
    withdrawn: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    here: dict[str, str] = field(default_factory=dict)
    photos: int = 0


def adopt(
    writer: Writer, incoming: Incoming, by: By, on: date, *, site: str | None = None,
    tick: Callable[[int], None] = lambda done: None,
) -> AdoptReport:
    """Take in the features of a file, inside the caller's change.

    Parameters
    ----------
    site : name of the site here that points of another program belong to; None makes a site for them

    Raises
    ------
    FaultyInput : a record is faulty; nothing is taken in then.
    """
    report = AdoptReport()
    here = report.here
    source = _source(incoming)
    order = {"site": 0, "anchor": 1, "line": 2}
    features = sorted(incoming.features, key=lambda f: order[f.kind])
    if incoming.foreign and features and site is None:
        name = incoming.source[:200]
        body = {"record": {"name": name}, "source": source}
        site = writer.add("site", "", body, who=by.who, why=by.why).name
        report.added[site] = name
    until = incoming.facts.get("copy_valid_until")
    if until and until < on.isoformat():
        report.notes.append(worded("rg-copy-ran-out", day=until))
    for done, feature in enumerate(features, start=1):
        known = _known_here(writer, feature) if feature.id else None
        if known:
            here[feature.id] = known
            report.known.append(known)
        else:
            _add(writer, feature, site, by, source, report)
        ours = here.get(feature.id)
        if ours and feature.status in (WITHDRAWN, ARCHIVED):
            _withdraw(writer, ours, feature, by, on, source, report)
        tick(done)
    return report


def _source(incoming: Incoming) -> str:
    """Where it is from: the file, and what it says of itself under its own keys, which are of no language."""
    facts = (f"{key}: {incoming.facts[key]}" for key in ("licence", "copy_valid_until") if incoming.facts.get(key))
    return ", ".join((incoming.source, *facts))[:500]


def _known_here(writer: Writer, feature: Shared) -> str | None:
    event = writer.store.event(feature.id)
    if event is not None and event.kind == feature.kind and not event.subject:
        return feature.id
    writer.draw()
    row = writer.db.execute(f"SELECT subject FROM {feature.kind}s WHERE origin = ?", (feature.id,)).fetchone()
    return row[0] if row else None


def _add(writer: Writer, feature: Shared, site: str | None, by: By, source: str, report: AdoptReport) -> None:
    here = report.here
    body: dict[str, Any] = {"record": feature.record, "source": source}
    if feature.id:
        body["origin"] = feature.id
    if feature.kind != "site":
        holder = here.get(feature.site_id) or site
        if holder is None:
            report.left_out.append(worded("rg-site-not-in-file", thing=_thing(feature)))
            return
        body["site"] = holder
    if feature.kind == "anchor" and not feature.exact:
        body["sensitive"] = True
    if feature.kind == "line":
        ends = [here[name] for name in feature.anchors or () if name in here]
        if len(ends) < 2:
            report.left_out.append(worded("rg-anchors-not-in-file", thing=_thing(feature)))
            return
        body["anchors"] = ends
    name = writer.add(feature.kind, "", body, who=by.who, why=by.why).name
    if feature.id:
        here[feature.id] = name
    report.added[name] = feature.code


def _thing(feature: Shared) -> str:
    return worded("rg-thing", kind=feature.kind, label=feature.code)


def _withdraw(writer: Writer, name: str, feature: Shared, by: By, on: date, source: str, report: AdoptReport) -> None:
    writer.draw()
    if Folded(writer.db).known(name).moved_to in (WITHDRAWN, ARCHIVED):
        return
    try:
        move(writer, name, WITHDRAWN, By(by.who, f"{by.why} ({source})"[:500]), on=on)
    except StoreError as error:
        report.left_out.append(error.args[0])
    else:
        report.withdrawn.append(name)


def adopt_photos(
    writer: Writer, report: AdoptReport, shown: Mapping[str, list[dict[str, Any]]],
    photos: Mapping[str, tuple[str, bytes]], by: By,
) -> int:
    """Keep the photos of what was newly taken in; how many.

    Parameters
    ----------
    shown : by name in the file, what is said of each of its photos
    photos : by hash, (media type, bytes), already found to be photos
    """
    count = 0
    for origin, said in shown.items():
        name = report.here.get(origin)
        if name not in report.added:
            continue
        for body in said:
            if not is_name(body.get("sha256")) or body["sha256"] not in photos:
                report.left_out.append(worded("rg-photo-not-in-file", name=report.added[name]))
                continue
            media_type, data = photos[body["sha256"]]
            writer.keep_photo(body["sha256"], media_type, data)
            # how far another group shares a photo is theirs to say; here it starts with the officers
            writer.add("photo", name, {**body, "share": "officer"}, who=by.who, why=by.why)
            count += 1
    return count
