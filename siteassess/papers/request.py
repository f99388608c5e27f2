"""The request for permission: the decision on two pages; as appendix the trees, ties and clauses in full.

The tree schedule follows the field list of BS 5837:2012, clause 4.4 (read second hand, in council and consultant
schedules). Category and remaining years are a qualified person's to give and stay blank.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from siteassess.advice.finding import conditions_in_words
from siteassess.advice.geometry import Places
from siteassess.advice.results import AnchorResult, Assessment, LineResult
from siteassess.advice.verdict import STOP_SIGNS, Verdict
from siteassess.papers import as_planned, wording
from siteassess.papers.decision import decision, near_line, only_asked
from siteassess.papers.drawing import Sheet
from siteassess.papers.handover import Abreast, Manner, RegisterSide, emergency_rows, page, record_values, survey_facts
from siteassess.papers.language import Words, trunk_here
from siteassess.papers.officer import PLAN_SHEETS_SHOWN, plan_images
from siteassess.papers.photos import photos_of
from siteassess.papers.rule_table import rule_rows
from siteassess.records.anchor import Anchor, Tree
from siteassess.records.record import Record
from siteassess.records.trunk import at_ties, trunk_at
from siteassess.reference.findings import word
from siteassess.reference.measures import Measures, known, lat_long
from siteassess.reference.pages import plain

TREES_ABREAST = 4
ENDS_ABREAST = 4
METHOD_STEPS = ("m-before", "m-clean", "m-ground", "m-public", "m-trial", "m-stop", "m-after")


def request_page(assessment: Assessment, how: Manner, side: RegisterSide | None = None, other: str = "") -> str:
    """The request as text.

    Parameters
    ----------
    assessment : the answers with their record
    how : language and units; lengths and pulls are told in both systems
    side : heads and licence of a register, see `write.register_side`
    other : name of the file of its appendix
    """
    return page("request", how, **_frame(assessment, how, side), d=decision(assessment, how), other=other)


def method_page(
    assessment: Assessment, how: Manner, plan_sheets: tuple[Sheet, ...] = (), folder: Path | None = None,
    side: RegisterSide | None = None, next_checks: Mapping[str, str] | None = None, other: str = "",
) -> str:  # fmt: skip
    """The appendix of a request as text.

    Parameters
    ----------
    assessment, how, side : as for `request_page`
    plan_sheets : sheets drawn by `officer.asked_plan`
    folder : where the record and its photos lie
    next_checks : day of the next inspection by anchor code, from a register
    other : name of the file of the request
    """
    record, t, m, asked = assessment.record, how.words, how.measures(both=True), only_asked(assessment)
    ends = [end for line in asked.lines for end in line.anchors]
    codes = list(dict.fromkeys(end.code for end in ends))
    return page(
        "method", how, **_frame(assessment, how, side), other=other,
        lines=[_line(line, assessment, how, m) for line in asked.lines],
        plan=plan_images(plan_sheets, t), plan_left_out=max(0, len(plan_sheets) - PLAN_SHEETS_SHOWN),
        emergency=emergency_rows(record.site.emergency, t),
        when_heads=[t(key) for key in ("line", "when", "until", "time", "hours", "attended", "take-down-wind")],
        when=[_when(line, record, how) for line in asked.lines],
        schedule=schedule(asked, codes, how, next_checks or {}),
        photos=photos_of(record, folder, set(codes)),
        method=_method(ends, asked, how, m), steps=METHOD_STEPS, rules=rule_rows(asked, *how.tongue),
        wild=_wild(record, codes, ends, how),
    )  # fmt: skip


def _frame(assessment: Assessment, how: Manner, side: RegisterSide | None) -> dict[str, Any]:
    record, (heads, licence) = assessment.record, side or ((), "")
    return {
        "place": record.site.name, "invented": record.site.invented,
        "facts": survey_facts(record, how.words, assessment.one_day), "heads": heads, "licence": licence,
        "register_asked": True, "version_of": [record_values(record), assessment.date, heads],
    }  # fmt: skip


def _line(line: LineResult, assessment: Assessment, how: Manner, m: Measures) -> dict[str, object]:
    t, planned = how.words, assessment.record.line(line.id)
    g, walkers = line.geometry, planned.walkers
    ties = t("between").join(f"{end.code} {m.length(end.tie_height_m, 2)}" for end in line.anchors)
    over_ground = line.clearance.mid_height_loaded_m if line.clearance else None
    standing = planned.standing
    return {
        "id": line.id, "name": line.name, "verdict": line.verdict,
        "findings": [one.in_words(t.language, system=how.system) for one in line.ordered
                     if one.about == "surroundings"],
        "near": near_line(assessment.record, planned, how),
        "what": [
            (t("use"), t.of(line.use)), (t("span"), wording.span(line, m)),
            (t("bearing"), wording.course(g.bearing_true_deg, g.back_bearing_true_deg, language=t.language)),
            (t("tie-height"), ties), (t("mid-height"), m.length(over_ground, 2)),
            (t("people-at-once"), str(walkers.at_once) if walkers and walkers.at_once else t("not-recorded")),
            (t("how-got"), t.of(standing.how) if standing and standing.tension
             else t.of("from sag") if standing else t("not-recorded")),
        ],
        "pull_heads": [t(key) for key in ("tree", "pull-standing", "pull-greatest", "how-got")],
        "pulls": [_pull(end, assessment.record, how, m) for end in line.anchors],
    }  # fmt: skip


def _pull(end: AnchorResult, record: Record, how: Manner, m: Measures) -> list[str]:
    standing = next((load.tension_n for load in end.loads if load.case == "standing"), None)
    most = max(end.loads, key=lambda load: load.tension_n, default=None)
    name, language = _named(record.anchor(end.code), how), how.words.language
    if most is None:
        return [name, m.force(standing), how.words("not-known"), ""]
    rests = f"{word(most.case, language)}{how.words('colon')} {most.rests.in_words(*how.tongue)}"
    return [name, m.force(standing), m.force(most.tension_n), rests]


def _named(anchor: Anchor, how: Manner) -> str:
    return f"{plain(getattr(anchor, 'tag', None) or how.words('tag-none'))} ({anchor.code})"


def _when(line: LineResult, record: Record, how: Manner) -> list[str]:
    t, planned = how.words, record.line(line.id).planned
    take_down = as_planned.take_down_asked(line, t, how.system)
    if planned is None:
        return [line.id, t("not-recorded"), "", "", "", "", take_down]
    clock = f"{planned.start or '?'} - {planned.end or '?'}" if planned.start or planned.end else t("not-recorded")
    return [
        line.id, str(planned.date or t("not-recorded")), str(planned.until or planned.date or ""), clock,
        plain(planned.time_under_tension or t("not-recorded")), t.of(planned.attended), take_down,
    ]  # fmt: skip


def schedule(assessment: Assessment, codes: list[str], how: Manner, next_checks: Mapping[str, str]) -> list[Abreast]:
    """The trees side by side, a few abreast, in the terms of BS 5837; None stands for a blank to fill in."""
    record, t, m = assessment.record, how.words, how.measures(both=True)
    trees = [anchor for code in codes if isinstance(anchor := record.anchor(code), Tree)]
    parts: list[Abreast] = []
    for start in range(0, len(trees), TREES_ABREAST):
        abreast = trees[start : start + TREES_ABREAST]
        columns = [_schedule_column(tree, assessment, how, m, next_checks) for tree in abreast]
        heads = [t("tag"), *(_named(tree, how) for tree in abreast)]
        parts.append({"heads": heads, "rows": [(t(key), [c[key] for c in columns]) for key in columns[0]]})
    return parts


def _schedule_column(
    tree: Tree, assessment: Assessment, how: Manner, m: Measures, next_checks: Mapping[str, str]
) -> dict[str, str | None]:
    t = how.words
    ends = [end for line in assessment.lines for end in line.anchors if end.code == tree.code]
    zone = next((end.protection.root_zone for end in ends if end.protection and end.protection.root_zone), None)
    here = trunk_at(tree, None)
    ground, kind = tree.ground, tree.species
    told = [one for one in (ground.texture, ground.wetness, ground.bare) if one != "unknown"] if ground else []
    return {
        "species": f"{plain(kind.name)} ({t.of(kind.certainty)})" if kind else t.of("unknown"),
        "sch-group": t.of(tree.stems),
        "sch-position": _position(assessment.record, tree.code, t),
        "sch-height": _height(tree, t, m),
        "sch-diameter": m.width(here.diameter) if here.reading else t("not-recorded"),
        "sch-girth": trunk_here(here, t, at_ties(tree, (end.tie_height_m for end in ends))),
        "sch-spread": m.length(tree.crown_spread.si) if tree.crown_spread else t("not-recorded"),
        "sch-lowest": m.length(tree.crown_base.si) if tree.crown_base else t("not-recorded"),
        "sch-stage": t.of(tree.life_stage),
        "sch-physio": t.of(tree.condition),
        "sch-structure": _signs_seen(tree, how),
        "sch-years": None,
        "sch-category": None,
        "sch-status": t.of(tree.status),
        "sch-wildlife": t.of(tree.signs.nest_in_use),
        "sch-rpa": f"{m.length(zone.radius_m)}, {m.area(zone.area_m2)} ({word(zone.standard, t.language)})"
        if zone and zone.radius_m else t("not-known"),
        "sch-ground": ", ".join(t.of(one) for one in told) or t("not-recorded"),
        "sch-recommend": _each(((end.line_id, end.verdict) for end in ends), t) or t("not-known"),
        "sch-next": next_checks.get(tree.code),
    }  # fmt: skip


def _height(tree: Tree, t: Words, m: Measures) -> str:
    if tree.height is None:
        return t("not-recorded")
    return m.length(tree.height.si) + (f" ({t.of(tree.height_how)})" if tree.height_how != "unknown" else "")


def _each(words: Iterable[tuple[str, str | None]], t: Words) -> str:
    """What each of some is, by its name, in a row."""
    return t("between").join(f"{name}{t('colon')} {t.of(word)}" for name, word in words)


def _position(record: Record, code: str, t: Words) -> str:
    place = Places(record).at(code)
    return lat_long(place.latitude_deg, place.longitude_deg) if place else t("not-known")


def _signs_seen(tree: Tree, how: Manner) -> str:
    """Signs answered yes, then those nobody looked for; the nest has a row of its own."""
    t = how.words
    asked = {name: words for name, words in STOP_SIGNS.items() if name not in ("nest_in_use", "posted_no")}
    answers = {words: getattr(tree.signs, name) for name, words in asked.items()}
    softer = type(tree.softer_signs).model_fields
    answers |= {name.replace("_", " "): getattr(tree.softer_signs, name) for name in softer}
    seen = [word(words, t.language) for words, answer in answers.items() if answer == "yes"]
    missed = [word(words, t.language) for words, answer in answers.items() if answer == "not looked"]
    told = ", ".join(seen) or t("sch-none-seen")
    return told + (f"{t('between')}{t.with_colon('sch-not-looked')} {', '.join(missed)}" if missed else "")


def _method(ends: list[AnchorResult], assessment: Assessment, how: Manner, m: Measures) -> list[Abreast]:
    t, record = how.words, assessment.record
    verdicts = {line.id: line.verdict for line in assessment.lines}
    parts: list[Abreast] = []
    for start in range(0, len(ends), ENDS_ABREAST):
        abreast = ends[start : start + ENDS_ABREAST]
        columns = [_method_column(end, verdicts[end.line_id], record, how, m) for end in abreast]
        heads = [t("line"), *(f"{end.line_id}, {_named(record.anchor(end.code), how)}" for end in abreast)]
        parts.append({"heads": heads, "rows": [(t(key), [c[key] for c in columns]) for key in columns[0]]})
    return parts


def _method_column(
    end: AnchorResult, of_line: Verdict, record: Record, how: Manner, m: Measures
) -> dict[str, str]:  # fmt: skip
    t, plan, anchor = how.words, end.protection.asked if end.protection else None, record.anchor(end.code)
    read = trunk_at(anchor, end.tie_height_m) if isinstance(anchor, Tree) else None
    through = m.width(plan.trunk_diameter_m if plan else read.diameter if read else None)
    pressed = None
    if plan and known(plan.pressure_pa) and known(plan.reference_pa):
        pressed = plan.pressure_pa / plan.reference_pa
    return {
        "size": f"{through}{t('between')}{trunk_here(read, t)}" if read else through,
        "tie-height": m.length(end.tie_height_m, 2),
        "sling": f"{word(plan.wrap, t.language)}, {m.width(plan.sling_width_m)}" if plan else t("not-known"),
        "padding": wording.padding_words(end, of_line, *how.tongue),
        "pressure": m.pressure(plan.pressure_pa) if plan else t("not-known"),
        "our-limit": m.pressure(plan.reference_pa) if plan else t("not-known"),
        "ratio": m.share(pressed),
        "conditions": conditions_in_words(end.findings, *how.tongue) or t("none"),
    }


def _wild(record: Record, codes: list[str], ends: list[AnchorResult], how: Manner) -> list[tuple[str, str | None]]:
    t = how.words
    trees = [anchor for code in codes if isinstance(anchor := record.anchor(code), Tree)]
    windows = dict.fromkeys(
        window.told.in_words(t.language) for end in ends if end.protection and end.protection.season
        for window in end.protection.season.windows if window.open
    )  # fmt: skip
    return [
        (t("sch-status"), _each(((tree.code, tree.status) for tree in trees), t)),
        (t("sch-wildlife"), _each(((tree.code, tree.signs.nest_in_use) for tree in trees), t)),
        (t("wild-open"), t("between").join(windows) or t("none")),
        (t("wild-checked"), None),
        (t("wild-source"), None),
    ]
