"""Formats by the ending of a file's name: writing copies, taking files in."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from siteassess.errors import StoreError, refused
from siteassess.records.files import storable, write_whole
from siteassess.reference.findings import worded
from siteassess.register import bundle, csvw, map_files
from siteassess.register.actions import By
from siteassess.register.adopt import adopt, adopt_photos
from siteassess.register.copies import remember
from siteassess.register.guard import guarded_text, nothing_there, read_bytes
from siteassess.register.incoming import Incoming
from siteassess.register.merge import MergeReport, merge_events
from siteassess.register.share import Copy
from siteassess.register.store import Store
from siteassess.register.writer import Writer

PAGE = ".html"
COPY_ENDINGS = (".geojson", ".gpx", ".kml", ".csv", ".gpkg", PAGE, ".zip")
# (name, text) of every event, photos by hash, names of events that are lost
_History = tuple[list[tuple[str, str]], dict[str, tuple[str, bytes]], set[str]]


def write_copy(
    store: Store, copy: Copy, out: Path, dry_run: bool = False, who: str = "not said",
    page: Callable[[Copy], str] | None = None,
) -> list[Path]:
    """Write a copy in the format its name ends in; a file is whole or not there.

    What it newly tells members is kept in the register before anybody can read it, by `who`.

    Parameters
    ----------
    store, copy : of the register; what is written
    out : path, whose ending names the format
    dry_run : look, and write nothing
    who : hands it out
    page : makes the text of a page to be read, which is a paper; the ending .html needs it

    Raises
    ------
    StoreError : an unknown ending, the file is there already, or what it tells cannot be kept.
    """
    ending = out.suffix.lower()
    if ending not in COPY_ENDINGS or (ending == PAGE and page is None):
        raise StoreError(worded("rg-ending-names-format", file=out.name, endings=COPY_ENDINGS))
    beside = out.with_name(csvw.metadata_name(out.name))
    paths = [out, beside] if ending == ".csv" else [out]
    for path in paths:
        if path.exists():
            raise StoreError(worded("rg-take-another-name", file=path.name))
    if not dry_run:
        remember(store, copy, who)
    contents = [page(copy).encode() if page and ending == PAGE else _content(store, copy, ending)]
    if ending == ".csv":
        contents.append(csvw.metadata(copy, storable(out.name)).encode())
    if not dry_run:
        for done, (path, content) in enumerate(zip(paths, contents, strict=True)):
            try:
                _write_whole(path, content)
            except StoreError:
                # a table without the file that says what its columns mean is half a copy
                for written in paths[:done]:
                    written.unlink()
                raise
    return paths


def _content(store: Store, copy: Copy, ending: str) -> bytes:
    if ending == ".zip":
        return bundle.write(store, copy)
    if ending == ".gpkg":
        return map_files.write_package(copy)
    writers = {".geojson": map_files.geojson, ".gpx": map_files.gpx, ".kml": map_files.kml, ".csv": csvw.write}
    return writers[ending](copy).encode()


def _write_whole(path: Path, content: bytes) -> None:
    try:
        write_whole(content, path)
    except OSError as error:
        raise StoreError(worded("rg-not-written", file=path.name, why=error.strerror or error)) from None


def read_features(path: Path, kind: str = "other") -> Incoming:
    """Features of a file in any of the formats that can be read, by its ending.

    Raises
    ------
    FaultyInput : as the formats; an ending that is none of theirs.
    """
    ending, name = path.suffix.lower(), storable(path.name)
    if ending in (".geojson", ".json"):
        return map_files.from_geojson(guarded_text(path), name, kind)
    if ending in (".gpx", ".kml"):
        return map_files.from_xml(read_bytes(path), name, ending[1:].upper(), kind)
    if ending == ".csv":
        return csvw.read(guarded_text(path), name, kind)
    if ending == ".gpkg":
        if not path.is_file():
            raise nothing_there(path)
        return map_files.read_package(path, kind)
    read = worded("rg-read-ending", ending=path.suffix)
    raise refused(path.name, worded("the-file"), read, worded("rg-want-ending"))


def bring_in(
    store: Store, path: Path, by: By, on: date, site: str | None = None, kind: str = "other", dry_run: bool = False,
    tick: Callable[[int], None] = lambda done: None, set_right: bool = False,
) -> dict[str, Any]:
    """Take in a copy, a bundle or a register: merged where it brings its history, else as drafts.

    Parameters
    ----------
    store : of the register
    path : of a copy, a bundle or a register
    by : who takes it in, and why
    on : the day it is taken in
    site : name of the site here that points of another program belong to; None makes a site for them
    kind : of anchor that points of another program are taken for
    dry_run : look, and keep nothing
    tick : told how many things are done
    set_right : whether a clock that ran ahead is set right by the same person

    Returns
    -------
    What came in: `changes_added` and `photos_added` of a history, or `added`, `known`, `withdrawn`, `left_out`.
    """
    path = Path(path)
    history = _history(path)
    if history is not None:
        with store.change(dry_run) as writer:
            merged = _merge(writer, history, path, tick, (by.who, by.why) if set_right else None)
        return {"changes_added": merged.added, "changes_known": merged.known, "photos_added": merged.photos}
    held = bundle.read(path) if path.suffix.lower() == ".zip" else bundle.Bundle(read_features(path, kind))
    with store.change(dry_run) as writer:
        report = adopt(writer, held.features, by, on, site=site, tick=tick)
        report.photos = adopt_photos(writer, report, held.shown, held.photos, by)
    return {
        "added": report.added, "known": report.known, "withdrawn": report.withdrawn, "left_out": report.left_out,
        "notes": report.notes, "photos_added": report.photos,
    }


def merge_file(
    store: Store, writer: Writer, path: Path, tick: Callable[[int], None] = lambda done: None,
    set_right_by: tuple[str, str] | None = None,
) -> MergeReport:
    """Merge a register or an officers' bundle, inside the caller's change.

    Parameters
    ----------
    store, writer : of the change
    path : of a register or an officers' bundle
    tick : told how many things are done
    set_right_by : who and why, where a clock that ran ahead is set right with it

    Raises
    ------
    StoreError : the file brings no history, or is the register itself.
    FaultyInput : there is no such file.
    """
    path = Path(path)
    if not path.is_file():
        raise nothing_there(path)
    if path.samefile(store.path):
        raise StoreError(worded("rg-not-with-itself"))
    history = _history(path)
    if history is None:
        raise StoreError(worded("rg-no-history", file=path.name))
    return _merge(writer, history, path, tick, set_right_by)


def _merge(
    writer: Writer, history: _History, path: Path, tick: Callable[[int], None], set_right_by: tuple[str, str] | None
) -> MergeReport:
    events, photos, lost = history
    return merge_events(writer, events, photos, path.name, tick, lost, set_right_by)


def _history(path: Path) -> _History | None:
    if path.suffix.lower() == ".zip":
        if not path.is_file():
            raise nothing_there(path)
        found = bundle.read(path)
        return None if found.events is None else (found.events, found.photos, set())
    if path.suffix.lower() == ".gpkg" and path.is_file() and map_files.is_register(path):
        return map_files.read_history(path)
    return None
