"""An assessment as plain JSON: keys end in their unit, and what is not known is null, never nought or NaN."""

from __future__ import annotations

import dataclasses
import datetime
import math
from collections.abc import Iterable
from typing import Any

from siteassess.advice.care_results import SeasonPlan
from siteassess.advice.finding import Finding
from siteassess.advice.packing import packing_notes
from siteassess.advice.results import AnchorResult, Assessment, Clause, LineResult, PullRow, Remedy, RuleCheck
from siteassess.mechanics.gear import PartCheck
from siteassess.mechanics.limit import Outside
from siteassess.papers import wording
from siteassess.reference.findings import English, Said, in_words
from siteassess.reference.texts import text

ANSWER_FORMAT = 1  # grows when a key goes or means something else; a new key alone does not change it


def to_dict(assessment: Assessment) -> dict[str, Any]:
    """The answer of `assess --json`.

    Parameters
    ----------
    assessment : of one record

    Returns
    -------
    A dictionary of strings, finite numbers, booleans, lists and None, ready for `json.dumps(..., allow_nan=False)`.
    Its keys are the command contract: `siteassess_answer`, `site`, `lines`, `trees`, `packing`, `packing_notes`,
    `packing_notes_codes`, `rules`, `assumptions`, `cautions`, `warnings`, `warnings_codes`; all of them are in
    `schema("answer")`. A limit's `demand`, `allowable` and capacities are in its own `unit`.
    """
    site, survey, notes = assessment.record.site, assessment.record.survey, packing_notes(assessment.lines)
    return {
        "siteassess_answer": ANSWER_FORMAT,
        "site": jsonable(
            {
                "name": site.name,
                "invented": site.invented,
                "manager": site.manager,
                "manager_contact": site.manager_contact,
                "land_status": site.land_status,
                "surveyed_by": survey.by,
                "surveyed_on": survey.date,
                "contact": survey.contact,
                "assessed_for": assessment.one_day,
            }
        ),
        "note": text("no-inspection"),
        "lines": [_line(line) for line in assessment.lines],
        "trees": jsonable(assessment.trees),
        "packing": jsonable(assessment.packing),
        "packing_notes": list(in_words(notes)), "packing_notes_codes": jsonable(notes),
        "rules": {code: _rules(check) for code, check in sorted(assessment.rules.items())},
        "assumptions": [one.as_dict() for one in assessment.assumptions],
        "cautions": jsonable(assessment.cautions),
        "warnings": [one.in_words() for one in assessment.warnings],
        "warnings_codes": jsonable(assessment.warnings),
    }


