"""Hostile and broken bundles: refused with a reason, nothing kept, nothing written outside, no traceback."""

from __future__ import annotations

import io
import json
import struct
import zipfile

import pytest

from siteassess.register import bundle
from siteassess.register.files import write_copy
from siteassess.register.share import make_copy


def _zip(files, **changes):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files:
            entry = zipfile.ZipInfo(name)
            entry.external_attr = changes.get("attributes", 0)
            archive.writestr(entry, data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


@pytest.mark.parametrize(
    "name",
    [
        "../evil.txt",
        "/etc/evil",
        "photos/../../evil",
        "C:\\evil",
        "..\\evil",
        "photos/",
        "photos/x.jpg",
        "evil.py",
        "manifest.json/../x",
        "photos/" + "a" * 64 + ".svg",
        "features.geojson\x00.txt",
        "README.TXT",
    ],
)
def test_zip_entries_that_climb_out_or_are_none_of_ours_are_refused(refused, name):
    refused("x.zip", _zip([("manifest.json", "{}"), (name, "x")]), "entry" if "\x00" not in name else "")


def test_zip_bombs_are_refused(refused):
    refused("x.zip", _zip([("features.geojson", b"0" * 40_000_000)]), "unpacks to")


def test_a_zip_entry_that_lies_about_its_size_is_refused(refused):
    data = bytearray(_zip([("features.geojson", b"0" * 200_000)]))
    for mark, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        at = data.index(mark) + offset
        data[at : at + 4] = struct.pack("<I", 1000)
    refused("x.zip", bytes(data), "")


def test_links_repeats_and_encrypted_entries_are_refused(refused):
    refused("x.zip", _zip([("features.geojson", "x")], attributes=0o120777 << 16), "link")
    with pytest.warns(UserWarning, match="Duplicate"):
        double = _zip([("features.geojson", "x"), ("features.geojson", "y")])
    refused("x.zip", double, "once")
    locked = bytearray(_zip([("features.geojson", "x")]))
    for mark, offset in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        locked[locked.index(mark) + offset] |= 1
    refused("x.zip", bytes(locked), "encrypted")


@pytest.mark.parametrize("data", [b"", b"PK", b"no zip at all"])
def test_what_is_no_zip_is_refused(refused, data):
    refused("x.zip", data, "zip")


def _rewritten(path, change):
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    path.write_bytes(_zip(files.items()))


@pytest.fixture
def whole(new_group, tmp_path, picture):
    from siteassess.register import actions

    other = new_group("other")
    other.do(actions.add_photo, other["anchor T01"], picture())
    path = tmp_path / "whole.zip"
    write_copy(other.store, make_copy(other.store, "officer", other.today), path)
    return path


@pytest.mark.parametrize("name", ["features.geojson", "events.jsonl", "README.txt", "photo"])
def test_a_bundle_with_an_altered_or_missing_file_is_refused(whole, refused, name):
    with zipfile.ZipFile(whole) as archive:
        name = next(n for n in archive.namelist() if n.startswith(name))
    kept = whole.read_bytes()
    _rewritten(whole, lambda files: files.update({name: files[name] + b" "}))
    refused("y.zip", whole.read_bytes(), "what the manifest says")
    whole.write_bytes(kept)
    _rewritten(whole, lambda files: files.pop(name))
    refused("y.zip", whole.read_bytes(), "missing")


def test_a_bundle_whose_photo_is_no_photo_is_refused(whole, refused):
    import hashlib

    def swap(files):
        name = next(n for n in files if n.startswith("photos/"))
        fake = b"\xff\xd8\xff\xe0 this is a script"
        new = f"photos/{hashlib.sha256(fake).hexdigest()}.jpg"
        files.pop(name)
        files[new] = fake
        manifest = json.loads(files["manifest.json"])
        manifest["files"].pop(name)
        manifest["files"][new] = hashlib.sha256(fake).hexdigest()
        files["manifest.json"] = json.dumps(manifest).encode()

    _rewritten(whole, swap)
    refused("y.zip", whole.read_bytes(), "photo")


def test_a_bundle_whose_history_was_altered_is_refused(whole, refused):
    import hashlib

    def forge(files):
        lines = files["events.jsonl"].replace(b"180 cm", b"280 cm")
        files["events.jsonl"] = lines
        manifest = json.loads(files["manifest.json"])
        manifest["files"]["events.jsonl"] = hashlib.sha256(lines).hexdigest()
        files["manifest.json"] = json.dumps(manifest).encode()

    _rewritten(whole, forge)
    refused("y.zip", whole.read_bytes(), "missing")


def test_a_bundle_of_a_newer_form_is_refused(whole, refused):
    def newer(files):
        manifest = json.loads(files["manifest.json"])
        manifest["siteassess_bundle"] = 99
        files["manifest.json"] = json.dumps(manifest).encode()

    _rewritten(whole, newer)
    refused("y.zip", whole.read_bytes(), "form 99")
    assert bundle.BUNDLE_FORMAT == 1
