"""One HTML page of a copy that needs nothing else: no script, no network, no picture from elsewhere."""

from __future__ import annotations

from typing import Any

from siteassess.reference.measures import COARSE, position
from siteassess.reference.pages import part, render
from siteassess.register.answer import MAY
from siteassess.register.columns import flat
from siteassess.register.share import Copy, Shared

_BOXES = (
    "A boxed word means: do not rig there now. No box is not yet leave: only a line whose entry under "
    "“May rig now” says yes was open on the day this copy was made, under the conditions beside it, and only "
    "if your own look that day finds nothing new."
)
_COLUMNS = (
    ("code", "Code"),
    ("may_rig", "May rig now"),
    ("kind", "Kind"),
    ("species", "Species"),
    ("girth_m", "Girth (m)"),
    ("girth_class", "Girth class"),
    ("span_m", "Span (m)"),
    ("status", "Status"),
    ("group_mark", "Group's mark"),
    ("owner_mark", "Owner's mark"),
    ("conditions", "Conditions"),
    ("place", "Latitude, longitude (deg)"),
)


def write(copy: Copy) -> str:
    """The page."""
    facts = [
        ("Readers", copy.layer),
        ("Licence", copy.licence),
        ("Made on", copy.made_on),
        ("This copy is valid until", copy.copy_valid_until),
        ("Head of the register", ", ".join(copy.heads)),
    ]
    return render(
        "copy", styles=[part("copy.css")], title=copy.title, cautions=copy.cautions, facts=facts, boxes=_BOXES,
        sites=[_site(feature, copy) for feature in copy.features if feature.kind == "site"],
    )


def _site(site: Shared, copy: Copy) -> dict[str, Any]:
    of_it = [feature for feature in copy.features if feature.site_id == site.id and feature is not site]
    tables = []
    for kind, title in (("line", "Lines"), ("anchor", "Anchors")):
        if rows := [_row(feature, copy) for feature in of_it if feature.kind == kind]:
            columns = [(key, name) for key, name in _COLUMNS if any(row[key] for row in rows)]
            tables.append({"title": title, "rows": rows, "columns": columns})
    return {
        "name": site.site_name, "invented": bool(site.record.get("invented")), "status": _status(site),
        "is_open": site.is_open, "place": _place_words(site), "tables": tables,
    }


def _row(feature: Shared, copy: Copy) -> dict[str, Any]:
    row = {key: _words(value) for key, value in flat(feature, copy).items()}
    if feature.kind == "line" and not row["conditions"]:
        row["conditions"] = "none written down: ask the group"
    return {
        **row, "may_rig": feature.may_rig_now, "may": feature.may_rig_now == MAY, "why": feature.may_rig_why,
        "status": _status(feature), "is_open": feature.is_open, "place": _place_words(feature),
    }


def _status(feature: Shared) -> str:
    return feature.status + (f" until {feature.status_until}" if feature.status_until else "")


def _place_words(feature: Shared) -> str:
    if not feature.points:
        return "" if feature.kind == "line" else "position not shown"
    if feature.kind == "line":
        return ""
    lon, lat = feature.points[0]
    return position(lat, lon) if feature.exact else f"about {position(lat, lon, COARSE)}"


def _words(value: object) -> str:
    if value is None:
        return ""
    return f"{value:.2f}" if isinstance(value, float) else str(value)
