"""An assessment in short, for a terminal: at most eight rows a line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from siteassess.advice.results import Assessment, LineResult
from siteassess.advice.wind_check import told_wind
from siteassess.papers import wording
from siteassess.papers.language import Words, cautions_told, words_in
from siteassess.papers.terminal import Paint, finish, line_head, whose, wrapped
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

MOST_ROWS, MOST_CONDITIONS = 8, 3  # of a line: rows, and things that would make it suit
WORTH_A_LOOK = 0.1  # share of the answers that bring another word


def short(
    assessment: Assessment, *, ascii_only: bool = False, language: str = "en", paint: Paint = lambda _, word: word,
    words_only: bool = False,
) -> str:  # fmt: skip
    """The word of each line, what decides it, what would make it suit and where to stop: at most eight rows a line.

    Parameters
    ----------
    assessment, ascii_only, language : as in `summary`
    paint : what colours a verdict's word, by the verdict
    words_only : tell the words alone
    """
    t = words_in(language)
    rows = [_in_short(line, t, paint, words_only) for line in assessment.lines] or [[t("req-no-line")]]
    if words_only:
        return finish("\n".join([row for one in rows for row in one] + [t("no-inspection")]), ascii_only)
    caution = t("each-verdict", tail=t("verdict-tail")) + "\n" + wrapped(
        f"{t('cautions')}{t('colon')} {plain(' '.join(cautions_told(assessment, t)))}", "  ")  # fmt: skip
    return finish("\n\n".join(["\n".join(one) for one in (whose(assessment, t), *rows)] + [caution]), ascii_only)


def _in_short(line: LineResult, t: Words, paint: Paint, words_only: bool) -> list[str]:
    """A line's rows; what does not fit is counted, not left out in silence."""
    head = [line_head(line, t, paint)]
    if words_only:
        return head
    head += _fitting(_reasons(line, t), t)
    tail = [row for parts in (_next(line, t), _figures(line, t)) for row in _fitting(parts, t)]
    asked, told = _asked(line, t), list[str]()
    for count in range(min(len(asked), MOST_CONDITIONS), -1, -1):
        more = [t("te-and-more", count=len(asked) - count)] if len(asked) > count else []
        told = [row for text in (*asked[:count], *more) for row in wrapped(f"  - {text}", "    ").splitlines()]
        if len(head) + len(told) + len(tail) <= MOST_ROWS:
            break
    return [*head, *told, *tail]


def _fitting(parts: Sequence[str], t: Words) -> list[str]:
    """As many of the parts as two rows hold, in rows; the first of them whole."""
    rows: list[str] = []
    for count in range(1, len(parts) + 1):
        more = wrapped(f"  {t('between').join(parts[:count])}", "    ").splitlines()
        if rows and len(more) > 2:
            break
        rows = more
    return rows


def _reasons(line: LineResult, t: Words) -> list[str]:
    """What holds the word where it is, in short; how much is used at the weaker end where it suits."""
    if line.verdict in ("suits", "suits if"):
        end = next((one for one in line.anchors if one.code == line.weaker_anchor), line.anchors[0])
        return [f"{end.code}{t('colon')} {end.hold_told.in_words(t.language)}", end.care_told.in_words(t.language)]
    held = _told_where(((where, f.in_words(t.language, "short")) for where, f in line.all_ordered
                        if f.effect == line.verdict), t)  # fmt: skip
    places = ["", *(where for where, _ in held)]
    return [says if where == before else f"{where}{t('colon')} {says}" for before, (where, says) in zip(places, held)]


def _asked(line: LineResult, t: Words) -> list[str]:
    """What would make it suit: conditions, next steps, or changes that were judged again."""
    part = {"suits if": "condition", "cannot say": "action"}.get(line.verdict)
    if part is not None:
        told = [(where, f.in_words(t.language, part)) for where, f in line.all_ordered
                if f.effect == line.verdict and not (f.code == "not-looked-at" and line.looks)]  # fmt: skip
        weaker = next((one for one in told if one[0] == line.weaker_anchor), None)
        told.sort(key=lambda one: one is not weaker)  # whose uses are told above: what mends them is not left out
    else:
        refused = [end for end in line.anchors if end.verdict == "leave it"]
        told = [(end.code, t("te-mend", change=mend.what.in_words(t.language), reaches=t.of(mend.reaches)))
                for end in refused for mend in end.remedies]  # fmt: skip
        told += [(end.code, t("te-no-mend")) for end in refused if not end.remedies]
    return [f"{where}{t('colon')} {says}" for where, says in _told_where(told, t)]


def _told_where(told: Iterable[tuple[str, str]], t: Words) -> list[tuple[str, str]]:
    """Each text once, with the codes of all the anchors it holds at."""
    places: dict[str, list[str]] = {}
    for where, says in told:
        places.setdefault(plain(says), []).append(where or t("te-the-line"))
    return [(", ".join(dict.fromkeys(at)), says) for says, at in places.items() if says]


def _next(line: LineResult, t: Words) -> list[str]:
    """What to look at next, where an answer may well bring another word."""
    worth = any(look.changes is None or look.changes >= WORTH_A_LOOK for look in line.looks)
    return [plain(wording.looks(line, t.language, most=1))] if worth else []


def _figures(line: LineResult, t: Words) -> list[str]:
    """Where to stop, what sag to expect, and when to take it down, of a line that may hang."""
    if line.verdict not in ("suits", "suits if"):
        return []
    m, told = Measures(t.language), []
    if (tension := wording.stop_at(line)) is not None:
        told.append(t("te-stop-at", tension=m.force(tension)))
    if (sag := wording.sag(line)) is not None:
        told.append(t("te-sag", sag=m.length(sag)))
    wind = wording.least_wind([end for end in line.anchors if end.kind == "tree"])
    down = t("te-down-before", gust=m.gust(told_wind(wind))) if known(wind) and wind >= 1 else t(
        "te-down", when=wording.take_down_of(line.anchors, t))  # fmt: skip
    return [*told, down]
