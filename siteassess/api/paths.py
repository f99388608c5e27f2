"""The way to one thing in a record: "lines.L1.standing.tension"."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from siteassess.errors import UnknownName
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import Part
from siteassess.records.record import Record
from siteassess.records.schema import Asked, members
from siteassess.records.site import Position
from siteassess.reference.near_words import meant_by

MOST_NEAR = 3  # names told as near
NAMED_BY = ("code", "id")  # what an item of a list is called by, where it has a name
PartKinds = tuple[type[Part], ...]
TAKEN_AWAY: Any = object()  # stands in a list for an item taken away, until all changes that count its places are done


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
    if not isinstance(path, str):
        raise UnknownName(f"a path is a text such as 'lines.L1.use', not {type(path).__name__}")
    _put(plain, (Record,), path, value, path)


def without_taken(plain: Any) -> Any:
    """The same without the items of lists that were taken away.

    Parameters
    ----------
    plain : a record as dictionaries and lists, after all its changes

    Returns
    -------
    Dictionaries and lists again.
    """
    if isinstance(plain, dict):
        return {key: without_taken(one) for key, one in plain.items()}
    return [without_taken(one) for one in plain if one is not TAKEN_AWAY] if isinstance(plain, list) else plain


def _put(holder: dict[str, Any], kinds: PartKinds, rest: str, value: Any, path: str) -> None:
    if not isinstance(holder, dict):
        raise UnknownName(f"{path!r}: what holds {rest!r} was made no block of keys")
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
    elif field.kind in ("points", "texts") and rest in _places(holder.get(name)):
        holder[name][int(rest)] = value
    else:
        raise _unknown(rest.partition(".")[0], _places(holder.get(name)), f"{path!r}: {name} has no parts")


def _places(items: Any) -> list[str]:
    """By what the items of a list are counted."""
    return [str(index) for index in range(len(items))] if isinstance(items, list) else []


def _set(holder: dict[str, Any], name: str, value: Any) -> None:
    if value is None:
        holder.pop(name, None)
    else:
        holder[name] = value


def _field(kinds: PartKinds, name: str, path: str) -> Asked:
    fields = {one.name: one for kind in kinds for one in members(kind)}
    if name not in fields:
        raise _unknown(name, list(fields), repr(path), _below(kinds))
    return fields[name]


@cache
def _below(kinds: PartKinds) -> tuple[str, ...]:
    """Ways to all that lies deeper, an item of a list as the first of its own: "trunk.0.girth"."""

    def ways(field: Asked) -> Iterator[str]:
        place = ".0" if field.kind == "parts" else ""
        for kind in field.models:
            for one in members(kind):
                yield f"{field.name}{place}.{one.name}"
                yield from (f"{field.name}{place}.{deeper}" for deeper in ways(one))

    return tuple(dict.fromkeys(way for kind in kinds for one in members(kind) for way in ways(one)))


def _put_in_list(items: list[Any], field: Asked, rest: str, value: Any, path: str) -> None:
    if not isinstance(items, list):
        raise UnknownName(f"{path!r}: {field.name} was made no list")
    names = [str(next((item[key] for key in NAMED_BY if isinstance(item, dict) and key in item), index))
             for index, item in enumerate(items)]  # fmt: skip
    # a code may hold dots: of those that fit, the longest is meant
    name = max((one for one in names if f"{rest}.".startswith(f"{one}.")), key=len, default=rest.partition(".")[0])
    after = rest[len(name) + 1 :]
    key = next((one for one in NAMED_BY if one in field.models[0].model_fields), None)
    if name in names or name in _places(items):
        index = names.index(name) if name in names else int(name)
        if items[index] is TAKEN_AWAY:
            raise UnknownName(f"{path!r}: {name!r} was taken away")
        if after:
            kinds = tuple(kind for kind in field.models if _kind_of(items[index], kind) is kind)
            _put(items[index], kinds, after, value, path)
        elif value is None:
            items[index] = TAKEN_AWAY
        else:
            items[index] = {key: names[index], **value} if key and isinstance(value, dict) else value
    elif isinstance(value, dict) and key and rest in (name, value.get(key)):
        items.append({key: rest, **value})  # one whose code holds dots says it itself, or it would be a slip in a path
    elif isinstance(value, dict) and not key and rest == str(len(items)):
        items.append(value)
    else:
        raise _unknown(name, names, repr(path))


def _kind_of(item: Any, known: type[Part]) -> type[Part]:
    kind = item.get("kind") if isinstance(item, dict) else None
    return ANCHOR_KINDS.get(kind, known) if isinstance(kind, str) else known


def _put_in_table(table: Any, rest: str, value: Any, path: str) -> None:
    name, _, after = rest.partition(".")
    if isinstance(table, list):
        _put_in_table_list(table, name, after, value, path)
    elif not isinstance(table, dict):
        raise _unknown(name, (), f"{path!r}: {table!r} has no parts")
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


def _unknown(name: str, known: Sequence[str], where: str, below: Sequence[str] = ()) -> UnknownName:
    """The error; what people type for another word, or what lies deeper, comes before what is merely spelled alike."""
    meant = [one for one in (name, *meant_by(name)) if one]
    near = [one for one in meant if one in known]
    near += [way for way in below if way.rpartition(".")[2] in meant][: MOST_NEAR - len(near)]
    near = near or difflib.get_close_matches(name, known, n=MOST_NEAR, cutoff=0.6)
    if "[" in name:
        return UnknownName(f"{where}: no {name!r} there; items are named behind a point, as in lines.L1.use")
    hint = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(known) or 'none'}"
    return UnknownName(f"{where}: no {name!r} there; {hint}")
