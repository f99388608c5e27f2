"""What a trunk carries and a line pulls, as tables small enough for a page on a phone: a first word, no verdict.

Every number is the one `assess` works out for an upright, sound tree of one trunk on level ground, its roots whole,
written down on a grid and rounded to the careful side. A page that reads between the rows needs no formula of ours.
The tables are written into `data/first_word.json` by `tests/first_word_tables.py`; a test works out some of them anew.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from itertools import product
from typing import Any

import numpy as np

from siteassess.advice.end_loads import HIGHEST_TIE, LEAST_TRUNK
from siteassess.advice.filled import HEIGHT_HOW
from siteassess.advice.hold import Pulls, Scatter, divisor_for, root_limits, stem_limits
from siteassess.advice.judge import SUITS_UP_TO
from siteassess.advice.line_inputs import LineInputs, line_inputs, line_loads
from siteassess.advice.tree_inputs import (
    LOW_SECTION,
    MOST_LEAN,
    SOIL_STATE,
    SPECIES_LN_SD,
    UNKNOWN_BARK_SHARE,
    TreeInputs,
    tree_inputs,
)
from siteassess.advice.trunk_inputs import DIAMETER_HOW
from siteassess.advice.under_line import UNSEEN_DIP, UnderLine
from siteassess.mechanics.cable_sag import standing_from_sag
from siteassess.mechanics.ground import LEVEL_UP_TO_DEG
from siteassess.mechanics.limit import LimitSums
from siteassess.mechanics.ownweight import own_lean_moment
from siteassess.mechanics.rootplate import HEIGHT_CAP_PER_DIAMETER, SLENDER_PER_DIAMETER, SOIL_FACTORS, lever_arm
from siteassess.mechanics.taper import diameter_at, least_diameter_at
from siteassess.records.anchor import Tree
from siteassess.records.fields import SECTORS
from siteassess.records.line import Line
from siteassess.records.trunk import BREAST_HEIGHT
from siteassess.reference.anchorage import Anchorage, anchorage_of
from siteassess.reference.constants import constant
from siteassess.reference.locate import data_folder
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows
from siteassess.units import STANDARD_GRAVITY, show

Limits = Callable[[TreeInputs, Pulls, float], tuple[LimitSums, Scatter]]
STEP = 0.0025  # of the logarithm that one number of a table counts in [ln]
FILE = "first_word.json"
# two of these are one number of a table; none of them means anything to a page, a script or a file of text
LETTERS = "".join(chr(code) for code in range(35, 127) if chr(code) not in "\\<>&")

GIRTHS = tuple(np.round(np.geomspace(0.6, 5.0, 24), 4).tolist())  # [m]
# what a trunk is allowed, and what its own lean asks, are powers of its girth and height, straight in their logarithms
LEAST_AND_MOST, TREE_HEIGHTS = (GIRTHS[0], GIRTHS[-1]), (4.0, 40.0)  # girths, and heights of trees [m]
TIES = (0.5, 0.6, 0.7, 0.85, 1.0, 1.15, 1.3, 1.5, 1.7, 2.2, 2.75)  # of lines over level ground [m]
ARMS = (0.4, 0.7, 1.0, 1.5, 2.2, 2.8)  # ties on a tree [m]
SPANNED = (4.0, 8.0, 13.0, 20.0, 32.0, 50.0, 80.0)  # [m]
STIFF = (35.0, 70.0, 140.0, 280.0, 560.0, 1120.0, 2240.0)  # EA of a webbing over the walker's weight [-]
TIGHT = (0.5, 0.9, 1.5, 2.4, 3.8, 5.5, 8.0, 12.0, 18.0, 26.0)  # standing tension over the walker's weight [-]
HUNG = (2.0, 2.6, 3.3, 4.2, 5.5)  # spans of hammocks [m]
SAGGING = tuple(np.round(np.geomspace(0.01, 0.16, 22), 5).tolist())  # over the span [-]
HUNG_STIFF = (20.0, 2240.0)  # EA over the weight in it: straps of 50 kN under 250 kg, and all of `STIFF` [-]
HANG_FROM, LEVEL_TIES = 0.9, 0.3  # lowest tie of a hammock, and what its ties may lie apart [m]
USUAL_WALKER = 80 * STANDARD_GRAVITY  # whom the tables were worked out with [N]
HELD_STEPS = 6  # of `STEP` that one letter of what level ground leaves counts in
# over level ground a pull between the rows may lie over the straight line from row to row: each row about is raised by
# what the middle between them asks, by so much of it more, by at least so much, at most the last; over ground nobody
# spoke of it lies over it by hardly anything (drawn: `tests/first_word_tables.py`, held against 5,000 pairs) [ln]
OVER_MIDDLE, OVER_LEAST, OVER_NEAR, OVER_MOST = 1.3, 0.006, 0.012, 0.09
OVER_FREE = 1.002  # three of 5,000 drawn pairs fell short by up to 0.04 %
OVER_HELD = 1.01  # and by so much where one row holds a line and the next does not [-]
OVER_SAGS = 1.02  # the same of a tension by its sag
SHARES = (0.0, 0.05, 0.1, 0.2, 0.3)  # of what is allowed that the lean alone asks [-]
DONE_ON_IT = {"walked": ("low line", "walk only, no bouncing"), "bounced": ("low line", "bounced or jumped on"),
         "tricks": ("trick line", "bounced or jumped on")}  # fmt: skip
READ_FROM = 1.0  # height a girth is read at, at least [m]; under it a trunk flares
OTHER_KINDS = 1.01  # by how much a tie read badly may count for more with a kind of tree that scatters less
LEAST_WOOD, WOOD_STEP = 13.4e6, 0.04  # bending strength [Pa], and steps over it [ln]
WINDY_PER_DIAMETER = constant("windy per diameter")
REFERENCE = "unknown"  # kind of tree the others stand beside


# ---- trees


@cache
def kinds() -> tuple[str, ...]:
    """One name for each kind of tree that is winched alike, the weakest first."""
    first: dict[tuple[float, float], str] = {}
    for name in (REFERENCE, "unknown broadleaf", "unknown conifer", *map(name_of_row, rows("species"))):
        first.setdefault(_like(name), name)
    return tuple(first[like] for like in sorted(first, key=_five))


def name_of_row(row: Any) -> str:
    """Scientific name, or that of the genus, of a row of the table of species."""
    return str(row.genus if row.rank == "genus" else row.scientific_name)


@lru_cache(maxsize=4096)
def _like(name: str, guessed: bool = False) -> tuple[float, float]:
    kind: Anchorage = anchorage_of(find_species(name), guessed)
    return kind.moment_per_d2h, kind.ln_sd


def kind_of(name: str, guessed: bool = False) -> int:
    """Place among `kinds` of a tree by its name; a guess that is like none of them counts as the next weaker one.

    Parameters
    ----------
    name : a species, a genus, or "unknown broadleaf" and the like
    guessed : whether the name was a guess

    Returns
    -------
    int
        Place from 0, the weakest kind [-].
    """
    mine = _like(name, guessed)
    return max(place for place, one in enumerate(map(_like, kinds())) if one == mine or _five(one) < _five(mine))


def _five(like: tuple[float, float]) -> float:
    return like[0] * math.exp(-2.0 * like[1])


def plain_tree(girth: float, height: float, kind: str, how: str = "taped", height_how: str = "measured") -> TreeInputs:
    """An upright, sound tree of one trunk, its girth read at breast height, everything looked at [m]."""
    looked = {"slope": "0 deg", "downhill": "0 deg", "wetness": "moist", "shallow": "no"}
    tree = Tree.model_validate({
        "kind": "tree", "code": "T", "species": {"name": kind, "certainty": "sure"},
        "trunk": [{"girth": show(girth, "m 6"), "read_at": show(BREAST_HEIGHT.value, "m g"), "how": how}],
        "stems": "single",
        "height": show(height, "m 6"), "height_how": height_how, "lean": "0 deg", "hard_edge_near": "no",
        "roots": dict.fromkeys(SECTORS, "covered"), "ground": looked,
    })  # fmt: skip
    return tree_inputs(tree, 1.0)


def allowed_pull(tree: TreeInputs, ties: Sequence[float], limits: Limits = root_limits) -> np.ndarray:
    """Greatest level pull at each tie that a limit of an upright tree allows [N]; NaN: refused."""
    pulls = Pulls.single(("",) * len(ties), 1.0, 0.0, list(ties), 0.2)
    return np.asarray(1.0 / limits(tree, pulls, divisor_for(None))[0].use.max(axis=1))


def tree_tables() -> dict[str, Any]:
    """What trunks carry: moments about their turning centre by girth and height [N m], and what changes them."""
    girth_hows, height_hows = list(dict.fromkeys(DIAMETER_HOW.values())), list(dict.fromkeys(HEIGHT_HOW.values()))
    base = {how: np.array([[_moment(girth, height, REFERENCE, how) for height in TREE_HEIGHTS]
                           for girth in LEAST_AND_MOST])
            for how in girth_hows}  # fmt: skip
    arms = np.array([_arms(girth) for girth in GIRTHS])
    middle = (1.6, 15.0)
    ratios = [[[_moment(*middle, kind, how, height_how) / _moment(*middle, REFERENCE, how)
                for height_how in height_hows] for how in girth_hows] for kind in kinds()]  # fmt: skip
    soils = {state: SOIL_FACTORS[soil].value / SOIL_FACTORS["firm"].value for state, soil in SOIL_STATE.items()}
    lean = np.array([[float(own_lean_moment(girth / math.pi, height, 1.0)) for height in TREE_HEIGHTS]
                     for girth in LEAST_AND_MOST])  # fmt: skip
    return {
        "girths": GIRTHS, "sizes": LEAST_AND_MOST, "heights": TREE_HEIGHTS, "ties": ARMS, "shares": SHARES,
        "girth_how": {how: girth_hows.index(one) for how, one in DIAMETER_HOW.items()},
        "height_how": {how: height_hows.index(one) for how, one in HEIGHT_HOW.items()},
        "moments": [as_letters(base[how], toward=-1) for how in girth_hows],
        "capped": [math.floor(1000 * _capped(how)) / 1000 for how in girth_hows],
        "cap": HEIGHT_CAP_PER_DIAMETER.value / math.pi,
        "stems": [as_letters(np.array([_stem_moment(girth, how) for girth in LEAST_AND_MOST]), toward=-1)
                  for how in girth_hows],
        "low": LOW_SECTION.value, "wood_step": WOOD_STEP, "arms": as_letters(arms, toward=1),
        "kinds": as_letters(np.array(ratios), toward=-1),
        "soils": {state: math.floor(math.log(share) / STEP) for state, share in soils.items()},
        "lean": as_letters(lean, toward=1), "leaning": [round(_left(share), 4) for share in SHARES],
        "most_lean": MOST_LEAN.value, "level": LEVEL_UP_TO_DEG.value, "slender": SLENDER_PER_DIAMETER.value / math.pi,
        "windy": WINDY_PER_DIAMETER.value / math.pi,
        "tie_share": HIGHEST_TIE.value, "least_girth": math.ceil(1000 * math.pi * LEAST_TRUNK.value) / 1000,
        "read_from": READ_FROM, "breast": BREAST_HEIGHT.value, "height_hows": len(height_hows),
        "loses": math.pi * (1.0 - float(diameter_at(1.0, 0.3, 1.3))),
        "taper": _taper(), "trial_from": SUITS_UP_TO.value,
    }  # fmt: skip


def _moment(girth: float, height: float, kind: str, how: str = "taped", height_how: str = "measured") -> float:
    """Moment a pull at 1 m may have about the turning centre [N m], were every metre of height to earn credit."""
    earning = min(height, 0.99 * HEIGHT_CAP_PER_DIAMETER.value * girth / math.pi)
    tree = plain_tree(girth, earning, kind, how, height_how)
    return float(allowed_pull(tree, [1.0])[0] * lever_arm(1.0, tree.root_diameter)) * height / earning


def _capped(how: str) -> float:
    """What is left of that where the height earns no more credit, since the trunk's size then counts twice [-]."""
    girth, cap = 1.6, HEIGHT_CAP_PER_DIAMETER.value * 1.6 / math.pi
    arm = float(lever_arm(1.0, girth / math.pi))
    shares = []
    for kind, tall in product(kinds(), dict.fromkeys(HEIGHT_HOW.values())):
        pull = float(allowed_pull(plain_tree(girth, cap, kind, how, tall), [1.0])[0])
        shares.append(arm * pull / _moment(girth, cap, kind, how, tall))
    return min(shares)


