"""A park of a hundred anchors and sixty lines, for maps and plans."""

from __future__ import annotations

import math
import random

from hand_built import build_assessment


def crowd():
    """A hundred anchors of a park of 500 m by 300 m, in clumps and alone, and sixty lines between near ones."""
    draw, places = random.Random(7), []
    while len(places) < 100:
        x, y = draw.uniform(0, 500), draw.uniform(0, 300)
        if places and draw.random() < 0.6:
            (near_x, near_y), turn, off = draw.choice(places), draw.uniform(0, 2 * math.pi), draw.uniform(6, 30)
            x, y = near_x + off * math.cos(turn), near_y + off * math.sin(turn)
        if 0 <= x <= 500 and 0 <= y <= 300 and all(math.dist((x, y), other) > 4 for other in places):
            places.append((x, y))
    anchors = tuple((f"T{i:03d}", "tree", round(x, 1), round(y, 1), "180 cm", "6 m", f"INV-{i}", "Quercus robur")
                    for i, (x, y) in enumerate(places))  # fmt: skip
    pairs = sorted((math.dist(places[i], places[j]), i, j) for i in range(100) for j in range(i))
    words = ("suits", "suits if", "suits if", "cannot say", "leave it")
    lines = [(f"L{n}", f"T{i:03d}", f"T{j:03d}", draw.choice(words))
             for n, (_, i, j) in enumerate([pair for pair in pairs if pair[0] > 12][:60], 1)]  # fmt: skip
    return build_assessment(anchors=anchors, lines=tuple(lines))
