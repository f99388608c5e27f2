"""Records made worse in exactly one way, and what of an answer may not improve by it.

Import as `from worse import ...`; the tests folder is on the path (see pyproject.toml). A worsening changes one thing
of a record of `drawn` and nothing else, or says that there is nothing to worsen.
`never_better` says what of an answer may not improve by it.
"""

from __future__ import annotations

import functools
import math

from parks import SECTORS, SIGNS, SOFTER
from withheld import WITHHELD, Worse, end_of, tree_of

from siteassess.reference.anchorage import anchorage_of
from siteassess.reference.species import find_species, species_names


def number_of(text: str) -> float:
    return float(text.split()[0])


def _scaled(part: dict, name: str, factor: float) -> bool:
    if not part.get(name):
        return False
    number, unit = part[name].split()
    part[name] = f"{float(number) * factor:.6g} {unit}"
    return True


def _swapped(part: dict, name: str, order: tuple, default=None) -> bool:
    """The next worse word of an order from best to worst."""
    now = part.get(name, default)
    if now not in order or now == order[-1]:
        return False
    part[name] = order[order.index(now) + 1]
    return True


def _thinner(made, draw):
    return _scaled(tree_of(made, draw)["trunk"][0], "girth", draw.choice((0.97, 0.85, 0.7)))


def _lower_tree(made, draw):
    return _scaled(tree_of(made, draw), "height", draw.choice((0.97, 0.85, 0.7)))


def _more_pull(made, draw):
    return _scaled(made["lines"][0].get("standing", {}), "tension", draw.choice((1.03, 1.3, 2.0)))


def _wetter(made, draw):
    return _swapped(tree_of(made, draw).get("ground", {}), "wetness", ("moist", "wet", "standing water"))


def _more_lean(made, draw):
    tree = tree_of(made, draw)
    if tree.get("lean") is None:
        return False
    tree["lean"] = f"{number_of(tree['lean']) + draw.choice((1, 3, 7))} deg"
    return number_of(tree["lean"]) <= 30


def _steeper(made, draw):
    ground = tree_of(made, draw).get("ground", {})
    if not ground.get("slope"):
        return False
    ground["slope"] = f"{number_of(ground['slope']) + draw.choice((1, 4, 10))} deg"
    return True


def _roots_gone(made, draw):
    roots = tree_of(made, draw).get("roots")
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
    tree = tree_of(made, draw)
    if tree.get("hard_edge_near") != "no" and not tree.get("hard_edges"):
        return False  # one that is near, and nothing said of it, is settled by saying it
    tree["hard_edge_near"] = "yes"
    what = draw.choice(("kerb", "wall", "trench", "digging", "bank", "hard surface", "water"))
    near = {"what": what, "side": draw.choice(SECTORS), "distance": f"{draw.uniform(0.3, 3):.1f} m"}
    tree["hard_edges"] = [*tree.get("hard_edges", []), near]
    return True


def _nearer_edge(made, draw):
    edges = tree_of(made, draw).get("hard_edges")
    return bool(edges) and _scaled(edges[0], "distance", 0.6)


def _decay(made, draw):
    tree = tree_of(made, draw)
    if "hollow" in tree or tree.get("softer_signs", {}).get("hollow_sound") == "yes":  # known of: a wall settles it
        return False
    wall = number_of(tree["trunk"][0]["girth"]) / 3.1416 * draw.choice((0.1, 0.2, 0.4, 0.5))
    tree["hollow"] = {"height": draw.choice(("0.4 m", "0.8 m", "2 m")), "sound_wall": f"{wall:.1f} cm"}
    return True


def _thinner_wall(made, draw):
    return _scaled(tree_of(made, draw).get("hollow", {}), "sound_wall", draw.choice((0.95, 0.7)))


def _wider_opening(made, draw):
    hollow = tree_of(made, draw).get("hollow")
    if not hollow or "opening" not in hollow:
        return False
    hollow["opening"] = f"{number_of(hollow['opening']) + draw.choice((10, 60))} deg"
    return True


def _fork(made, draw):
    return _swapped(tree_of(made, draw), "stems", ("single", "fork below tie"))


def _vaguer_species(made, draw):
    tree = tree_of(made, draw)
    if not tree.get("species"):
        return False
    named = tree["species"]
    if named["name"] == "unknown":
        tree.pop("species")
        return True
    return _swapped(named, "certainty", ("sure", "think so", "guess"))


