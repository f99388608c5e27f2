"""One HTML page of a copy that needs nothing else: no script, no network, no picture from elsewhere."""

from __future__ import annotations

from html import escape

from siteassess.register.answer import MAY
from siteassess.register.columns import flat
from siteassess.register.share import Copy, Feature

_STYLE = (
    "body{font:16px/1.45 sans-serif;color:#111;background:#fff;margin:1rem auto;max-width:60rem;padding:0 1rem}"
    "h1{font-size:1.4rem}h2{font-size:1.15rem;border-top:2px solid #111;padding-top:.6rem;margin-top:1.6rem}"
    "table{border-collapse:collapse;width:100%}th,td{border:1px solid #777;padding:.3rem .45rem;text-align:left;"
    "vertical-align:top}th{background:#eee}.wide{overflow-x:auto}dl{display:grid;grid-template-columns:max-content 1fr;"
    "gap:.2rem .8rem}dt{font-weight:bold}dd{margin:0;overflow-wrap:anywhere}"
    ".stop{white-space:nowrap;font-weight:bold;border:2px solid #111;padding:0 .3rem}"
    "@media print{body{max-width:none;margin:0}h2{break-after:avoid}tr{break-inside:avoid}}"
)
# a page that runs and loads nothing, whatever text slips into it
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
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
    parts = [
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{escape(_POLICY)}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(copy.title)}</title><style>{_STYLE}</style></head><body><main>",
        f"<h1>{escape(copy.title)}</h1><ul>",
        *(f"<li>{escape(caution)}</li>" for caution in copy.cautions),
        "</ul><dl>",
        *(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in facts),
        f"</dl><p>{_BOXES}</p>",
    ]
    for site in (feature for feature in copy.features if feature.kind == "site"):
        parts += _site(site, [f for f in copy.features if f.site_id == site.id and f is not site], copy)
    return "".join([*parts, "</main></body></html>\n"])


def _site(site: Feature, features: list[Feature], copy: Copy) -> list[str]:
    invented = " (invented, for teaching)" if site.record.get("invented") else ""
    head = f"Status of the park: {_status(site)}, no leave to rig by itself. Place: {_place_words(site)}"
    parts = [f"<h2>{escape(site.site_name)}{invented}</h2><p>{head}</p>"]
    for kind, title in (("line", "Lines"), ("anchor", "Anchors")):
        rows = [feature for feature in features if feature.kind == kind]
        if rows:
            parts.append(_table(title, rows, copy))
    return parts


def _table(title: str, features: list[Feature], copy: Copy) -> str:
    rows = [_row(feature, copy) for feature in features]
    shown = [(key, name) for key, name in _COLUMNS if any(row[key] for row in rows)]
    head = "".join(f'<th scope="col">{escape(name)}</th>' for _, name in shown)
    body = "".join("<tr>" + "".join(f"<td>{row[key]}</td>" for key, _ in shown) + "</tr>" for row in rows)
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    return f'<h3>{title}</h3><div class="wide" tabindex="0">{table}</div>'


def _row(feature: Feature, copy: Copy) -> dict[str, str]:
    row = {key: _words(value) for key, value in flat(feature, copy).items()}
    if feature.kind == "line" and not row["conditions"]:
        row["conditions"] = "none written down: ask the group"
    return {**row, "may_rig": _may_rig(feature), "status": _status(feature), "place": _place_words(feature)}


def _may_rig(feature: Feature) -> str:
    word = escape(feature.may_rig_now)
    shown = word if feature.may_rig_now == MAY else f'<span class="stop">{word}</span>'
    return f"{shown}<br>{escape(feature.may_rig_why)}"


def _status(feature: Feature) -> str:
    until = f" until {feature.status_until}" if feature.status_until else ""
    text = escape(feature.status + until)
    return text if feature.is_open else f'<span class="stop">{text}</span>'


def _place_words(feature: Feature) -> str:
    if not feature.points:
        return "" if feature.kind == "line" else "position not shown"
    if feature.kind == "line":
        return ""
    lon, lat = feature.points[0]
    return f"{lat:.6f}, {lon:.6f}" if feature.exact else f"about {lat:.3f}, {lon:.3f}"


def _words(value) -> str:
    if value is None:
        return ""
    return f"{value:.2f}" if isinstance(value, float) else escape(str(value))
