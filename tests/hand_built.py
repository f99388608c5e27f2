"""A whole assessment built by hand, in an invented park, with every verdict word in it.

The papers read results only, so these results need not follow from the record: they are there to be drawn. Every
free text goes through `text`, so that a test can plant a hostile one in every place a user could. Import as
`from hand_built import ...`; tests of papers get it as fixtures (tests/papers/conftest.py).
"""

from __future__ import annotations

import datetime
import math

from any_words import plainly, sentence

from siteassess.advice.care_results import Arc, Protection
from siteassess.advice.finding import Limit
from siteassess.advice.results import (
    AnchorResult,
    Assessment,
    Clause,
    Clearance,
    Evidence,
    LineResult,
    Load,
    PairGeometry,
    PullRow,
    Remedy,
    RuleCheck,
    StatedAssumption,
    TreeAlone,
)
from siteassess.places.geodesy import bearing_distance, destination
from siteassess.records.fields import SECTORS
from siteassess.records.record import Record
from siteassess.reference.findings import said

HOSTILE = (
    "<img src=x onerror=window.PWNED=1>${window.PWNED=2}`</script><script>window.PWNED=3</script>$x^2$ &amp; \"'\\"
)
DEFAULT_ORIGIN = (52.0, 5.0)
DATE = datetime.date(2026, 5, 2)

# code, kind, metres east, metres north, girth, crown width, tag, species
ANCHORS = (
    ("T01", "tree", 0, 0, "196 cm", "14 m", "INV-0417", "Quercus robur"),
    ("T02", "tree", 41, 9, "171 cm", "11 m", "INV-0420", "Tilia cordata"),
    ("T03", "tree", 12, 33, "88 cm", "6 m", None, "Betula pendula"),
    ("T04", "tree", 55, 38, "240 cm", "16 m", "INV-0431", "Fagus sylvatica"),
    ("B01", "boulder", 24, -17, None, None, None, ""),
)
LINES = (
    ("L1", "T01", "T02", "suits if"),
    ("L2", "T03", "T04", "leave it"),
    ("L3", "T02", "T04", "suits"),
    ("L4", "B01", "T01", "cannot say"),
)


def _identity(text: str) -> str:
    return text


def build_assessment(
    text=_identity, origin=DEFAULT_ORIGIN, anchors=ANCHORS, lines=LINES, record_text=None
) -> Assessment:
    record = _record(record_text or text, origin, anchors, lines)
    results = tuple(_line(record, line, text) for line in lines)
    return Assessment(
        record=record,
        date=DATE,
        lines=results,
        trees=tuple(_tree_alone(a, text) for a in anchors if a[1] == "tree"),
        packing=(),
        assumptions=tuple(
            StatedAssumption(plainly(text(name)), plainly(text(value)), flag, text(source))
            for name, value, flag, source in (
                ("walked factor", "1.2", "judgement", "three measured lines"),
                ("green bending strength, oak", "57 MPa", "read", "wood handbook, table 5"),
                ("root plate k", "30 kN m per m3", "derived", "winching tests"),
            )
        ),
        cautions=(
            text("It is a user survey and an estimate, not an inspection by a qualified arborist or engineer."),
            text("Local law, the land manager's word and the makers' instructions come first."),
            text("Trees fail without warning signs."),
            text(
                "Keep the public away from the line; never across a path or a worn track; take it down when unattended."
            ),
        ),
        warnings=(said("told-as-is", why=text("T03: the girth was read at 1.3 m, the tie is at 1.6 m"),),),
        rules={"T01": _rules(text)},
    )


def _place(origin, east, north):
    distance = math.hypot(east, north)
    return destination(*origin, math.degrees(math.atan2(east, north)), distance) if distance else origin


def _points(origin, *offsets):
    return [list(_place(origin, *offset)) for offset in offsets]


