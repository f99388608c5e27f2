"""Which role may do what: the one place where it is held, read off `data/group_acts.csv`."""

from __future__ import annotations

from functools import cache
from typing import Literal, get_args

from siteassess.reference.tables import rows

Role = Literal["reader", "member", "reviewer", "coordinator", "officer"]
ROLES: tuple[Role, ...] = get_args(Role)


@cache
def _acts() -> dict[str, frozenset[str]]:
    return {row.act: frozenset(role for role in ROLES if getattr(row, role) == "yes") for row in rows("group_acts")}


def acts() -> tuple[str, ...]:
    """Everything somebody may do in the group's page, as the table names it."""
    return tuple(_acts())


def may(role: str, act: str) -> bool:
    """Whether somebody of a role may do a thing.

    Parameters
    ----------
    role : one of `ROLES`; any other may nothing
    act : as `acts` names it

    Raises
    ------
    KeyError : the table knows no such act.
    """
    return role in _acts()[act]
