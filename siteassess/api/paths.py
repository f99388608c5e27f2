"""The way to one thing in a record: "lines.L1.standing.tension"."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import Any

from siteassess.errors import UnknownName
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import Part
from siteassess.records.record import Record
from siteassess.records.schema import Asked, members
from siteassess.records.site import Position

NAMED_BY = ("code", "id")  # what an item of a list is called by, where it has a name
PartKinds = tuple[type[Part], ...]


def put(plain: dict[str, Any], path: str, value: Any) -> None:
    """Set what a path leads to, in place; parts on the way that are not there are made.

    Parameters
    ----------
    plain : a record as dictionaries and lists
    path : names from the outside in
    value : plain too; None takes away

    Raises
    ------
    UnknownName : the record has nothing of that name; the message names what is near.
    """
    _put(plain, (Record,), path, value, path)


def _put(holder: dict[str, Any], kinds: PartKinds, rest: str, value: Any, path: str) -> None:
    if Position in kinds and "fixes" not in holder and holder and not rest.startswith(("ties", "fixes")):
        kinds = (*kinds, *_field(kinds, "fixes", path).models)  # a single fix is written without the list
    name, _, rest = rest.partition(".")
    field = _field(kinds, name, path)
    if field.kind == "table" and rest:  # the land manager's own rules, whose form is not the record's
        _put_in_table(holder.setdefault(name, {}), rest, value, path)
    elif not rest:
        _set(holder, name, value)
    elif field.kind == "parts":
        _put_in_list(holder.setdefault(name, []), field, rest, value, path)
    elif field.models:
        _put(holder.setdefault(name, {}), field.models, rest, value, path)
    elif field.kind in ("points", "texts") and rest.isdigit() and int(rest) < len(holder.get(name) or ()):
        holder[name][int(rest)] = value
    else:
        raise _unknown(rest.partition(".")[0], (), f"{path!r}: {name} has no parts")


def _set(holder: dict[str, Any], name: str, value: Any) -> None:
    if value is None:
        holder.pop(name, None)
    else:
        holder[name] = value


def _field(kinds: PartKinds, name: str, path: str) -> Asked:
    fields = {one.name: one for kind in kinds for one in members(kind)}
    if name not in fields:
        raise _unknown(name, list(fields), repr(path))
    return fields[name]


def _put_in_list(items: list[Any], field: Asked, rest: str, value: Any, path: str) -> None:
    names = [str(next((item[key] for key in NAMED_BY if key in item), index)) for index, item in enumerate(items)]
    # a code may hold dots: of those that fit, the longest is meant
    name = max((one for one in names if f"{rest}.".startswith(f"{one}.")), key=len, default=rest.partition(".")[0])
    after = rest[len(name) + 1 :]
    key = next((one for one in NAMED_BY if one in field.models[0].model_fields), None)
    if name in names or name.isdigit() and int(name) < len(items):
        index = names.index(name) if name in names else int(name)
        if after:
            kinds = tuple(kind for kind in field.models if ANCHOR_KINDS.get(items[index].get("kind"), kind) is kind)
            _put(items[index], kinds, after, value, path)
        elif value is None:
            del items[index]
        else:
            items[index] = {key: name, **value} if key and isinstance(value, dict) else value
    elif isinstance(value, dict) and key and rest in (name, value.get(key)):
        items.append({key: rest, **value})  # one whose code holds dots says it itself, or it would be a slip in a path
    elif isinstance(value, dict) and not key and rest == str(len(items)):
        items.append(value)
    else:
        raise _unknown(name, names, repr(path))


def _put_in_table(table: Any, rest: str, value: Any, path: str) -> None:
    name, _, after = rest.partition(".")
    if isinstance(table, list):
        _put_in_table_list(table, name, after, value, path)
    elif not after:
        _set(table, name, value)
    else:
        _put_in_table(table.setdefault(name, {}), after, value, path)


def _put_in_table_list(items: list[Any], name: str, after: str, value: Any, path: str) -> None:
    names = [str(item.get("id", index)) if isinstance(item, dict) else str(index) for index, item in enumerate(items)]
    if name not in names:
        raise _unknown(name, names, repr(path))
    if after:
        _put_in_table(items[names.index(name)], after, value, path)
    else:
        items[names.index(name)] = value


def _unknown(name: str, known: Sequence[str], where: str) -> UnknownName:
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.6)
    hint = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(known) or 'none'}"
    return UnknownName(f"{where}: no {name!r} there; {hint}")
