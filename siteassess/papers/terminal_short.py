"""An assessment in short, for a terminal: at most eight rows a line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from siteassess.advice.finding import Finding
from siteassess.advice.results import AnchorResult, Assessment, LineResult
from siteassess.papers import wording
from siteassess.papers.language import Words, cautions_told, words_in
from siteassess.papers.terminal import WIDTH, Paint, figures, finish, line_head, whose, wrapped
from siteassess.reference.findings import Said, said, said_by
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

MOST_ROWS, MOST_CONDITIONS = 8, 3  # of a line: rows, and things that would make it suit
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
    width : columns of the terminal; what goes elsewhere has 80
    """
    wide = min(max(width or USUAL, NARROWEST), WIDTH)
    short_of = _Short(words_in(language), wide)
    t = short_of.t
    if words_only:
        heads = [line_head(line, line.day, t, paint, UNBROKEN) for line in assessment.lines] or [t("req-no-line")]
        return finish("\n".join([*heads, t("no-inspection")]), ascii_only)
    above = assessment.one_day  # told there of all lines
    heads = [line_head(line, None if line.day == above else line.day, t, paint, wide) for line in assessment.lines]
    told = [[*head.split("\n"), *short_of.rows(line, head)] for line, head in zip(assessment.lines, heads)]
    cautions = [t("each-verdict", tail=t("verdict-tail")),
                f"{t('cautions')}{t('colon')} {plain(' '.join(cautions_told(assessment, t)))}"]  # fmt: skip
    first = [wrapped(row, "  ", wide) for row in whose(assessment, t)]
    blocks = [first, *(told or [[t("req-no-line")]]), [wrapped(says, "  ", wide) for says in cautions]]
    return finish("\n\n".join("\n".join(rows) for rows in blocks), ascii_only)


@dataclass(frozen=True)
class _Point:
    """What would make a line suit: a condition, a step or a change, in short why, and briefer where it is long."""

    where: str  # codes of anchors, or that it is the line
    says: str
    short: str
    briefer: tuple[str, ...] = ()  # the longest first


@dataclass(frozen=True)
class _Short:
    t: Words
    wide: int

    def rows(self, line: LineResult, head: str) -> list[str]:
        """A line's rows below its head; what does not fit is counted, not left out in silence."""
        t, reasons = self.t, self._fitting(_reasons(line, self.t))
        look = "" if _stays(line) else plain(wording.next_look(line, t.language))
        tail = self._fitting([look] if look else []) + self._row(t("between").join(figures(line, t)))
        left = MOST_ROWS - len(head.split("\n")) - len(reasons) - len(tail)
        points, told = self._first_told(_points(line, t), left), list[str]()
        least = 1 if points and line.verdict == "suits if" else 0  # what nobody reads is no condition
        for count in range(min(len(points), MOST_CONDITIONS), least - 1, -1):
            whole = [row for one in points[:count] for row in self._point(f"{one.where}{t('colon')} {one.says}")]
            more = self._counted(points[count:], left - len(whole)) if count < len(points) else []
            told = [*whole, *more]
            if len(told) <= left:
                break
        return [*reasons, *told, *tail]

    def _first_told(self, points: list[_Point], left: int) -> list[_Point]:
        """The points, the first of them as long as it may be beside the row that counts the others."""
        for first in points[:1]:
            rows = left - (len(points) > 1)
            told = [first.says, *first.briefer]
            fits = (one for one in told if len(self._point(f"{first.where}{self.t('colon')} {one}")) <= rows)
            return [replace(first, says=next(fits, told[-1])), *points[1:]]
        return points

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

    def _fitting(self, parts: Sequence[str]) -> list[str]:
        """As many of the parts as two rows hold, in rows, and how many more; the first of them whole."""
        rows: list[str] = []
        for count in range(len(parts), 0, -1):
            more = f" (+{len(parts) - count})" if count < len(parts) else ""
            rows = self._row(self.t("between").join(parts[:count]) + more)
            if len(rows) <= 2:
                break
        return rows

    def _row(self, says: str) -> list[str]:
        return wrapped(f"  {says}", "    ", self.wide).splitlines() if says else []


