"""Records by hand that reach what the drawn ones never say: edits of the plain record of `parks`, by name.

Import as `from seldom_said import SELDOM_SAID`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

SLATS = {"material": "towel", "slat_width": "40 mm", "slat_length": "400 mm", "slat_thickness": "20 mm"}
MIDDLING = [{"diameter": "40 cm", "read_at": "1.2 m", "how": "taped"}]
THIN = [{"diameter": "24 cm", "read_at": "1.3 m", "how": "taped"}]
COPIED = [{"diameter": "26 cm", "read_at": "1.3 m", "how": "copied"}]
SOFT = {"T1.trunk": MIDDLING, "T1.species.name": "Tilia cordata", "T1.bark.form": "smooth"}
NARROW = {"L1.a.sling": {"wrap": "basket", "width": "25 mm"}}
PULLED = {"L1.standing.tension": "8 kN"}
TRICK = {"L1.use": "trick line", "L1.walkers": {"mass": "80 kg", "movement": "bounced or jumped on"}}
BOULDER = {"kind": "boulder", "code": "T1", "position": {"lat": 54.5, "lon": 2.5}, "along_pull": "2.2 m",
           "across_pull": "1.8 m", "upright": "1.4 m", "rock": "granite", "bed": "soil", "slope": "4 deg",
           "downhill": "180 deg", "embedded": "partly", "rocks_when_pushed": "no", "cracked": "no",
           "posted_no": "no"}  # fmt: skip
FORKED = {"T1.stems": "single", "L1.a.tie_height": "1.2 m"}


def _stems(*girths: str) -> list[dict]:
    return [{"girth": girth} for girth in girths]


SELDOM_SAID: dict[str, dict] = {
    "slats that press harder": PULLED | {"T1.trunk": MIDDLING, "L1.a.padding": SLATS | {"slats": 5}, "L1.a.sling": {
        "wrap": "basket", "width": "50 mm", "link_distance": "20 m"}},
    "slats that help": SOFT | NARROW | {"L1.a.padding": SLATS | {"slats": 8}},
    "two slats": SOFT | NARROW | {"L1.a.padding": SLATS | {"slats": 2}},
    "harmful slats, taken out": SOFT | PULLED | {"L1.a.padding": SLATS | {"slats": 2}, "L1.a.sling": {
        "wrap": "basket", "width": "200 mm", "link_distance": "1 m"}},
    "a link nobody placed": SOFT | {"L1.a.sling": {"wrap": "basket", "width": "60 mm"}},
    "a choker's link nobody placed": SOFT | {"L1.a.sling": {"wrap": "choker", "width": "60 mm"}},
    "one slat": SOFT | NARROW | {"L1.a.padding": SLATS | {"slats": 1}},
    "slats without a size": SOFT | NARROW | {"L1.a.padding": {"slats": 6}},
    "a narrow basket on soft bark": SOFT | PULLED | NARROW,
    "slats proposed": SOFT | PULLED | {"L1.a.sling": {"wrap": "doubled basket", "width": "200 mm"}},
    "no sling on thin bark": SOFT | PULLED | {"L1.a.sling": None, "L1.b.sling": None},
    "a choker": SOFT | {"L1.a.sling": {"wrap": "choker", "width": "50 mm", "link_distance": "0.3 m"}},
    "a choker's link inside the trunk": {"L1.a.sling": {"wrap": "choker", "width": "50 mm", "link_distance": "0.2 m"}},
    "a basket's link too near": {"L1.a.sling": {"wrap": "basket", "width": "50 mm", "link_distance": "0.32 m"}},
    "rope in turns": {"L1.a.sling": {"wrap": "turns", "kind": "rope", "width": "12 mm", "strands": 3}},
    "friction turns": SOFT | {"L1.a.sling": {"wrap": "friction turns", "kind": "rope", "width": "14 mm"}},
    "several stems": {"T1.stems": "several", "T1.each_stem": _stems("60 cm", "50 cm", "40 cm")},
    "several stems, one read": {"T1.stems": "several", "T1.each_stem": _stems("60 cm")},
    "several stems, none read": {"T1.stems": "several"},
    "one stem, several read": {"T1.stems": "single", "T1.each_stem": _stems("60 cm", "50 cm")},
    "a fork at the near edge of a tie": FORKED | {"T1.fork_height": "1.5 m"},
    "a fork just beyond it": FORKED | {"T1.fork_height": "1.51 m"},
    "a fork above": {"T1.stems": "fork above tie", "T1.fork_height": "1.3 m"},
    "no kind, no leaves": {"T1.species": None},
    "a kind in no table": {"T1.species": {"name": "Nomenarbor inventa", "certainty": "sure"}},
    "a conifer in no table": {"T1.species": {
        "name": "Nomenarbor inventa", "certainty": "sure", "leaf_type": "conifer"}},
    "smooth bark nobody described": PULLED | {"T1.bark": None, "T1.species.name": "Fagus sylvatica"},
    "a genus": {"T1.species.name": "Salix", "T1.species.certainty": "think so"},
    "a guess": {"T1.species.certainty": "guess"},
    "a palm": {"T1.species": {"name": "unknown", "certainty": "guess", "leaf_type": "palm"}},
    "a copied trunk too thin": PULLED | {"T1.trunk": COPIED},
    "a copied trunk in the wind": {"T1.trunk": COPIED, "T1.height": "18 m", "T1.crown_spread": "10 m"},
    "a filled height that may hold": {"T1.height": None, "T1.height_how": None, "T1.trunk": THIN,
                                      "L1.standing.tension": "3 kN"},
    "a filled height that never holds": PULLED | {"T1.height": None, "T1.height_how": None, "T1.trunk": THIN},
    "a squat tree": PULLED | {"T1.height": "4 m", "T1.crown_base": "2.5 m"},
    "a tall thin tree": {"T1.height": "25 m", "T1.trunk": THIN},
    "thin trees, no tension": {"T1.trunk": THIN, "T2.trunk": THIN, "L1.standing": None},
    "thin trees, no tie": PULLED | {"T1.trunk": THIN, "L1.a.tie_height": None},
    "thin trees, no span": PULLED | {"T1.trunk": THIN, "L1.span": None, "T1.position": None, "L1.ground": None},
    "saplings of which little is said": {"T1.trunk": [{"diameter": "9 cm", "read_at": "1.3 m", "how": "taped"}],
                                         "T1.lean": None, "T1.roots": None, "T1.ground": None, "L1.standing": None},
    "thin trees, ties unlike, no tension": {"T1.trunk": THIN, "T2.trunk": THIN, "L1.standing": None,
                                            "L1.a.tie_height": "0.7 m", "L1.b.tie_height": "2.4 m"},
    "ties unlike, a lean unread": PULLED | {
        "T1.trunk": THIN, "L1.a.tie_height": "0.7 m", "L1.b.tie_height": "2.4 m", "T1.lean": None},
    "a hammock, ties unread": {"L1.use": "hammock", "L1.span": {"taped": "4 m", "how": "taped"}, "T1.position": None,
                               "L1.a.tie_height": None, "L1.b.tie_height": None, "T1.trunk": THIN, "L1.ground": None},
    "a weak webbing, no tension": {"L1.standing": None, "L1.webbing": {"stiffness": "60 kN", "strength": "2 kN"}},
    "a deep soil unsaid": {"T1.ground.shallow": "not looked", "T1.trunk": THIN, "L1.standing.tension": "1.5 kN"},
    "a tie over a third": {"L1.a.tie_height": "3.2 m", "T1.height": "9 m", "T1.crown_base": "3 m"},
    "a trick line": TRICK,
    "a trick line on thin trees": TRICK | PULLED | {"T1.trunk": THIN, "L1.a.tie_height": "1.4 m"},
    "a line too tight for thin trees": PULLED | {"T1.trunk": THIN, "T2.trunk": THIN},
    "two on the line": PULLED | {"T1.trunk": THIN, "L1.walkers": {"mass": "95 kg", "at_once": 2}},
    "water behind the pull": {"T1.hard_edge_near": "yes", "T1.hard_edges": [
        {"what": "water", "side": "W", "distance": "1.2 m"}]},
    "digging all round": {"T1.roots": dict.fromkeys(("N", "NE", "E", "SE", "S", "SW", "W", "NW"), "cut")},
    "a cavity": PULLED | {"T1.hollow": {"height": "0.8 m", "sound_wall": "6 cm", "opening": "60 deg"}},
    "a leaning tree": {"T1.lean": "9 deg", "T1.lean_toward": "90 deg"},
    "a bank": {"T1.ground.bank_distance": "1.5 m", "T1.ground.bank_side": "W"},
    "a stay over winter": {"L1.planned": {"date": "2026-04-20", "until": "2026-05-14"}, "survey.date": "2026-04-18"},
    "a stay of a month from dormancy": SOFT | {"survey.date": "2026-02-20", "L1.planned": {
        "date": "2026-02-24", "until": "2026-04-12"}},
    "dormant": SOFT | {"survey.date": "2026-01-05", "L1.planned": {"date": "2026-01-10"}},
    "read in the flare": {"T1.trunk": [{"diameter": "60 cm", "read_at": "0.2 m", "how": "taped"}]},
    "two edges on one side": PULLED | {"T1.hard_edge_near": "yes", "T1.hard_edges": [
        {"what": "trench", "side": "W", "distance": distance} for distance in ("1.4 m", "2.6 m")]},
    "thin trees, no tie at the other end": PULLED | {"T1.trunk": THIN, "T2.trunk": THIN, "L1.b.tie_height": None},
    "thin trees, an estimated height": PULLED | {"T1.trunk": THIN, "T1.height_how": "estimated"},
    "place and kind of a tree unread": SOFT | {"T1.position": None, "T1.species": {"name": "unknown"}},
    "a boulder": {"anchors.0": BOULDER},
    "a boulder on grass": {"anchors.0": BOULDER | {"bed": "grass", "embedded": "no"}} | PULLED,
}  # fmt: skip