def _stem_moment(girth: float, how: str) -> float:
    """Moment about the lowest section that a trunk of wood of `LEAST_WOOD` under thick bark is allowed [N m]."""
    tree = plain_tree(girth, 20 * girth / math.pi, REFERENCE, how)
    weak = replace(tree, mor=LEAST_WOOD, wood_ln_sd=max(one.value for one in SPECIES_LN_SD.values()),
                   bark_thick=UNKNOWN_BARK_SHARE.value * tree.diameter)  # fmt: skip
    return float(allowed_pull(weak, [1.0], stem_limits)[0] * (1.0 - LOW_SECTION.value))


def wood_steps(name: str) -> int:
    """Steps of `WOOD_STEP` that a trunk of a kind is stronger in bending than one of `LEAST_WOOD` under thick bark.

    Parameters
    ----------
    name : as `kind_of`

    Returns
    -------
    int
        Steps from 0 [-].
    """
    match, share = find_species(name), UNKNOWN_BARK_SHARE.value
    sizes = np.array([0.2, 0.4, 0.8, 1.5])
    bark = np.fmax(match.bark.thickness_m(sizes)[2] / sizes, share)  # a bark thicker still leaves less wood
    left = float(np.min((1 - 2 * np.minimum(bark, 0.3)) / (1 - 2 * share))) ** 4  # and its reading scatters more
    strength = (match.wood.mor_pa if match.wood else LEAST_WOOD) * left
    return max(0, math.floor(math.log(strength / LEAST_WOOD) / WOOD_STEP + 1e-9))


