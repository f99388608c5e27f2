"""Webbing classes by plain name: width, mass, stiffness, strength, settling."""

from __future__ import annotations

import difflib
from functools import cache
from typing import Any

from siteassess.errors import UnknownName
from siteassess.reference.findings import wording
from siteassess.reference.tables import rows


def webbing_class(name: str) -> Any:
    """The row of a webbing class.

    Parameters
    ----------
    name : the class's name or one of its other names, case and hyphens free ("nylon", "HMPE", "polyester 50 mm")

    Returns
    -------
    Row of the table `webbing`: `ea_kn` with `ea_low_kn` and `ea_high_kn` per unit strain, `mass_g_per_m` and so on,
    each group with its own flag.

    Raises
    ------
    UnknownName : with all names, the near ones first
    """
    found = _index().get(_key(name))
    if found is None:
        values = {"name": name, "names": classes_like(name)}
        raise UnknownName(wording("no-such-webbing", values), "no-such-webbing", **values)
    return found


def class_names() -> tuple[str, ...]:
    """Names of the webbing classes, as the table has them."""
    return tuple(row.name for row in rows("webbing"))


def classes_like(name: str) -> tuple[str, ...]:
    """Names of all classes, those near to a name that none has at the front: the near ones alone would read as all.

    Parameters
    ----------
    name : as typed
    """
    near = difflib.get_close_matches(_key(name), _index(), n=3, cutoff=0.6)
    return tuple(dict.fromkeys([*(_index()[key].name for key in near), *(row.name for row in rows("webbing"))]))


def tension_strain(name: str) -> tuple[tuple[float, float], ...]:
    """Points (tension [N], strain on the unstretched length) of a class's curve, rising from (0, 0).

    Empty where none was read; two points only say what the stiffness says already.

    Parameters
    ----------
    name : of a class, or another name it goes by
    """
    row = webbing_class(name)
    points = [(p.tension_kn * 1e3, p.strain_value) for p in rows("webbing_curves") if p.webbing == row.name]
    return tuple(sorted(points))


def softest_webbing() -> float:
    """The least stiffness EA that any class of webbing may have [N]."""
    return float(1e3 * min(row.ea_low_kn for row in rows("webbing")))


def leash_stiffness(kind: str) -> float:
    """EA of a leash by what it is made of [N].

    Parameters
    ----------
    kind : a name of the table `leashes`; "not known" is the stiffest of them

    Raises
    ------
    UnknownName : with the names there are
    """
    found = {row.name: row.ea_kn * 1e3 for row in rows("leashes")}
    if kind not in found:
        raise UnknownName(f"no leash of {kind!r}; there is: {', '.join(found)}")
    return float(found[kind])


@cache
def _index() -> dict[str, Any]:
    return {
        _key(name): row for row in rows("webbing") for name in (row.name, *row.other_names.split(";")) if name.strip()
    }


def _key(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())
