"""Which missing thing to look at first: the one whose answer would most likely change the word of a line.

Each missing thing is filled with the middling answer it may have, all at once, and the line judged; then each thing by
itself with its other answers (`data/plausible.yaml`). What alone ends in "cannot say" comes first. The share of
answers that bring another word is told; of things with like shares the one that moves the uses furthest comes first.
What is only a condition where nobody looked, such as a power line, is such a thing too. A pull of unknown way stays in
its worst direction meanwhile. None of these answers enters a verdict. What was estimated, guessed or copied was looked
at, but not measured: that is told beside it.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from siteassess.advice.filled import filled_height_of
from siteassess.advice.results import Evidence, LineResult, Look
from siteassess.advice.softer import LOOKED_FOR
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.advice.verdict import SIGN_OF_THING, STOP_SIGNS, Verdict
from siteassess.errors import SiteassessError
from siteassess.mechanics.loadcases import USES
from siteassess.records.anchor import ANCHOR_KINDS, Anchor, Tree, TrunkReading
from siteassess.records.fields import SECTORS
from siteassess.records.line import EndName, Line
from siteassess.records.record import Record
from siteassess.records.trunk import trunk_at
from siteassess.records.writing import as_plain
from siteassess.reference.findings import Said, said_by
from siteassess.reference.tables import rows
from siteassess.units import show

SIGNS = "stop signs"
WAY = "both positions or one with the compass bearing"  # what tells the way of a pull
# things that decide nothing by themselves, and are a condition where nobody looked at them
UNSEEN = {
    "power-line-unseen": "power line", "softer-signs-unseen": "softer signs",
    "open-below-unsaid": "depth under the line", "clears-if-level": "ground under the line",
    "clears-equipment-if-level": "ground under the line",
    "ground-under-hammock-unsaid": "ground under the line",
}  # fmt: skip
OF_OTHERS = {"limit-unknown", "not-looked-at"}  # what follows from another finding, which tells the step to take
EDGE_AT = "1 m"  # of a kerb or trench that was not looked for (judgement)


@dataclass(frozen=True)
class _Missing:
    """A thing that nobody looked at, and where."""

    thing: str
    end: EndName | Literal[""]  # empty of the line as a whole
    code: str  # of the anchor
    bearing: float | None  # of the pull there [deg true]
    part: str  # of the record that its answers go into: "anchor", "end" or "line"; empty where none is listed
    row: Mapping[str, Any] | None = field(compare=False)  # its plausible answers


Answers = Mapping[_Missing, Mapping[str, Any]]
Tried = list[tuple[float, LineResult]]  # weight of an answer, and the line with it


def looks_of(
    record: Record, line: LineResult, judge: Callable[[Record], LineResult]
) -> tuple[Look, ...]:
    """The missing things of a line, the one whose answer would most likely change its word first.

    Parameters
    ----------
    record : Record
        As it was read.
    line : LineResult
        As judged, with what each end lacks.
    judge : callable
        The line as judged in a changed record.

    Returns
    -------
    tuple of Look
        Things of which no plausible answer is listed, or none that the record can hold, come last, with no share.
    """
    mine = next(one for one in record.lines if one.id == line.id)
    missing = _missing(line, taped=bool(mine.ground or mine.ground_below))
    if not missing:
        return ()
    plain = as_plain(record)
    middling: Answers = {one: one.row["answers"][0] for one in missing if one.row}

    def judged(changed: Answers, left_out: _Missing | None = None) -> LineResult | None:
        """The line with answers other than the middling ones, or without one; None where no record can hold them."""
        answers = {one: answer for one, answer in {**middling, **changed}.items() if one != left_out}
        try:
            return judge(Record.model_validate(_filled(plain, line.id, answers)))
        except (ValueError, SiteassessError):
            return None

    usual = judged({})
    tried = {one: _tried(one, usual, judged) for one in missing}
    word, stays = (usual.verdict, _stays(usual, tried.values(), line)) if usual is not None else (None, ())
    found = []
    for one in missing:
        changes, moves = _effect(tried[one], word)
        # what alone keeps the line from a word; what is taken at its worst, or is only a condition, does not
        settles = (line.verdict == "cannot say" != word and one in middling
                   and (left := judged({}, one)) is not None and left.verdict == "cannot say")  # fmt: skip
        look = Look(one.thing, one.code if one.end else "", changes, word, stays)
        found.append((settles, -1.0 if changes is None else changes, moves, look))
    found.sort(key=lambda told: told[:-1], reverse=True)
    return tuple(look for *_, look in found)


def _stays(usual: LineResult, tried: Iterable[Tried], line: LineResult) -> tuple[Said, ...]:
    """What to do about each "cannot say" that no answer to a missing thing settles, such as a wall nobody measured."""
    now = {finding.code for _, finding in line.all_ordered} - OF_OTHERS
    for other in (other for lines in tried for _, other in lines if other.verdict != "leave it"):
        now &= {finding.code for _, finding in other.all_ordered}
    left = [finding for _, finding in usual.all_ordered if finding.effect == "cannot say" and finding.code in now]
    told = (said_by(finding.code, "action", finding.values) for finding in left)
    return tuple(dict.fromkeys(one for one in told if one is not None))


def _missing(line: LineResult, taped: bool) -> list[_Missing]:
    """What nobody looked at; ground that was taped along the line is known once its span is."""
    found: dict[tuple[str, str], _Missing] = {}
    for end in line.anchors:
        blind = end.pull_bearing_true_deg is None
        loose = [WAY] if blind and "position" not in end.evidence.missing else []
        named = [SIGNS if name in SIGN_OF_THING else WAY if name == "position" and blind else name
                 for name in end.evidence.missing]  # fmt: skip
        unseen = [UNSEEN[one.code] for one in (*end.findings, *line.findings) if one.code in UNSEEN
                  and not (taped and "span" in named and "under the line" in UNSEEN[one.code])]  # fmt: skip
        for thing in (*named, *loose, *unseen):
            row = _row(thing, end.kind)
            part = "" if row is None else row["part"]
            at: EndName | Literal[""] = "" if part == "line" else end.end
            found.setdefault((thing, at), _Missing(thing, at, end.code, end.pull_bearing_true_deg, part, row))
    return list(found.values())


def _row(thing: str, kind: str) -> Mapping[str, Any] | None:
    """The plausible answers of a thing; a boulder's slope is not a tree's."""
    others = ANCHOR_KINDS.keys() - {kind}
    return next((row for row in rows("plausible") if row["thing"] == thing and row["of"] not in others), None)


def _tried(one: _Missing, usual: LineResult | None, judged: Callable[[Answers], LineResult | None]) -> Tried:
    """The line at each answer to a thing that a record can hold, and its weight; none where no answer is listed."""
    if one.row is None or usual is None:
        return []
    first, *others = one.row["answers"]
    found = [(first["weight"], usual), *((answer["weight"], judged({one: answer})) for answer in others)]
    return [(weight, line) for weight, line in found if line is not None]


def _effect(tried: Tried, word: Verdict | None) -> tuple[float | None, float]:
    """Share of a thing's answers that bring another word, and how far its answers move the uses [ln]."""
    weights = sum(weight for weight, _ in tried)
    if not weights:
        return None, 0.0
    other = sum(weight for weight, line in tried if line.verdict != word)
    uses = [[max(use or 0.0, 1e-3) for end in line.anchors for use in (end.hold_use, end.care_use)]
            for _, line in tried]  # fmt: skip
    moves = max(math.log(max(ways) / min(ways)) for ways in zip(*uses))
    return other / weights, moves


