"""One end of a line on the card: how it is tied, what it asks for, and what has room on a phone held at the tree.

An end of a line that is left or cannot be judged tells why, and nothing that reads as how to tie it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from siteassess.advice.finding import Finding, told_first
from siteassess.advice.gear_loads import RIGGING
from siteassess.advice.other_trees import trial_steps
from siteassess.advice.packing import packing_list
from siteassess.advice.results import AnchorResult, LineResult
from siteassess.advice.verdict import STOP_SIGNS
from siteassess.papers import as_planned, wording
from siteassess.papers.handover import Manner
from siteassess.papers.look import shorten
from siteassess.reference.findings import Said, said, word
from siteassess.reference.pages import plain
from siteassess.register.answer import AGAINST

ROW = 40  # characters of a row of a phone, in its usual letters
NAME_SHOWN = 32  # of a name that people gave, which is to push nothing off
END_ROWS, TRIAL_ROWS, LINE_ROWS = 24, 9, 9  # for what is asked: of an end, of one with a trial load, of the line
DECIDING_RANK = 5  # what kills, a limit, what it hangs on, a rule of the place, care of the tree: never left out
FURTHER_WAYS = ("or-else", "or-this")
# a nest's place stays with the officers; the season bar warns of nesting without it
SIGNS_KEPT_BACK = (STOP_SIGNS["nest_in_use"],)


@dataclass(frozen=True)
class Fitted:
    """What has room on a screen, in its order. `rest` is counted there, and told further down and on paper; `kept` is
    counted only.
    """

    told: tuple[str, ...]
    rest: tuple[str, ...] = ()
    kept: int = 0  # with the officers

    @property
    def more(self) -> int:
        return len(self.rest) + self.kept


@dataclass(frozen=True)
class CardEnd:
    """What the card tells of one end; of a line not to be tied `asked` is why, and neither rows nor steps are there."""

    name: str
    code: str
    tag: str
    species: str
    verdict: str
    signs: tuple[str, ...]
    rows: Sequence[tuple[str, str]]
    asked: Fitted
    trial: tuple[str, ...]
    settled: str
    trial_apart: bool = False  # of a phone further down: it comes with a change, beside conditions that are long


def card_ends(line: LineResult, how: Manner) -> list[CardEnd]:
    """The ends of a line.

    Parameters
    ----------
    line : judged
    how : language and units
    """
    return [_end(end, line, how) for end in line.anchors]


def _end(end: AnchorResult, line: LineResult, how: Manner) -> CardEnd:
    language, system = how.tongue
    ties = line.verdict not in AGAINST
    signs = [one for one in shown_to_members(end.ordered) if one.about == "stop sign"]
    # a step that only explains has no short line, and stands in the report
    trial = tuple(_steps(end, line, how)) if ties else ()
    rows = TRIAL_ROWS if any(trial) and end.trial else END_ROWS
    return CardEnd(
        end.end, end.code, wording.tag(end, language), word(plain(end.species) or end.kind, language), end.verdict,
        tuple(one.in_words(language, system=system) for one in signs),
        _rows(end, line, how) if ties else (),
        asks_still(end.findings, how, rows) if ties
        else against([f for f in end.findings if f not in signs], line, how),
        tuple(filter(None, trial)), wording.unsettled(line.verdict, language), not end.trial,
    )  # fmt: skip


def _steps(end: AnchorResult, line: LineResult, how: Manner) -> Iterator[str]:
    """A trial load in short: how far to tighten for it, and to what tension to let off again.

    Where a condition asks for one that comes with a change of the plan, the steps are those of any.
    """
    t, m = how.words, how.measures()
    peak = max((load.tension_n for load in end.loads if load.case == RIGGING), default=None)
    stop, asked = wording.stop_at(line), as_planned.asked_stop(line, m)
    for step in end.trial or _of_any_trial(end):
        if step.code == "trial-in-steps" and peak is not None and stop is not None:
            peaks = as_planned.planned(m.stop(peak), None, asked is not None, t)
            yield t("card-trial-up", peak=peaks, stop=asked or m.stop(stop))
        else:
            yield replace(step, part="short").in_words(*how.tongue)


def _of_any_trial(end: AnchorResult) -> tuple[Said, ...]:
    """Steps of a trial load where a condition of an end speaks of one, and its use as planned is none to try."""
    asks = end.loads and as_planned.changed_by(as_planned.conditions(end.findings), as_planned.TRIED)
    steps = trial_steps(end.loads) if asks else ()
    return steps if end.kind == "tree" else steps[:2]  # what follows is of a trunk's foot


def _rows(end: AnchorResult, line: LineResult, how: Manner) -> list[tuple[str, str]]:
    """How it is tied, with the sizes of the packing list."""
    t, m = how.words, how.measures()
    # that a sling replaces the planned one is among the conditions
    items = [replace(one, replaces=()) for one in packing_list((replace(line, anchors=(end,)),))]
    sling, pads = (t("between").join(plain(one.told().in_words(*how.tongue)) for one in items if one.kind in kinds)
                   for kinds in (("sling", "rope"), ("pad", "slat")))  # fmt: skip
    plan = end.protection.asked if end.protection else None
    if pads and plan and plan.pad_scope:
        pads += said("pad-where", scope=plan.pad_scope).in_words(t.language)
    none = said("no-tie-planned").in_words(t.language)
    most = max((load.tension_n for load in end.loads), default=None)
    height = as_planned.planned(m.length(end.tie_height_m, 2), as_planned.tie_asked_for(end, line, m), False, t)
    changes = as_planned.changed_by(as_planned.line_conditions(line), as_planned.CHANGE_PULL)
    return [(t("tie-height"), height), (t("sling"), sling or none), (t("padding"), pads or t("none")),
            (t("pull-greatest"), as_planned.planned(m.force(most), None, changes, t))]  # fmt: skip


def shown_to_members(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Those that members read, in the order they are told."""
    return tuple(one for one in told_first(findings) if dict(one.values).get("sign") not in SIGNS_KEPT_BACK)