def _higher_tie(made, draw):
    return _scaled(end_of(made, draw), "tie_height", draw.choice((1.03, 1.4)))


def _heavier(made, draw):
    return _scaled(made["lines"][0].get("walkers", {}), "mass", draw.choice((1.03, 1.3)))


def _stiffer(made, draw):
    return _scaled(made["lines"][0].get("webbing", {}), "stiffness", draw.choice((1.05, 1.8)))


def _wider(made, draw):
    """Further apart, at the same pull and by every reading."""
    line = made["lines"][0]
    more = draw.choice((1.05, 1.5))
    place = made["anchors"][1].get("position")
    if place:
        place["lon"] = 2.5 + (place["lon"] - 2.5) * more
    for point in line.get("ground", ()):
        _scaled(point, "at", more)
    return _scaled(line.get("span", {}), "taped", more)


def _weaker_wood(made, draw):
    """Another kind of the same leaf type whose wood, root plate and bark are none of them better."""
    named = tree_of(made, draw).get("species")
    if not named or named["name"] == "unknown":
        return False
    own = find_species(named["name"])
    weaker = [name for name in _weaker(own.leaf_type) if _is_weaker(find_species(name), own)]
    if not weaker:
        return False
    named["name"] = draw.choice(weaker)
    return True


@functools.cache
def _weaker(leaf_type: str) -> tuple[str, ...]:
    return tuple(name for name in species_names() if find_species(name).leaf_type == leaf_type)


def _is_weaker(one, own) -> bool:
    plates = [anchorage_of(match, guessed=False) for match in (one, own)]
    barks = [match.bark.thickness_m(0.5) for match in (one, own)]
    return (one.wood.mor_pa < own.wood.mor_pa and one.wood.ln_sd == own.wood.ln_sd and plates[0] == plates[1]
            and one.bark.smooth == own.bark.smooth and one.bark.form == own.bark.form
            and all(a == b or (math.isnan(a) and math.isnan(b)) for a, b in zip(*barks)))  # fmt: skip


def _more_people(made, draw):
    walkers = made["lines"][0].get("walkers")
    if not walkers or not walkers.get("mass"):
        return False
    walkers["at_once"] += 1
    return True


def _bounced(made, draw):
    return _swapped(made["lines"][0].get("walkers", {}), "movement", ("walk only, no bouncing", "unknown"))


def _narrower_sling(made, draw):
    return _scaled(end_of(made, draw)["sling"], "width", draw.choice((0.95, 0.6)))


def _less_even(made, draw):
    return _scaled(end_of(made, draw)["sling"], "off_middle", draw.choice((1.2, 2.0)))


def _stop_sign(made, draw):
    tree = tree_of(made, draw)
    tree["signs"] = {**tree["signs"], draw.choice(SIGNS): "yes"}
    return True


def _stressed(made, draw):
    return _swapped(tree_of(made, draw), "condition", ("sound", "stressed"))


def _used_more(made, draw):
    return _swapped(tree_of(made, draw), "use_so_far", ("none", "occasional", "weekly"))


def _shallow(made, draw):
    return _swapped(tree_of(made, draw).get("ground", {}), "shallow", ("no", "yes"))


def _untried_soil(made, draw):
    ground = tree_of(made, draw).get("ground")
    if not ground or ground.get("texture"):
        return False
    ground["texture"] = draw.choice(("peat", "made ground"))
    return True


def _bank(made, draw):
    ground = tree_of(made, draw).get("ground")
    if not ground:
        return False
    if ground.get("bank_distance"):
        return _scaled(ground, "bank_distance", 0.5)
    ground["bank_distance"] = f"{draw.uniform(0.5, 8):.1f} m"
    return True


def _less_measured(made, draw):
    tree = tree_of(made, draw)
    return _swapped(tree["trunk"][0], "how", ("taped", draw.choice(("estimated", "copied", "unknown"))))


def _height_estimated(made, draw):
    tree = tree_of(made, draw)
    return bool(tree.get("height")) and _swapped(tree, "height_how", ("measured", draw.choice(("estimated", "copied"))))


def _guessed_tension(made, draw):
    return _swapped(made["lines"][0].get("standing", {}), "how", ("load cell", draw.choice(("estimate", "guess"))))


def _less_wind(made, draw):
    return _scaled(tree_of(made, draw).get("stood", {}), "gust", draw.choice((0.97, 0.8)))


