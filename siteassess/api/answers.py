"""What the assessment of a park answers, as objects that print short and open wide."""

from __future__ import annotations

import contextlib
import datetime
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from siteassess.advice.assess import assess as judged
from siteassess.advice.results import Assessment, LineResult
from siteassess.advice.verdict import Verdict
from siteassess.api.park import refuse_no_park
from siteassess.errors import UnknownName, refused
from siteassess.papers import terminal, terminal_short, wording
from siteassess.records.record import Record
from siteassess.reference.findings import worded

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd
    import pandas as pd


@dataclass(frozen=True)
class Decides:
    """What decides the word of a line: a code of the table `findings`, where, and what it says."""

    code: str
    at: str  # code of the anchor; empty for the line as a whole
    effect: Verdict
    short: str
    says: str

    def __str__(self) -> str:
        return f"{self.at}: {self.short}" if self.at else self.short


@dataclass(frozen=True, repr=False)
class LineAnswer:
    """The answer to one line; `result` holds all of it."""

    result: LineResult

    @property
    def id(self) -> str:
        return self.result.id

    @property
    def verdict(self) -> Verdict:
        """For this line, on its day, from what was looked at."""
        return self.result.verdict

    @property
    def day(self) -> datetime.date | None:
        """It was judged for."""
        return self.result.day

    @property
    def weaker_anchor(self) -> str | None:
        """Code of the anchor that holds less."""
        return self.result.weaker_anchor

    @property
    def deciding(self) -> Decides | None:
        """What decides the word; None where nothing was found that bears on it."""
        return next(iter(self.findings), None)

    @property
    def findings(self) -> tuple[Decides, ...]:
        """All that bears on the word, of both ends and of the line as a whole, what decides first."""
        return tuple(Decides(one.code, at, one.effect, one.short, one.says) for at, one in self.result.all_ordered)

    @property
    def hold_use(self) -> float | None:
        """Share of our stem and root limit at the harder used end [-]; None where it is not known of both."""
        return _most(end.hold_use for end in self.result.anchors)

    @property
    def care_use(self) -> float | None:
        """Share of our bark limit at the harder used end [-]; None where it is not known of both."""
        return _most(end.care_use for end in self.result.anchors)

    @property
    def stop_at(self) -> float | None:
        """Standing tension to stop at [N]; None where the line is not to hang, or it is not known."""
        return wording.stop_at(self.result) if self.verdict in ("suits", "suits if") else None

    @property
    def sag(self) -> float | None:
        """Of the line under its walker [m]; None as for `stop_at`."""
        return wording.sag(self.result) if self.verdict in ("suits", "suits if") else None

    @property
    def remedies(self) -> tuple[str, ...]:
        """Changes that were judged again and reach a better word, in English."""
        ends = [one for end in self.result.anchors for one in end.remedies]
        return tuple(dict.fromkeys(one.in_full.in_words() for one in (*self.result.remedies, *ends)))

    def __repr__(self) -> str:
        return f"<line {self.id}: {self.verdict}{f'; {self.deciding}' if self.deciding else ''}>"


def _most(uses: Any) -> float | None:
    known = list(uses)
    return None if None in known or not known else max(known)


