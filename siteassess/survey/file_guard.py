"""What is refused of a file before GDAL opens it: what points elsewhere, swells, or declares entities."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

from siteassess.errors import refused
from siteassess.reference.findings import worded

SHEET_ENDINGS = {".xlsx", ".ods"}
ARCHIVE_ENDINGS = {*SHEET_ENDINGS, ".kmz", ".zip"}
SWOLLEN_BYTES = 300_000_000  # of a sheet's unpacked parts; a hundred thousand trees take a tenth of it (judgement)
_ELSEWHERE = re.compile(rb"<\s*(OGR|GDAL|VRT|WMS|WCS)", re.IGNORECASE)
_CONNECTION = re.compile(rb"\s*[A-Z]{2,9}:")
_ENTITIES = re.compile(rb"<!\s*(DOCTYPE|ENTITY)")


def refuse_hostile_file(path: Path) -> None:
    """Nothing, unless a file would fetch others, fill the machine or declares entities.

    GDAL goes by what a file holds, so one that points at other files, or at the network, is opened under any ending.

    Parameters
    ----------
    path : of the file

    Raises
    ------
    FaultyInput : it does, or a spreadsheet is no archive of XML.
    """
    with path.open("rb") as stream:
        head = stream.read(4096)
    if _ELSEWHERE.search(head) or _CONNECTION.match(head):
        raise refused(path.name, worded("the-file"), worded("read-points-elsewhere"), worded("want-gdal-file"))
    if path.suffix.lower() not in ARCHIVE_ENDINGS:
        return
    try:
        with zipfile.ZipFile(path) as archive:
            if sum(part.file_size for part in archive.infolist()) > SWOLLEN_BYTES:
                most = worded("want-bytes-most", most=SWOLLEN_BYTES / 1e6)
                raise refused(path.name, worded("the-file"), worded("read-swollen"), most)
            for part in archive.infolist():
                with archive.open(part) as stream:
                    if part.filename.endswith((".xml", ".rels", ".kml")) and _ENTITIES.search(stream.read(4096)):
                        plain = worded("want-plain-xml")
                        raise refused(path.name, worded("the-file"), worded("read-document-type"), plain)
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError) as error:
        raise refused(path.name, worded("the-file"), str(error), worded("want-gdal-file")) from None
