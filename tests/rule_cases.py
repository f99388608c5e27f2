"""Cases for the clauses of rule sets: an end of the plain park, edited so that a clause is just met or just broken."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from parks import data, record

from siteassess.advice.assess import assess
from siteassess.advice.geometry import Places
from siteassess.advice.results import Clearance
from siteassess.advice.rule_sizes import HeldAgainst
from siteassess.advice.rules import check_end
from siteassess.advice.surroundings import things_near_line

OVER = {">=": 1.05, ">": 1.05, "<=": 0.95, "<": 0.95}
UNDER = {">=": 0.95, ">": 0.95, "<=": 1.05, "<": 1.05}
METRES_A_DEGREE = 111_320.0
GOOD_PLACE = {"T1.position.accuracy": "5 cm", "T2.position.accuracy": "5 cm"}
FLAT = [{"at": "0 m", "height": "0 m"}, {"at": "20 m", "height": "0 m"}]
MARKS = {"spectators": "watcher place", "road": "road", "trail": "path", "sidewalk": "path", "building": "building"}


@cache
def base():
    """The plain park, assessed once."""
    (line,) = assess(record()).lines
    return line


def held(edits: dict) -> HeldAgainst:
    """The end at T1 of an edited park, measured as it is written, without working out its loads again."""
    made = record({**GOOD_PLACE, **edits})
    line, whole = made.lines[0], base()
    tie, middle = line.a.tie_height.si, line.mid_height.si if line.mid_height else None
    clear = Clearance((0.0, 20.0), (0.0, 0.0), (tie, tie), (tie, tie), middle, None, None, None, None, ())
    geometry = replace(whole.geometry, taped_m=line.span.taped.si)
    places = Places(made)
    at, near = places.at("T1"), things_near_line(places, line)
    return HeldAgainst(
        made, line, made.anchor("T1"), line.a, replace(whole.anchors[0], tie_height_m=tie),
        replace(whole, geometry=geometry, clearance=clear), line.planned.date,
        place=(at.latitude_deg, at.longitude_deg) if at else None, near=near,
        crossed=tuple(thing for thing in near if thing.distance_m == 0.0),
    )  # fmt: skip


def size(clause, good: bool) -> dict:
    share = (OVER if good else UNDER)[clause.operator]
    if clause.kind == "pad width" and clause.unit == "sling widths":
        return {"L1.a.padding.width": f"{share * clause.value * 75:.1f} mm", "L1.a.sling.wrap": "basket"}
    value = share * clause.value_m
    at = clause.measured_at_m or 1.2
    trunk = {"trunk diameter": "diameter", "trunk girth": "girth"}.get(clause.kind)
    if trunk:
        return {"T1.trunk": [{trunk: f"{value * 100:.2f} cm", "read_at": f"{at:.3f} m", "how": "taped"}]}
    if clause.kind == "line height":
        return {"L1.a.tie_height": f"{value:.3f} m", "L1.mid_height": f"{value:.3f} m", "L1.ground": FLAT}
    if clause.kind == "distance":
        return {"site.surroundings": [mark(MARKS[clause.distance_to], clause.value_m + (1.0 if good else -1.0))]}
    where = {
        "attach height": "L1.a.tie_height", "span": "L1.span.taped", "line length": "L1.span.taped",
        "strap width": "L1.a.sling.width", "pad thickness": "L1.a.padding.thickness", "pad width": "L1.a.padding.width",
        "clear stem": "T1.crown_base", "crown base": "T1.crown_base", "tree height": "T1.height",
    }[clause.kind]  # fmt: skip
    if clause.kind == "tree height":
        value = max(value, 1.5)  # a record holds no lower tree; 5 ft is 1.52 m
    return {where: f"{value:.4f} m"}


def mark(kind: str, metres_north: float) -> dict:
    return {"kind": kind, "points": [[54.5 + metres_north / METRES_A_DEGREE, 2.5]]}


def things(clause, good: bool) -> dict | None:
    there = good == (clause.asks == "required")
    over = {"L1.span.taped": f"{1.2 * clause.over.metres:.2f} m"} if clause.over else {}
    yes, no = {
        "padding": ({}, None),
        "pad all round": ({}, {"L1.a.padding.goes_round": "contact only"}),
        "permit": ({"site.permission": {"basis": "permit", "reference": "7/26", "expires": "2026-04-20"}},
                   {"site.permission": {"basis": "spoken word"}}),
        "flags": ({"site.surroundings": [mark("flag place", 1.0)]}, None),
        "someone in attendance": ({}, {"L1.planned.attended": "not always"}),
        "take down daily": ({}, None),  # whether a line of several days comes down each evening is not asked
        "living tree": ({}, {"T1.signs.dead_tree": "yes"}),
        "named tree": ({"T1.designated": "yes"}, {"T1.designated": "no"}),
        "rough bark": ({}, {"T1.bark.form": "smooth"}),
        "thick bark": ({"T1.bark.thickness": "20 mm"}, {"T1.bark.thickness": "8 mm"}),
        "smooth bark": ({"T1.bark.form": "smooth"}, {}),
        "trees": ({}, {"anchors.0": {"kind": "other", "code": "T1", "what": "post"}}),
        "heritage trees": ({"T1.status": "heritage"}, {"T1.status": "ordinary"}),
        "conifers": ({"T1.species.name": "Pinus sylvestris"}, {}),
        "choker": ({"L1.a.sling.wrap": "choker"}, {}),
        "rope": ({"L1.a.sling.kind": "rope"}, {"L1.a.sling.kind": "flat sling"}),
    }[clause.kind]  # fmt: skip
    chosen = yes if there else no
    return None if chosen is None else {**over, **chosen}


def lists(clause, good: bool) -> dict | None:
    first = clause.names[0]
    named = good != (clause.asks == "barred")
    if clause.kind == "genera":
        return {"T1.species.name": first if named else "Tilia cordata"}
    if clause.kind == "species":
        return {"T1.species.name": first.replace(" spp.", "")} if named else None
    if clause.kind == "pad materials":
        return {"L1.a.padding.material": first} if named else None
    if clause.kind == "objects":
        if "all other city trees" in clause.names:
            return {"T1.designated": "yes" if good else "no"}
        what = "fence" if first.startswith("anything") else first.rstrip("s")
        return {} if good else {"anchors.0": {"kind": "other", "code": "T1", "what": what}}
    if first.startswith("across"):
        path = {"kind": "path", "points": [[54.4999, 2.5001], [54.5001, 2.5001]]}
        return None if good else {"site.surroundings": [path]}
    return {"site.name": first.split(" (")[0]} if named else None


def times(clause, good: bool) -> dict | None:
    if clause.kind == "months":
        if clause.asks == "care" and not good:
            return None
        month = clause.months[0] if not good else next(m for m in range(1, 13) if m not in clause.months)
        return {"L1.planned.date": f"2026-{month:02d}-10"}
    if clause.start.event.startswith("park"):
        return {"site.opens": "06:00", "site.closes": "22:00", "L1.planned.start": "06:00" if good else "05:59",
                "L1.planned.end": "22:00"}  # fmt: skip
    start = "12:00" if good else "02:30"
    return {"site.time_zone": "Europe/London", "L1.planned.start": start, "L1.planned.end": "13:00"}


def counts(clause, good: bool) -> dict:
    if clause.kind == "people on the line":
        return {"L1.walkers.at_once": clause.value if good else clause.value + 1}
    again = {**data()["lines"][0], "id": "L2"}
    return {} if good else {"lines": [data()["lines"][0], again]}


def case(clause, good: bool) -> dict | None:
    """Edits that make a clause met or not met; None where a record can only leave it open."""
    kind = type(clause).__name__
    if kind == "LookClause" or (getattr(clause, "when", None) and not good):
        return None
    made = {"SizeClause": size, "ThingClause": things, "ListClause": lists, "MonthsClause": times, "HoursClause": times,
            "CountClause": counts}[kind](clause, good)  # fmt: skip
    return made


def use_for(rules, clause) -> dict:
    uses = clause.uses or rules.uses
    return {} if set(uses) & {"slackline", "tightrope", "any line"} else {"L1.use": "hammock"}


def answer_of(rules, clause_id: str, edits: dict):
    checked = check_end(rules, held(edits))
    (found,) = [one for one in checked.clauses if f", clause {clause_id}, " in one.source]
    return found
