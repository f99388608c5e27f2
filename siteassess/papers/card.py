"""The pair card for the group: one page that is legible in black and white and says when it stops being true.

The card is for members: of a place the register keeps for its officers it shows no plan, no positions and no way to
find it. Without a register it is a draft.
"""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import TypeVar, get_args

from markupsafe import Markup

from siteassess.advice.deciding import STOP_SIGNS
from siteassess.advice.finding import Finding, conditions_in_words
from siteassess.advice.results import AnchorResult, Answered, Assessment, LineResult
from siteassess.papers import wording
from siteassess.papers.card_pictures import pair_plan, season_strip
from siteassess.papers.from_register import LineStanding
from siteassess.papers.handover import Abreast, Manner, emergency_rows, page, record_values, survey_facts
from siteassess.papers.look import shorten
from siteassess.papers.report import padding_words, rule_rows
from siteassess.papers.scene import Scene, Spot, build
from siteassess.places.geodesy import bearing_distance
from siteassess.records.record import Record
from siteassess.records.site import Permission
from siteassess.reference.findings import Said, word
from siteassess.reference.measures import Measures, known, position
from siteassess.reference.pages import plain
from siteassess.register.answer import AGAINST

FoundOrSaid = TypeVar("FoundOrSaid", Finding, Said)
RULES_SHOWN, HAZARDS_SHOWN, LANDMARKS_SHOWN = 8, 7, 2
WORDS_SHOWN = 500  # of an end's conditions: what is cut off was the other way to meet one, or what comes with it
HAZARD_SHOWN, NAME_SHOWN = 300, 32  # a hazard ends with its advice, which no long name of a path may push off
# marked things a stranger can find; people and flags are not always there
FINDABLE = frozenset(("gate", "emergency point", "building", "wall", "play area", "road", "path", "water"))
# a nest's place stays with the officers; the season bar warns of nesting without it
SIGNS_KEPT_BACK = (STOP_SIGNS["nest_in_use"],)


def card_page(assessment: Assessment, line_id: str, how: Manner, standing: LineStanding | None = None) -> str:
    """The card of one line as text.

    Parameters
    ----------
    assessment : the answers with their record
    line_id : a line in it
    how : language and units
    standing : how the line stands in the register; None makes the card a draft
    """
    record, t, m = assessment.record, how.words, how.measures()
    line = next(line for line in assessment.lines if line.id == line_id)
    withheld = standing is not None and standing.withheld
    shown_as = standing.shown_as if standing else line.id
    scene = build(assessment)
    permission = record.site.permission
    return page(
        "card", how,
        place=record.site.name, subtitle=shown_as, invented=record.site.invented,
        facts=survey_facts(record, t)[:2], heads=standing.heads if standing else (), register_asked=True,
        licence=standing.licence if standing else t("group-only").rstrip("."),
        # readings of a hidden place could be found again from their hash by trying
        version_of=[() if withheld else record_values(record), shown_as, assessment.date, standing],
        may=standing.answer.word if standing else None,
        beside=_sentence(t.why(standing.answer.beside)) if standing else "",
        status=t.of(standing.status) if standing else t.of("draft"),
        status_on=standing.on.isoformat() if standing else how.day,
        judged=(line.day or assessment.date).isoformat(), verdict=line.verdict,
        expires=_expires(standing, permission, how), halt=_halt(line, standing, permission, how),
        differs=[t("register-differs", what=what) for what in (standing.differs if standing else ())],
        plan=None if withheld else _plan(scene, line_id, how, m),
        plan_words=t("withheld") if withheld else t("plan-none"),
        pair=[] if withheld else _pair(line, how, m), ends=None if withheld else _ends(line, how, m),
        hazards=[t("withheld")] if withheld else _hazards(line, how),
        rules=[] if withheld else _rules(line, assessment, how), permission=_permission(permission),
        conditions=[t.said(one) for one in standing.conditions] if standing else (),
        landmarks=[t("withheld")] * LANDMARKS_SHOWN if withheld else _landmarks(record, scene, line, how, m),
        emergency=_emergency(record, scene, line, how, withheld), contact=record.survey.contact,
        # the months when bark slips, and its diseases, name a genus
        season=None if withheld else _season(line, assessment, how), last_survey=record.survey.date,
        next_check=standing.next_check if standing else None,
    )  # fmt: skip


