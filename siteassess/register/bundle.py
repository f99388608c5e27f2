"""A zip with records and photos, for passing on, and back.

A copy of the whole register for officers carries its history, so that another group's register can be merged with it;
copies for the other layers carry only what those may see. Nothing of a zip from elsewhere is ever written to disk by
its own name.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from siteassess.errors import FaultyInput, StoreError, refused
from siteassess.reference.findings import worded
from siteassess.register import map_files
from siteassess.register.damage import damaged, what_is_wrong
from siteassess.register.guard import refuse_hostile
from siteassess.register.incoming import Incoming
from siteassess.register.photos import stripped
from siteassess.register.share import Copy
from siteassess.register.store import Store

BUNDLE_FORMAT = 1
MAX_ENTRIES = 20_000
MAX_UNPACKED = 1024 * 1024 * 1024
MAX_RATIO = 200
_NAMES = re.compile(r"manifest\.json|features\.geojson|events\.jsonl|README\.txt|photos/[0-9a-f]{64}\.(?:jpg|png)")
_TEXT_LIMIT = 512 * 1024 * 1024
_SUFFIX = {"image/jpeg": ".jpg", "image/png": ".png"}
# one fixed moment for all entries: zip times would tell when somebody worked
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)


@dataclass
class Bundle:
    """What a bundle held: features, and for officers the history; photos by hash as (media type, bytes).

    `shown` says which photos belong to which feature.
    """

    features: Incoming
    events: list[tuple[str, str]] | None = None
    photos: dict[str, tuple[str, bytes]] = field(default_factory=dict)
    shown: dict[str, list[dict[str, Any]]] = field(default_factory=dict)


def write(store: Store, copy: Copy) -> bytes:
    """The bundle's bytes.

    Raises
    ------
    StoreError : the history is damaged: an altered entry would get a name of its own on the way.
    """
    files: dict[str, bytes] = {"features.geojson": map_files.geojson(copy).encode()}
    history = copy.layer == "officer" and copy.whole
    names = {photo["sha256"] for shown in copy.photos.values() for photo in shown}
    if history:
        if found := what_is_wrong(store.db):
            raise damaged(store.path, found)
        names = {row[0] for row in store.db.execute("SELECT sha256 FROM photos")}
    for sha256 in sorted(names):
        media_type, data = store.photo(sha256) or ("", b"")
        if hashlib.sha256(data).hexdigest() != sha256 or stripped(data).data != data:
            raise StoreError(worded("rg-not-the-kept-picture", name=sha256[:16]))
        files[f"photos/{sha256}{_SUFFIX[media_type]}"] = data
    if history:
        files["events.jsonl"] = "".join(content + "\n" for _, content in store.iterate()).encode()
    facts = copy.facts()
    files["README.txt"] = "".join(f"{key}: {value}\n" for key, value in facts.items()).encode()
    listed = {name: hashlib.sha256(data).hexdigest() for name, data in sorted(files.items())}
    manifest = {"siteassess_bundle": BUNDLE_FORMAT, **facts, "files": listed, "photos": copy.photos}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in {"manifest.json": json.dumps(manifest, indent=1, sort_keys=True).encode(), **files}.items():
            archive.writestr(zipfile.ZipInfo(name, _ZIP_TIME), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def read(path: Path) -> Bundle:
    """What a bundle holds.

    Raises
    ------
    FaultyInput : no zip; an entry whose name climbs out of the folder or is none of a bundle's; a zip bomb; a file
        that is not what the manifest says; a photo that is none.
    """
    source = path.name
    try:
        with zipfile.ZipFile(path) as archive:
            files = _unpacked(archive, source)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError) as error:
        raise refused(source, "zip", str(error)[:80], worded("rg-want-whole-zip-open")) from None
    manifest = _manifest(files, source)
    for name, data in files.items():
        if name != "manifest.json" and manifest["files"].get(name) != hashlib.sha256(data).hexdigest():
            raise refused(source, name, worded("rg-read-other-bytes"), worded("rg-want-as-manifest"))
    missing = sorted(set(manifest["files"]) - set(files))
    if missing or "features.geojson" not in files:
        read_ = worded("rg-read-files-missing", names=missing or ["features.geojson"])
        raise refused(source, worded("rg-the-files"), read_, worded("rg-want-as-manifest"))
    bundle = Bundle(map_files.from_geojson(_text(files["features.geojson"], source), source))
    bundle.shown = manifest.get("photos", {})
    if "events.jsonl" in files:
        lines = _text(files["events.jsonl"], source).split("\n")
        bundle.events = [(hashlib.sha256(line.encode()).hexdigest(), line) for line in lines if line]
    for name, data in files.items():
        if name.startswith("photos/"):
            bundle.photos[name[7:71]] = _photo(data, name, source)
    return bundle


def _unpacked(archive: zipfile.ZipFile, source: str) -> dict[str, bytes]:
    entries = archive.infolist()
    if len(entries) > MAX_ENTRIES:
        read_ = worded("rg-read-entries", count=len(entries))
        raise refused(source, "zip", read_, worded("want-at-most", limit=MAX_ENTRIES))
    left = MAX_UNPACKED
    files: dict[str, bytes] = {}
    for entry in entries:
        if not _NAMES.fullmatch(entry.filename) or entry.is_dir():
            raise _entry_refused(source, ascii(entry.filename)[:80], "rg-want-names-of-bundle")
        if entry.filename in files:
            raise _entry_refused(source, ascii(entry.filename), "rg-want-names-once")
        if (entry.external_attr >> 16) & 0o170000 == 0o120000:
            raise _entry_refused(source, worded("rg-read-a-link", name=entry.filename), "rg-want-plain-files")
        if entry.file_size > left or entry.file_size > MAX_RATIO * max(entry.compress_size, 4096):
            read_ = worded("rg-read-unpacks-to", name=entry.filename, count=entry.file_size)
            raise refused(source, "zip", read_, worded("rg-want-usual-zip"))
        with archive.open(entry) as packed:
            # what an entry says of its size may be untrue
            data = packed.read(entry.file_size + 1)
        if len(data) != entry.file_size:
            read_ = worded("rg-read-not-so-long", name=entry.filename)
            raise refused(source, "zip", read_, worded("rg-want-whole-zip"))
        left -= len(data)
        files[entry.filename] = data
    return files


def _entry_refused(source: str, read_: str, wanted: str) -> FaultyInput:
    return refused(source, worded("rg-the-entry"), read_, worded(wanted))


def _manifest(files: dict[str, bytes], source: str) -> dict[str, Any]:
    try:
        manifest = json.loads(_text(files["manifest.json"], source))
    except (KeyError, ValueError, RecursionError):
        raise refused(source, "manifest.json", worded("rg-read-none-readable"), worded("rg-want-a-bundle")) from None
    if not isinstance(manifest, dict) or manifest.get("siteassess_bundle") != BUNDLE_FORMAT:
        form = manifest.get("siteassess_bundle") if isinstance(manifest, dict) else None
        raise refused(source, "manifest.json", worded("rg-form", form=form), worded("rg-form", form=BUNDLE_FORMAT))
    refuse_hostile(manifest, source)
    if not isinstance(manifest.get("files"), dict):
        raise refused(source, "manifest.json", worded("rg-read-no-list"), worded("rg-want-list-of-files"))
    photos = manifest.get("photos", {})
    if not isinstance(photos, dict) or not all(
        isinstance(shown, list) and all(isinstance(photo, dict) for photo in shown) for shown in photos.values()
    ):
        raise refused(source, "manifest.json", worded("rg-read-no-photos"), worded("rg-want-photos"))
    return manifest


def _text(data: bytes, source: str) -> str:
    if len(data) > _TEXT_LIMIT:
        read_ = worded("read-bytes", count=len(data))
        raise refused(source, worded("the-text"), read_, worded("want-at-most", limit=_TEXT_LIMIT))
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        raise refused(source, worded("the-text"), worded("read-no-utf-8"), worded("rg-want-utf-8")) from None


def _photo(data: bytes, name: str, source: str) -> tuple[str, bytes]:
    photo = stripped(data, f"{source} {name}")
    if photo.data != data or photo.sha256 != name[7:71] or not name.endswith(_SUFFIX[photo.media_type]):
        raise refused(source, name, worded("rg-read-other-or-beside"), worded("rg-want-stripped"))
    return photo.media_type, data