@dataclass(frozen=True, repr=False)
class ParkAnswer:
    """The answer to a park; `assessment` holds all of it. Its cautions are part of it."""

    assessment: Assessment

    @property
    def park(self) -> Record:
        """The record it answers."""
        return self.assessment.record

    @cached_property
    def lines(self) -> tuple[LineAnswer, ...]:
        return tuple(map(LineAnswer, self.assessment.lines))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What always stands beside a result."""
        return self.assessment.cautions

    def line(self, code: str) -> LineAnswer:
        """The answer to one line.

        Parameters
        ----------
        code : its id

        Raises
        ------
        UnknownName : no line of this answer has that id; the message names those that are there.
        """
        for one in self.lines:
            if one.id == code:
                return one
        known = [one.id for one in self.lines]
        told = "no-such-planned-line" if known else "no-planned-line-at-all"
        raise UnknownName(worded(told, line=repr(code), lines=tuple(known)))

    def to_dict(self) -> dict[str, Any]:
        """As `siteassess assess --json`."""
        from siteassess.papers.as_json import to_dict

        return to_dict(self.assessment)

    def to_frame(self, of: str = "anchors") -> pd.DataFrame:
        """A tidy frame; columns end in their unit, uses are shares, what is not known is NaN.

        Parameters
        ----------
        of : "lines", "anchors" (one row an end), "loads" (a load case), "limits", "findings" or "remedies"

        Raises
        ------
        UnknownName : there is no frame of that.
        """
        from siteassess.api.frames import frame

        return frame(self.assessment, of)

    def to_geodataframe(self, of: str = "anchors", crs: Any = "EPSG:4326") -> gpd.GeoDataFrame:
        """A frame with a place in each row: where the map shows it, its readings fitted together.

        Parameters
        ----------
        of : "anchors" (points), "lines" (from tie to tie) or "root zones" (areas)
        crs : reference system by any name that pyproj knows, or "UTM" for the zone the park lies in

        Returns
        -------
        One row a thing; anchors without a position have none here either.

        Raises
        ------
        UnknownName : there is no such frame, or no such reference system.
        OutsideModel : positions at a pole, or spread over more than 100 km.
        """
        from siteassess.api.frames import geoframe

        return geoframe(self.assessment, of, crs)

    def to_map_file(self, path: str | Path, language: str = "en") -> Path:
        """Write anchors, lines and root zones for another map program, styled by verdict.

        Parameters
        ----------
        path : of the file, replaced if it is there; ending in .gpkg, .kml, .gpx (which knows no areas) or .geojson
        language : of conditions and cautions

        Returns
        -------
        The path.

        Raises
        ------
        UnknownName : another ending, or a language that is not spoken.
        OutsideModel : positions at a pole, or spread over more than 100 km.
        OSError : the folder cannot be written to.
        """
        from siteassess.papers.exports import write_map_file

        return write_map_file(self.assessment, path, language)

    def explain(self, code: str, language: str = "en") -> str:
        """Every step behind the verdict of a line, as `siteassess assess --explain` tells it.

        Parameters
        ----------
        code : id of the line
        language : to tell it in

        Raises
        ------
        UnknownName : no line of this answer has that id.
        """
        return terminal.explain(self.line(code).result, language=language)

    def in_words(self, language: str = "en") -> str:
        """As `siteassess assess` tells it, with the cautions.

        Parameters
        ----------
        language : to tell it in
        """
        return terminal_short.short(self.assessment, language=language)

    def __repr__(self) -> str:
        head = f"<answer to {self.park.site.name!r}: a user's survey, no inspection by an arborist"
        return "\n  ".join([head, *map(repr, self.lines)]) + ">"

    def _repr_html_(self) -> str:
        from siteassess.api.drawings import answer_html

        return answer_html(self)


def assess(park: Record, line: str | None = None, on: str | datetime.date | None = None) -> ParkAnswer:
    """Judge every planned line of a park, or one.

    Parameters
    ----------
    park : as read
    line : only the line with this id
    on : day to judge for; by default the day each line is planned on, else the survey's

    Returns
    -------
    ParkAnswer

    Raises
    ------
    UnknownName : no line has that id; the message names those that are there.
    FaultyInput : `on` is no date such as "2026-04-18".

    Examples
    --------
    >>> from siteassess.api.park import read
    >>> answer = assess(read("mypark.yaml"))
    >>> answer.line("L3").verdict, answer.line("L3").deciding.code
    ('leave it', 'stop-sign-seen')
    >>> answer.to_frame("limits").groupby("limit")["use"].max().idxmax()
    'root plate'
    >>> answer.to_geodataframe("lines", "UTM").crs.name
    'WGS 84 / UTM zone 31N'
    """
    refuse_no_park(park)
    return ParkAnswer(judged(park, line_id=line if line is None else str(line), on=day_asked(on)))


def day_asked(on: Any) -> datetime.date | None:
    """As a day; of what has an hour too, such as a stamp of pandas, its day.

    Parameters
    ----------
    on : a day, a text such as "2026-04-18", or None

    Raises
    ------
    FaultyInput : it is none.
    """
    if on is None or type(on) is datetime.date:
        return on
    with contextlib.suppress(ValueError, TypeError):
        return datetime.date.fromisoformat(str(on.date() if isinstance(on, datetime.datetime) else on))
    raise refused("assess", "on", repr(on), worded("want-a-date"))
