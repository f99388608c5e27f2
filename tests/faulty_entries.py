"""Faulty lists of gear, entries of registers, photos and bundles, for `faulty.py`: each in one way."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from siteassess.errors import FaultyInput
from siteassess.records.owned import read_owned
from siteassess.register import bundle
from siteassess.register.bodies import checked
from siteassess.register.events import canonical, make, read
from siteassess.register.files import read_features
from siteassess.register.guard import refuse_hostile
from siteassess.register.incoming import checked_points, from_flat
from siteassess.register.photos import stripped

LISTS = ("- sling\n", "a: 1\n", "siteassess_owned: 2\nowned: 3\n",
         "siteassess_owned: 1\nowned: [{kind: slings}, {count: 0}, a]\n",
         "siteassess_owned: 1\nowned: [{kind: sling, length: 3, thick: 1, what: 3}]\n")  # fmt: skip
USE = {"what": "use", "date": "2026-05-01"}
LOOK = {"what": "inspection", "date": "2026-05-01", "inspector": "A", "finding": "x", "standing": "unknown"}
MARK = {"by": "group", "given": True, "name": "A", "date": "2026-05-01"}
A, B = "a" * 64, "b" * 64
ENTRIES: tuple[tuple[str, dict], ...] = (
    ("mark", {}), ("mark", MARK), ("mark", {**MARK, "expires": "2026-04-01"}), ("log", {}),
    ("log", {**USE, "end": "10:00"}), ("log", {**USE, "start": "10:00", "end": "09:00"}),
    ("log", {**USE, "start": "10:00", "end": "11:00", "hours": "1 h"}),
    ("log", {**LOOK, "standing": "qualified arborist"}), ("log", {**LOOK, "next_due": "2026-04-01"}),
    ("log", {"what": "rest", "date": "2026-05-01", "until": "2026-04-01"}), ("log", {**USE, "notes": "a\u202eb"}),
    ("move", {"to": "x", "seen": "draft"}), ("move", {"to": "closed for a season", "seen": "active"}),
    ("move", {"to": "draft", "seen": "archived", "against": {"entries": [A], "why": "x", "signed": "A"}}),
    ("correction", {"corrects": A}), ("correction", {"corrects": "x", "void": True}),
    ("join", {"same": [B, A], "finding": "the same"}),
    ("clock", {"ahead": [B, A]}), ("photo", {"sha256": A, "media_type": "image/png", "size_bytes": 0}),
    ("anchor", {"site": A, "record": {"kind": "bush"}}), ("site", {"record": {}}),
    ("copy", {"date": "2026-05-01", "parks": [{}]}), ("log", {"what": ["use"]}),
    ("log", {**USE, "photos": {"before": ["x"]}}), ("anchor", {"site": A, "record": {"kind": ["tree"]}}),
)  # fmt: skip
EVENTS = {
    "kind": "x", "subject": "x", "parents": ["x"], "replaces": [B, A], "who": "", "recorded": "now",
    "body": 1, "salt": 1, "format": 2, "why": "<b>",
}  # fmt: skip
ODD_VALUES = {"markup": "<b>", "a mark": "a\u202eb", "long": "x" * 20_001, "key": {"<b>": 1},
              "not finite": {"a": [1e999]}, "other": {"a": {1}}}  # fmt: skip
PICTURES = {"no picture": b"x", "half a JPEG": b"\xff\xd8\xff\xe0\x00\x10JF", "no marker": b"\xff\xd8\xff\xe0\x00\x02x",
            "long part": b"\xff\xd8\xff\xe0\xff\x00x"}  # fmt: skip
ROWS = ({}, {"record": "x"}, {"record": {}, "id": A, "site_id": A, "feature": "bush", "status": "open"})
BUNDLES: dict[str, dict[str, bytes]] = {
    "no manifest": {"README.txt": b""}, "a way out": {"../x": b""}, "another form": {"manifest.json": b"{}"},
    "no files": {"manifest.json": b'{"siteassess_bundle": 1}'},
    "no photos": {"manifest.json": b'{"siteassess_bundle": 1, "files": {}, "photos": 1}'},
    "a file missing": {"manifest.json": b'{"siteassess_bundle": 1, "files": {"a": "b"}}'},
    "altered": {"manifest.json": b'{"siteassess_bundle": 1, "files": {}}', "README.txt": b"x"},
    "odd bytes": {"manifest.json": b"\xff"},
}  # fmt: skip


def attempts() -> dict[str, Callable[[], object]]:
    """By name what is refused."""
    made: dict[str, Callable[[], object]] = {}
    for text in LISTS:
        made[f"gear {text!r}"] = lambda text=text: read_as("mine.yaml", text.encode(), read_owned)
    for at, (kind, body) in enumerate(ENTRIES):
        made[f"entry {at}, {kind}"] = lambda kind=kind, body=body: checked(kind, body)
    moment = "2026-05-01T00:00:00.000000Z"
    whole = json.loads(make("register", "", {}, who="A", why="b", recorded=moment, salt="x").content)
    for key, value in EVENTS.items():
        made[f"event, {key}"] = lambda key=key, value=value: read(canonical({**whole, key: value}))
    for name, text in {"no JSON": "{", "other keys": "{}", "not canonical": canonical(whole) + " "}.items():
        made[f"event, {name}"] = lambda text=text: read(text)
    for name, value in ODD_VALUES.items():
        made[f"content, {name}"] = lambda value=value: refuse_hostile(value, "x")
    deep: list = []
    for _ in range(30):
        deep = [deep]
    made["content, deep"] = lambda: refuse_hostile({"a": deep}, "x")
    for name, picture in PICTURES.items():
        made[f"photo, {name}"] = lambda picture=picture: stripped(picture)
    for row in ROWS:
        made[f"row {str(row)[:16]}"] = lambda row=row: from_flat(row, None, "x.csv", 3)
    made["off the earth"] = lambda: checked_points([(200.0, 95.0)], "x.csv", 3)
    made["a point off the earth"] = lambda: read_as("x.csv", b"lat,lon\n50,4\n95,4\n", _imported)
    for name, files in BUNDLES.items():
        made[f"bundle, {name}"] = lambda files=files: read_as("x.zip", _zipped(files), bundle.read)
    for name, raw in {"x.zip": b"x", "x.txt": b"", "x.gpkg": b"x", "x.csv": b"\xff", "no.csv": None}.items():
        made[f"import {name}"] = lambda name=name, raw=raw: read_as(name, raw, _imported)
    return made


def _imported(path: Path) -> object:
    return bundle.read(path) if path.suffix == ".zip" else read_features(path)


def read_as(name: str, raw: bytes | None, reader: Callable[[Path], object]) -> None:
    """What a file of that name is refused for, told of its bare name."""
    with TemporaryDirectory() as folder:
        file = Path(folder, name)
        if raw is not None:
            file.write_bytes(raw)
        try:
            reader(file)
        except FaultyInput as error:
            raise FaultyInput(name, error.faults) from None


def _zipped(files: dict[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return packed.getvalue()