def _record(text, origin, anchors, lines) -> Record:
    def anchor(code, kind, east, north, girth, crown, tag, species):
        lat, lon = _place(origin, east, north)
        common = {
            "kind": kind,
            "code": code,
            "name": text("by the invented pond"),
            "notes": text("a note"),
            "position": {"lat": lat, "lon": lon, "accuracy": "4 m", "how": "phone"},
        }
        if kind != "tree":
            return common
        return common | {
            "tag": text(tag) if tag else None,
            "species": {"name": text(species), "certainty": "sure"},
            "trunk": [{"girth": girth, "read_at": "1.3 m", "how": "taped"}],
            "crown_spread": crown,
            "height": "18 m",
            "roots": {"N": "covered", "E": "ridges up to 5 cm", "S": "covered", "SW": "cut", "W": "hard surface"},
        }

    offsets = {row[0]: row[2:4] for row in anchors}
    # the taped spans are true to the places, so that the corrected places are those given here
    spans = {line_id: math.dist(offsets[a], offsets[b]) for line_id, a, b, _ in lines}

    def end(code):
        return {
            "anchor": code,
            "tie_height": "1.6 m",
            "sling": {"wrap": "basket", "width": "50 mm", "strands": 2, "link_distance": "0.8 m"},
        }

    def planned(line):
        line_id, a, b, _ = line
        return {
            "id": line_id,
            "name": text("the long meadow line"),
            "use": "long line",
            "a": end(a),
            "b": end(b),
            "span": {"taped": f"{spans[line_id]:.2f} m"},
            "standing": {"tension": "3.0 kN", "how": "load cell"},
            "planned": {"date": "2026-05-02", "start": "14:00", "end": "18:00", "attended": "always"},
            "notes": text("a note"),
        }

    def feature(kind, *offsets, closed=False, width=None):
        return {
            "kind": kind,
            "name": text(f"invented {kind}"),
            "points": _points(origin, *offsets),
            "closed": closed,
            "width": width,
        }

    surroundings = [
        feature("path", (-20, -25), (10, -8), (30, 22), (70, 28), width="2 m"),
        feature("worn track", (-15, 30), (30, 26), (60, 5)),
        feature("water", (-25, 10), (-12, 14), (-14, 30), (-26, 28), closed=True),
        feature("play area", (60, -20), (78, -20), (78, -8), (60, -8), closed=True),
        feature("building", (-24, -20), (-14, -20), (-14, -12), (-24, -12), closed=True),
        feature("hazard", (32, -14), (44, -12), (42, -4), (33, -6), closed=True),
        feature("power line", (-28, 44), (80, 50)),
        feature("gate", (-28, -24)),
        feature("watcher place", (20, 9)),
        feature("flag place", (26, 6)),
        feature("emergency point", (-18, -5)),
        feature("other tree", (30, 44)),
    ]
    return Record.model_validate(
        {
            "siteassess_record": 1,
            "note": text("invented, for teaching"),
            "site": {
                "name": text("Alder Meadow"),
                "invented": True,
                "manager": text("Invented Parks Office"),
                "manager_contact": text("+00 000 0001"),
                "land_status": "mown amenity",
                "permission": {
                    "basis": "permit",
                    "by": text("parks office"),
                    "reference": text("P-12"),
                    "expires": "2026-10-31",
                    "conditions": text("flags on the line"),
                },
                "emergency": {
                    "number": text("112"),
                    "place": text("the pond meadow"),
                    "gate": text("Mill Lane gate"),
                    "key": text("warden"),
                    "access": text("gravel, car"),
                    "signal": text("yes"),
                    "meeting_point": text("at the gate"),
                    "defibrillator": text("boat house"),
                },
                "surroundings": surroundings,
                "credit": text("own survey, CC0"),
            },
            "survey": {
                "by": text("A. Example"),
                "date": "2026-04-28",
                "contact": text("+00 000 0002"),
                "group": text("Meadow Lines (invented)"),
                "level": text("from all sides, tape, no tools"),
            },
            "anchors": [anchor(*row) for row in anchors],
            "lines": [planned(line) for line in lines],
        }
    )


