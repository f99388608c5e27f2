"""The card of a session: a screen of a phone for the line and for each end, or one page, with the day it holds until.

The card is for members: of a place the register keeps for its officers it shows no plan, no positions and no way to
find it. Without a register it is a draft.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import get_args

from markupsafe import Markup

from siteassess.advice.finding import Finding
from siteassess.advice.results import Answered, Assessment, LineResult
from siteassess.papers import as_planned, wording
from siteassess.papers.card_ends import LINE_ROWS, CardEnd, Fitted, against, asks_still, card_ends, short_named
from siteassess.papers.card_pictures import pair_plan, season_strip
from siteassess.papers.card_printed import letters, printed_parts
from siteassess.papers.doubts import doubtful, doubts_of
from siteassess.papers.from_register import LineStanding
from siteassess.papers.handover import Manner, emergency_rows, page, record_values, survey_facts
from siteassess.papers.language import Words
from siteassess.papers.look import shorten
from siteassess.papers.rule_table import RuleTable, rule_rows
from siteassess.papers.scene import Scene, Spot, build
from siteassess.places.geodesy import bearing_distance
from siteassess.records.line import ON_FOOT, Line, Planned
from siteassess.records.record import Record
from siteassess.records.site import Permission
from siteassess.reference.findings import answered, word
from siteassess.reference.measures import Measures, known, lat_long
from siteassess.reference.pages import part, plain
from siteassess.register.answer import AGAINST
from siteassess.register.reasons import reason

LANDMARKS_SHOWN, DOUBTS_SHOWN = 2, 1
WORDS_SHOWN = 500  # of a landmark
# marked things a stranger can find; people and flags are not always there
FINDABLE = frozenset(("gate", "emergency point", "building", "wall", "play area", "road", "path", "water"))


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
    ends = [] if withheld else card_ends(line, how)
    told = Fitted(()) if withheld else _asked(line, ends, how)
    day = _day(line, assessment, withheld, how)
    feet = [] if withheld or line.verdict in AGAINST else _feet(line, how)
    halt, forbids = _halt(line, standing, permission, how)
    emergency = _emergency(record, scene, line, how, withheld)
    look = "" if withheld else wording.next_look(line, t.language)
    table = None if withheld else rule_rows(replace(assessment, rules={}, lines=(line,)), *how.tongue)
    rules = _rules(line, table, how) if table else []
    of_place = f"{table.name}{t('rp-as-of', month=table.as_of)}. {table.source}." if table else ""
    conditions = [t.said(one) for one in standing.conditions] if standing else []
    hazards = [t("withheld")] if withheld else _hazards(line, how)
    place = [f"{shown_as} {t.of(line.verdict)}", t("verdict-tail"), f"{t.of(line.use)} {record.site.name}", halt,
             t("user-survey"), *([t("may-rig"), *(standing.differs)] if standing else []), "_", "_", "_",
             *conditions, *(f"{term}  {value}" for term, value in day)]  # fmt: skip
    unmet = [f"{says} {note} {source}" for _, says, answer, note, source in rules if answer == "not met"]
    under = [look, of_place * bool(unmet), *unmet, *(hazards if line.verdict in AGAINST else ())]
    doubted = [] if withheld else doubts_of(assessment, line, *how.tongue)
    doubts = doubtful(doubted, t, DOUBTS_SHOWN)  # a phone counts them, and tells them further down
    place += [doubts, *(f"{term}  {value}" for term, value in feet)]
    paper = letters(printed_parts(place, told, ends, emergency, under, how), [t("group-only")] * 2)
    return page(
        "card", how, style=part("card.css"),
        place=record.site.name, subtitle=shown_as, invented=record.site.invented,
        facts=[], heads=standing.heads if standing else (), register_asked=True,
        licence=standing.licence if standing else "",
        # readings of a hidden place could be found again from their hash by trying
        version_of=[() if withheld else record_values(record), shown_as, assessment.date, standing],
        may=standing.answer.word if standing else None,
        beside=_sentence(t.why(standing.answer.beside)) if standing else "",
        status=t.of(standing.status) if standing else t.of("draft"),
        status_on=standing.on.isoformat() if standing else how.day,
        verdict=line.verdict, ties=line.verdict not in AGAINST,
        expires=_expires(standing, permission, how), halt=halt, forbids=forbids, look=look,
        differs=[t("register-differs", what=what) for what in (standing.differs if standing else ())],
        plan=None if withheld else _plan(scene, line_id, how, m),
        plan_words=t("withheld") if withheld else t("plan-none"),
        pair=[] if withheld else _pair(line, how, m), use=t.of(line.use), span=wording.span(line, m),
        ends=ends,
        figures=[] if withheld or line.verdict in AGAINST else _figures(line, how),
        day=day, asked=told,
        hazards=hazards, doubts=doubts, doubts_counted=doubtful(doubted, t, 0), feet=feet,
        rules=rules, rules_of=of_place, unmet=bool(unmet), permission=_permission(permission), conditions=conditions,
        landmarks=[t("withheld")] * LANDMARKS_SHOWN if withheld else _landmarks(record, scene, line, how, m),
        emergency=emergency, letters=paper,
        # the months when bark slips, and its diseases, name a genus
        season=None if withheld else _season(line, assessment, how),
        next_check=standing.next_check if standing else None,
    )  # fmt: skip


def _expires(standing: LineStanding | None, permission: Permission | None, how: Manner) -> str | None:
    """The last day a "yes" may hold, or of a draft the permission's; None where the answer is no already."""
    t = how.words
    if standing is not None:
        return f"{t.with_colon('expires')} {standing.answer.until}" if standing.answer.until else None
    last = permission.expires.isoformat() if permission and permission.expires else t("no-expiry")
    return f"{t.with_colon('card-permission-until')} {last}"


