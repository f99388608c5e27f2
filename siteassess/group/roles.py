"""Which role may do what: the one place where it is held."""

from __future__ import annotations

from typing import Literal, get_args

Role = Literal["reader", "member", "reviewer", "coordinator", "officer"]
ROLES: tuple[Role, ...] = get_args(Role)
_MEMBERS: tuple[Role, ...] = ("member", "reviewer", "coordinator")
_REVIEWERS: tuple[Role, ...] = ("reviewer", "coordinator")
ACTS: dict[str, tuple[Role, ...]] = {
    "sign out": ROLES,
    "see places": ROLES,
    "subscribe": ROLES,  # to a feed of what the role sees
    "see the log": (*_MEMBERS, "officer"),
    "comment": (*_MEMBERS, "officer"),
    "log": _MEMBERS,  # a use, damage, a rest, a photo
    "see what is due": (*_MEMBERS, "officer"),
    "hand in a survey": _MEMBERS,
    "see the papers": (*_REVIEWERS, "officer"),  # of a park's year, which tell all of it
    "see surveys": _MEMBERS,  # a member their own
    "review": _REVIEWERS,  # surveys of others, and a place's way through its life
    "give the owner's word": ("officer",),
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