def _line(record, line, text) -> LineResult:
    line_id, a, b, verdict = line
    place_a, place_b = (record.anchor(code).position.fixes[0] for code in (a, b))
    course = bearing_distance(place_a.lat, place_a.lon, place_b.lat, place_b.lon)
    out, back, span = course.bearing_true_deg, course.back_bearing_true_deg, course.distance_m
    ends = (_anchor(record, line_id, "A", a, verdict, out, text), _anchor(record, line_id, "B", b, "suits", back, text))
    xs = [span * i / 20 for i in range(21)]
    sag = [4 * 2.0 * (x / span) * (1 - x / span) for x in xs]
    return LineResult(
        id=line_id,
        name=text("the long meadow line"),
        use="long line",
        verdict=verdict,
        weaker_anchor=a,
        anchors=ends,
        geometry=PairGeometry(
            distance_m=span,
            taped_m=span + 0.2,
            bearing_true_deg=out,
            back_bearing_true_deg=back,
            declination_deg=2.6,
            bearing_magnetic_deg=(out - 2.6) % 360,
            told=said("told-as-is", why=text("Tape and fixes agree within their errors.")),
            level="agrees",
            rise_m=0.4,
            notes=(said("told-as-is", why=text("taped level")),),
        ),
        clearance=Clearance(
            x_m=tuple(xs),
            ground_m=tuple(-0.3 * math.sin(math.pi * x / span) for x in xs),
            unloaded_m=tuple(1.6 - 0.15 * s for s in sag),
            walker_m=tuple(1.6 - 0.9 * s for s in sag),
            mid_height_loaded_m=0.1,
            lowest_m=-0.2,
            lowest_at_m=span / 2,
            touches=True,
            standing_to_clear_n=4200.0,
            told=(plainly(text("The feet touch near the middle.")),),
        ),
        findings=(
            sentence(
                text("crossing"), "suits if", text("The line crosses a path 12 m from A."), text("the path is closed")
            ),
        ),
        probability=0.004,
        gear_told=(said("gear-not-checked"),),
        remedies=(Remedy(said("change-at", anchor=text(line_id), change=said("standing-no-more", standing=2200.0)),
                         "standing.tension", 2200.0, "N", "suits", "root plate"),),  # fmt: skip
    )


