"""Two thousand random trees through the judgement: no NaN, no negative, no traceback (ten thousand in the bench)."""

from __future__ import annotations

import math

import numpy as np
from parks import record

from siteassess.advice.changes import TreeEnd
from siteassess.advice.judge import EndCase, judge_hold
from siteassess.advice.tree_inputs import TreeInputs, tree_inputs
from siteassess.advice.verdict import VERDICTS
from siteassess.mechanics.rootplate import SOIL_FACTORS


def random_cases(count: int, seed: int):
    """Ends with every number of the tree drawn wide, now and then missing or absurd."""
    draw = np.random.default_rng(seed)
    made = record()
    base = TreeEnd(made.lines[0], "A", made.anchor("T1"), 20.0, 90.0, 54.5, made.lines[0].planned.date).case()

    def some(low: float, high: float, missing: float = 0.05) -> float:
        return math.nan if draw.random() < missing else float(draw.uniform(low, high))

    for _ in range(count):
        diameter, height = some(0.03, 2.5), some(1.5, 60.0)
        changes = {
            "diameter": diameter, "root_diameter": diameter, "read_at": some(0.0, 3.0),
            "diameter_ln_sd": some(0.0, 0.3), "bark_thick": some(0.0, 0.08), "mor": some(1e7, 1e8),
            "wood_ln_sd": some(0.0, 0.4), "height": height,
            "height_high": height * (1 + draw.random()), "height_ln_sd": some(0.0, 0.4),
            "height_how": str(draw.choice(["measured", "filled"])), "forked": float(draw.choice([0.0, 1.0, math.nan])),
            "lean_deg": some(0.0, 40.0), "lean_toward_deg": some(0.0, 360.0), "soil": str(draw.choice([*SOIL_FACTORS])),
            "shallow": bool(draw.random() < 0.2),
            "sector_lost": tuple(float(draw.choice([0.0, 0.0, 0.25, 1.0, math.nan], p=[0.5, 0.3, 0.1, 0.05, 0.05]))
                                 for _ in range(8)),
            "digging": tuple(float(draw.choice([math.inf, some(0.0, 8.0)])) for _ in range(8)),
            "slope_deg": some(0.0, 60.0), "bank_m": float(draw.choice([math.inf, some(0.0, 9.0)])),
            "wall": float(draw.choice([math.inf, some(0.0, 1.0)])), "opening_deg": some(0.0, 200.0),
            "hollow_height": some(0.0, 4.0, 0.5), "crown_width": some(0.0, 30.0, 0.3),
            "crown_base": some(0.0, 60.0, 0.3),
            "diameter_how": str(draw.choice(["taped", "copied"])),
        }  # fmt: skip
        tree = TreeInputs(**{**vars(base.tree), **changes})
        bearing = some(0.0, 360.0)
        yield EndCase(base.line, "A", tree, bearing, guyed=float(draw.uniform(0.05, 3.0)), on=base.on)


def faults_of(case: EndCase) -> list[str]:
    """What is wrong with a judgement; empty where nothing is."""
    judged = judge_hold(case)
    wrong = [] if judged.verdict in VERDICTS else [f"verdict {judged.verdict}"]
    for limit in judged.limits:
        numbers = (limit.demand, limit.allowable, limit.use, limit.probability, limit.capacity_median,
                   limit.capacity_p05, limit.use_p05, limit.use_p95, limit.ln_sd_capacity,
                   *limit.variance_shares.values())  # fmt: skip
        wrong += [f"{limit.name}: {x}" for x in numbers if x is not None and not (math.isfinite(x) and x >= 0)]
        if limit.use is None and not limit.told:
            wrong.append(f"{limit.name} refused without a reason")
        if limit.probability is not None and limit.probability > 1:
            wrong.append(f"{limit.name}: probability {limit.probability}")
    wrong += [f"sector {name}: {use}" for name, use in judged.by_sector.items() if use is not None and not use >= 0]
    if judged.take_down_wind is not None and not judged.take_down_wind >= 0:
        wrong.append(f"wind {judged.take_down_wind}")
    if any("nan" in finding.says.split() for finding in judged.findings):
        wrong.append("a finding says nan")
    return wrong


def test_two_thousand_random_trees_are_judged_without_nan_negative_or_traceback():
    wrong = [fault for case in random_cases(2000, seed=4) for fault in faults_of(case)]
    assert wrong == []


def test_inputs_of_a_bare_tree_are_made_without_a_traceback():
    unread = ("position", "species", "height", "bark", "lean", "roots", "ground")
    bare = record({f"T1.{field}": None for field in unread}
                  | {"T1.trunk": [], "T1.stems": "unknown"})  # fmt: skip
    inputs = tree_inputs(bare.anchor("T1"), None)
    assert "trunk size" in inputs.missing and math.isnan(inputs.diameter)
