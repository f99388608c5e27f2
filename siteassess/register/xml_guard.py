"""Reads XML from elsewhere with the dangerous half of the language shut off.

A document type can define entities that swell to fill a machine or fetch files from it. No GPX or KML needs one, so
any document type is refused, in whatever character set it might hide: only UTF-8 is read.
"""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree

from siteassess.register.incoming import refused

MAX_ELEMENTS = 2_000_000
MAX_DEPTH = 64
_ENCODING = re.compile(r"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([^"']+)["']""")


def parse(data: bytes, source: str) -> ElementTree.Element:
    """The root of an XML file.

    Raises
    ------
    FaultyInput : not UTF-8, a document type or an entity declared, not well formed, too deep or too long.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refused(source, "text", "bytes that are not UTF-8", "XML as UTF-8") from None
    declared = _ENCODING.match(text)
    if declared and declared[1].lower() not in ("utf-8", "us-ascii", "ascii"):
        raise refused(source, "encoding", ascii(declared[1]), "UTF-8")
    if re.search(r"<!\s*(?:DOCTYPE|ENTITY|ELEMENT|ATTLIST|NOTATION)", text, re.IGNORECASE) or "\x00" in text:
        raise refused(source, "document type", "a document type or entity", "plain XML without one")
    depth = count = 0
    root: ElementTree.Element | None = None
    try:
        for event, element in ElementTree.iterparse(io.StringIO(text), events=("start", "end")):
            depth += 1 if event == "start" else -1
            count += 1
            root = element if root is None else root
            if depth > MAX_DEPTH or count > 2 * MAX_ELEMENTS:
                raise refused(source, "file", "nested too deep or too long", "a plain track or map file")
    except ElementTree.ParseError as error:
        raise refused(source, "XML", str(error), "well-formed XML") from None
    if root is None:
        raise refused(source, "XML", "nothing", "well-formed XML")
    return root


def local(element: ElementTree.Element) -> str:
    """The element's name without its namespace."""
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""
