"""pydantic's errors in our own words: where, what was read, what is wanted, how to mend it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from typing import Any

from pydantic_core import ErrorDetails

from siteassess.errors import Fault
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.characters import shortened
from siteassess.records.fields import Part
from siteassess.records.record import Record
from siteassess.records.schema import ITEM, Asked, asked_at, fields, members, models_at
from siteassess.records.yaml_lines import UNREAD, Node, Steps, show_path
from siteassess.reference.findings import Worded, worded
from siteassess.reference.near_words import meant_by

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
    read, wanted, mend = sentence_of(error, path)
    if error["type"].startswith("union_tag"):
        path = (*path, "kind")
    return Fault(root.line_at(path), show_path(root, path) or worded("the-record"), read, wanted, mend)


def sentence_of(error: ErrorDetails, path: Steps, model: type[Part] = Record) -> tuple[str, str, str]:
    """What was read, what is wanted and how to mend it, for one of pydantic's errors about a model of ours.

    Parameters
    ----------
    error : as pydantic tells it
    path : where the value stands in what was typed
    model : the model that was read, whose field list gives the words

    Returns
    -------
    Read, wanted and mend, the last "" where nobody knows.
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
        return shown(value), "1", worded("mend-later-form")
    if kind == "literal_error" and asked:
        return shown(value), asked.wanted(), choice_hint(value, asked.choices)
    if kind in _PARTS:
        return shown(value), _wanted_block(kind, asked), _block_hint(kind, value, asked)
    if kind == "string_type":
        return shown(value), asked.wanted() if asked else worded("want-a-text"), _quotes(value)
    if kind == "string_pattern_mismatch" and asked:
        if asked.kind != "text":
            return shown(value), asked.wanted(), ""
        return shown(value), worded("want-asked-low", question=asked.question), ""
    if kind in _LENGTHS:
        return shown(value), _length(kind, error.get("ctx", {})), ""
    wanted = asked.wanted() if asked else worded("want-fitting-value")
    return shown(value), wanted, _number_hint(value, asked)


_PARTS = ("model_type", "model_attributes_type", "dict_type", "tuple_type")
_LENGTHS = {"string_too_short": "want-characters-least", "string_too_long": "want-characters-most",
            "too_short": "want-items-least", "too_long": "want-items-most"}  # fmt: skip


def _length(kind: str, limits: dict[str, Any]) -> Worded:
    return worded(_LENGTHS[kind], least=limits.get("min_length"), most=limits.get("max_length"))


def _missing(path: Steps, asked: Asked | None) -> tuple[str, str, str]:
    if path and isinstance(path[-1], int):
        return worded("read-one-number"), worded("want-a-point"), ""
    if asked is None:
        return worded("read-nothing"), worded("want-a-value"), ""
    if not asked.question:
        return worded("read-nothing"), asked.wanted(), worded("mend-fill-in", key=asked.name)
    alone = asked.kind in ("text", "part", "parts")
    wanted = worded("want-asked", question=asked.question) if alone else worded(
        "want-asked-as", question=asked.question, wanted=asked.wanted())  # fmt: skip
    return worded("read-nothing"), wanted, worded("mend-fill-in", key=asked.name)


def _unknown_key(path: Steps, location: Steps, model: type[Part]) -> tuple[str, str, str]:
    names = [name for part in models_at(location[:-1], model) for name in part.model_fields]
    key = str(path[-1])
    near = near_names(key, names)
    listed = (*names[:_LONGEST_LIST], *["..."] * (len(names) > _LONGEST_LIST))
    wanted = worded("want-one-of-keys", keys=listed) if names else worded("want-no-such-key")
    if near and len(names) > _FEW:
        wanted = worded("want-key-of-form")
    mend = did_you_mean(near) or _stands_below(key, location, model) or worded("mend-delete-or-notes")
    return worded("read-unknown-key", key=shown(key)), wanted, mend


