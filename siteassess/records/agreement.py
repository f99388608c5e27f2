"""Faults no single field shows: codes used twice, lines to anchors that are not there, days that cannot be.

Looked for in what was read, not in the finished record, so that they come in the same list as every other fault.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from functools import cache

from siteassess.errors import Fault
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import Part
from siteassess.records.finding import Doubt
from siteassess.records.record import Record
from siteassess.records.schema import Asked, members
from siteassess.records.sentences import did_you_mean, near_names, shown
from siteassess.records.site import Fix, Position
from siteassess.records.size_terms import terms_of
from siteassess.records.sizes import size_doubts
from siteassess.records.yaml_lines import Node, Steps, show_path
from siteassess.reference.findings import Said, said, worded

EARLIEST_SURVEY = datetime.date(1990, 1, 1)  # judgement: an older date is a slip of the pen


def latest_day_on_earth() -> datetime.date:
    """Today where the day begins first; a later date lies in the future everywhere."""
    return (datetime.datetime.now(datetime.UTC) + datetime.timedelta(hours=14)).date()


def disagreements(root: Node, today: datetime.date | None = None) -> list[Fault]:
    """Every fault between fields.

    Parameters
    ----------
    root : the whole record as read, right or wrong
    today : datetime.date, optional
        Day a survey may not be later than; the latest day on earth if not given.
    """
    return [
        *misfits(root), *_used_twice(root), *_unknown_anchors(root), *_unknown_landmarks(root), *_unknown_pairs(root),
        *_days_in_order(root), *_impossible_sizes(root),
        *_survey_day(root, today or latest_day_on_earth()), *_trial_days(root, today or latest_day_on_earth()),
    ]


def misfits(node: Node, model: type[Part] = Record, path: Steps = (), root: Node | None = None) -> Iterator[Fault]:
    """Parts whose fields do not go together, such as both girth and diameter, whatever else is wrong with them."""
    root = root or node
    if not isinstance(node.value, dict):
        return
    if model is Position and not {"fixes", "ties"} & set(node.value):
        model = Fix  # written without its list
    if wrong := model.misfit(set(node.value)):
        read, wanted, mend = wrong
        yield _fault(root, path, read, wanted, mend)
    for asked in _parts(model):
        child = node.child(asked.name)
        if child is None:
            continue
        inside = child.value if isinstance(child.value, list) else [child]
        for index, item in enumerate(inside):
            below = (*path, asked.name, index) if isinstance(child.value, list) else (*path, asked.name)
            yield from misfits(item, _model_of(item, asked.models), below, root)


@cache
def _parts(model: type[Part]) -> tuple[Asked, ...]:
    return tuple(asked for asked in members(model) if asked.models)


def _model_of(node: Node, models: tuple[type[Part], ...]) -> type[Part]:
    return models[0] if len(models) == 1 else ANCHOR_KINDS.get(_text(node, "kind") or "", models[0])


def _items(root: Node, *path: str) -> list[tuple[Steps, Node]]:
    node: Node | None = root
    for step in path:
        node = node.child(step) if node is not None else None
    if node is None or not isinstance(node.value, list):
        return []
    return [((*path, index), item) for index, item in enumerate(node.value)]


def _places(root: Node) -> list[tuple[Steps, Node]]:
    return [*_items(root, "site", "landmarks"), *_items(root, "anchors")]


def _codes(items: Iterable[tuple[Steps, Node]]) -> dict[str, Steps]:
    return {code: path for path, item in items if (code := _text(item, "code"))}


def _text(node: Node | None, key: str) -> str | None:
    child = node.child(key) if node is not None else None
    return child.value if child is not None and isinstance(child.value, str) else None


def _fault(root: Node, path: Steps, read: str, wanted: str, mend: str) -> Fault:
    return Fault(root.line_at(path), show_path(root, path), shown(read), wanted, mend)


def _used_twice(root: Node) -> Iterator[Fault]:
    # anchors and landmarks share their codes, since a tie may be measured from either
    first: dict[str, int] = {}
    yield from _repeated(root, _places(root), "code", first)
    yield from _repeated(root, _items(root, "lines"), "id", {})


def _repeated(root: Node, items: Iterable[tuple[Steps, Node]], key: str, first: dict[str, int]) -> Iterator[Fault]:
    for path, item in items:
        code = _text(item, key)
        if code is None:
            continue
        line = root.line_at((*path, key))
        if code in first:
            wanted = worded("want-own-key", key=key, line=first[code])
            yield _fault(root, (*path, key), code, wanted, worded("mend-give-another"))
        first.setdefault(code, line)


def _unknown_anchors(root: Node) -> Iterator[Fault]:
    codes = _codes(_items(root, "anchors"))
    for path, line in _items(root, "lines"):
        ends = {end: _text(line.child(end), "anchor") for end in ("a", "b")}
        for end, code in ends.items():
            yield from _unknown(root, (*path, end, "anchor"), code, codes, "want-code-of-anchor", "mend-add-anchor")
        if ends["a"] is not None and ends["a"] == ends["b"]:
            wanted, mend = worded("want-another-anchor"), worded("mend-two-anchors")
            yield _fault(root, (*path, "b", "anchor"), ends["b"], wanted, mend)


def _unknown_pairs(root: Node) -> Iterator[Fault]:
    codes = _codes(_places(root))
    for path, pair in _items(root, "measured_pairs"):
        ends = {end: _text(pair, end) for end in ("a", "b")}
        for end, code in ends.items():
            yield from _unknown(root, (*path, end), code, codes, "want-code-of-place", "mend-add-it")
        if ends["a"] is not None and ends["a"] == ends["b"]:
            yield _fault(root, (*path, "b"), ends["b"], worded("want-place-not-a"), worded("mend-two-places"))


def _unknown_landmarks(root: Node) -> Iterator[Fault]:
    codes = _codes(_places(root))
    for path, item in _places(root):
        for rest, tie in _items(item, "position", "ties"):
            code, where = _text(tie, "landmark"), (*path, *rest, "landmark")
            if code is not None and code == _text(item, "code"):
                wanted, mend = worded("want-place-not-itself"), worded("mend-measured-from")
                yield _fault(root, where, code, wanted, mend)
            else:
                yield from _unknown(root, where, code, codes, "want-code-of-place", "mend-add-landmark")


def _unknown(
    root: Node, path: Steps, code: str | None, codes: dict[str, Steps], wanted: str, mend: str
) -> Iterator[Fault]:
    if code is not None and code not in codes:
        yield _fault(root, path, code, worded(wanted), did_you_mean(near_names(code, list(codes))) or worded(mend))


def _day(text: str | None) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(text) if text is not None and len(text) == 10 else None
    except ValueError:
        return None  # the field itself reports it


def _survey_day(root: Node, today: datetime.date) -> Iterator[Fault]:
    day = _day(_text(root.child("survey"), "date"))
    if day is None:
        return
    if day > today:
        wanted = worded("want-day-come", today=today.isoformat())
        yield _fault(root, ("survey", "date"), day.isoformat(), wanted, worded("mend-plan-day"))
    elif day < EARLIEST_SURVEY:
        wanted = worded("want-day-since", first=EARLIEST_SURVEY.isoformat())
        yield _fault(root, ("survey", "date"), day.isoformat(), wanted, worded("mend-year"))


def _trial_days(root: Node, today: datetime.date) -> Iterator[Fault]:
    for path, anchor in _items(root, "anchors"):
        day = _day(_text(anchor.child("trial"), "date"))
        if day is not None and day > today:
            wanted = worded("want-day-come", today=today.isoformat())
            yield _fault(root, (*path, "trial", "date"), day.isoformat(), wanted, worded("mend-trial-day"))


def _impossible_sizes(root: Node) -> Iterator[Fault]:
    plain = root.plain()
    for term in terms_of(plain):
        if term.beside is not None and (wanted := term.impossible()):
            slips = {finding.path: finding for finding in size_doubts(plain)}
            slip = slips.get(term.size.path) or slips.get(term.beside.path)
            of = None if slip is None or slip.path == term.size.path else term.beside.name_typed()
            mend = likelier(slip, of) or worded("mend-number-and-unit-of-both")
            yield _fault(root, term.size.path, term.size.typed.text, wanted, mend)


def likelier(slip: Doubt | None, of: Said | None = None) -> str:
    """What a refused size more likely was, or another one, as a way to mend it; nothing where no slip explains it."""
    if slip is None or slip.slip is None or slip.meant is None:
        return ""
    others = slip.others or ((slip.then,) if slip.then else ())
    return worded("mend-likelier", of=(said("mend-of-the-other", other=of),) if of else (), slip=slip.slip,
                  meant=slip.meant, more=(said("mend-or-else", others=others),) if others else ())  # fmt: skip


def _days_in_order(root: Node) -> Iterator[Fault]:
    for path, line in _items(root, "lines"):
        planned = line.child("planned")
        first, last = _day(_text(planned, "date")), _day(_text(planned, "until"))
        if first is not None and last is not None and last < first:
            wanted = worded("want-day-not-before", first=first.isoformat())
            yield _fault(root, (*path, "planned", "until"), last.isoformat(), wanted, worded("mend-days-swapped"))
