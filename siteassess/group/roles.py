"""Which role may do what: the one place where it is held."""

from __future__ import annotations

from typing import Literal, get_args

Role = Literal["reader", "member", "reviewer", "coordinator", "officer"]
ROLES: tuple[Role, ...] = get_args(Role)
ACTS: dict[str, tuple[Role, ...]] = {
    "sign out": ROLES,
    "see places": ROLES,
    "see people": ("coordinator",),
    "invite": ("coordinator",),
    "change a role": ("coordinator",),
}
# what of the register each may see: as much as a copy for that layer tells
LAYER_OF = {"reader": "public", "member": "members", "reviewer": "members", "coordinator": "members",
            "officer": "officer"}  # fmt: skip


def may(role: str, act: str) -> bool:
    """Whether somebody of a role may do a thing.

    Parameters
    ----------
    role : one of `ROLES`; any other may nothing
    act : one of `ACTS`

    Raises
    ------
    KeyError : there is no such act.
    """
    return role in ACTS[act]
