"""One HTML page of a copy that needs nothing else: no script, no network, no picture from elsewhere."""

from __future__ import annotations

from typing import Any

from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import word
from siteassess.reference.measures import COARSE, Measures, lat_long
from siteassess.reference.pages import part, render
from siteassess.reference.texts import cautions
from siteassess.register.answer import MAY
from siteassess.register.columns import flat
from siteassess.register.crowd import edges_of
from siteassess.register.reasons import licence_told
from siteassess.register.share import Copy, Shared

_COLUMNS = {
    "code": "cp-code", "may_rig": "may-rig", "kind": "cp-kind", "species": "cp-species", "girth_m": "cp-girth",
    "girth_class": "cp-girth-class", "span_m": "cp-span", "status": "status-here", "group": "cp-group-mark",
    "owner": "cp-owner-mark", "conditions": "conditions", "place": "cp-place",
}


def copy_page(copy: Copy, language: str = "en") -> str:
    """The page of a copy, whole.

    Parameters
    ----------
    copy : as `register.share` makes it
    language : to tell it in
    """
    t = words_in(language)
    facts = [
        (t("cp-readers"), t.of(copy.layer)), (t("cp-licence"), licence_told(copy.licence, language)),
        (t("printed"), copy.made_on),
        (t("cp-valid"), copy.copy_valid_until), (t("register-head"), ", ".join(copy.heads)),
    ]
    return render(
        "copy", styles=[part("report.css"), part("copy.css")], language=language, t=t, title=copy.title,
        cautions=cautions(language, on="copy"), facts=facts,
        sites=sites_told(copy, t),
    )


def sites_told(copy: Copy, t: Words) -> list[dict[str, Any]]:
    """Each park of a copy with its tables of lines and anchors, as pages show them.

    Parameters
    ----------
    copy : as `register.share` makes it
    t : words of the language

    Returns
    -------
    list of dict
        What the templates of such tables read.
    """
    return [_site(feature, copy, t) for feature in copy.features if feature.kind == "site"]


def _site(site: Shared, copy: Copy, t: Words) -> dict[str, Any]:
    of_it = [feature for feature in copy.features if feature.site_id == site.id and feature is not site]
    tables = []
    for kind, title in (("line", "map-lines-head"), ("anchor", "map-anchors")):
        if rows := [_row(feature, copy, t) for feature in of_it if feature.kind == kind]:
            columns = [(key, t(name)) for key, name in _COLUMNS.items() if any(row[key] for row in rows)]
            tables.append({"kind": kind, "title": t(title), "rows": rows, "columns": columns})
    return {
        "id": site.id, "name": site.site_name, "invented": bool(site.record.get("invented")),
        "status": _status(site, t),
        "is_open": site.is_open, "place": _place(site, t), "tables": tables,
    }


def _row(feature: Shared, copy: Copy, t: Words) -> dict[str, Any]:
    row, m = flat(feature, copy), Measures(t.language)
    none = t("cp-no-conditions") if feature.kind == "line" else ""
    return {
        "id": feature.id, "code": feature.code,
        "may_rig": t.of(feature.may_rig_now), "may": feature.may_rig_now == MAY,
        "why": t.said(feature.why) if feature.why else "", "kind": _kind(row["kind"] or "", feature, t),
        "species": row["species"] or "", "girth_class": _girth_class(feature.girth_class, t, m),
        **{key: "" if row[key] is None else m.number(row[key], 2) for key in ("girth_m", "span_m")},
        **{by: t.mark(feature.marks[by]) if by in feature.marks else "" for by in ("group", "owner")},
        "conditions": t("between").join(map(t.said, feature.conditions_told)) or none,
        "status": _status(feature, t), "is_open": feature.is_open, "place": _place(feature, t),
    }


def _kind(kind: str, feature: Shared, t: Words) -> str:
    return word(kind, t.language) if feature.kind == "anchor" else t.of(kind)


def _girth_class(name: str | None, t: Words, m: Measures) -> str:
    if name is None or (edges := edges_of(name)) is None:
        return name or ""
    low, high = (edge and m.length(edge) for edge in edges)
    if low and high:
        return t("cp-from-to-under", low=low, high=high)
    return t("cp-and-more", low=low) if low else t("cp-under", high=high)


def _status(feature: Shared, t: Words) -> str:
    until = f" {t('until')} {feature.status_until}" if feature.status_until else ""
    return t.of(feature.status) + until


def _place(feature: Shared, t: Words) -> str:
    if feature.kind == "line":
        return ""
    if not feature.points:
        return t("cp-no-place")
    lon, lat = feature.points[0]
    return lat_long(lat, lon) if feature.exact else t("cp-about", place=lat_long(lat, lon, COARSE))
