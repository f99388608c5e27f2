"""A record begun from files: its trees as they were read, and a site and a survey that say nobody has looked yet."""

from __future__ import annotations

import datetime
import filecmp
import re
import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from siteassess.errors import refused
from siteassess.records.record import RECORD_FORMAT
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.measures import COARSE, lat_long
from siteassess.survey.from_files import take_in, way_from
from siteassess.survey.from_photos import PHOTO_ENDINGS
from siteassess.survey.proposal import plain_text
from siteassess.survey.swapped import country_told, country_within, swapped_by_site

NOT_TAKEN = {"fi-not-taken", "fi-rows-not-taken", "fi-photo-not-taken"}
MOST_REASONS = 5  # told where nothing is taken
PHOTO_FOLDER = "photos"  # beside the record, for photos that lie elsewhere


def begun(
    paths: Sequence[str | Path], folder: str | Path = ".", *, name: str | None = None, by: str | None = None,
    on: datetime.date | None = None, diameter_unit: str | None = None, grid: str | None = None,
    country: str | None = None, language: str = "en",
) -> tuple[dict[str, Any], list[Said]]:
    """A record with the trees of some files, and what is told of how they were read.

    Parameters
    ----------
    paths : of the files, see `take_in`
    folder : the record will lie in
    name, by, on : of the site, of whoever looks, and the day; without them where it is, that nobody looked yet,
    and today
    diameter_unit, grid : of columns of trunk sizes, and of positions in metres, that do not tell it
    country : two letters of the site's, by which latitudes and longitudes that were swapped are seen
    language : of its notes

    Returns
    -------
    As a record's file has it; what is told.

    Raises
    ------
    FaultyInput : a file that cannot be read, or one that holds no tree
    """
    found = take_in(paths, folder, diameter_unit, grid, language)
    if not found.anchors:
        why = tuple(one for one in found.told if one.code in NOT_TAKEN)[:MOST_REASONS]
        read = worded("read-no-row-for-reasons", why=why) if why else worded("read-no-kept-row")
        raise refused(Path(paths[0]).name, worded("the-rows"), read, worded("want-one-tree"))
    site: dict[str, Any] = {"name": name or said("ds-about", place=lat_long(*found.middle, COARSE)).in_words(language)}
    if found.credits:
        site["credit"] = plain_text("; ".join(dict.fromkeys(found.credits)))
    survey = {
        "by": by or said("fi-by-nobody").in_words(language), "date": (on or datetime.date.today()).isoformat(),
        "level": said("fi-level").in_words(language),
    }
    files = tuple(dict.fromkeys(Path(path).name for path in paths))
    note = plain_text(said("fi-note", files=files[:5]).in_words(language))
    if not any(one.code == "ds-maybe-swapped" for told in found.told for one in dict(told.values).get("says", ())):
        found.told += swapped_by_site(found.places, (country_told(country or ""), country_within(name or "")))
    record = {"siteassess_record": RECORD_FORMAT, "note": note, "site": site, "survey": survey,
              "anchors": found.anchors, "lines": []}  # fmt: skip
    return record, list(dict.fromkeys(found.told))


def photos_beside(paths: Iterable[str | Path], folder: str | Path) -> tuple[list[Path], list[Said]]:
    """The files, photos from elsewhere replaced by a copy in a folder beside the record, and what was copied.

    Parameters
    ----------
    paths : of files of any kind
    folder : of the record

    Returns
    -------
    Where each file lies now; what was copied.

    Raises
    ------
    OSError : the folder cannot be written to.
    """
    home = Path(folder).resolve()
    kept, told = list[Path](), list[Said]()
    for path in map(Path, paths):
        photo = path.suffix.lower() in PHOTO_ENDINGS and path.is_file()
        # a record takes no way with a colon or another sign that one system or the other reads as its own
        if photo and (home not in path.resolve().parents or _plain_way(way := way_from(path, home)) != way):
            copy = _copied(path, home / PHOTO_FOLDER)
            told.append(said("fi-photo-moved", file=path.name, path=f"{PHOTO_FOLDER}/{copy.name}"))
            path = copy
        kept.append(path)
    return kept, told


def _plain_way(way: str) -> str:
    return re.sub(r"[\\:]|^~", "-", plain_text(way))


def _copied(path: Path, folder: Path) -> Path:
    """A copy of a photo under a name that overwrites no other."""
    folder.mkdir(exist_ok=True)
    plain = Path(_plain_way(path.name))
    number, copy = 1, folder / plain
    while copy.exists() and not filecmp.cmp(path, copy, shallow=False):
        number += 1
        copy = folder / f"{plain.stem}-{number}{plain.suffix}"
    if not copy.exists():
        shutil.copyfile(path, copy)
    return copy
