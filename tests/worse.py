"""Records made worse in exactly one way, and what of an answer may not improve by it.

Import as `from worse import ...`; the tests folder is on the path (see pyproject.toml). A drawn record is plain data as
in `parks`; a worsening changes one thing of it and nothing else, or says that there is nothing to worsen.
`never_better` says what of an answer may not improve by it.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable

from parks import BASE, SECTORS, SIGNS

SPECIES = ("Quercus robur", "Fagus sylvatica", "Tilia cordata", "Acer platanoides", "Picea abies", "Pinus sylvestris",
           "Betula pendula", "Platanus x hispanica", "Carpinus betulus", "Aesculus hippocastanum",
           "Robinia pseudoacacia", "Eucalyptus globulus", "Fraxinus excelsior", "unknown")  # fmt: skip
SOFTER = ("hollow_sound", "loose_bark", "old_damage", "toadstools", "thin_crown")
TIES = {"hammock": (1.0, 1.8), "low line": (0.5, 1.5), "trick line": (0.8, 1.6), "long line": (1.2, 2.8),
        "high line": (2.0, 4.5)}  # fmt: skip
SPANS = {"hammock": (3.0, 5.5), "low line": (8, 30), "trick line": (12, 25), "long line": (30, 100),
         "high line": (20, 80)}  # fmt: skip


# ---- a record


def drawn(seed: int) -> dict:
    """A record of one line between two trees, most of it looked at, as plain data."""
    draw = random.Random(seed)
    made = copy.deepcopy(BASE)
    for tree in made["anchors"]:
        _tree(tree, draw)
    _line(made, draw)
    _winds(made["anchors"], random.Random(f"winds {seed}"))
    made["survey"]["date"] = draw.choice(("2026-04-18", "2026-04-18", "2025-06-01"))
    made["lines"][0]["planned"]["date"] = draw.choice(("2026-04-20", "2026-07-10", "2026-11-20"))
    return made


def _tree(tree: dict, draw: random.Random) -> None:
    girth = draw.uniform(60, 220)
    size = girth / 314.16  # m, the diameter
    tree["species"] = {"name": draw.choice(SPECIES), "certainty": draw.choice(("sure", "sure", "think so", "guess"))}
    if tree["species"]["name"] == "unknown":
        tree["species"]["leaf_type"] = draw.choice(("broadleaf", "conifer"))
    tree["trunk"] = [{"girth": f"{girth:.1f} cm", "read_at": draw.choice(("1.3 m", "1 m", "1.2 m")),
                      "how": draw.choice(("taped", "taped", "copied", "estimated"))}]  # fmt: skip
    tall = min(max(size * draw.uniform(18, 60), 3.5), 38)
    tree["height"], tree["height_how"] = f"{tall:.1f} m", draw.choice(("measured", "measured", "estimated"))
    tree["crown_base"], tree["crown_spread"] = f"{draw.uniform(0.3, 0.5) * tall:.1f} m", f"{0.5 * tall + 1:.1f} m"
    tree["stems"] = draw.choice(("single", "single", "single", "fork below tie"))
    tree["lean"] = f"{draw.choice((0, 0, 0, 2, 4, 8, 13, 16))} deg"
    if tree["lean"] != "0 deg" and draw.random() < 0.7:
        tree["lean_toward"] = f"{draw.randrange(0, 360, 15)} deg"
    for sector in SECTORS:
        if draw.random() < 0.06:
            tree["roots"][sector] = draw.choice(("cut", "undercut", "ridges over 5 cm", "hard surface", "not looked"))
    tree["ground"]["slope"] = f"{draw.choice((0, 2, 5, 9, 14, 22))} deg"
    tree["ground"]["wetness"] = draw.choice(("moist", "moist", "wet", "dry", "unknown", "standing water"))
    if draw.random() < 0.15:
        tree["hard_edge_near"] = "yes"
        tree["hard_edges"] = [{"what": draw.choice(("kerb", "wall", "trench", "bank", "hard surface", "water")),
                               "side": draw.choice(SECTORS), "distance": f"{draw.uniform(0.5, 4):.1f} m"}]  # fmt: skip
    if draw.random() < 0.1:
        tree["hollow"] = {"height": "0.8 m", "sound_wall": f"{draw.uniform(0.1, 0.45) * size * 100:.0f} cm",
                          "opening": f"{draw.choice((0, 40, 100))} deg"}  # fmt: skip
    if draw.random() < 0.2:
        tree["bark"]["form"] = draw.choice(("smooth", "fine fissured", "fibrous", "unknown"))
    tree["condition"] = draw.choice(("sound", "sound", "stressed", "unknown"))
    tree["use_so_far"] = draw.choice(("none", "occasional", "weekly"))
    may_lack = ("lean", "height", "crown_spread", "roots", "species", "bark", "position", "hard_edge_near")
    for path in draw.sample(may_lack, draw.choice((0, 0, 0, 1, 2))):
        tree.pop(path, None)
        if path == "hard_edge_near":
            tree.pop("hard_edges", None)


def _winds(trees: list[dict], draw: random.Random) -> None:
    """Some of the trees have stood a wind that somebody looked up."""
    for tree in trees:
        if draw.random() < 0.2:
            if draw.random() < 0.7:  # nothing else that keeps it from earning by it
                tree |= {"lean": "0 deg", "roots": dict.fromkeys(SECTORS, "covered"), "hard_edge_near": "no"}
                tree["ground"]["slope"] = "0 deg"
                tree.pop("hard_edges", None), tree.pop("hollow", None)
            tree["stood"] = {"exposed": "yes", "changed": "no", "in_leaf": draw.choice(("yes", "not looked")),
                             "gust": f"{draw.uniform(18, 38):.1f} m/s", "station": "Testing Field"}  # fmt: skip
            tree["softer_signs"] = dict.fromkeys(SOFTER, "no")
            tree["condition"] = draw.choice(("sound", "sound", "sound", "unknown"))


def _line(made: dict, draw: random.Random) -> None:
    line = made["lines"][0]
    use = draw.choice(("low line", "low line", "low line", "trick line", "long line", "high line", "hammock"))
    span = draw.uniform(*SPANS[use])
    line["use"], line["span"]["taped"] = use, f"{span:.1f} m"
    line.pop("compass")
    if "position" in made["anchors"][1]:
        made["anchors"][1]["position"]["lon"] = 2.5 + span / 64_790.0
    line["ground"] = []
    for end in ("a", "b"):
        line[end]["tie_height"] = f"{draw.uniform(*TIES[use]):.2f} m"
        line[end]["sling"] |= {"width": f"{draw.choice((25, 50, 75, 100))} mm",
                               "wrap": draw.choice(("basket", "doubled basket", "friction turns"))}  # fmt: skip
    pull = {"hammock": None, "low line": (0.8, 5), "trick line": (2, 9), "long line": (1.5, 8), "high line": (1.5, 7)}
    pull = pull[use]
    if pull is None:
        line.pop("standing"), line.pop("webbing")
    else:
        line["standing"] = {"tension": f"{draw.uniform(*pull):.2f} kN", "how": draw.choice(("load cell", "guess"))}
        line["webbing"]["stiffness"] = f"{draw.choice((40, 60, 100, 250, 500))} kN"
        if draw.random() < 0.5 and use != "high line":
            line["ground_between"] = "level or rising, no dip"
    line["walkers"] = {"mass": f"{draw.choice((35, 60, 75, 90, 110))} kg", "at_once": draw.choice((1, 1, 1, 2)),
                       "movement": draw.choice(("walk only, no bouncing", "unknown", "unknown"))}  # fmt: skip
    if use == "high line":
        line |= {"open_below": "30 m", "backup": draw.choice(("other tree", "same tree", "unknown"))}
        line["walkers"] |= {"leash": "1.2 m", "leash_kind": draw.choice(("dynamic rope", "webbing", "unknown"))}
    for path in draw.sample(("standing", "webbing", "walkers"), draw.choice((0, 0, 0, 0, 1))):
        line.pop(path, None)


# ---- made worse in one way

Worse = Callable[[dict, random.Random], bool]
"""Changes the record; False where there is nothing to worsen."""


def number_of(text: str) -> float:
    return float(text.split()[0])


def _scaled(part: dict, name: str, factor: float) -> bool:
    if not part.get(name):
        return False
    number, unit = part[name].split()
    part[name] = f"{float(number) * factor:.6g} {unit}"
    return True


def _tree_of(made: dict, draw: random.Random) -> dict:
    return draw.choice(made["anchors"])


def _end_of(made: dict, draw: random.Random) -> dict:
    return made["lines"][0][draw.choice("ab")]


def _swapped(part: dict, name: str, order: tuple, default=None) -> bool:
    """The next worse word of an order from best to worst."""
    now = part.get(name, default)
    if now not in order or now == order[-1]:
        return False
    part[name] = order[order.index(now) + 1]
    return True


def _thinner(made, draw):
    return _scaled(_tree_of(made, draw)["trunk"][0], "girth", draw.choice((0.97, 0.85, 0.7)))


def _lower_tree(made, draw):
    return _scaled(_tree_of(made, draw), "height", draw.choice((0.97, 0.85, 0.7)))


def _more_pull(made, draw):
    return _scaled(made["lines"][0].get("standing", {}), "tension", draw.choice((1.03, 1.3, 2.0)))


def _wetter(made, draw):
    return _swapped(_tree_of(made, draw).get("ground", {}), "wetness", ("moist", "wet", "standing water"))


def _more_lean(made, draw):
    tree = _tree_of(made, draw)
    if tree.get("lean") is None:
        return False
    tree["lean"] = f"{number_of(tree['lean']) + draw.choice((1, 3, 7))} deg"
    return number_of(tree["lean"]) <= 30


def _steeper(made, draw):
    ground = _tree_of(made, draw).get("ground", {})
    if not ground.get("slope"):
        return False
    ground["slope"] = f"{number_of(ground['slope']) + draw.choice((1, 4, 10))} deg"
    return True


def _roots_gone(made, draw):
    roots = _tree_of(made, draw).get("roots")
    if not roots:
        return False
    sector = draw.choice(SECTORS)
    gone = ("cut", "undercut")
    worse = {"covered": ("ridges over 5 cm", "hard surface", *gone), "ridges over 5 cm": gone, "hard surface": gone}
    worse = worse.get(roots[sector])
    if worse is None:
        return False
    roots[sector] = draw.choice(worse)
    return True


def _an_edge_near(made, draw):
    tree = _tree_of(made, draw)
    if tree.get("hard_edge_near") not in ("no", "yes"):
        return False
    tree["hard_edge_near"] = "yes"
    what = draw.choice(("kerb", "wall", "trench", "digging", "bank", "hard surface", "water"))
    near = {"what": what, "side": draw.choice(SECTORS), "distance": f"{draw.uniform(0.3, 3):.1f} m"}
    tree["hard_edges"] = [*tree.get("hard_edges", []), near]
    return True


def _nearer_edge(made, draw):
    edges = _tree_of(made, draw).get("hard_edges")
    return bool(edges) and _scaled(edges[0], "distance", 0.6)


def _decay(made, draw):
    tree = _tree_of(made, draw)
    if "hollow" in tree:
        return False
    wall = number_of(tree["trunk"][0]["girth"]) / 3.1416 * draw.choice((0.1, 0.2, 0.4, 0.5))
    tree["hollow"] = {"height": draw.choice(("0.4 m", "0.8 m", "2 m")), "sound_wall": f"{wall:.1f} cm"}
    return True


def _thinner_wall(made, draw):
    return _scaled(_tree_of(made, draw).get("hollow", {}), "sound_wall", draw.choice((0.95, 0.7)))


def _wider_opening(made, draw):
    hollow = _tree_of(made, draw).get("hollow")
    if not hollow or "opening" not in hollow:
        return False
    hollow["opening"] = f"{number_of(hollow['opening']) + draw.choice((10, 60))} deg"
    return True


def _fork(made, draw):
    return _swapped(_tree_of(made, draw), "stems", ("single", "fork below tie"))


def _vaguer_species(made, draw):
    tree = _tree_of(made, draw)
    if not tree.get("species"):
        return False
    named = tree["species"]
    if named["name"] == "unknown":
        tree.pop("species")
        return True
    return _swapped(named, "certainty", ("sure", "think so", "guess"))


def _higher_tie(made, draw):
    return _scaled(_end_of(made, draw), "tie_height", draw.choice((1.03, 1.4)))


def _heavier(made, draw):
    return _scaled(made["lines"][0].get("walkers", {}), "mass", draw.choice((1.03, 1.3)))


def _stiffer(made, draw):
    return _scaled(made["lines"][0].get("webbing", {}), "stiffness", draw.choice((1.05, 1.8)))


def _more_people(made, draw):
    walkers = made["lines"][0].get("walkers")
    if not walkers or not walkers.get("mass"):
        return False
    walkers["at_once"] += 1
    return True


def _bounced(made, draw):
    return _swapped(made["lines"][0].get("walkers", {}), "movement", ("walk only, no bouncing", "unknown"))


def _narrower_sling(made, draw):
    return _scaled(_end_of(made, draw)["sling"], "width", draw.choice((0.95, 0.6)))


def _stop_sign(made, draw):
    tree = _tree_of(made, draw)
    tree["signs"] = {**tree["signs"], draw.choice(SIGNS): "yes"}
    return True


def _stressed(made, draw):
    return _swapped(_tree_of(made, draw), "condition", ("sound", "stressed"))


def _used_more(made, draw):
    return _swapped(_tree_of(made, draw), "use_so_far", ("none", "occasional", "weekly"))


def _shallow(made, draw):
    return _swapped(_tree_of(made, draw).get("ground", {}), "shallow", ("no", "yes"))


def _untried_soil(made, draw):
    ground = _tree_of(made, draw).get("ground")
    if not ground or ground.get("texture"):
        return False
    ground["texture"] = draw.choice(("peat", "made ground"))
    return True


def _bank(made, draw):
    ground = _tree_of(made, draw).get("ground")
    if not ground:
        return False
    if ground.get("bank_distance"):
        return _scaled(ground, "bank_distance", 0.5)
    ground["bank_distance"] = f"{draw.uniform(0.5, 8):.1f} m"
    return True


def _less_measured(made, draw):
    tree = _tree_of(made, draw)
    return _swapped(tree["trunk"][0], "how", ("taped", draw.choice(("estimated", "copied", "unknown"))))


def _height_estimated(made, draw):
    tree = _tree_of(made, draw)
    return bool(tree.get("height")) and _swapped(tree, "height_how", ("measured", draw.choice(("estimated", "copied"))))


def _guessed_tension(made, draw):
    return _swapped(made["lines"][0].get("standing", {}), "how", ("load cell", draw.choice(("estimate", "guess"))))


def _less_wind(made, draw):
    return _scaled(_tree_of(made, draw).get("stood", {}), "gust", draw.choice((0.97, 0.8)))


def _less_seen_of_wind(made, draw):
    stood = _tree_of(made, draw).get("stood")
    if not stood:
        return False
    name, said = draw.choice((("exposed", "no"), ("changed", "yes"), ("changed", "not looked"), ("in_leaf", "no")))
    was, stood[name] = stood[name], said
    return was != said


def _softer_sign(made, draw):
    signs = _tree_of(made, draw).get("softer_signs")
    if not signs:
        return False
    signs[draw.choice(SOFTER)] = draw.choice(("yes", "not looked"))
    return True


def _older(made, draw):
    made["survey"]["date"] = draw.choice(("2025-04-18", "2023-04-18", "2019-04-18"))
    return True


def _no_backup(made, draw):
    line = made["lines"][0]
    return line["use"] == "high line" and _swapped(line, "backup", ("other tree", "same tree", "none"))


def _longer_leash(made, draw):
    return _scaled(made["lines"][0].get("walkers", {}), "leash", 1.5)


def _sign_unseen(made, draw):
    tree = _tree_of(made, draw)
    sign = draw.choice(SIGNS)
    if tree["signs"][sign] == "not looked":
        return False
    tree["signs"] = {**tree["signs"], sign: "not looked"}
    return True


def _sector_unseen(made, draw):
    roots = _tree_of(made, draw).get("roots")
    sector = draw.choice(SECTORS)
    if not roots or roots[sector] == "not looked":
        return False
    roots[sector] = "not looked"
    return True


OF_A_TREE = ("lean", "lean_toward", "height", "crown_base", "crown_spread", "roots", "species", "bark", "position",
             "hard_edge_near", "stems", "condition", "use_so_far", "ground", "signs", "height_how", "stood",
             "softer_signs")  # fmt: skip
OF_A_GROUND = ("slope", "downhill", "shallow", "wetness", "bank_distance", "texture")
OF_A_LINE = ("span", "webbing", "standing", "walkers", "ground_between", "open_below", "backup")
OF_WALKERS = ("mass", "movement", "leash", "leash_kind")
OF_AN_END = ("tie_height", "sling", "padding")


def _withheld(of: str, name: str) -> Worse:
    def take(made, draw):
        line = made["lines"][0]
        tree = _tree_of(made, draw)
        part = {"tree": tree, "ground": tree.get("ground", {}), "hollow": tree.get("hollow", {}), "line": line,
                "walkers": line.get("walkers", {}), "end": _end_of(made, draw)}[of]  # fmt: skip
        gone = part.pop(name, None)
        if name == "hard_edge_near":
            part.pop("hard_edges", None)
        if name == "lean":
            part.pop("lean_toward", None)
        if name == "height":
            part.pop("height_how", None)
        if name == "walkers" and gone and gone["at_once"] > 1:
            line["walkers"] = {"at_once": gone["at_once"]}  # how many is the plan, not a reading
        return gone is not None and gone != "unknown"
    return take


WORSE: dict[str, Worse] = {
    "thinner trunk": _thinner, "lower tree": _lower_tree, "more pull": _more_pull, "wetter": _wetter,
    "more lean": _more_lean, "steeper": _steeper, "roots gone": _roots_gone, "an edge near": _an_edge_near,
    "nearer edge": _nearer_edge, "decay": _decay, "thinner wall": _thinner_wall, "wider opening": _wider_opening,
    "fork": _fork, "vaguer species": _vaguer_species, "higher tie": _higher_tie, "heavier walker": _heavier,
    "stiffer webbing": _stiffer, "more people": _more_people, "bounced": _bounced, "narrower sling": _narrower_sling,
    "stop sign": _stop_sign, "stressed": _stressed, "used more": _used_more, "shallow": _shallow,
    "untried soil": _untried_soil, "bank": _bank, "trunk not taped": _less_measured,
    "height not measured": _height_estimated, "tension guessed": _guessed_tension, "older survey": _older,
    "less wind stood": _less_wind, "less seen of a wind stood": _less_seen_of_wind, "softer sign": _softer_sign,
    "no backup": _no_backup, "longer leash": _longer_leash, "sign not looked for": _sign_unseen,
    "sector not looked at": _sector_unseen,
    **{f"withheld: {name}": _withheld("tree", name) for name in OF_A_TREE},
    **{f"withheld: ground {name}": _withheld("ground", name) for name in OF_A_GROUND},
    **{f"withheld: {name} of the line": _withheld("line", name) for name in OF_A_LINE},
    **{f"withheld: walkers' {name}": _withheld("walkers", name) for name in OF_WALKERS},
    **{f"withheld: {name}": _withheld("end", name) for name in OF_AN_END},
    "withheld: sound wall": _withheld("hollow", "sound_wall"), "withheld: opening": _withheld("hollow", "opening"),
}  # fmt: skip