def _halt(
    line: LineResult, standing: LineStanding | None, permission: Permission | None, how: Manner
) -> tuple[str, bool]:
    """Why nobody should rig by this card now, and whether it is more than that a draft is for no use."""
    t = how.words
    if standing is not None:
        against = _sentence(t.why(standing.answer.against))
        return against, bool(against)
    reasons = []
    day = max(filter(None, (line.day, how.made_on or datetime.date.today())))
    if permission and permission.expires and permission.expires < day:
        reasons.append(t.why((reason("permission-ended", day=permission.expires.isoformat()),)))
    if line.verdict in AGAINST:
        reasons.append(f"{t.with_colon('verdict')} {t.of(line.verdict)}")
    return t("between").join([*reasons, t("draft-stamp")]), bool(reasons)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _plan(scene: Scene, line_id: str, how: Manner, m: Measures) -> Markup | None:
    stretch = next((stretch for stretch in scene.stretches if stretch.result.id == line_id), None)
    return Markup(pair_plan(scene, stretch, how.words, m, "pair")) if stretch else None


def _asked(line: LineResult, ends: Sequence[CardEnd], how: Manner) -> Fitted:
    """What the line asks for; of one that is not to be tied what holds it, and the first thing at each end."""
    if line.verdict not in AGAINST:
        return asks_still(line.findings, how, LINE_ROWS)
    own = against(line.findings, line, how)
    first = [f"{end.code}{how.words('colon')} {says}" for end in ends for says in (*end.signs, *end.asked.told)[:1]]
    return replace(own, told=(*own.told, *first))


def _pair(line: LineResult, how: Manner, m: Measures) -> list[tuple[str, str]]:
    t, g = how.words, line.geometry
    return [
        (t("line"), " - ".join(end.code for end in line.anchors)),
        (t("bearing"), wording.course(g.bearing_true_deg, g.back_bearing_true_deg, language=t.language)),
        (t("weaker-end"), line.weaker_anchor or t("not-known")),
    ]  # fmt: skip


def _hazards(line: LineResult, how: Manner) -> list[str]:
    """What the line was found to meet, and unless it is left anyway what it then suits by."""
    told = [f for f in line.ordered if f.effect != "suits" or f.about == "surroundings"]
    return list(dict.fromkeys(_with_condition(short_named(f), line.verdict not in AGAINST, how) for f in told))


def _with_condition(told: Finding, ties: bool, how: Manner) -> str:
    language, system = how.tongue
    says = told.in_words(language, system=system)
    asks = told.in_words(language, "condition", system) if ties and told.effect == "suits if" else ""
    return f"{says} ({wording.suits_if(asks).in_words(language)})" if asks else says


def _figures(line: LineResult, how: Manner) -> list[tuple[str, str]]:
    """Where to stop and what sag to expect; nothing that a hammock or what hangs from above has not."""
    t, m, stop, sag = how.words, how.measures(), wording.stop_at(line), wording.sag(line)
    stops = as_planned.planned(m.stop(stop), as_planned.asked_stop(line, m), False, t)
    changes = as_planned.changed_by(as_planned.line_conditions(line), as_planned.CHANGE_SAG)
    sags = as_planned.planned(m.sag(sag), None, changes, t)
    told = [(stop, t("card-stop-at"), stops), (sag, t("card-sag"), sags)]
    return [(term, says) for value, term, says in told if value is not None or line.use in ON_FOOT]


def _day(line: LineResult, assessment: Assessment, withheld: bool, how: Manner) -> list[tuple[str, str]]:
    """When and by whom; of a line that may hang when it comes down, and when to look again."""
    t = how.words
    plan = next((one for one in assessment.record.lines if one.id == line.id), None)
    if withheld:
        plan = None
    told = [_when(line, assessment, plan.planned if plan else None, t),
            *(_judged_with(plan, line, how) if plan else ()), *survey_facts(assessment.record, t)[:2]]  # fmt: skip
    when = [(t("judged-for"), t("between").join(told))]
    if withheld or line.verdict in AGAINST:
        return when
    texts = (("card-down-at-once", "card-down-when"), ("card-look-again", "card-look-when"),
             ("card-take-down", "card-take-down-how"))  # fmt: skip
    return [*when, (t("take-down-wind"), as_planned.take_down_asked(line, t, how.system)),
            *((t(term), t(says)) for term, says in texts)]  # fmt: skip