# ---- a record with answers filled in


def _filled(plain: dict[str, Any], line_id: str, answers: Answers) -> dict[str, Any]:
    made = copy.deepcopy(plain)
    line = next(one for one in made["lines"] if one["id"] == line_id)
    for one, answer in answers.items():
        anchor = next(anchor for anchor in made["anchors"] if anchor["code"] == one.code)
        into = {"anchor": anchor, "end": line[(one.end or "a").lower()], "line": line}[one.part]
        for name, value in answer.items():
            if name == "filled":
                _fill_height(anchor, value)
            elif name == "edge":
                edge = {"what": value, "side": _behind(one.bearing)[1], "distance": EDGE_AT}
                into |= {"hard_edge_near": "yes", "hard_edges": [edge]}
            elif name == "roots":
                behind = dict.fromkeys(_behind(one.bearing), answer.get("roots behind", value))
                into["roots"] = dict.fromkeys(SECTORS, value) | behind | _seen(into.get("roots", {}))
            elif name == "signs":
                seen = _seen(into.get("signs", {}))
                unseen = [sign for sign in STOP_SIGNS if sign not in seen]
                into["signs"] = dict.fromkeys(unseen, "no") | seen | ({unseen[0]: "yes"} if value == "one seen" else {})
            elif name == "softer":
                seen = _seen(into.get("softer_signs", {})) | ({"hollow_sound": ""} if into.get("hollow") else {})
                unseen = [sign for sign in LOOKED_FOR if sign not in seen]
                into["softer_signs"] = {**into.get("softer_signs", {}), **dict.fromkeys(unseen, "no"),
                                        **({value: "yes"} if value in unseen else {})}  # fmt: skip
            elif isinstance(value, Mapping):
                into[name] = {**into.get(name, {}), **value}
            elif name not in ("weight", "roots behind"):
                into[name] = [dict(item) for item in value] if isinstance(value, tuple) else value
    return made