def _arms(girth: float) -> np.ndarray:
    """Arms of pulls at the ties of the table [m], a little longer where the tie's own reading scatters more."""
    tree = plain_tree(girth, 20 * girth / math.pi, REFERENCE)
    pulls = allowed_pull(tree, [1.0, *ARMS])
    return np.asarray(OTHER_KINDS * float(lever_arm(1.0, tree.root_diameter)) * pulls[0] / pulls[1:])


def _left(share: float) -> float:
    """What is left to a line of the moment allowed an upright tree, where its lean asks for a share of that [-]."""
    surest = min(kinds(), key=lambda kind: _like(kind)[1])  # where a lean's own scatter tells the most
    tree, upright = plain_tree(1.6, 15.0, surest), _moment(1.6, 15.0, surest)
    one = float(own_lean_moment(tree.root_diameter, tree.height_high, 1.0))
    leaning = replace(tree, lean_deg=share * upright / one if one else 0.0)
    pulls = np.geomspace(1.0, 1e5, 4000)
    found = root_limits(leaning, Pulls.single(("",) * pulls.size, pulls, 0.0, 1.0, 0.2), divisor_for(None))[0]
    use = found.use.max(axis=1)
    most = float(np.interp(1.0, use, pulls)) if use[0] < 1 else 0.0
    return min(1.0, most * float(lever_arm(1.0, tree.root_diameter)) / upright) if share else 1.0