def _feet(line: LineResult, how: Manner) -> list[tuple[str, str]]:
    """How the feet stay over the ground, or where they reach it."""
    t, says = how.words, wording.feet(line, *how.tongue)
    changes = as_planned.changed_by(as_planned.line_conditions(line), as_planned.CHANGE_PULL)
    return [(t("card-feet"), t("down-as-planned", planned=says) if changes else says)] if says else []


def _when(line: LineResult, assessment: Assessment, plan: Planned | None, t: Words) -> str:
    """The day judged for, with the hours planned, and how long it is to stay."""
    day = (line.day or assessment.date).isoformat()
    hours = " - ".join(str(at) for at in (plan.start, plan.end) if at) if plan else ""
    until = t("card-until", day=plan.until) if plan and plan.until else ""
    return ", ".join(filter(None, (day, hours, until)))


def _judged_with(plan: Line, line: LineResult, how: Manner) -> Iterator[str]:
    """Of what the verdict was asked, beside the use: whoever is heavier, or ties another webbing tighter, has none."""
    t, m, walkers = how.words, how.measures(), plan.walkers
    count = (walkers.at_once if walkers else None) or 1
    mass = m.told(walkers.mass.si, "kg 0", -1) if walkers and walkers.mass else ""
    told = t("card-people", count=count, mass=mass) if mass else t("card-people-unread", count=count)
    yield as_planned.planned(told, _fewer_or_lighter(line, how), False, t)
    if walkers and walkers.movement != "unknown":
        yield t.of(walkers.movement)
    pieces = [" ".join([t.of(one.kind) if one.kind else t("not-recorded"),
                        *([m.width(one.width.si)] if one.width else [])])
              for one in (*plan.sections, plan.webbing) if one and (one.kind or one.width)]  # fmt: skip
    if pieces or line.use in ON_FOOT:
        yield t("card-webbing", webbing=" + ".join(pieces) or t("not-recorded"))
    tension = wording.stop_at(line)
    if tension is not None and line.verdict in AGAINST:  # else it is told where to stop
        yield t("card-standing", tension=m.force(tension))


def _fewer_or_lighter(line: LineResult, how: Manner) -> str | None:
    """How many, or how heavy, conditions ask for instead of those planned."""
    asked, m = as_planned.line_conditions(line), how.measures()
    people, mass = (as_planned.figure(asked, names) for names in (as_planned.PEOPLE, as_planned.MASS))
    told = [m.number(people, 0)] * known(people) + [m.told(mass, "kg 0", -1)] * known(mass)
    return ", ".join(told) or None


def _rules(line: LineResult, rules: RuleTable, how: Manner) -> list[tuple[str, str, str, str, str]]:
    """Every clause as answered for this line alone with its source, those that are not met first.

    Of what is not met the sizes that were planned are told, and of straps those told here instead.
    """
    told = []
    for row in rules.rows:
        answer, measured = row.answers[0]
        note = how.words("card-as-planned", measured=measured) if answer == "not met" else ""
        if note and row.clause == word("strap width", how.words.language) and line.verdict not in AGAINST:
            note += _straps(line, how)
        told.append((row.clause, row.wanted, answer, note, row.source))
    return sorted(told, key=lambda row: get_args(Answered).index(row[2]))


def _straps(line: LineResult, how: Manner) -> str:
    """The widths of the slings that this card asks for, where it asks for others than planned."""
    asked = [(end.code, end.protection.asked.sling_width_m) for end in line.anchors
             if end.protection and end.protection.instead and end.protection.asked.sling_width_m]  # fmt: skip
    sizes = ", ".join(f"{code} {how.measures().width(width)}" for code, width in asked)
    return how.words("card-as-told-here", sizes=sizes) if sizes else ""


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
    position, typed = record.anchor(code).position, Measures(how.words.language).typed
    what = {landmark.code: plain(landmark.what) for landmark in record.site.landmarks}
    told = []
    for tie in position.ties if position else ():
        north = answered(tie.north, how.words.language)
        read = f"{typed(str(tie.bearing))} ({north})" if tie.bearing else how.words("not-recorded")
        says = how.words("find-tie", code=code, distance=plain(typed(str(tie.distance))), bearing=plain(read))
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
        rows.insert(2, (how.words("em-position"), f"{lat_long(spot.latitude_deg, spot.longitude_deg)} ({spot.code})"))
    return [*rows, (how.words("contact"), record.survey.contact or how.words("not-recorded"))]


def _season(line: LineResult, assessment: Assessment, how: Manner) -> Markup | None:
    """The year of the end with more windows: what closes one tree closes the pair."""
    plans = [end.protection.season for end in line.anchors if end.protection and end.protection.season]
    if not plans:
        return None
    worst = max(plans, key=lambda plan: len(plan.windows))
    month = (line.day or assessment.date).month
    return Markup(season_strip(worst, month, how.words, "year"))