def _reasons(line: LineResult, t: Words) -> list[str]:
    """What holds the word where it is, in short; how much is used at the weaker end where it suits."""
    if line.verdict in ("suits", "suits if"):
        end = next((one for one in line.anchors if one.code == line.weaker_anchor), line.anchors[0])
        first, *others = _uses(end, t)
        return [f"{end.code}{t('colon')} {first}", *others]
    held = _told_where(((where, f.in_words(t.language, "short"), "") for where, f in line.all_ordered
                        if f.effect == line.verdict), t)  # fmt: skip
    return _at_places([(one.where, one.says) for one in held], t)


def _at_places(told: Sequence[tuple[str, str]], t: Words) -> list[str]:
    """Texts with their place, which is not told again of the next at the same."""
    before = ["", *(where for where, _ in told)]
    return [says if where == last else f"{where}{t('colon')} {says}" for last, (where, says) in zip(before, told)]


def _uses(end: AnchorResult, t: Words) -> list[str]:
    """How much of what holds and of the bark is used, in one where both are known."""
    if not (known(end.hold_use) and known(end.care_use)):
        return [end.hold_told.in_words(t.language), end.care_told.in_words(t.language)]
    m = Measures(t.language)
    return [t("te-uses", hold=m.share(end.hold_use), care=m.share(end.care_use))]


def _stays(line: LineResult) -> set[str]:
    """Codes of the steps that a "cannot say" asks for whatever is looked at: they come before anything that was not."""
    return {one.code for look in line.looks for one in look.stays}


def _points(line: LineResult, t: Words) -> list[_Point]:
    """What would make it suit: conditions, next steps, or changes that were judged again."""
    part = {"suits if": "condition", "cannot say": "action"}.get(line.verdict)
    briefer: dict[str, tuple[str, ...]] = {}  # by the whole text
    if part is not None:
        first = _stays(line)
        counted = bool(first) or not line.looks  # else a row of its own tells what to look at
        held = sorted(line.all_ordered, key=lambda one: not first & {
            step.code for step in [said_by(one[1].code, "action", one[1].values)] if step})  # fmt: skip
        asked = [(where, f) for where, f in held if f.effect == line.verdict and (counted or f.code != "not-looked-at")]
        told = [(where, f.in_words(t.language, part), f.in_words(t.language, "short")) for where, f in asked]
        briefer = {plain(says): tuple(map(plain, _briefer(f, t))) for (_, says, _), (_, f) in zip(told, asked)}
        weaker = next((one for one in told if one[0] == line.weaker_anchor), None)
        if not first:  # whose uses are told above: what mends them is not left out
            told.sort(key=lambda one: one is not weaker)
    else:
        refused = [end for end in line.anchors if end.verdict == "leave it"]
        told = [(end.code, t("te-mend", change=mend.what.in_words(t.language), reaches=t.of(mend.reaches)), "")
                for end in refused for mend in end.remedies]  # fmt: skip
        told += [(end.code, wording.no_mend(end, t), "") for end in refused if not end.remedies]
    return [replace(one, briefer=briefer.get(one.says, ())) for one in _told_where(told, t)]


def _briefer(finding: Finding, t: Words) -> tuple[str, ...]:
    """Of a condition that several ways meet the first, and how many more; and in short, where there is a short line."""
    ways = dict(finding.met_by.values) if finding.effect == "suits if" and finding.met_by else {}
    if not isinstance(first := ways.get("first"), Said):
        return ()
    more = len(ways.get("others", ()))
    code, count = ("first-way-of", {"count": more}) if more else ("first-way", {})
    way = said(code, first=first, **count)
    return (way.in_words(t.language), replace(way, part="short").in_words(t.language))


def _told_where(told: Iterable[tuple[str, str, str]], t: Words) -> list[_Point]:
    """Each text once, with the codes of all the anchors it holds at."""
    places: dict[str, list[str]] = {}
    shorts: dict[str, str] = {}
    for where, says, why in told:
        if says := plain(says):
            places.setdefault(says, []).append(where or t("te-the-line"))
            shorts.setdefault(says, plain(why))
    return [_Point(", ".join(dict.fromkeys(at)), says, shorts[says]) for says, at in places.items()]