def _expires(standing: LineStanding | None, permission: Permission | None, how: Manner) -> str | None:
    """The last day a "yes" may hold, or of a draft the permission; None where the answer is no already."""
    if standing is not None:
        return standing.answer.until
    return permission.expires.isoformat() if permission and permission.expires else how.words("no-expiry")


def _halt(line: LineResult, standing: LineStanding | None, permission: Permission | None, how: Manner) -> str:
    """Why nobody should rig by this card now; nothing where the register says it may be used."""
    t = how.words
    if standing is not None:
        return _sentence(t.why(standing.answer.against))
    reasons = [t("draft-stamp")]
    day = max(filter(None, (line.day, how.made_on or datetime.date.today())))
    if permission and permission.expires and permission.expires < day:
        reasons.append(f"{permission.expires}{t('colon')} {t('expired')}")
    if line.verdict in AGAINST:
        reasons.append(f"{t.with_colon('verdict')} {t.of(line.verdict)}")
    return t("between").join(reasons)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _plan(scene: Scene, line_id: str, how: Manner, m: Measures) -> Markup | None:
    stretch = next((stretch for stretch in scene.stretches if stretch.result.id == line_id), None)
    return Markup(pair_plan(scene, stretch, how.words, m, "pair")) if stretch else None


def _pair(line: LineResult, how: Manner, m: Measures) -> list[tuple[str, str]]:
    t, g = how.words, line.geometry
    span = g.taped_m if known(g.taped_m) else g.distance_m
    return [
        (t("line"), " - ".join(end.code for end in line.anchors)),
        (t("use"), t.of(line.use)), (t("span"), m.length(span)),
        (t("bearing"), f"{m.bearing(g.bearing_true_deg)} / {m.bearing(g.back_bearing_true_deg)} {t('true-north')}"),
        (t("weaker-end"), line.weaker_anchor or t("not-known")),
    ]  # fmt: skip


def _ends(line: LineResult, how: Manner, m: Measures) -> Abreast:
    t = how.words
    most = [max((load.tension_n for load in end.loads), default=None) for end in line.anchors]
    rows = [
        (t("tag"), [wording.tag(end, t.language) for end in line.anchors]),
        (t("species"), [word(plain(end.species) or end.kind, t.language) for end in line.anchors]),
        (t("tie-height"), [m.length(end.tie_height_m, 2) for end in line.anchors]),
        (t("pull-standing"), [m.force(_pull(end, "standing")) for end in line.anchors]),
        (t("pull-greatest"), [m.force(pull) for pull in most]),
        (t("take-down-wind"), [wording.take_down_of((end,), t, how.system) for end in line.anchors]),
        (t("pack-first"), [padding_words(end, line.verdict, *how.tongue) for end in line.anchors]),
        (t("conditions"), [_conditions(end, how) for end in line.anchors]),
    ]  # fmt: skip
    return {"heads": ["", *(f"{t('end')} {end.end}{t('colon')} {end.code}" for end in line.anchors)], "rows": rows}


def _conditions(end: AnchorResult, how: Manner) -> str:
    return shorten(conditions_in_words(end.findings, *how.tongue), WORDS_SHOWN) or how.words("none")


def _pull(end: AnchorResult, case: str) -> float | None:
    return next((load.tension_n for load in end.loads if load.case == case), None)


def _hazards(line: LineResult, how: Manner) -> list[str]:
    """Stop signs first, then what the line and its ends were found to ask for, as far as the card has room."""
    signs = [f for end in line.anchors for f in end.ordered if f.about == "stop sign" and not _kept_back(f)]
    told = [f for f in line.ordered if f.effect != "suits" or f.about == "surroundings"]
    said = dict.fromkeys(_with_condition(_short_named(f), how) for f in (*signs, *told))
    return list(said)[:HAZARDS_SHOWN]


def _with_condition(told: Finding, how: Manner) -> str:
    """What was found, as far as there is room, and whole what the line suits by."""
    language, system = how.tongue
    says = shorten(told.in_words(language, system=system), HAZARD_SHOWN)
    asked = told.in_words(language, "condition", system) if told.effect == "suits if" else ""
    return f"{says} ({wording.suits_if(asked).in_words(language)})" if asked else says