def _anchor(record, line_id, end, code, verdict, bearing, text) -> AnchorResult:
    anchor = record.anchor(code)
    unknown = verdict == "cannot say"
    use = None if unknown else {"suits": 0.44, "suits if": 0.78, "leave it": 1.36}[verdict]
    limits = (
        Limit(
            "root plate",
            "N m",
            "bounced",
            11000.0,
            None if unknown else 11000.0 / use,
            use,
            None if unknown else 0.004,
            42000.0,
            19000.0,
            1.5,
            0.2,
            0.48,
            text("tree height"),
            {"soil": 0.6, "height": 0.3, "pull": 0.1},
            why=plainly(text("no height was taken")) if unknown else None,
        ),
        Limit("stem", "N m", "bounced", 8000.0, 26000.0, 8 / 26, 0.0002, 60000.0, 39000.0, 1.5, 0.2, 0.4),
        Limit("bark", "Pa", "standing", 150e3, 175e3, 150 / 175, None),
        Limit("wind", "m/s", "standing", 8.0, 17.0, 8 / 17),
    )
    return AnchorResult(
        line_id=line_id,
        end=end,
        code=code,
        kind=anchor.kind,
        tag=text(getattr(anchor, "tag", None) or "none seen"),
        species=text("Quercus robur"),
        verdict=verdict,
        loads=(
            Load("standing", 3000.0, 2990.0, 200.0, bearing, 4784.0, 0.2, 0.1, True,
                 plainly(text("as planned"))),
            Load("bounced", 7000.0, 6800.0, 900.0, bearing, 11000.0, 1.9, 0.2, False,
                 plainly(text("three measured lines"))),
        ),  # fmt: skip
        limits=limits,
        hold_use=use,
        care_use=150 / 175,
        evidence=Evidence((text("girth"), text("height"), text("roots")), (text("height"),) if unknown else ()),
        stop_signs=(text("bracket fungus at the base"),) if verdict == "leave it" else (),
        findings=(
            sentence(text("roots"), verdict, text("The root plate uses most of our limit."),
                     text("the soil is not wet")),
            sentence(text("nest"), "cannot say", text("Nests were not looked for."), looked_at=False),
            *((sentence("stop sign", "leave it", text("stop sign seen: bracket fungus at the base")),)
               if verdict == "leave it" else ()),
        ),  # fmt: skip
        remedies=(Remedy(said("change-at", anchor=text(code), change=said("tie-no-higher", tie=1.1)), "tie_height", 1.1,
                         "m", "suits", "root plate"),),  # fmt: skip
        protection=Protection(
            trunk_diameter_m=0.62,
            wrap=text("doubled basket"),
            why_wrapped=(plainly(text("shares the pull over four legs")),),
            sling_length_m=4.0,
            sling_width_m=0.05,
            strands=2,
            link_distance_m=0.9,
            leg_angle_deg=48.0,
            strand_tension_n=1600.0,
            pressure_pa=150e3,
            peak_pressure_pa=340e3,
            reference_pa=175e3,
            read=said("bark-moderate"),
            arcs=(
                Arc("rub", (bearing - 30) % 360, (bearing + 30) % 360),
                Arc("press", (bearing + 30) % 360, (bearing - 30) % 360),
            ),
            pad_length_m=1.9,
            pad_height_m=0.3,
            pad_thickness_m=0.012,
            pad_material=text("carpet, pile outward"),
            slats=8,
            slat_width_m=0.03,
            slat_length_m=0.25,
            slat_thickness_m=0.02,
            told=(plainly(text("Pad the rub arc twice.")),),
            root_zone_radius_m=7.4,
            root_zone_standard=text("BS 5837"),
        )
        if anchor.kind == "tree"
        else None,
        rules=_rules(text),
        tie_height_m=1.6,
        pull_bearing_true_deg=bearing,
        probability=None if unknown else 0.004,
        trial=(plainly(text("Load to the standing tension for five minutes and watch the base.")),),
        use_by_sector={} if unknown else {s: use * (0.8 + 0.05 * i) for i, s in enumerate(SECTORS)} | {"W": None},
        take_down_wind_m_s=11.0,
        every_step=(plainly(text("stem: 0.8 x 57 MPa x section modulus")),),
    )


def _rules(text) -> RuleCheck:
    def clause(kind: str, answer: str, *told: str) -> Clause:
        return Clause(text(kind), answer, *(said("name-alone", name=text(one)) for one in told))

    return RuleCheck(
        text("Invented park rules"),
        "2026-01-01",
        text("Invented Parks Office, sheet 3"),
        text("check the current text"),
        (
            clause("smallest trunk", "met", "girth of 120 cm at 1.3 m", "196 cm at 1.3 m", "clause 2"),
            clause("height at mid-span", "not met", "under 1.2 m", "1.4 m", "clause 4"),
            clause("hours", "cannot tell", "sunrise to sunset", "not recorded", "clause 5"),
        ),
    )


def _tree_alone(row, text) -> TreeAlone:
    code, _, _, _, _, _, tag, species = row
    return TreeAlone(
        code,
        text(tag or "none seen"),
        text(species),
        "cannot say",
        (sentence(text("line"), "cannot say", text("No line is planned.")),),
        Evidence((text("girth"), text("height")), (text("height"),)),
        (PullRow(1.0, 5200.0, (said("name-alone", name=text("root plate")),)),
         PullRow(2.0, None, (said("name-alone", name=text("height was not taken")),))),
        7.4,
    )