def asks_still(findings: Iterable[Finding], how: Manner, rows: int) -> Fitted:
    """What still completes "suits if", each once: as much as so many rows of a phone hold, what decides always.

    Parameters
    ----------
    findings : of an end or of the line
    how : language and units
    rows : of a phone
    """
    language, system = how.tongue
    told: dict[str, bool] = {}
    enough: dict[str, str] = {}  # the first of several ways to meet one
    for one in shown_to_members(findings):
        if one.effect == "suits if" and (says := short_named(one).in_words(language, "condition", system)):
            told[says] = told.get(says, False) or one.rank <= DECIDING_RANK
            if alone := _one_way(one.asked or Said(one.code, one.values, "condition")):
                enough[says] = alone.in_words(language, system)
    return _fitted(told, enough, rows)


def against(findings: Iterable[Finding], line: LineResult, how: Manner) -> Fitted:
    """What holds a line at "leave it" or "cannot say", in short, and what to do about the latter.

    Parameters
    ----------
    findings : of an end, or the line's own
    line : judged so
    how : language and units
    """
    language, system = how.tongue
    held = [one for one in findings if one.effect == line.verdict]
    told = []
    for one in map(short_named, shown_to_members(held)):
        says = one.in_words(language, "short", system)
        acts = one.effect == "cannot say" and one.code != "not-looked-at"  # which says what to look at itself
        then = one.in_words(language, "action", system) if acts else ""
        told.append(f"{says}{how.words('colon')} {then}" if then else says)
    return Fitted(tuple(dict.fromkeys(told)), kept=len(held) - len(told))


def _one_way(met: Said) -> Said | None:
    """The first of several ways to meet a condition, each of which is enough; None where it has one way only."""
    further = dict(met.values).get("others", ())
    if not further or not all(isinstance(one, Said) and one.code in FURTHER_WAYS for one in further):
        return None
    return replace(met, values=tuple((name, () if value is further else value) for name, value in met.values))


def _fitted(told: dict[str, bool], enough: dict[str, str], rows: int) -> Fitted:
    """As many as have room, in their order; the true ones always have, with one way to meet them where it is narrow."""
    deciding = [says for says, decides in told.items() if decides]
    narrow = enough if sum(map(_rows_of, deciding)) > rows else {}
    left = rows - sum(_rows_of(narrow.get(says, says)) for says in deciding)
    kept = []
    for says, decides in told.items():
        if not decides:
            left -= _rows_of(says)
        if decides or left >= 0:
            kept.append(narrow.get(says, says))
    return Fitted(tuple(kept), tuple(says for says in told if says not in kept))


def _rows_of(says: str) -> int:
    return math.ceil(len(says) / ROW)


def short_named(found: Finding) -> Finding:
    """The same with the names that people gave to things cut to what a card has room for."""
    return replace(found, values=_named(found.values))


def _named(values: tuple[tuple[str, object], ...]) -> tuple[tuple[str, object], ...]:
    return tuple((name, replace(value, values=_named(value.values)) if isinstance(value, Said)
                  else shorten(value, NAME_SHOWN) if name == "name" else value) for name, value in values)  # fmt: skip
