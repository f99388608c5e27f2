"""pydantic's errors in our own words: where, what was read, what is wanted, how to mend it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from pydantic_core import ErrorDetails

from siteassess.errors import Fault
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.characters import short
from siteassess.records.fields import Part
from siteassess.records.record import Record
from siteassess.records.schema import Asked, asked_at, members, models_at
from siteassess.records.yaml_lines import UNREAD, Node, Steps, show_path

_LONGEST_LIST = 20
_FEW = 8


def faults_of(errors: list[ErrorDetails], root: Node) -> list[tuple[Steps, str, Fault]]:
    """Faults with the path and the type of the error each came from, once each."""
    found: list[tuple[Steps, str, Fault]] = []
    seen: set[Fault] = set()
    for error in errors:
        if _already_reported(error):
            continue
        path = document_path(error["loc"], root)
        fault = _fault(error, path, root)
        if fault not in seen:
            seen.add(fault)
            found.append((path, error["type"], fault))
    return found


def _already_reported(error: ErrorDetails) -> bool:
    value = error.get("input")
    if error["type"].startswith("union_tag") and isinstance(value, dict):
        value = value.get("kind")
    return value is UNREAD


def document_path(location: Steps, root: Node) -> Steps:
    """Path in the file of a place in the model: without the kind of anchor, and without a list of fixes never typed."""
    path: list[str | int] = []
    node: Node | None = root
    steps = list(location)
    while steps:
        step = steps.pop(0)
        if isinstance(step, str) and step in ANCHOR_KINDS and path[:1] == ["anchors"] and len(path) == 2:
            continue
        child = node.child(step) if node is not None else None
        if child is None and step == "fixes" and steps[:1] == [0] and node is not None and isinstance(node.value, dict):
            steps.pop(0)
            continue
        path.append(step)
        node = child
    return tuple(path)


def _fault(error: ErrorDetails, path: Steps, root: Node) -> Fault:
    read, wanted, mend = say(error, path)
    if error["type"].startswith("union_tag"):
        path = (*path, "kind")
    return Fault(root.line_at(path), show_path(root, path) or "record", read, wanted, mend)


def say(error: ErrorDetails, path: Steps, model: type[Part] = Record) -> tuple[str, str, str]:
    """What was read, what is wanted and how to mend it, for one of pydantic's errors about a model of ours.

    Parameters
    ----------
    path : where the value stands in what was typed
    model : the model that was read, whose field list gives the words
    """
    kind, value, location = error["type"], error.get("input"), error["loc"]
    asked = asked_at(location, model)
    if kind == "siteassess":
        context = error["ctx"]
        return shown(context["read"]), context["wanted"], context["mend"]
    if kind == "missing":
        return _missing(path, asked)
    if kind == "extra_forbidden":
        return _unknown_key(path, location, model)
    if kind.startswith("union_tag"):
        return _kind_of_anchor(kind, error.get("ctx", {}).get("tag"))
    if location == ("siteassess_record",):
        return shown(value), "1", "This program reads form 1 of the record; a later form needs a later program."
    if kind == "literal_error" and asked:
        return shown(value), asked.wanted(), choice_hint(value, asked.choices)
    if kind in _PARTS:
        return shown(value), _wanted_block(kind, asked), _block_hint(kind, value, asked)
    if kind == "string_type":
        return shown(value), asked.wanted() if asked else "a text", _quotes(value)
    if kind == "string_pattern_mismatch" and asked:
        return shown(value), asked.wanted() if asked.kind != "text" else asked.question.lower(), ""
    if kind in _LENGTHS:
        return shown(value), _LENGTHS[kind].format(**error.get("ctx", {})), ""
    wanted = asked.wanted() if asked else "a value this field can hold"
    return shown(value), wanted, _number_hint(value, asked)


_PARTS = ("model_type", "model_attributes_type", "dict_type", "tuple_type")
_LENGTHS = {
    "string_too_short": "at least {min_length} character",
    "string_too_long": "at most {max_length} characters",
    "too_short": "at least {min_length} items",
    "too_long": "at most {max_length} items",
}


def _missing(path: Steps, asked: Asked | None) -> tuple[str, str, str]:
    if path and isinstance(path[-1], int):
        return "one number", "a point as [latitude, longitude]", ""
    if asked is None:
        return "nothing", "a value", ""
    question = asked.question[:1].lower() + asked.question[1:]
    wanted = question if asked.kind in ("text", "part", "parts") else f"{question}: {asked.wanted()}"
    return "nothing", wanted, f"Fill in `{asked.name}:`."


def _unknown_key(path: Steps, location: Steps, model: type[Part]) -> tuple[str, str, str]:
    names = [name for part in models_at(location[:-1], model) for name in part.model_fields]
    key = str(path[-1])
    near = near_name(key, names)
    listed = ", ".join(names[:_LONGEST_LIST]) + (", ..." if len(names) > _LONGEST_LIST else "")
    wanted = f"one of the keys {listed}" if names else "no such key"
    if near and len(names) > _FEW:
        wanted = "a key of this form"
    mend = f"Did you mean {near}?" if near else "Delete it, or put it under `notes`."
    return f"the unknown key {shown(key)}", wanted, mend


def _kind_of_anchor(error_type: str, tag: object) -> tuple[str, str, str]:
    read = shown(tag) if error_type == "union_tag_invalid" else "no kind"
    near = near_name(str(tag), ANCHOR_KINDS)
    mend = f"Did you mean {near}?" if near else "Start the anchor with `kind: tree`."
    return read, "kind: " + ", ".join(ANCHOR_KINDS), mend


def _wanted_block(kind: str, asked: Asked | None) -> str:
    if kind == "tuple_type":
        return asked.wanted() if asked else "a list"
    return "a block of keys"


def _block_hint(kind: str, value: object, asked: Asked | None) -> str:
    if kind == "tuple_type" and isinstance(value, dict):
        return "Put a dash before the first key."
    if kind != "tuple_type" and isinstance(value, (tuple, list)):
        return "Leave out the dash."
    names = [member.name for model in (asked.models if asked else ()) for member in members(model)]
    return f"Write its keys below it: {', '.join(names[:8])}." if names else ""


def _quotes(value: object) -> str:
    if value is None:
        return "Leave the line out if there is nothing to say."
    if isinstance(value, (bool, int, float)):
        return f'Put it in quotes: "{shown(value)}".'
    return ""


def _number_hint(value: object, asked: Asked | None) -> str:
    if asked and asked.kind == "yes or no":
        return "Write true or false, without quotes."
    if isinstance(value, str) and "," in value:
        return "Use a point for decimals."
    return "Take it out of its quotes, without a unit." if isinstance(value, str) else ""


def choice_hint(value: object, choices: tuple[str | int, ...]) -> str:
    """What a wrong choice probably meant."""
    if isinstance(value, bool):
        return "Write yes or no." if "yes" in choices else ""
    near = near_name(str(value), [str(choice) for choice in choices], cutoff=0.75)
    return f"Did you mean {near}?" if near else ""


def near_name(word: str, names: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The nearest of some names, in any case of letters."""
    by_low = {name.lower(): name for name in names}
    near = difflib.get_close_matches(word[:80].lower().replace("_", " "), by_low, n=1, cutoff=cutoff)
    near = near or difflib.get_close_matches(word[:80].lower(), by_low, n=1, cutoff=cutoff)
    return by_low[near[0]] if near else None


def shown(value: object) -> str:
    """A value as a fault repeats it: short, on one line."""
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a block of keys"
    if isinstance(value, (tuple, list)):
        return "a list"
    return short(("true" if value else "false") if isinstance(value, bool) else str(value))
