"""A thing of a copy as one flat row and as one sentence: what every format of a copy carries.

What a column means, and the sentence, are worded in `register_texts`. A copy's texts are in its language; names of
columns, statuses and whether a line may be rigged are those of other programs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from siteassess.reference.texts import text
from siteassess.register import reading_records, reasons
from siteassess.register.events import canonical
from siteassess.register.reasons import reason

if TYPE_CHECKING:
    from siteassess.register.share import Copy, Shared

# columns of the flat form, in order; a name ends in its unit
COLUMNS = (
    "feature", "id", "site_id", "site_name", "code", "may_rig_now", "may_rig_until", "may_rig_codes", "may_rig_why",
    "status", "status_until", "valid_until", "group_mark", "owner_mark", "conditions", "kind", "species", "girth_m",
    "girth_class", "girth_read_at_m", "accuracy_m", "exact", "span_m", "anchor_a", "anchor_b", "layer", "licence",
    "copy_valid_until", "record",
)
NUMBERS = ("girth_m", "girth_read_at_m", "accuracy_m", "span_m")
DAYS = ("may_rig_until", "status_until", "valid_until", "copy_valid_until")


def described(feature: Shared, copy: Copy) -> str:
    """What a map program shows when a thing is touched: first whether it may be rigged, then why."""
    language = copy.language
    unknown = text("not-known", language)
    status = reason("status-until", word=feature.status, day=feature.status_until)
    told = reason(
        "described", word=feature.may_rig_now, why=_why(feature, copy), day=copy.copy_valid_until,
        status=reasons.sentence(status, language, group="copy") if feature.status_until
        else reasons.word_here(feature.status, language),
        group=_mark("group", feature, copy) or unknown, owner=_mark("owner", feature, copy) or unknown,
        conditions=_conditions(feature, copy) or reasons.sentence(reason("no-conditions"), language, group="copy"),
    )
    return reasons.sentence(told, language, group="copy")


def _why(feature: Shared, copy: Copy) -> str:
    return reasons.sentence(feature.why, copy.language) if feature.why else feature.may_rig_why


def _mark(by: str, feature: Shared, copy: Copy) -> str | None:
    state = feature.marks.get(by)
    return reasons.sentence(state, copy.language, group="mark") if state else None


def _conditions(feature: Shared, copy: Copy) -> str | None:
    told = (reasons.text_of(one, copy.language) for one in feature.conditions_told)
    return text("between", copy.language).join(told) or feature.conditions


def flat(feature: Shared, copy: Copy) -> dict[str, Any]:
    """A feature as one row of `COLUMNS`; numbers in SI, None where unknown. All out of what the layer may see.

    Parameters
    ----------
    feature : of the copy
    copy : that it is told in

    Returns
    -------
    By column.
    """
    record = feature.record
    size = reading_records.girth(record)
    place = reading_records.position(record)
    anchors = feature.anchors or (None, None)
    kind = record.get("kind") if feature.kind == "anchor" else record.get("use")
    return {
        "feature": feature.kind, "id": feature.id, "site_id": feature.site_id, "site_name": feature.site_name,
        "code": feature.code, "may_rig_now": feature.may_rig_now, "may_rig_until": feature.may_rig_until,
        "may_rig_codes": feature.may_rig_codes, "may_rig_why": _why(feature, copy), "status": feature.status,
        "status_until": feature.status_until, "valid_until": feature.valid_until,
        "group_mark": _mark("group", feature, copy), "owner_mark": _mark("owner", feature, copy),
        "conditions": _conditions(feature, copy), "kind": kind,
        "species": reading_records.species(record) if feature.kind == "anchor" else None,
        "girth_m": size[0] if size else None, "girth_class": feature.girth_class,
        "girth_read_at_m": size[1] if size else None, "accuracy_m": place[2] if place else None,
        "exact": "yes" if feature.exact else "no",
        "span_m": reading_records.si((record.get("span") or {}).get("taped"), "length"), "anchor_a": anchors[0],
        "anchor_b": anchors[1], "layer": copy.layer, "licence": copy.licence, "copy_valid_until": copy.copy_valid_until,
        "record": canonical(record),
    }