def _short_named(found: FoundOrSaid) -> FoundOrSaid:
    """The same with the names that people gave to things cut to what a card has room for."""
    return replace(found, values=tuple(
        (name, _short_named(value) if isinstance(value, Said)
         else shorten(value, NAME_SHOWN) if name == "name" else value) for name, value in found.values
    ))  # fmt: skip


def _kept_back(sign: Finding) -> bool:
    return dict(sign.values).get("sign") in SIGNS_KEPT_BACK


def _rules(line: LineResult, assessment: Assessment, how: Manner) -> list[tuple[str, str, str]]:
    """As many as there is room for, answered for this line alone, those that are not met first."""
    rules = rule_rows(replace(assessment, rules={}, lines=(line,)), *how.tongue)
    told = [(row.clause, row.wanted, row.answers[0][0]) for row in rules.rows] if rules else []
    return sorted(told, key=lambda row: get_args(Answered).index(row[2]))[:RULES_SHOWN]


def _permission(permission: Permission | None) -> list[str | datetime.date]:
    if permission is None:
        return []
    parts = (permission.by, permission.reference, permission.expires, permission.conditions)
    return [part for part in parts if part]


def _landmarks(record: Record, scene: Scene, line: LineResult, how: Manner, m: Measures) -> list[str]:
    """Two ways to find the pair: taped ties first, then landmarks with a position, then things on the plan."""
    codes = [end.code for end in line.anchors]
    told = [says for code in codes for says in _ties(record, code, how)]
    spot = next((scene.spot(code) for code in codes if scene.spot(code)), None)
    if spot is not None:
        told += [says for _, says in sorted(_marks(record, scene, spot, how, m))]
    return [shorten(says, WORDS_SHOWN) for says in dict.fromkeys(told)][:LANDMARKS_SHOWN]


def _ties(record: Record, code: str, how: Manner) -> list[str]:
    position = record.anchor(code).position
    what = {landmark.code: plain(landmark.what) for landmark in record.site.landmarks}
    told = []
    for tie in position.ties if position else ():
        read = f"{tie.bearing} ({tie.north})" if tie.bearing else how.words("not-recorded")
        says = how.words("find-tie", code=code, distance=plain(tie.distance), bearing=plain(read))
        told.append(f"{what.get(tie.landmark, tie.landmark)}{how.words('colon')} {says}")
    return told


def _marks(record: Record, scene: Scene, spot: Spot, how: Manner, m: Measures) -> list[tuple[float, str]]:
    places = [
        (f"{plain(landmark.what)}", fix.lat, fix.lon)
        for landmark in record.site.landmarks if landmark.position
        for fix in landmark.position.fixes[:1] if fix.lat is not None and fix.lon is not None
    ]  # fmt: skip
    places += [
        (f"{how.words.of(s.kind)} {s.name}".strip(), float(s.latitudes_deg[0]), float(s.longitudes_deg[0]))
        for s in scene.shapes if s.kind in FINDABLE and len(s.latitudes_deg) == 1
    ]  # fmt: skip
    told = []
    for name, latitude, longitude in places:
        course = bearing_distance(spot.latitude_deg, spot.longitude_deg, latitude, longitude)
        away, turn = float(course.distance_m), m.bearing(float(course.bearing_true_deg))
        says = how.words("find-from", distance=m.length(away, 0), code=spot.code, bearing=turn)
        told.append((away, f"{name}{how.words('colon')} {says}"))
    return told


def _emergency(
    record: Record, scene: Scene, line: LineResult, how: Manner, withheld: bool
) -> list[tuple[str, str | None]]:
    rows = emergency_rows(record.site.emergency, how.words)
    spot = next((scene.spot(end.code) for end in line.anchors if scene.spot(end.code)), None)
    if spot is not None and not withheld:
        rows.insert(2, (how.words("em-position"), f"{position(spot.latitude_deg, spot.longitude_deg)} ({spot.code})"))
    return rows


def _season(line: LineResult, assessment: Assessment, how: Manner) -> Markup | None:
    """The year of the end with more windows: what closes one tree closes the pair."""
    plans = [end.protection.season for end in line.anchors if end.protection and end.protection.season]
    if not plans:
        return None
    worst = max(plans, key=lambda plan: len(plan.windows))
    month = (line.day or assessment.date).month
    return Markup(season_strip(worst, month, how.words, "year"))