def _taper() -> list[tuple[float, float]]:
    """Share of a girth left at heights over its reading, of the slimmest and lowest trees: (m over it, share)."""
    read = BREAST_HEIGHT.value
    told = []
    for up in (0.0, 0.3, 0.6, 0.9, 1.2, 1.5):
        tops = np.linspace((read + up) / HIGHEST_TIE.value, TREE_HEIGHTS[-1], 60)
        slim = np.array([[0.6], [0.7], [0.8]]) / math.pi
        share = float(np.min(least_diameter_at(slim, read, read + up, tops) / slim))
        told.append((up, math.floor(1000 * share) / 1000 if up else 1.0))
    return told


# ---- lines: every load of a line grows with its walker as stiffness and tension do, so all three are over that weight


def line_points() -> Iterator[tuple[str, float, float, float, float | None]]:
    """What is done, span, stiffness and tension over the walker's weight, height of the ties; None: ground unknown."""
    return product(DONE_ON_IT, SPANNED, STIFF, TIGHT, (*TIES, None))


def line_pull(
    done: str, span: float, stiff: float, tight: float, tie: float | None, walker: float = USUAL_WALKER
) -> float:
    """Hardest level pull of a line over the weight of who walks it [-]: both ties at one height over level ground.

    Parameters
    ----------
    done : a key of `DONE_ON_IT`
    span : [m]
    stiff, tight : EA of the webbing and standing tension over the walker's weight [-]
    tie : height of both ties [m]; None where nobody spoke of the ground
    walker : their weight [N]
    """
    level = UnderLine("answered", ((0.0, 0.0), (span, 0.0)), UNSEEN_DIP.value)
    line = replace(_base(*DONE_ON_IT[done]), span=span, standing=tight * walker, load=walker, stiffness=stiff * walker,
                   tie_a=tie or 1.0, tie_b=tie or 1.0, under=level if tie else UnderLine("unknown"))  # fmt: skip
    return max(case.horizontal for case in line_loads(line)[0]) / walker