def _stands_below(key: str, location: Steps, model: type[Part]) -> str:
    """That a key stands in a part below the one it was typed in; empty where it does not."""
    meant = {key, *meant_by(key)}
    below = [asked.path for part in models_at(location[:-1], model) for asked in fields(part) if asked.name in meant]
    if not below or len(key) < 3:  # a letter or two are typed for many things
        return ""
    way = [step for step in min(below, key=len) if step != ITEM]
    return worded("mend-stands-below", key=way[-1], above=".".join(way[:-1]))


def _kind_of_anchor(error_type: str, tag: object) -> tuple[str, str, str]:
    read = shown(tag) if error_type == "union_tag_invalid" else worded("read-no-kind")
    mend = did_you_mean(near_names(str(tag), list(ANCHOR_KINDS))) or worded("mend-start-with-kind")
    return read, "kind: " + ", ".join(ANCHOR_KINDS), mend


def _wanted_block(kind: str, asked: Asked | None) -> str:
    if kind == "tuple_type":
        return asked.wanted() if asked else worded("a-list")
    return worded("a-block-of-keys")


def _block_hint(kind: str, value: object, asked: Asked | None) -> str:
    if kind == "tuple_type" and isinstance(value, dict):
        return worded("mend-dash-before")
    if kind != "tuple_type" and isinstance(value, (tuple, list)):
        return worded("mend-no-dash")
    names = [member.name for model in (asked.models if asked else ()) for member in members(model)]
    return worded("mend-keys-below", keys=tuple(names[:8])) if names else ""


def _quotes(value: object) -> str:
    if value is None:
        return worded("mend-nothing-to-say")
    if isinstance(value, (bool, int, float)):
        return worded("mend-in-quotes", value=shown(value))
    return ""


def _number_hint(value: object, asked: Asked | None) -> str:
    if asked and asked.kind == "yes or no":
        return worded("mend-true-or-false")
    if isinstance(value, str) and "," in value:
        return worded("mend-point-for-decimals")
    return worded("mend-out-of-quotes") if isinstance(value, str) else ""


def choice_hint(value: object, choices: tuple[str | int, ...]) -> str:
    """What a wrong choice probably meant."""
    if isinstance(value, bool):
        return worded("mend-yes-or-no") if "yes" in choices else ""
    return did_you_mean(near_names(str(value), [str(choice) for choice in choices], cutoff=0.75))


def did_you_mean(near: Sequence[str]) -> str:
    """That one of some names is near; empty where none is."""
    if len(near) > 1:
        return worded("mend-did-you-mean-one-of", near=tuple(near))
    return worded("mend-did-you-mean", near=near[0]) if near else ""


def near_names(typed: str, names: Sequence[str], cutoff: float = 0.6) -> tuple[str, ...]:
    """Names that somebody may have meant: what the word is taken for, what holds it as a whole word, or the nearest.

    Parameters
    ----------
    typed : by a person
    names : of which one is wanted
    cutoff : likeness of letters from which a name is near [-]
    """
    meant = [name for name in names if name in meant_by(typed)]
    word = typed.strip().casefold().replace("_", " ")
    holding = [name for name in names if word in name.casefold().replace("_", " ").split()]
    near = near_name(typed, names, cutoff)
    return tuple(meant or holding or ([near] if near else []))


def near_name(word: str, names: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The nearest of some names, in any case of letters."""
    by_low = {name.lower(): name for name in names}
    near = difflib.get_close_matches(word[:80].lower().replace("_", " "), by_low, n=1, cutoff=cutoff)
    near = near or difflib.get_close_matches(word[:80].lower(), by_low, n=1, cutoff=cutoff)
    return by_low[near[0]] if near else None


def shown(value: object) -> str:
    """A value as a fault repeats it: short, on one line.

    Parameters
    ----------
    value : of any type
    """
    if isinstance(value, Worded):
        return value
    if value is None:
        return worded("read-nothing")
    if isinstance(value, dict):
        return worded("a-block-of-keys")
    if isinstance(value, (tuple, list)):
        return worded("a-list")
    return shortened(("true" if value else "false") if isinstance(value, bool) else str(value))