def jsonable(value: Any) -> Any:
    """Dataclasses, records, dates and arrays as plain JSON values; NaN and infinities become None.

    Parameters
    ----------
    value : of an answer

    Returns
    -------
    Fit for `json.dumps(..., allow_nan=False)`.
    """
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    if isinstance(value, Finding):
        return _finding(value)
    if isinstance(value, Remedy):
        return _remedy(value)
    if isinstance(value, SeasonPlan):
        return _plain(value) | {"hygiene": [one.do for one in value.hygiene], "hygiene_codes": jsonable(value.hygiene)}
    if isinstance(value, PullRow):
        return vars(value) | {"limited_by": text("between").join(one.in_words() for one in value.limited_by),
                              "limited_by_codes": jsonable(value.limited_by)}  # fmt: skip
    if isinstance(value, Said):
        part = {} if value.part == "full" else {"part": value.part}
        return {"code": value.code, **part, "says": value.in_words(),
                **{name: jsonable(one) for name, one in value.values}}  # fmt: skip
    if dataclasses.is_dataclass(value):
        return _plain(value)
    if hasattr(value, "model_dump"):
        return jsonable(value.model_dump(mode="json"))
    if isinstance(value, dict):
        return {str(key): jsonable(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [jsonable(item) for item in value]
    if hasattr(value, "tolist"):
        return jsonable(value.tolist())
    number = float(value)
    return number if math.isfinite(number) else None


def _plain(value: Any) -> dict[str, Any]:
    """The fields of a dataclass by name, those of codes as English with the codes beside it."""
    worded = {one.of: name for name, one in vars(type(value)).items() if isinstance(one, English)}
    plain = [part.name for part in dataclasses.fields(value) if part.name not in worded]
    return {name: jsonable(getattr(value, name)) for name in (*plain, *worded.values())} | {
        f"{name}_codes": jsonable(getattr(value, of)) for of, name in worded.items()
    }


def _finding(found: Finding) -> dict[str, Any]:
    """Code and values for programs, and the English wording for people."""
    return {
        "code": found.code, "about": found.about, "effect": found.effect, "rank": found.rank, "short": found.short,
        "says": found.says,
        "condition": found.condition, "do_next": found.do_next, "looked_at": found.looked_at,
        "values": {name: jsonable(value) for name, value in found.values}, "asked": jsonable(found.asked),
        "more": [jsonable(one) for one in found.more],
    }  # fmt: skip


def _remedy(remedy: Remedy) -> dict[str, Any]:
    """The same of a remedy; `still` in English, `still_codes` beside it for programs."""
    rest = {part.name: jsonable(getattr(remedy, part.name)) for part in dataclasses.fields(remedy)}
    del rest["what"]
    return {
        "change": remedy.change, "code": remedy.what.code,
        "values": {name: jsonable(value) for name, value in remedy.what.values},
    } | rest | {"still": list(remedy.conditions), "still_codes": jsonable(remedy.still)}  # fmt: skip


def _line(line: LineResult) -> dict[str, Any]:
    answer: dict[str, Any] = jsonable(line)
    answer["findings"] = jsonable(line.ordered)
    answer["verdict_tail"] = text("verdict-tail")
    answer["assessed_for"] = answer.pop("day")
    answer |= _beside("probability_limits", line.probability_limits)
    answer["anchors"] = [_anchor(anchor) for anchor in line.anchors]
    geometry = answer["geometry"]
    geometry |= _beside("agreement", line.geometry.told) | {"notes_codes": geometry["notes"]}
    geometry["notes"] = [one.in_words() for one in line.geometry.notes]
    answer["reasons"] = list(line.reasons)
    answer |= {"stop_at_n": jsonable(wording.stop_at(line)), "walker_sag_m": jsonable(wording.sag(line))}
    answer["gear"] = [_gear(check) for check in line.gear_checks]
    del answer["sweeps"], answer["gear_checks"]  # curves for pictures; told above
    if line.hauling:
        answer["hauling"] = jsonable(line.hauling.as_dict())
    else:
        del answer["hauling"]
    return answer


def _beside(name: str, told: Said) -> dict[str, Any]:
    return {name: told.in_words(), f"{name}_codes": jsonable(told)}


def _gear(check: PartCheck) -> dict[str, Any]:
    """A part against the load of its place, its keys ending in their unit."""
    name, place = check.told
    return _beside("part", name) | _beside("place", place) | {
        "load_n": jsonable(check.load), "strength_n": jsonable(check.strength), "factor": jsonable(check.factor),
        "wanted": jsonable(check.wanted), "answer": check.answer, "slips_from_n": jsonable(check.slips_from),
    }  # fmt: skip


def _anchor(anchor: AnchorResult) -> dict[str, Any]:
    answer: dict[str, Any] = jsonable(anchor)
    answer["findings"] = jsonable(anchor.ordered)
    answer["conditions"] = list(anchor.conditions)
    answer |= _beside("hold_words", anchor.hold_told) | _beside("care_words", anchor.care_told)
    answer["evidence"] |= {"known": anchor.evidence.known} | _beside("words", anchor.evidence.told)
    answer |= _beside("probability_limits", anchor.probability_limits)
    answer["reasons"] = list(anchor.reasons)
    for told, limit in zip(answer["limits"], anchor.limits):
        told |= {"reason": limit.reason, "do_next": limit.do_next}
        flags = Outside(limit.outside)
        told["outside"] = [str(flag.name).casefold().replace("_", " ") for flag in Outside if flag in flags]
    answer["rules"] = _rules(anchor.rules) if anchor.rules else None
    return answer


def _rules(check: RuleCheck) -> dict[str, Any]:
    told = {part.name: getattr(check, part.name) for part in dataclasses.fields(check)}
    return told | {"clauses": clauses_told(check.clauses)}


def clauses_told(clauses: Iterable[Clause]) -> list[dict[str, Any]]:
    """Each clause in English, with the codes of its parts beside it.

    Parameters
    ----------
    clauses : of a rule set, as judged

    Returns
    -------
    list of dict
        Ready for JSON, numbers in SI.
    """
    return [clause.in_words() | {"codes": {
        "wanted": jsonable(clause.asks), "measured": jsonable(clause.shows), "source": jsonable(clause.cites),
    }} for clause in clauses]  # fmt: skip
