"""Pairs of trees that rules and practice allow every week, and pairs nobody should use.

What an experienced rigger and a tree officer would each expect of a pair was written down before the program was asked
(common practice, no source, unless a rule set is named), and is not changed to fit an answer. Every pair is looked at
whole: no stop sign, roots covered, bark, crown and height measured, the ground between taped.
"""

from __future__ import annotations

from dataclasses import dataclass

from parks import SECTORS

DEG_M = 64_790.0  # metres in a degree of longitude at the base record's latitude


@dataclass(frozen=True)
class Pair:
    """One pair: what it is, its edits of the base record, and who expects what of it."""

    name: str
    edits: dict
    rigger: str
    officer: str
    words: tuple[str, ...]  # the words both could live with


def tree(species: str, girth_cm: float, height_m: float, crown_m: float, bark: str = "fine fissured") -> dict:
    return {
        "species.name": species, "trunk.0.girth": f"{girth_cm:g} cm", "height": f"{height_m:g} m",
        "crown_spread": f"{crown_m:g} m", "crown_base": "3 m", "bark": {"form": bark, "firmness": "tight"},
    }  # fmt: skip


def pair(a: dict, b: dict | None = None, *, span_m: float, tension: str, tie: str, use: str = "low line",
         webbing: str = "polyester", more: dict | None = None) -> dict:  # fmt: skip
    """Edits for two trees and a line over level ground, tied with a doubled wide sling over carpet."""
    made = {f"T1.{key}": value for key, value in a.items()} | {f"T2.{key}": value for key, value in (b or a).items()}
    return made | {
        "T2.position.lon": 2.5 + span_m / DEG_M, "L1.use": use, "L1.span.taped": f"{span_m:g} m",
        "L1.webbing": {"kind": webbing, "width": "25 mm"}, "L1.standing": {"tension": tension, "how": "load cell"},
        "L1.a.tie_height": tie, "L1.b.tie_height": tie,
        "L1.ground": [{"at": f"{share * span_m:g} m", "height": "0 m"} for share in (0, 0.5, 1)],
    } | (more or {})  # fmt: skip


def hammock(a: dict, span_m: float = 4.0) -> dict:
    made = pair(a, span_m=span_m, tension="1 kN", tie="1.5 m", use="hammock")
    return made | {"L1.standing": None, "L1.webbing": None}


LIME40, LIME32 = tree("Tilia cordata", 126, 14, 7), tree("Tilia cordata", 101, 12, 6)
LIME30 = tree("Tilia cordata", 95, 12, 6)
OAK45, OAK50 = tree("Quercus robur", 141, 15, 9, "deep ridged"), tree("Quercus robur", 157, 17, 10, "deep ridged")
OAK70 = tree("Quercus robur", 220, 20, 14, "deep ridged")
PLANE55 = tree("Platanus x hispanica", 173, 19, 12, "flaking")
PLANE60 = tree("Platanus x hispanica", 188, 20, 13, "flaking")
ALLOWED, SOFT = ("suits", "suits if"), ("suits if",)

