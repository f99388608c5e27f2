"""What to bring: slings by length and width, pads, slats, and the small things, for a line or a whole plan."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from siteassess.advice.results import LineResult

LENGTH_STEP_M = 0.5  # slings are sold in half metres; a longer one only sets the link farther out
FLAG_EVERY_M = 5.0  # flags along the line (judgement)


@dataclass(frozen=True, order=True)
class PackItem:
    """One row of the list; sizes in metres, None where a size does not matter."""

    kind: str
    what: str
    count: int
    length_m: float | None = None
    width_m: float | None = None
    thickness_m: float | None = None
    lines: tuple[str, ...] = ()

    def sentence(self) -> str:
        sizes = [f"at least {self.length_m:g} m long" if self.length_m and self.kind == "sling" else
                 (f"{self.length_m:g} m long" if self.length_m else ""),
                 f"{self.width_m * 1e3:.0f} mm wide" if self.width_m else "",
                 f"{self.thickness_m * 1e3:.0f} mm thick" if self.thickness_m else ""]  # fmt: skip
        tail = ", ".join(size for size in sizes if size)
        return f"{self.count} x {self.what}" + (f", {tail}" if tail else "")


def packing_list(lines: Iterable[LineResult]) -> tuple[PackItem, ...]:
    """The list for some lines that are up at the same time; lines we say "leave it" to bring nothing.

    Notes
    -----
    A line rigged after another could use the same slings: the list holds each line's own.
    """
    counted: Counter = Counter()
    used: dict = {}
    for line in lines:
        if line.verdict == "leave it":
            continue
        for item, count in _of_line(line):
            counted[item] += count
            used.setdefault(item, []).append(line.id)
    return tuple(PackItem(kind, what, counted[item], length, width, thick, tuple(dict.fromkeys(used[item])))
                 for item in sorted(counted, key=_order) for kind, what, length, width, thick in [item])  # fmt: skip


_KINDS = ("sling", "link", "pad", "slat", "sign", "measuring")


def _order(item):
    return (_KINDS.index(item[0]), *(str(part) for part in item[1:]))


def _of_line(line: LineResult):
    """(kind, what, length, width, thickness) and how many, for one line."""
    for anchor in line.anchors:
        plan = anchor.protection
        if plan is None:
            continue
        if plan.sling_length_m:
            what = "sling with a rated strength, " + plan.wrap
            yield ("sling", what, _up(plan.sling_length_m, LENGTH_STEP_M), plan.sling_width_m, None), 1
        if plan.pad_length_m:
            yield ("pad", plan.pad_material, _up(plan.pad_length_m, 0.1), plan.pad_height_m, plan.pad_thickness_m), 1
        if plan.slats:
            yield ("slat", "flat slat", plan.slat_length_m, plan.slat_width_m, plan.slat_thickness_m), plan.slats
        yield ("link", "rated shackle or soft shackle", None, None, None), 1
    span = line.geometry.taped_m or line.geometry.distance_m
    if span:
        yield ("sign", "flag or streamer for the line", None, None, None), max(2, math.ceil(span / FLAG_EVERY_M))
    yield ("sign", "notice with the group's name and phone", None, None, None), 1
    yield ("measuring", "tape for girth and span, and a compass", None, None, None), 1
    if line.use == "high line":
        yield ("sling", "second, independent sling with a rated strength", None, None, None), 2


def _up(value: float, step: float) -> float:
    return round(math.ceil(value / step - 1e-9) * step, 3)
