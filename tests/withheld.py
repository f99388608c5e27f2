"""What somebody may leave out of a drawn record: each thing that was looked at, as if it had not been.

Import as `from withheld import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import random
from collections.abc import Callable

from parks import SOFTER

Worse = Callable[[dict, random.Random], bool]
"""Changes the record; False where there is nothing to worsen."""


def tree_of(made: dict, draw: random.Random) -> dict:
    return draw.choice(made["anchors"])


def end_of(made: dict, draw: random.Random) -> dict:
    return made["lines"][0][draw.choice("ab")]


OF_A_TREE = ("lean", "lean_toward", "height", "crown_base", "crown_spread", "roots", "species", "bark", "position",
             "hard_edge_near", "stems", "condition", "use_so_far", "ground", "signs", "height_how", "stood",
             "softer_signs", "status", "life_stage", "fork_height", "trial")  # fmt: skip
OF_A_GROUND = ("slope", "downhill", "shallow", "wetness", "bank_distance", "bank_side", "texture", "bare")
OF_A_LINE = ("span", "webbing", "standing", "walkers", "ground_between", "ground", "open_below", "backup", "compass",
             "gear", "planned", "mid_height", "keep_clear", "power_line")  # fmt: skip
OF_WALKERS = ("mass", "movement", "leash", "leash_kind")
OF_AN_END = ("tie_height", "sling", "padding")
OF_A_PART = {"bark": ("thickness", "form", "firmness"), "softer_signs": (*SOFTER, "corrected_lean"),
             "trial": ("moved", "tilt", "finest", "toward", "wetness"),
             "planned": ("date", "until", "attended"), "webbing": ("strength", "held_by", "stiffness"),
             "sling": ("wrap", "width", "rating", "rating_is", "off_middle", "link_distance", "choke_angle"),
             "gear": ("place", "kind", "knot", "end", "strand_angle"), "backup": ("extra_length", "stiffness"),
             "pad": ("material", "thickness", "width", "goes_round"), "position": ("accuracy",)}  # fmt: skip

NOT_WITHHELD = {
    # names, and what no word hangs on but a clause of the place
    "kind", "code", "tag", "name", "id", "designated", "photos", "source", "notes",
    # what is planned, not looked at
    "use", "a", "b", "anchor", "at_once", "sections", "crew", "ground_below",
    # withheld in parts, or with what tells of them; or a part that is nothing without them
    "trunk", "each_stem", "hollow", "hard_edges", "backup_line", "date", "pull", "tie_height",
    # no verdict asks it
    "resin",
}  # fmt: skip


def _hollow_unheard(made, draw):
    """A cavity that nobody found, since nobody listened for one."""
    tree = tree_of(made, draw)
    tree.setdefault("softer_signs", {})["hollow_sound"] = "not looked"
    return tree.pop("hollow", None) is not None


def _one_reading(made, draw):
    readings = tree_of(made, draw)["trunk"]
    return len(readings) > 1 and readings.pop() is not None


def _unrated(made, draw):
    gear = made["lines"][0].get("gear")
    return bool(gear) and gear[0].pop("rating", None) is not None


def _withheld(of: str, name: str) -> Worse:
    def take(made, draw):
        line = made["lines"][0]
        tree = tree_of(made, draw)
        end = end_of(made, draw)
        of_line = {name: line.get(name, {}) for name in ("walkers", "planned", "webbing")}
        of_tree = {name: tree.get(name, {})
                   for name in ("ground", "hollow", "bark", "softer_signs", "trial", "position")}  # fmt: skip
        part = {"tree": tree, "line": line, "end": end, "sling": end.get("sling", {}), "pad": end.get("padding", {}),
                "gear": draw.choice(line.get("gear", [{}])), "backup": line.get("backup_line", {}),
                **of_line, **of_tree}[of]  # fmt: skip
        gone = part.pop(name, None)
        if name == "hard_edge_near":
            part.pop("hard_edges", None)
        if name == "lean":
            part.pop("lean_toward", None)
        if name == "height":
            part.pop("height_how", None)
        if name == "walkers" and gone and gone.get("at_once", 1) > 1:
            line["walkers"] = {"at_once": gone["at_once"]}  # how many is the plan, not a reading
        return gone is not None and gone != "unknown"
    return take


WITHHELD: dict[str, Worse] = {
    **{f"withheld: {name}": _withheld("tree", name) for name in OF_A_TREE},
    **{f"withheld: ground {name}": _withheld("ground", name) for name in OF_A_GROUND},
    **{f"withheld: {name} of the line": _withheld("line", name) for name in OF_A_LINE},
    **{f"withheld: walkers' {name}": _withheld("walkers", name) for name in OF_WALKERS},
    **{f"withheld: {name}": _withheld("end", name) for name in OF_AN_END},
    "withheld: sound wall": _withheld("hollow", "sound_wall"), "withheld: opening": _withheld("hollow", "opening"),
    "withheld: hollow": _hollow_unheard, "withheld: another reading": _one_reading, "withheld: gear rating": _unrated,
    **{f"withheld: {part} {name}": _withheld(part, name) for part, names in OF_A_PART.items() for name in names},
}  # fmt: skip
