"""The whole record: one site, one survey, its anchors and planned lines."""

from __future__ import annotations

from typing import Literal

from siteassess.records.anchor import Anchor
from siteassess.records.fields import Part, Text, asks
from siteassess.records.line import Line, MeasuredPair
from siteassess.records.site import Site, Survey

RECORD_FORMAT = 1


class Record(Part):
    """What one survey of one site saw and planned."""

    siteassess_record: Literal[1] = asks("Version of this form of record", ..., quick=True)
    note: Text | None = asks("A word about the file, such as: invented, for teaching")
    site: Site = asks("The site", ..., quick=True)
    survey: Survey = asks("Who looked, and when", ..., quick=True)
    anchors: tuple[Anchor, ...] = asks("Anchors", (), quick=True)
    lines: tuple[Line, ...] = asks("Planned lines", (), quick=True)
    measured_pairs: tuple[MeasuredPair, ...] = asks(
        "Pairs taped or sighted that carry no line, to check the others", ()
    )

    def __repr__(self) -> str:
        return (f"<record of {self.site.name!r}, surveyed {self.survey.date}: {len(self.anchors)} anchors, "
                f"{len(self.lines)} lines>")

    __str__ = __repr__

    def anchor(self, code: str) -> Anchor:
        """The anchor with a code.

        Raises
        ------
        KeyError : no anchor has that code; reading a record proves that every line's anchors exist
        """
        for anchor in self.anchors:
            if anchor.code == code:
                return anchor
        raise KeyError(code)

    def line(self, code: str) -> Line:
        """The line with an id.

        Raises
        ------
        KeyError : no line has that id
        """
        for line in self.lines:
            if line.id == code:
                return line
        raise KeyError(code)