@cache
def _base(use: str, moved: str = "unknown") -> LineInputs:
    ends = {name: {"anchor": code, "tie_height": "1 m"} for name, code in (("a", "T1"), ("b", "T2"))}
    line = {"id": "L", "use": use, "walkers": {"movement": moved}, "span": {"taped": "4 m"}, **ends,
            "webbing": {"kind": "nylon"}}  # fmt: skip
    return line_inputs(Line.model_validate(line))


def _over_ground(pulls: Sequence[float]) -> tuple[np.ndarray, np.ndarray]:
    """Pulls over ground nobody spoke of, and what level ground leaves of them, from the second span on.

    Both by what is done, span, stiffness, tension and tie.
    """
    table = np.array(pulls).reshape(len(DONE_ON_IT), len(SPANNED), len(STIFF), len(TIGHT), len(TIES) + 1)[:, 1:]
    shares = np.minimum(table[..., :-1] / table[..., -1:], 1.0)
    return np.broadcast_to(table[..., -1:], shares.shape), shares


def middles(pulls: Sequence[float]) -> Iterator[tuple[tuple[int, ...], tuple[str, float, float, float, float]]]:
    """Cells between the rows where level ground holds a line, each with the place in its middle."""
    (_, shares), done = _over_ground(pulls), list(DONE_ON_IT)
    for cell in product(range(len(done)), *(range(many - 1) for many in shares.shape[1:])):
        if shares[_corners(cell)].min() < 1.0:
            halves = [math.sqrt(axis[at] * axis[at + 1])
                      for axis, at in zip((SPANNED[1:], STIFF, TIGHT, TIES), cell[1:])]  # fmt: skip
            yield cell, (done[cell[0]], halves[0], halves[1], halves[2], halves[3])


def _corners(cell: tuple[int, ...]) -> tuple[slice, ...]:
    return slice(cell[0], cell[0] + 1), *(slice(at, at + 2) for at in cell[1:])


def raised(pulls: Sequence[float], there: Sequence[float]) -> np.ndarray:
    """What level ground leaves of a pull, each row as high as the middles about it ask; `there` is pulled at these."""
    free, shares = _over_ground(pulls)
    over, free = np.zeros(shares.shape), np.log(free)
    for (cell, _), pull in zip(middles(pulls), there):
        at = _corners(cell)
        told = min(float(free[at].mean()), float((free[at] + np.log(shares[at])).mean()))
        short = math.log(pull) - told
        asked = OVER_MIDDLE * max(short, 0.0) + OVER_NEAR * (short > -OVER_NEAR)
        over[at] = np.maximum(over[at], min(max(asked, OVER_LEAST), OVER_MOST))
    return np.asarray(np.minimum(shares * np.exp(over), 1.0))