EVERYDAY = [
    Pair("limes of 40 cm, beginners' line", pair(LIME40, span_m=20, tension="2.5 kN", tie="0.8 m"),
         "the standard evening set-up", "40 cm is what our rules ask for; pads, please", ALLOWED),
    Pair("oaks of 45 cm, short line", pair(OAK45, span_m=15, tension="2.5 kN", tie="1 m"),
         "bomb-proof for this", "nothing against it", ALLOWED),
    Pair("Norway maples of 36 cm", pair(tree("Acer platanoides", 113, 12, 7), span_m=15, tension="2 kN", tie="0.8 m"),
         "fine at this height and tension", "over the 30 cm most rules start at", ALLOWED),
    Pair("planes of 55 cm, 28 m", pair(PLANE55, span_m=28, tension="4 kN", tie="1.2 m"),
         "no worry about the trees; watch the bark", "big planes carry this every week; wide slings", ALLOWED),
    Pair("birch of 32 and oak of 50 cm", pair(tree("Betula pendula", 101, 14, 6), OAK50, span_m=12, tension="2 kN",
         tie="0.7 m"), "the birch is the weak end, tied low it does", "would rather see the oak; allowed", ALLOWED),
    Pair("ashes of 40 cm, 25 m", pair(tree("Fraxinus excelsior", 126, 15, 8, "deep ridged"), span_m=25,
         tension="3 kN", tie="1 m"), "good anchors if they are healthy", "looked at for dieback, then yes", ALLOWED),
    Pair("hornbeams of 35 cm", pair(tree("Carpinus betulus", 110, 11, 7, "smooth"), span_m=10, tension="2 kN",
         tie="0.7 m"), "hard wood, thin bark: pads", "pads all round, then yes", ALLOWED),
    Pair("beeches of 60 cm, long line", pair(tree("Fagus sylvatica", 188, 22, 13, "smooth"), span_m=40,
         tension="5 kN", tie="1.5 m", use="long line"), "very strong; the bark is what one protects",
         "thin bark: wide, padded, not in spring", ALLOWED),
    Pair("Scots pines of 38 cm", pair(tree("Pinus sylvestris", 119, 15, 5, "flaking"), span_m=18, tension="2.5 kN",
         tie="0.9 m"), "pines root deep here, fine", "yes; bark flakes, use a wide sling", ALLOWED),
    Pair("horse chestnuts of 50 cm", pair(tree("Aesculus hippocastanum", 157, 16, 11, "flaking"), span_m=20,
         tension="2.5 kN", tie="0.9 m"), "good", "yes, looked at for bleeding canker", ALLOWED),
    Pair("hammock on limes of 28 cm", hammock(tree("Tilia cordata", 88, 11, 5)),
         "every park has them", "a hammock we allow on slim trees", ALLOWED),
    Pair("hammock on birches of 25 cm", hammock(tree("Betula pendula", 79, 12, 4)),
         "holds a person easily", "the least our rules let through for hammocks", ALLOWED),
    Pair("hammock on oaks of 60 cm", hammock(tree("Quercus robur", 188, 18, 12, "deep ridged"), 5.0),
         "of course", "of course", ("suits",)),
    Pair("trick line on planes of 60 cm", pair(PLANE60, span_m=18, tension="8 kN", tie="1.3 m", use="trick line"),
         "needs big trees, these are; pads and a watched base", "only on trees like these, with conditions", ALLOWED),
    Pair("children's line on limes of 32 cm", pair(LIME32, span_m=8, tension="1.5 kN", tie="0.5 m",
         more={"L1.walkers.mass": "45 kg"}), "nothing to it", "low, short and light: yes", ALLOWED),
    Pair("sycamores of 45 cm, 30 m", pair(tree("Acer pseudoplatanus", 141, 17, 9), span_m=30, tension="3.5 kN",
         tie="1.1 m"), "good pair", "yes with pads", ALLOWED),
    Pair("oaks of 45 cm on wet ground", pair(OAK45, span_m=20, tension="2.5 kN", tie="0.8 m",
         more={"T1.ground.wetness": "wet", "T2.ground.wetness": "wet"}), "fine, mind the grass",
         "wet, not soaked: they may, off the roots", ALLOWED),
    Pair("limes of 30 cm, low and slack", pair(LIME30, span_m=15, tension="2 kN", tie="0.7 m"),
         "slim but it does at knee height", "at the very limit of the rule: they ask me first", ALLOWED),
    Pair("poplars of 50 cm", pair(tree("Populus nigra", 157, 20, 9, "deep ridged"), span_m=25, tension="3 kN",
         tie="1 m"), "strong enough; look up for limbs", "shed limbs; in calm weather", ALLOWED),
    Pair("cherries of 38 cm", pair(tree("Prunus avium", 119, 12, 8, "papery"), span_m=12, tension="2 kN",
         tie="0.6 m"), "all right with pads", "soft bark: padded and rarely", ALLOWED),
    Pair("oaks of 70 cm, long line", pair(OAK70, span_m=60, tension="5 kN", tie="1.8 m", use="long line",
         webbing="nylon"), "the trees one looks for", "yes, with a watcher", ALLOWED),
    Pair("Douglas firs of 45 cm", pair(tree("Pseudotsuga menziesii", 141, 20, 7, "deep ridged"), span_m=22,
         tension="3 kN", tie="1 m"), "solid", "yes", ALLOWED),
    Pair("oaks of 45 cm on a gentle slope", pair(OAK45, span_m=20, tension="2.5 kN", tie="0.9 m",
         more={"T1.ground.slope": "8 deg", "T2.ground.slope": "8 deg"}), "fine", "fine", ALLOWED),
    Pair("sweetgums of 40 cm", pair(tree("Liquidambar styraciflua", 126, 15, 7, "deep ridged"), span_m=20,
         tension="2.5 kN", tie="0.8 m"), "fine", "12 inches is our rule, these are 16", ALLOWED),
]  # fmt: skip

