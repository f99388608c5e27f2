"""An assessment in short, for a terminal: at most eight rows a line."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from siteassess.advice.finding import Finding
from siteassess.advice.results import AnchorResult, Assessment, LineResult
from siteassess.papers import wording
from siteassess.papers.doubts import doubtful, doubts_of
from siteassess.papers.language import Words, cautions_told, words_in
from siteassess.papers.look import shorten
from siteassess.papers.terminal import WIDTH, Paint, figures, finish, line_head, sag_told, whose, wrapped
from siteassess.reference.findings import Said, said, said_by
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

MOST_ROWS, MOST_CONDITIONS = 8, 3  # of a line: rows, and things that would make it suit
MOST_HEAD, NAME_ON_A_ROW = 2, 30  # rows of a head, and characters of a name in one that has more
MOST_COUNTED = 2  # rows that count and name what is left out
# what is told more briefly or not at all until the conditions have room, one after the other
BREVITY = ("", "uses", "sag", "doubts", "no look", "no sag", "no uses")
USUAL, NARROWEST, UNBROKEN = 80, 60, 10_000  # columns: where nobody knows how many, for eight rows, for one a line


def short(
    assessment: Assessment, *, ascii_only: bool = False, language: str = "en", paint: Paint = lambda _, word: word,
    words_only: bool = False, width: int | None = None,
) -> str:  # fmt: skip
    """The word of each line, what decides it, what would make it suit and where to stop: at most eight rows a line.

    Parameters
    ----------
    assessment, ascii_only, language : as in `summary`
    paint : what colours a verdict's word, by the verdict
    words_only : tell the words alone
    width : columns of the terminal; what goes elsewhere has 80, and `UNBROKEN` where its page breaks rows itself
    """
    wide = UNBROKEN if width == UNBROKEN else min(max(width or USUAL, NARROWEST), WIDTH)
    short_of = _Short(words_in(language), wide)
    t = short_of.t
    if words_only:
        heads = [line_head(line, line.day, t, paint, UNBROKEN) for line in assessment.lines] or [t("req-no-line")]
        return finish("\n".join([*heads, t("no-inspection")]), ascii_only)
    above = assessment.one_day  # told there of all lines
    told = [short_of.line(line, None if line.day == above else line.day, doubts_of(assessment, line, language), paint)
            for line in assessment.lines]  # fmt: skip
    # the first of them stands above, of the whole answer
    rest = [one for one in cautions_told(assessment, t) if one != t("user-survey")]
    cautions = [t("each-verdict", tail=t("verdict-tail")), f"{t('cautions')}{t('colon')} {plain(' '.join(rest))}"]
    first = [wrapped(row, "  ", wide) for row in (*whose(assessment, t)[:-1], t("user-survey"))]
    blocks = [first, *(told or [[t("req-no-line")]]), [wrapped(says, "  ", wide) for says in cautions]]
    return finish("\n\n".join("\n".join(rows) for rows in blocks), ascii_only)


@dataclass(frozen=True)
class _Point:
    """What would make a line suit: a condition, a step or a change, in short why, and briefer where it is long."""

    where: str  # codes of anchors, or that it is the line
    says: str
    short: str
    briefer: tuple[str, ...] = ()  # the longest first
    counted: tuple[str, ...] = ()  # with what it brings with it counted: the last resort


@dataclass(frozen=True)
class _Told:
    """The rows of a line below its head, and how many of its conditions, steps or changes they tell."""

    rows: list[str]
    points: int


@dataclass(frozen=True)
class _Short:
    t: Words
    wide: int

    def line(self, line: LineResult, day: datetime.date | None, doubts: Sequence[str], paint: Paint) -> list[str]:
        """A line in its rows: as much of each part as leaves room for three of the conditions, which go first."""
        head = line_head(line, day, self.t, paint, self.wide).split("\n")
        if len(head) > MOST_HEAD:
            named = replace(line, name=shorten(line.name, NAME_ON_A_ROW))
            head = line_head(named, day, self.t, paint, self.wide).split("\n")
        points, room = _points(line, self.t), MOST_ROWS - len(head)
        best = _Told([], -1)
        for brevity in range(len(BREVITY)):
            told = self._rows(line, doubts, points, room, brevity)
            if len(told.rows) <= room and told.points > best.points:
                best = told
            if best.points >= min(len(points), MOST_CONDITIONS):
                break
        return [*head, *(best.rows or told.rows[:room])]

    def _rows(
        self, line: LineResult, doubts: Sequence[str], points: Sequence[_Point], room: int, brevity: int
    ) -> _Told:
        """The rows below the head, the briefer the less room there is for what would make the line suit."""
        t, brief = self.t, BREVITY.index
        suits = line.verdict == "suits if"
        warned = self._doubted(doubts, 1 if brevity >= brief("doubts") else 2)
        briefly = brevity >= brief("uses")
        held = [] if suits and brevity >= brief("no uses") else _reasons(line, t, briefly)
        reasons = self._fitting(held, 1 if briefly else 2)
        look = "" if _stays(line) or suits and brevity >= brief("no look") else wording.next_look(line, t.language)
        hangs = figures(line, t)
        hung = self._row(t("between").join(hangs))
        if brevity >= brief("sag") and len(hangs) > 2:
            hung = self._hung(line, hangs, brevity >= brief("no sag"))
        tail = self._row(plain(look)) + hung
        told, count = self._points(points, room - len(warned) - len(reasons) - len(tail))
        return _Told([*warned, *reasons, *told, *tail], count)

    def _hung(self, line: LineResult, hangs: Sequence[str], least: bool) -> list[str]:
        """The row of figures with the sag told briefly; where the fewest rows are wanted and it fills one, without."""
        t = self.t
        bare, *with_sag = [self._row(t("between").join(told)) for told in (
            [hangs[0], hangs[-1]], hangs, [hangs[0], sag_told(line, t, "te-sag-brief"), hangs[-1]])]  # fmt: skip
        return min([*with_sag, bare] if least else with_sag, key=len)

    def _doubted(self, doubts: Sequence[str], rows: int) -> list[str]:
        """How many readings are doubted, and as many of them as the rows hold."""
        for most in range(len(doubts), -1, -1):
            told = self._row(doubtful(doubts, self.t, most))
            if len(told) <= rows:
                return told
        return self._row(doubtful(doubts, self.t, 0))

    def _points(self, points: Sequence[_Point], left: int) -> tuple[list[str], int]:
        """As many points as there is room for, at most three, each as long as it may be, and how many that is."""
        for count in range(min(len(points), MOST_CONDITIONS), 0, -1):
            more = 1 if count < len(points) else 0
            if (told := self._as_long_as_fits(points[:count], left - more)) is not None:
                rest = self._counted(points[count:], min(left - len(told), MOST_COUNTED)) if more else []
                return [*told, *rest], count
        for number, one in enumerate(points[1:], 1):  # the first has no room: better another than none
            if (told := self._as_long_as_fits([one], left - 1)) is not None:
                others = [*points[:number], *points[number + 1 :]]
                return [*told, *self._counted(others, min(left - len(told), MOST_COUNTED))], 1
        return (self._counted(points, min(left, MOST_COUNTED)) if points else []), 0

    def _as_long_as_fits(self, points: Sequence[_Point], left: int) -> list[str] | None:
        """The points in so many rows, the longest told more briefly first; None where they do not fit."""
        tellings = [[self._point(f"{one.where}{self.t('colon')} {says}")
                     for says in (one.says, *one.briefer, *one.counted)] for one in points]  # fmt: skip
        at = [0] * len(points)
        while sum(len(told[now]) for told, now in zip(tellings, at)) > left:
            shorter = [(len(told[now]), -number, brief) for number, (told, now) in enumerate(zip(tellings, at))
                       for brief in [next((i for i in range(now, len(told)) if len(told[i]) < len(told[now])), None)]
                       if brief is not None]  # fmt: skip
            if not shorter:
                return None
            _, number, brief = max(shorter, key=lambda one: one[:2])
            at[-number] = brief
        return [row for told, now in zip(tellings, at) for row in told[now]]

    def _point(self, says: str) -> list[str]:
        return wrapped(f"  - {says}", "    ", self.wide).splitlines()

    def _counted(self, points: Sequence[_Point], left: int) -> list[str]:
        """How many more there are, and as many of them in short as rows are left for."""
        t = self.t
        rows = self._point(t("te-and-more", count=len(points)))
        named = _at_places([(one.where, one.short) for one in points if one.short], t)
        for count in range(1, len(named) + 1):
            text = t("te-and-more", count=len(points)) + f"{t('colon')} " + t("between").join(named[:count])
            if len(more := self._point(text)) > max(left, 1):
                break
            rows = more
        return rows

    def _fitting(self, parts: Sequence[str], most: int) -> list[str]:
        """As many of the parts as so many rows hold, in rows, and how many more; the first of them whole."""
        rows: list[str] = []
        for count in range(len(parts), 0, -1):
            more = f" (+{len(parts) - count})" if count < len(parts) else ""
            rows = self._row(self.t("between").join(parts[:count]) + more)
            if len(rows) <= most:
                break
        return rows

    def _row(self, says: str) -> list[str]:
        return wrapped(f"  {says}", "    ", self.wide).splitlines() if says else []


def _reasons(line: LineResult, t: Words, brief: bool) -> list[str]:
    """What holds the word where it is, in short; how much is used at the weaker end where it suits."""
    if line.verdict in ("suits", "suits if"):
        end = next((one for one in line.anchors if one.code == line.weaker_anchor), line.anchors[0])
        first, *others = _uses(end, t, brief)
        return [f"{end.code}{t('colon')} {first}", *others]
    held = _told_where(((where, f.in_words(t.language, "short"), "") for where, f in line.all_ordered
                        if f.effect == line.verdict), t)  # fmt: skip
    return _at_places([(one.where, one.says) for one in held], t)


def _at_places(told: Sequence[tuple[str, str]], t: Words) -> list[str]:
    """Texts with their place, which is not told again of the next at the same."""
    before = ["", *(where for where, _ in told)]
    return [says if where == last else f"{where}{t('colon')} {says}" for last, (where, says) in zip(before, told)]


def _uses(end: AnchorResult, t: Words, brief: bool) -> list[str]:
    """How much of what holds and of the bark is used, in one where both are known."""
    if not (known(end.hold_use) and known(end.care_use)):
        return [end.hold_told.in_words(t.language), end.care_told.in_words(t.language)]
    m = Measures(t.language)
    return [t("te-uses-brief" if brief else "te-uses", hold=m.share(end.hold_use), care=m.share(end.care_use))]


def _stays(line: LineResult) -> set[str]:
    """Codes of the steps that a "cannot say" asks for whatever is looked at: they come before anything that was not."""
    return {one.code for look in line.looks for one in look.stays}


def _points(line: LineResult, t: Words) -> list[_Point]:
    """What would make it suit: conditions, next steps, or changes that were judged again."""
    part = {"suits if": "condition", "cannot say": "action"}.get(line.verdict)
    briefer, counted = dict[str, tuple[str, ...]](), dict[str, tuple[str, ...]]()  # by the whole text
    if part is not None:
        first = _stays(line)
        whole = bool(first) or not line.looks  # else a row of its own tells what to look at
        held = sorted(line.all_ordered, key=lambda one: not first & {
            step.code for step in [said_by(one[1].code, "action", one[1].values)] if step})  # fmt: skip
        asked = [(where, f) for where, f in held if f.effect == line.verdict and (whole or f.code != "not-looked-at")]
        told = [(where, _asked(f, part, t), f.in_words(t.language, "short")) for where, f in asked]
        briefer = {plain(says): tuple(map(plain, _briefer(f, t))) for (_, says, _), (_, f) in zip(told, asked)}
        counted = {plain(says): tuple(map(plain, _counted(f, t))) for (_, says, _), (_, f) in zip(told, asked)}
        weaker = next((one for one in told if one[0] == line.weaker_anchor), None)
        if not first:  # whose uses are told above: what mends them is not left out
            told.sort(key=lambda one: one is not weaker)
    else:
        refused = [end for end in line.anchors if end.verdict == "leave it"]
        told = [(end.code, t("te-mend", change=mend.what.in_words(t.language), reaches=t.of(mend.reaches)), "")
                for end in refused for mend in end.remedies]  # fmt: skip
        told += [(end.code, wording.no_mend(end, t), "") for end in refused if not end.remedies]
        told += [("", t("te-mend", change=mend.what.in_words(t.language), reaches=t.of(mend.reaches)), "")
                 for mend in line.remedies if line.verdict == "leave it"]  # fmt: skip
        if line.verdict == "leave it" and not told and (mend := wording.no_mend_of_line(line, t)):
            told.append(("", mend, ""))
    return _alike([replace(one, briefer=briefer.get(one.says, ()), counted=counted.get(one.says, ()))
                   for one in _told_where(told, t)])  # fmt: skip


def _alike(points: Sequence[_Point]) -> list[_Point]:
    """The points, those that differ in further ways alone as one, which tells the first way."""
    alike: dict[str, list[_Point]] = {}
    for one in points:
        alike.setdefault(one.briefer[-1] if one.briefer else one.says, []).append(one)
    return [first if not others else _Point(", ".join(dict.fromkeys((first.where, *(one.where for one in others)))),
                                            first.briefer[0], first.short, first.briefer[1:], first.counted)
            for first, *others in alike.values()]  # fmt: skip


def _asked(finding: Finding, part: str, t: Words) -> str:
    """What a finding asks for; of what was not looked at the things themselves."""
    if finding.code == "not-looked-at":
        return said("look-at-things", things=dict(finding.values)["things"]).in_words(t.language)
    return finding.in_words(t.language, part)


def _briefer(finding: Finding, t: Words) -> tuple[str, ...]:
    """A condition more and more briefly: of several ways that meet it the first, and how many more."""
    if finding.effect != "suits if" or (met := finding.met_by) is None:
        return ()
    ways = dict(met.values)
    if not isinstance(first := ways.get("first"), Said):
        return tuple(filter(None, (replace(met, part="brief").in_words(t.language),)))
    more = len(ways.get("others", ()))
    code, count = ("first-way-of", {"count": more}) if more else ("first-way", {})
    way = said(code, first=first, **count)
    return tuple(replace(way, part=part).in_words(t.language) for part in ("full", "short", "brief"))


def _counted(finding: Finding, t: Words) -> tuple[str, ...]:
    """A way that brings further conditions with it, told with the first of them and how many more there are."""
    met = finding.met_by if finding.effect == "suits if" else None
    ways = dict(met.values) if met is not None else {}
    way = ways.get("first", met)
    if not isinstance(way, Said) or way.code != "and-then":
        return ()
    brings = dict(way.values)
    first, *rest = brings["still"]
    few = said("and-then-of", change=brings["change"], first=first, count=len(rest)) if rest else way
    others = len(ways.get("others", ()))
    told = said("first-way-of", first=few, count=others) if others else said("first-way", first=few)
    return (replace(told, part="brief").in_words(t.language),) if rest else ()


def _told_where(told: Iterable[tuple[str, str, str]], t: Words) -> list[_Point]:
    """Each text once, with the codes of all the anchors it holds at."""
    places: dict[str, list[str]] = {}
    shorts: dict[str, str] = {}
    for where, says, why in told:
        if says := plain(says):
            places.setdefault(says, []).append(where or t("te-the-line"))
            shorts.setdefault(says, plain(why))
    return [_Point(", ".join(dict.fromkeys(at)), says, shorts[says]) for says, at in places.items()]