def _less_seen_of_wind(made, draw):
    stood = tree_of(made, draw).get("stood")
    if not stood:
        return False
    name, said = draw.choice((("exposed", "no"), ("changed", "yes"), ("changed", "not looked"), ("in_leaf", "no")))
    was, stood[name] = stood[name], said
    return was != said


def _softer_sign(made, draw):
    signs = tree_of(made, draw).get("softer_signs")
    if not signs:
        return False
    signs[draw.choice(SOFTER)] = draw.choice(("yes", "not looked"))
    return True


def _wire_seen(made, draw):
    line = made["lines"][0]
    was, line["power_line"] = line.get("power_line", "not looked"), "yes"
    return was != "yes"


def _nearer_thing(made, draw):
    """A thing marked beside the line moves a few metres towards it: the line lies along 54.5 degrees north."""
    things = made["site"].get("surroundings", [])
    moved = False
    for thing in things:
        if all(latitude > 54.5 for latitude, _ in thing["points"]):
            thing["points"] = [[54.5 + 0.6 * (latitude - 54.5), longitude] for latitude, longitude in thing["points"]]
            moved = True
    return moved


def _weaker_gear(made, draw):
    gear = made["lines"][0].get("gear")
    return bool(gear) and _scaled(draw.choice(gear), "rating", draw.choice((0.97, 0.6)))


def _weaker_sling(made, draw):
    return _scaled(end_of(made, draw)["sling"], "rating", draw.choice((0.97, 0.6)))


def _thinner_pad(made, draw):
    return _scaled(end_of(made, draw).get("padding", {}), "thickness", draw.choice((0.9, 0.4)))


def _nearer_link(made, draw):
    return _scaled(end_of(made, draw)["sling"], "link_distance", draw.choice((0.95, 0.7)))


def _moved_more(made, draw):
    return _scaled(tree_of(made, draw).get("trial", {}), "tilt", draw.choice((1.1, 2)))


def _older(made, draw):
    made["survey"]["date"] = draw.choice(("2025-04-18", "2023-04-18", "2019-04-18"))
    return True


def _no_backup(made, draw):
    line = made["lines"][0]
    return line["use"] == "high line" and _swapped(line, "backup", ("other tree", "same tree", "none"))


def _longer_leash(made, draw):
    return _scaled(made["lines"][0].get("walkers", {}), "leash", 1.5)


def _sign_unseen(made, draw):
    tree = tree_of(made, draw)
    sign = draw.choice(SIGNS)
    if tree["signs"][sign] == "not looked":
        return False
    tree["signs"] = {**tree["signs"], sign: "not looked"}
    return True


def _sector_unseen(made, draw):
    roots = tree_of(made, draw).get("roots")
    sector = draw.choice(SECTORS)
    if not roots or roots[sector] == "not looked":
        return False
    roots[sector] = "not looked"
    return True


WORSE: dict[str, Worse] = {
    "thinner trunk": _thinner, "lower tree": _lower_tree, "more pull": _more_pull, "wetter": _wetter,
    "more lean": _more_lean, "steeper": _steeper, "roots gone": _roots_gone, "an edge near": _an_edge_near,
    "nearer edge": _nearer_edge, "decay": _decay, "thinner wall": _thinner_wall, "wider opening": _wider_opening,
    "fork": _fork, "vaguer species": _vaguer_species, "higher tie": _higher_tie, "heavier walker": _heavier,
    "stiffer webbing": _stiffer, "more people": _more_people, "wider span": _wider, "weaker wood": _weaker_wood,
    "bounced": _bounced, "narrower sling": _narrower_sling, "legs less even": _less_even, "stop sign": _stop_sign,
    "stressed": _stressed, "used more": _used_more, "shallow": _shallow, "untried soil": _untried_soil, "bank": _bank,
    "trunk not taped": _less_measured, "height not measured": _height_estimated, "tension guessed": _guessed_tension,
    "power line seen": _wire_seen,
    "a thing nearer": _nearer_thing, "weaker gear": _weaker_gear, "weaker sling": _weaker_sling,
    "thinner pad": _thinner_pad, "link nearer": _nearer_link, "trial tilted more": _moved_more,
    "older survey": _older, "less wind stood": _less_wind, "less seen of a wind stood": _less_seen_of_wind,
    "softer sign": _softer_sign, "no backup": _no_backup, "longer leash": _longer_leash,
    "sign not looked for": _sign_unseen, "sector not looked at": _sector_unseen,
    **WITHHELD,
}  # fmt: skip
