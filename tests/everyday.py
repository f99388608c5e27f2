"""Everyday pairs of sound park trees with a low line, as rules and practice allow them every week."""

from __future__ import annotations

from siteassess.advice.assess import assess
from siteassess.advice.results import worst

# species, trunk [cm], height, crown width, lowest branch [m]; standing tension [kN] and tie [m] of a 20 m line with one
# walker of 80 kg: sound park trees as lines hang on them every week (common practice, no source)
EVERYDAY = [
    ("Quercus robur", 35, 12, 8, 3, 2.0, 1.0), ("Quercus robur", 45, 15, 11, 3, 3.0, 1.2),
    ("Quercus robur", 60, 18, 14, 4, 4.0, 1.2), ("Tilia cordata", 32, 12, 6, 3, 2.0, 1.0),
    ("Tilia cordata", 40, 15, 8, 3, 2.5, 1.0), ("Tilia cordata", 55, 20, 10, 4, 3.5, 1.2),
    ("Acer platanoides", 30, 11, 8, 2, 2.0, 1.0), ("Acer platanoides", 40, 14, 10, 3, 3.0, 1.0),
    ("Fagus sylvatica", 40, 16, 9, 4, 3.0, 1.0), ("Fagus sylvatica", 70, 24, 14, 4, 6.0, 1.5),
    ("Platanus x hispanica", 45, 17, 11, 4, 3.0, 1.0), ("Platanus x hispanica", 80, 25, 18, 5, 6.0, 1.5),
    ("Fraxinus excelsior", 38, 15, 8, 4, 2.5, 1.0), ("Betula pendula", 30, 14, 6, 4, 2.0, 1.0),
    ("Populus nigra", 50, 22, 9, 5, 3.0, 1.0), ("Aesculus hippocastanum", 50, 15, 11, 3, 3.0, 1.0),
    ("Pinus sylvestris", 38, 15, 6, 8, 2.5, 1.0), ("Pinus nigra", 45, 17, 7, 6, 3.0, 1.0),
    ("Picea abies", 40, 20, 6, 2, 2.5, 1.0), ("Carpinus betulus", 35, 11, 8, 2, 2.0, 1.0),
    ("unknown broadleaf", 40, 14, 9, 3, 2.5, 1.0), ("Robinia pseudoacacia", 36, 14, 8, 4, 2.5, 1.0),
]  # fmt: skip


def everyday(species, trunk, height, width, base, tension, tie) -> dict:
    name = {"name": species, "certainty": "sure"}
    if species.startswith("unknown"):
        name = {"name": "unknown", "certainty": "guess", "leaf_type": species.split()[1]}
    tree = {"species": name, "trunk.0.girth": f"{trunk * 3.14159:.1f} cm", "height": f"{height} m",
            "crown_spread": f"{width} m", "crown_base": f"{base} m"}  # fmt: skip
    return {f"{code}.{path}": value for code in ("T1", "T2") for path, value in tree.items()} | {
        "L1.standing.tension": f"{tension} kN", "L1.walkers.mass": "80 kg",
        "L1.a.tie_height": f"{tie} m", "L1.b.tie_height": f"{tie} m",
    }  # fmt: skip


def ends_and_those_decided_by_wind(records) -> tuple[int, list]:
    """Ends whose sums could all be done, and those whose word would be another without the wind."""
    count, by_wind = 0, []
    for made in records:
        for end in assess(made).lines[0].anchors:
            if end.kind != "tree" or end.take_down_wind_m_s is None or end.evidence.missing:
                continue
            count += 1
            if worst(f.effect for f in end.findings if not f.about.startswith("wind")) != end.verdict:
                by_wind.append(end)
    return count, by_wind