HOLLOW = {"height": "1 m", "sound_wall": "3 cm", "opening": "0 deg"}
NEVER = ("leave it", "cannot say")
NOBODY = [
    Pair("saplings of 15 cm", pair(tree("Betula pendula", 47, 8, 3), span_m=12, tension="2 kN", tie="0.8 m"),
         "they bend like a rod", "no", ("leave it",)),
    Pair("willow on an undercut bank", pair(tree("Salix alba", 190, 15, 10, "deep ridged"), OAK50, span_m=20,
         tension="2.5 kN", tie="1 m", more={"T1.signs.undercut_roots": "yes", "T1.ground.bank_distance": "0.5 m"}),
         "bare roots over a crumbling bank: never, and a backup on it does not help", "no", ("leave it",)),
    Pair("a dead ash", pair(tree("Fraxinus excelsior", 157, 16, 8), span_m=20, tension="2.5 kN", tie="1 m",
         more={"T1.signs.dead_tree": "yes"}), "no", "it comes down this winter", ("leave it",)),
    Pair("12 kN on limes of 35 cm", pair(tree("Tilia cordata", 110, 13, 6), span_m=20, tension="9 kN", tie="1.5 m",
         use="trick line"), "far too hard for these", "no", NEVER),
    Pair("beech with brackets", pair(tree("Fagus sylvatica", 251, 24, 15, "smooth"), span_m=25, tension="3 kN",
         tie="1 m", more={"T2.signs.bracket_fungus": "yes"}), "no, however thick", "no", ("leave it",)),
    Pair("poplar that started to lean", pair(tree("Populus nigra", 126, 18, 8), span_m=20, tension="2.5 kN",
         tie="1 m", more={"T1.signs.fresh_lean": "yes", "T1.signs.soil_heave": "yes"}), "no", "closed off today",
         ("leave it",)),
    Pair("slim spruces in a bog, tied high", pair(tree("Picea abies", 95, 20, 5, "flaking"), span_m=25, tension="5 kN",
         tie="2.5 m", more={"T1.ground.wetness": "standing water", "T2.ground.wetness": "standing water"}),
         "flat roots in soft ground: no", "no", NEVER),
    Pair("roots cut for a new path", pair(LIME40, span_m=20, tension="3 kN", tie="1 m", more={
         "T1.roots": dict.fromkeys(SECTORS, "covered") | dict.fromkeys(("S", "SW", "W", "NW", "N"), "cut")}),
         "the side that holds it is gone", "no", ("leave it",)),
    Pair("a hollow willow, a shell of 3 cm", pair(tree("Salix alba", 220, 14, 9), OAK50, span_m=20, tension="2.5 kN",
         tie="1.2 m", more={"T1.hollow": HOLLOW}), "no", "no", NEVER),
    Pair("a high line on slim pines", pair(tree("Pinus sylvestris", 110, 18, 5, "flaking"), span_m=30, tension="4 kN",
         tie="5 m", use="high line", more={"L1.walkers.leash": "1.5 m", "L1.backup": "other tree"}),
         "nobody hangs a life on these", "no", NEVER),
    Pair("a lamp post", pair(OAK50, span_m=20, tension="2.5 kN", tie="1 m", more={
         "anchors.1": {"kind": "other", "code": "T2", "what": "lamp post"}}), "not an anchor", "not mine to allow",
         NEVER),
    Pair("a forked lime, cracked through", pair(tree("Tilia platyphyllos", 157, 18, 10), span_m=20, tension="3 kN",
         tie="1.5 m", more={"T1.signs.stem_crack": "yes"}), "no", "no", ("leave it",)),
]  # fmt: skip