def line_tables(pulls: Sequence[float], there: Sequence[float]) -> dict[str, Any]:
    """What lines pull, over the weight of who is on them; `pulls` of `line_points`, `there` of `middles`, in order."""
    table = np.array(pulls).reshape(len(DONE_ON_IT), -1, len(TIES) + 1)
    hammocks = np.array([[_hammock(span, tie) for tie in TIES] for span in HUNG])
    sags = np.array([[_tension_of(sag, stiff) for stiff in STIFF] for sag in SAGGING])
    return {
        "spans": SPANNED, "grounds": TIES, "stiff": STIFF, "tight": TIGHT, "hung": HUNG, "sagging": SAGGING,
        "held": [held(done) for done in raised(pulls, there)],
        "held_step": HELD_STEPS, "over_held": OVER_HELD,
        "free": [as_letters(OVER_FREE * done[:, -1], toward=1) for done in table],
        "hammocks": as_letters(hammocks, toward=1), "sags": as_letters(sags, toward=1),
        "hang_from": HANG_FROM, "level_ties": LEVEL_TIES, "gravity": STANDARD_GRAVITY,
        "unnamed": _base("low line").walker / STANDARD_GRAVITY,
    }  # fmt: skip


def _hammock(span: float, tie: float) -> float:
    """Hardest level pull of a slack hammock over the weight in it [-], of whatever straps; infinite on the ground."""
    base = replace(_base("hammock"), span=span, standing=None, load=USUAL_WALKER, tie_a=tie, tie_b=tie,
                   under=UnderLine("unknown"))  # fmt: skip
    # one that hangs flat may pull harder in stiff straps than in soft ones, and the other way round
    lines = (replace(base, stiffness=float(over) * USUAL_WALKER) for over in np.geomspace(*HUNG_STIFF, 40))
    return max((case.horizontal for line in lines for case in line_loads(line)[0]), default=math.inf) / USUAL_WALKER


def _tension_of(sag: float, stiff: float) -> float:
    """Standing tension over the weight that sags a line at mid-span by a share of its span [-], of any span at most."""
    weight = max(row.mass_g_per_m for row in rows("webbing")) / 1000 * STANDARD_GRAVITY  # the heavier, the tighter
    found = [float(standing_from_sag(span, 0.0, sag * span, stiff * USUAL_WALKER, weight, USUAL_WALKER, 0.5))
             for span in SPANNED]  # fmt: skip
    return OVER_SAGS * max(found) / USUAL_WALKER if all(one > 0 for one in found) else math.inf


# ---- as text


def as_letters(table: np.ndarray, toward: int) -> str:
    """A table of positive numbers as letters, two each: logarithms in steps, rounded up (1) or down (-1)."""
    whole = [toward * math.ceil(toward * math.log(value) / STEP - 1e-9) if math.isfinite(value) else MOST
             for value in np.asarray(table, dtype=float).ravel()]  # fmt: skip
    return "".join(LETTERS[(one + OFFSET) // len(LETTERS)] + LETTERS[(one + OFFSET) % len(LETTERS)] for one in whole)


def held(shares: np.ndarray) -> str:
    """What level ground leaves of a pull, a letter each: `HELD_STEPS` steps of the logarithm down from all of it."""
    steps = np.floor(-np.log(np.minimum(shares, 1.0)) / (HELD_STEPS * STEP) + 1e-9).astype(int)
    return "".join(LETTERS[min(one, len(LETTERS) - 1)] for one in steps.ravel())


OFFSET = 1000  # so that a ratio under one is a number too
MOST = len(LETTERS) ** 2 - OFFSET - 1  # for a pull without bound


@cache
def first_word_tables() -> dict[str, Any]:
    """The tables as they are shipped.

    Returns
    -------
    dict
        Axes in SI, and numbers as letters: see `as_letters` and `held`.
    """
    return json.loads((data_folder() / FILE).read_text("utf-8"))  # type: ignore[no-any-return]
