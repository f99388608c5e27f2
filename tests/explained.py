"""Records whose steps say, all together, everything that a step can say; what they say in English is kept.

Import as `from explained import ...`; the tests folder is on the path (see pyproject.toml).

    python tests/explained.py      writes anew what they say: other programs read it from `--json`
"""

# ruff: noqa: E402
from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from parks import record
from seldom_said import BOULDER

from siteassess.advice.assess import assess
from siteassess.advice.results import LineResult
from siteassess.reference.findings import Said

FILE = Path(__file__).with_suffix(".txt")
UNREAD = ("downhill", "slope", "along_pull", "rock", "bed")
FEW_SIZES = {name: read for name, read in BOULDER.items() if name not in UNREAD}
EDITS: dict[str, dict] = {
    "all read": {"T1.species.name": "pedunculate oak", "T1.bark.thickness": "25 mm", "T1.lean": "3 deg",
                 "T1.lean_toward": "200 deg",
                 "T1.stood": {"exposed": "yes", "changed": "no", "in_leaf": "yes", "gust": "90 km/h"},
                 "T2.species.name": "Quercus pedunculata", "T2.lean": "2.5 deg", "T2.ground.wetness": "wet",
                 "T2.ground.bank_distance": "9 m", "L1.ground.2.height": "-0.4 m"},
    "little said": {"T1.position": None, "L1.compass": None, "T1.species": {"name": "Salix", "certainty": "think so"},
                    "T1.height": None, "T1.height_how": None, "T1.lean": None, "T1.hard_edge_near": None,
                    "T1.roots.N": "not looked", "T1.ground": None, "T1.trunk.0.how": "estimated",
                    "T2.species": None, "T2.roots.E": "cut", "T2.trunk.0.how": "copied", "T2.ground.slope": None,
                    "L1.walkers": None},
    "no length, no stretch": {"T1.position": None, "L1.span": None, "L1.webbing": None, "T1.height_how": None},
    "hollow and forked": {"T1.hollow": {"height": "1 m", "sound_wall": "25 cm", "opening": "40 deg"},
                          "T1.stems": "fork below tie", "T1.ground.shallow": "yes",
                          "T1.trial": {"date": "2026-04-18", "pull": "3 kN", "tie_height": "1.2 m", "moved": "no"},
                          "T2.stems": "several", "T2.each_stem": [{"girth": "90 cm"}, {"girth": "80 cm"}],
                          "T2.ground.wetness": "standing water", "T2.trunk.0.how": "calipers"},
    "a hammock": {"L1.use": "hammock", "L1.span.taped": "4.5 m", "L1.standing": None, "T1.trunk": [],
                  "T2.stood": {"exposed": "yes", "changed": "no", "in_leaf": "yes", "gust": "90 km/h"}},
    "boulders": {"anchors.0": BOULDER | {"edge_distance": "5 m"}, "anchors.1": FEW_SIZES | {"code": "T2"}},
}  # fmt: skip


def explained() -> dict[str, LineResult]:
    """The lines by name, judged without remedies."""
    return {name: assess(record(edits), remedies=False).lines[0] for name, edits in EDITS.items()}


def codes_in(told: object) -> Iterator[str]:
    """Every code of some codes, and of what they hold."""
    if isinstance(told, Said):
        yield told.code
        told = [value for _, value in told.values]
    if isinstance(told, (tuple, list)):
        for one in told:
            yield from codes_in(one)


def in_english() -> list[str]:
    """Every step but those of findings, which are told elsewhere too, under the end it belongs to."""
    told = []
    for name, line in explained().items():
        for end in line.anchors:
            told += [f"== {name}, {end.end}", *(step for step in end.steps if "At best:" not in step)]
    return told


if __name__ == "__main__":
    FILE.write_text("\n".join(in_english()) + "\n", encoding="utf-8")