def _seen(given: dict[str, str]) -> dict[str, str]:
    """What was looked at, which no answer changes."""
    return {name: said for name, said in given.items() if said != "not looked"}


def _behind(bearing: float | None) -> tuple[str, ...]:
    """The three sectors a pull comes from; those to the north where its bearing is not known."""
    back = 0 if bearing is None else round((bearing + 180) % 360 / 45)
    return tuple(SECTORS[(back + turn) % len(SECTORS)] for turn in (-1, 0, 1))


def _fill_height(anchor: dict[str, Any], share: float) -> None:
    """A height some way between the lowest and the highest that such a tree may have."""
    inputs = tree_inputs(Tree.model_validate({name: said for name, said in anchor.items() if name != "height"}), None)
    filled = filled_height_of(inputs.species, inputs.diameter)
    if filled is not None:
        tall = filled.height * (filled.high / filled.height) ** share
        anchor |= {"height": show(tall, "m 1"), "height_how": "measured"}


# nobody said how is taken as estimated, as the scatter of a reading takes it
ESTIMATED = ("estimated", "unknown", "paced", "guess", "estimate", "hauling sum", "maker's figure")


def with_how_read(evidence: Evidence, anchor: Anchor, line: Line | None = None, tie: float | None = None) -> Evidence:
    """The evidence with the things that were looked at and not measured.

    Parameters
    ----------
    anchor : Tree or Boulder
        As recorded.
    line : Line, optional
        Planned on it.
    tie : float, optional
        Height of the tie [m].
    """
    how = dict(_of_tree(anchor, tie)) if isinstance(anchor, Tree) else {}
    how |= dict(_of_line(line)) if line is not None else {}
    seen = [thing for thing in evidence.deciding if thing not in evidence.missing]
    return replace(
        evidence, estimated=tuple(thing for thing in seen if how.get(thing) in ESTIMATED),
        copied=tuple(thing for thing in seen if how.get(thing) == "copied"),
    )  # fmt: skip


def _of_tree(tree: Tree, tie: float | None) -> Iterator[tuple[str, str]]:
    reading = trunk_at(tree, tie).reading
    if isinstance(reading, TrunkReading):  # each of several stems was read with a tape
        yield "trunk size", reading.how
    if tree.height is not None:
        yield "tree height", tree.height_how
    if tree.species is not None:
        yield "species or leaf type", tree.species.certainty


def _of_line(line: Line) -> Iterator[tuple[str, str]]:
    if line.span is not None:
        yield "span", line.span.how
    if line.standing is not None and line.standing.tension is not None and not USES[line.use].hung:
        yield "standing tension", line.standing.how
