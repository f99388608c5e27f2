"""Whose turn it is: spreads use over a site's lines by load-hours, wetness and season.

The order is a way to share wear, made of judgements (`care`); it is no finding that a tree is tired or fresh.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from siteassess.reference.constants import constant
from siteassess.register.answer import MAY_NOT, answer
from siteassess.register.care import FIRM_GROUND, LOAD_HOURS_NOTE, UseSum, use_of
from siteassess.register.fold import Subject
from siteassess.register.intact import Doubts
from siteassess.register.reading_records import position
from siteassess.register.reasons import Reason, reason
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.views import Folded

LOOK_BACK_DAYS = int(constant("rota looks back"))


@dataclass(frozen=True)
class Turn:
    """One line's place in the rota; `advice` is "next", "wait" or "not now"."""

    subject: str
    label: str
    advice: str
    may_rig_now: str
    may_rig_until: str | None
    reasons: tuple[Reason, ...]
    index: float
    uses_unknown: int


@dataclass(frozen=True)
class Rota:
    """The lines in the order to use them, and each anchor's use with its share of the site's load-hours."""

    turns: tuple[Turn, ...]
    uses: tuple[tuple[str, UseSum, float | None], ...]
    note: Reason = LOAD_HOURS_NOTE


def rota(store: Store, site: str, on: date, wetness: str = "unknown") -> Rota:
    """The rota of a site.

    Parameters
    ----------
    store : of the register
    site : name of the site's subject
    on : the day asked about
    wetness : of the ground today, a word of `records`

    Returns
    -------
    Rota. A line is as used as its more used anchor. A use whose pull or time is unknown cannot be counted: lines
    with such uses come after those without, as if used most.
    """
    folded = Folded(store.db)
    doubts = store.doubts(folded)
    uses = {}
    for anchor in folded.parts(site, "anchor"):
        place = position(anchor.record)
        same = [anchor, *folded.around.same_as(anchor)]
        southern = place is not None and place[0] < 0
        uses[anchor.id] = use_of(same, on - timedelta(days=LOOK_BACK_DAYS), on, southern=southern)
    turns = [_turn(line, folded, uses, on, wetness, doubts) for line in folded.parts(site, "line")]
    order = {"next": 0, "wait": 1, "not now": 2}
    turns.sort(key=lambda t: (order[t.advice], t.uses_unknown > 0, t.index, t.label, t.subject))
    total = sum(use.load_hours_kn_h for use in uses.values())
    shares = [
        (label(folded.known(name)), use, use.load_hours_kn_h / total if total > 0 else None)
        for name, use in uses.items()
    ]
    return Rota(tuple(turns), tuple(shares))


def _turn(line: Subject, folded: Folded, uses: dict[str, UseSum], on: date, wetness: str, doubts: Doubts) -> Turn:
    may = answer(line, folded.around, on, doubts)
    anchors = folded.around.anchors(line)
    known = [uses[anchor.id] for anchor in anchors if anchor.id in uses]
    reasons = list(may.reasons)
    advice = "not now" if may.word == MAY_NOT else "next"
    if soft := [label(anchor) for anchor in anchors if wetness in ("wet", "standing water") and _soft(anchor)]:
        advice = "wait" if advice == "next" else advice
        reasons.insert(0, reason("ground-soft", wetness=wetness, parts=", ".join(soft)))
    unknown = max((use.uses_unknown for use in known), default=0)
    if unknown:
        reasons.insert(0, reason("uses-uncounted", count=unknown))
    index = max((use.index for use in known), default=0.0)
    return Turn(line.id, label(line), advice, may.word, may.until, tuple(reasons), index, unknown)


def _soft(anchor: Subject) -> bool:
    return (anchor.record.get("ground") or {}).get("texture", "unknown") not in FIRM_GROUND
