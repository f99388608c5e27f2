"""A thing of a copy as one flat row and as one sentence: what every format of a copy carries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from siteassess.register import reading_records
from siteassess.register.events import canonical

if TYPE_CHECKING:
    from siteassess.register.share import Copy, Shared

# columns of the flat form, in order; a name ends in its unit
COLUMNS: dict[str, str] = {
    "feature": "Kind of thing: site, anchor or line",
    "id": "Name of the thing in the register it comes from",
    "site_id": "Name of its site",
    "site_name": "Park or place",
    "code": "Own short code within the site",
    "may_rig_now": "Whether the line may be rigged on the day of the copy: no, or yes with conditions",
    "may_rig_until": "Last day the answer may hold, where it is yes",
    "may_rig_codes": "The reasons as codes, with a space between them",
    "may_rig_why": "What stands against it, or how long it holds at most; with the day of the copy",
    "status": "Status on the day of the copy: by itself no leave to rig",
    "status_until": "Last day of a closed season or rest",
    "valid_until": "Last day of the group's or owner's mark, whichever ends first",
    "group_mark": "The group's mark on the day of the copy, with its last day",
    "owner_mark": "The owner's mark on the day of the copy, with its last day",
    "conditions": "Conditions of the marks, of the approval, and of the anchors and site it stands on",
    "kind": "Kind of anchor, or use of the line",
    "species": "Species or genus as it was named",
    "girth_m": "Girth over bark; of several stems that of the thinnest",
    "girth_class": "Girth class of a tree whose place is kept back",
    "girth_read_at_m": "Height above ground of the girth reading",
    "accuracy_m": "Stated accuracy of the position, a radius; for a coarsened position the half diagonal of its cell",
    "exact": "yes: the position as surveyed; no: the middle of a grid cell",
    "span_m": "Taped span",
    "anchor_a": "Name of the anchor at end A",
    "anchor_b": "Name of the anchor at end B",
    "layer": "Readers this copy is for",
    "licence": "Licence of this copy",
    "copy_valid_until": "Last day this copy may be relied on as a copy",
    "record": "The record as JSON, as far as this layer may see it",
}
NUMBERS = ("girth_m", "girth_read_at_m", "accuracy_m", "span_m")


def in_words(feature: Shared, copy: Copy) -> str:
    """What a map program shows when a thing is touched: first whether it may be rigged, then why."""
    until = f" until {feature.status_until}" if feature.status_until else ""
    said = [
        f"May rig now: {feature.may_rig_now} ({feature.may_rig_why})", f"Status: {feature.status}{until}",
        f"Group's mark: {feature.group_mark or 'not known'}", f"Owner's mark: {feature.owner_mark or 'not known'}",
        f"Conditions: {feature.conditions or 'none shown in this copy'}",
        f"Copy valid until {copy.copy_valid_until}: ask the group for today's status",
    ]
    return ". ".join(said) + "."


def flat(feature: Shared, copy: Copy) -> dict[str, Any]:
    """A feature as one row of `COLUMNS`; numbers in SI, None where unknown. All out of what the layer may see."""
    record = feature.record
    size = reading_records.girth(record)
    place = reading_records.position(record)
    anchors = feature.anchors or (None, None)
    kind = record.get("kind") if feature.kind == "anchor" else record.get("use")
    return {
        "feature": feature.kind, "id": feature.id, "site_id": feature.site_id, "site_name": feature.site_name,
        "code": feature.code, "may_rig_now": feature.may_rig_now, "may_rig_until": feature.may_rig_until,
        "may_rig_codes": feature.may_rig_codes, "may_rig_why": feature.may_rig_why, "status": feature.status,
        "status_until": feature.status_until, "valid_until": feature.valid_until, "group_mark": feature.group_mark,
        "owner_mark": feature.owner_mark, "conditions": feature.conditions, "kind": kind,
        "species": reading_records.species(record) if feature.kind == "anchor" else None,
        "girth_m": size[0] if size else None, "girth_class": feature.girth_class,
        "girth_read_at_m": size[1] if size else None, "accuracy_m": place[2] if place else None,
        "exact": "yes" if feature.exact else "no",
        "span_m": reading_records.si((record.get("span") or {}).get("taped"), "length"), "anchor_a": anchors[0],
        "anchor_b": anchors[1], "layer": copy.layer, "licence": copy.licence, "copy_valid_until": copy.copy_valid_until,
        "record": canonical(record),
    }
