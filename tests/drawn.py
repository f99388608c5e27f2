"""Records drawn by lot: one line between two trees, most of it looked at, as plain data like `parks`.

Import as `from drawn import drawn`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import copy
import random

from parks import BASE, SECTORS, SOFTER

SPECIES = ("Quercus robur", "Fagus sylvatica", "Tilia cordata", "Acer platanoides", "Picea abies", "Pinus sylvestris",
           "Betula pendula", "Platanus x hispanica", "Carpinus betulus", "Aesculus hippocastanum",
           "Robinia pseudoacacia", "Eucalyptus globulus", "Fraxinus excelsior", "unknown")  # fmt: skip
TIES = {"hammock": (1.0, 1.8), "low line": (0.5, 1.5), "trick line": (0.8, 1.6), "long line": (1.2, 2.8),
        "high line": (2.0, 4.5)}  # fmt: skip
SELDOM_FROM = 1000  # records from this seed on also say what few say
GEAR_FROM = 60_000  # and from this one on gear of every kind and place, and how slings lie
AROUND_FROM = 700_000  # and from this one on what lies about, who tightens, a second line, and the southern half
SPANS = {"hammock": (3.0, 5.5), "low line": (8, 30), "trick line": (12, 25), "long line": (30, 100),
         "high line": (20, 80)}  # fmt: skip


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
    if seed >= SELDOM_FROM:
        _seldom(made, random.Random(f"seldom {seed}"))
    if seed >= GEAR_FROM:
        _of_every_kind(made["lines"][0], random.Random(f"gear {seed}"))
    if seed >= AROUND_FROM:
        _around(made, random.Random(f"around {seed}"))
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


def _seldom(made: dict, draw: random.Random) -> None:
    """What few records say, and mostly say because it is bad; many of them of trees otherwise well."""
    for number, tree in enumerate(made["anchors"]):
        if draw.random() < 0.7:
            well = copy.deepcopy(BASE["anchors"][number])
            where = tree.get("position")
            tree.clear()
            tree |= well
            if where:
                tree["position"] = where
        for say in draw.sample(OF_TREE_SELDOM, draw.choice((1, 2, 3))):
            say(tree, draw)
    line = made["lines"][0]
    for say in draw.sample(OF_LINE_SELDOM, draw.choice((0, 1, 2))):
        say(line, draw)
    for end in ("a", "b"):
        for say in draw.sample(OF_END_SELDOM, draw.choice((0, 0, 1))):
            say(line[end], draw)


def _softer(tree, draw):
    tree["softer_signs"] = dict.fromkeys((*SOFTER, "corrected_lean"), "no")
    for sign in draw.sample((*SOFTER, "corrected_lean"), draw.choice((0, 1, 1, 2))):
        tree["softer_signs"][sign] = draw.choice(("yes", "yes", "not looked"))


def _known_as(tree, draw):
    tree["status"] = draw.choice(("ordinary", "heritage", "veteran", "memorial"))


def _aged(tree, draw):
    tree["life_stage"] = draw.choice(("young", "mature", "over-mature", "veteran"))


def _read_again(tree, draw):
    girth, unit = tree["trunk"][0]["girth"].split()
    tree["trunk"].append({"girth": f"{float(girth) * draw.choice((0.5, 0.7, 0.9, 1.0)):.1f} {unit}",
                          "read_at": draw.choice(("0.6 m", "1.8 m", "2.4 m")), "how": "taped"})  # fmt: skip


def _bark_read(tree, draw):
    tree["bark"] = {"form": draw.choice(("smooth", "fibrous", "plated")),
                    "thickness": f"{draw.choice((2, 5, 12, 30))} mm",
                    "firmness": draw.choice(("tight", "slips easily"))}  # fmt: skip


def _low_crown(tree, draw):
    tree["crown_base"] = f"{draw.choice((0.6, 1, 1.5)):.1f} m"


def _forked_above(tree, draw):
    tree["stems"], tree["fork_height"] = "fork above tie", f"{draw.choice((1.2, 2, 3, 5)):.1f} m"


def _soil(tree, draw):
    tree["ground"]["shallow"] = draw.choice(("no", "yes", "yes"))
    tree["ground"]["texture"] = draw.choice(("loam", "sand", "peat", "made ground", "rock"))


def _worn(tree, draw):
    tree["ground"]["bare"] = draw.choice(("none", "worn grass", "bare under 2 m2", "bare over 2 m2"))


def _banked(tree, draw):
    tree["ground"] |= {"bank_distance": f"{draw.uniform(0.5, 8):.1f} m", "bank_side": draw.choice(SECTORS)}
    tree["hard_edge_near"] = "yes"


def _tried(tree, draw):
    tree["trial"] = {"date": "2026-04-18", "pull": f"{draw.choice((1, 3, 8))} kN", "tie_height": "1.2 m",
                     "toward": draw.choice(("90 deg", "270 deg")), "tilt": f"{draw.choice((0.05, 0.2, 0.6))} deg",
                     "finest": "0.05 deg", "moved": draw.choice(("no", "no", "yes")), "wetness": "moist"}  # fmt: skip


OF_TREE_SELDOM = (_softer, _softer, _known_as, _aged, _read_again, _bark_read, _low_crown, _forked_above, _soil, _worn,
                  _banked, _tried)  # fmt: skip


def _compass(line, draw):
    line["compass"] = {"out": f"{draw.choice((88, 92, 97, 120))} deg", "back": "270 deg", "north": "true"}


def _open(line, draw):
    line["open_below"] = f"{draw.choice((0.4, 1, 3, 12))} m"


def _geared(line, draw):
    line["gear"] = [{"kind": "shackle", "place": draw.choice(("at the anchor", "in the line")),
                     "end": draw.choice("AB"), "rating": draw.choice(("4 kN", "12 kN", "30 kN", "60 kN")),
                     "rating_is": draw.choice(("working load limit", "breaking strength"))}]  # fmt: skip


def _long_up(line, draw):
    line["planned"] |= {"until": draw.choice(("2026-11-21", "2027-04-10")),
                        "attended": draw.choice(("always", "not always", "unknown"))}  # fmt: skip


def _strength(line, draw):
    line.setdefault("webbing", {}).update(strength=f"{draw.choice((8, 20, 45))} kN", held_by="knot")


def _near_ground(line, draw):
    line["mid_height"], line["keep_clear"] = f"{draw.choice((0.05, 0.4, 1))} m", "30 cm"


def _ground_taped(line, draw):
    span = float(line["span"]["taped"].split()[0])
    line["ground"] = [{"at": f"{share * span:.1f} m", "height": f"{draw.choice((-3, -1, 0, 0, 0.3))} m"}
                      for share in (0, 0.3, 0.6, 1)]  # fmt: skip


def _long_leash(line, draw):
    line.setdefault("walkers", {})["leash"] = f"{draw.choice((1.7, 2.2, 3))} m"


OF_LINE_SELDOM = (_compass, _open, _geared, _long_up, _strength, _near_ground, _ground_taped, _long_leash)


def _wrapped(end, draw):
    end["sling"]["wrap"] = draw.choice(("choker", "turns", "basket"))


def _rated(end, draw):
    end["sling"] |= {"rating": f"{draw.choice((6, 20, 80))} kN",
                     "rating_is": draw.choice(("working load limit", "breaking strength"))}  # fmt: skip


def _padded(end, draw):
    end["padding"] |= {"material": draw.choice(("carpet", "felt", "foam mat")),
                       "goes_round": draw.choice(("whole trunk", "contact only"))}  # fmt: skip


def _askew(end, draw):
    end["sling"]["off_middle"] = f"{draw.choice((5, 20, 40))} deg"


OF_END_SELDOM = (_wrapped, _rated, _padded, _askew)


def _of_every_kind(line, draw):
    line["gear"] = [_piece(draw), _piece(draw)]
    line.setdefault("webbing", {}).update(strength=f"{draw.choice((20, 45, 90))} kN", held_by="sewn eye")
    for end in (line["a"], line["b"]):
        _wrapped(end, draw)
        end["sling"] |= {"rating": f"{draw.choice((6, 20, 40, 80))} kN", "rating_is": "breaking strength"}
        if end["sling"]["wrap"] == "choker":
            end["sling"]["choke_angle"] = f"{draw.choice((20, 80, 110, 140))} deg"
    for end in (line["a"], line["b"]):
        end["sling"]["link_distance"] = f"{draw.choice((0.25, 0.4, 0.6, 1, 3))} m"
    if line["use"] == "high line":
        line["backup_line"] = {"extra_length": f"{draw.choice((0.3, 1, 3))} m",
                               "stiffness": f"{draw.choice((60, 500))} kN"}  # fmt: skip


def _piece(draw):
    piece = {"kind": draw.choice(("shackle", "connector", "pulley", "rope", "line lock", "webbing grip", "brake",
                                  "ratchet", "other")),
             "place": draw.choice(("at the anchor", "in the line", "redirect", "backup", "hauling left in")),
             "end": draw.choice("AB"), "rating": f"{draw.choice((4, 12, 25, 45, 80))} kN",
             "rating_is": draw.choice(("working load limit", "breaking strength"))}  # fmt: skip
    if piece["kind"] in ("rope", "other"):
        piece["knot"] = draw.choice(("figure eight", "knot in high-modulus polyethylene", "friction grip", "none"))
    if piece["place"] == "redirect":
        piece["strand_angle"] = f"{draw.choice((0, 60, 120, 170))} deg"
    return piece


def _around(made: dict, draw: random.Random) -> None:
    """What lies about, who tightens, another line on the first tree. The line lies along 54.5 degrees north."""
    line, made["site"] = made["lines"][0], copy.deepcopy(made["site"])
    line["power_line"] = draw.choice(("no", "no", "not looked", "yes"))
    made["site"]["surroundings"] = [_thing(draw) for _ in range(draw.choice((0, 1, 2)))]
    made["site"]["region"] = draw.choice(("mild coast", "continental", "north-western Europe"))
    if draw.random() < 0.3 and "standing" in line:
        line["crew"] = {"people": draw.choice((1, 2, 4)), "stages": [{"ratio": draw.choice((3, 5))}],
                        "footing": draw.choice(("standing", "feet braced", "unknown"))}  # fmt: skip
    if draw.random() < 0.3:
        other = copy.deepcopy(line) | {"id": "L2"}
        third = copy.deepcopy(made["anchors"][1]) | {"code": "T3"}
        if "position" in third:
            third["position"] = third["position"] | {"lat": 54.5 + draw.choice((-1, 1)) * 0.0002}
        other["b"]["anchor"] = "T3"
        other.pop("compass", None)
        made["anchors"].append(third)
        made["lines"].append(other)


def _thing(draw):
    kind = draw.choice(("path", "worn track", "road", "power line", "play area", "water", "building", "wall", "gate"))
    north = 54.5 + draw.choice((2, 4, 8, 15, 25, 40)) / 111_300.0
    if kind == "gate":
        return {"kind": kind, "points": [[north, 2.5001]]}
    return {"kind": kind, "points": [[north, 2.499], [north, 2.502]]}
