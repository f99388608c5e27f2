"""The log of trees for one year, appendix to their care sheet, and the yearly summary for the land manager."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

from siteassess.papers.from_register import LogRow, SiteYear, TreeYear
from siteassess.papers.handover import Manner, page
from siteassess.papers.language import Words, trunk_told
from siteassess.papers.photos import small_picture
from siteassess.reference.measures import Measures
from siteassess.reference.pages import plain
from siteassess.register import reading_records

PHOTO_NAME = 12  # characters of a photo's hash that are printed
USE_HEADS = ("date", "time", "hours", "line", "people", "pull", "total-load-hours", "tie-height", "padding", "wetness",
             "bark-marks", "ground-marks", "photo-before", "photo-after", "who-wrote")  # fmt: skip
MARK_HEADS = ("date", "bark-marks", "ground-marks", "size", "photos", "notes", "who-wrote")
INSPECTION_HEADS = ("date", "by", "standing-of", "finding", "action", "next-check")
EVENT_HEADS = ("date", "c-events", "notes", "photos", "who-wrote")
TREE_HEADS = ("tag", "code", "species", "status-here", "total-uses", "total-hours", "total-load-hours",
              "share-of-site", "y-worst-bark", "y-worst-ground", "y-open")  # fmt: skip
REST_HEADS = ("date", "until", "notes", "who-wrote")


def care_log_page(site: SiteYear, how: Manner, trees: tuple[TreeYear, ...] | None = None, other: str = "") -> str:
    """The log in full as text, one tree to a page.

    Parameters
    ----------
    site : the site's year, see `from_register.site_year`
    how : language and units
    trees : those wanted; None takes all that have an entry in the year
    other : name of the file of the sheet it belongs to
    """
    t, m = how.words, how.measures()
    chosen = tuple(tree for tree in site.trees if tree.has_entries) if trees is None else trees
    return page(
        "carelog", how, subtitle=str(site.year),
        **care_frame(site, how, [tree.code for tree in chosen]), other=other,
        trees=[_sheet(tree, site, how, m) for tree in chosen],
        use_heads=[t(key) for key in USE_HEADS], mark_heads=[t(key) for key in MARK_HEADS],
        inspection_heads=[t(key) for key in INSPECTION_HEADS], event_heads=[t(key) for key in EVENT_HEADS],
        rest_heads=[t(key) for key in REST_HEADS],
    )  # fmt: skip


def year_page(site: SiteYear, how: Manner) -> str:
    """The yearly summary as text."""
    t, m = how.words, how.measures()
    inspections = [(tree.code, row) for tree in site.trees for row in tree.inspections]
    events = [(tree.code, row) for tree in site.trees for row in tree.events]
    return page(
        "year", how, subtitle=str(site.year), **care_frame(site, how, []),
        year=site.year,
        sums=[
            (t("y-days"), str(site.times_up)), (t("total-uses"), str(site.uses)),
            (t("total-load-hours"), _at_least(site.load_hours_kn_h, site.uses_unknown, how, m)),
            (t("uses-uncounted"), str(site.uses_unknown)), (t("y-incidents"), str(site.count("incident"))),
            (t("y-complaints"), str(site.count("complaint"))),
            (t("y-withdrawn"), ", ".join(site.withdrawn) or t("none")),
        ],
        tree_heads=[t(key) for key in TREE_HEADS],
        trees=[_tree_row(tree, how, m) for tree in site.trees],
        line_heads=[t(key) for key in ("line", "status-here", "y-marks-until", "y-days", "notes")],
        lines=[
            [line.code, t.of(line.standing.status), line.standing.valid_until or t("none"), str(line.times_up),
             t.why(line.standing.reasons)]
            for line in site.lines
        ],
        inspection_heads=[t("code"), *(t(key) for key in INSPECTION_HEADS)],
        inspections=[[code, *_inspection(row, how)] for code, row in inspections],
        event_heads=[t("code"), *(t(key) for key in EVENT_HEADS)],
        events=[[code, *_event(row, how)] for code, row in events],
        due_heads=[t("date"), t("code"), t("y-due"), t("notes")],
        due=[[item.date, item.label, t.why((item.what,)), item.wrote or t.why(item.why)] for item in site.due],
        conflicts=[f"{name}{t('colon')} {t.why((what,))}" for name, what in site.conflicts],
    )  # fmt: skip


def care_frame(site: SiteYear, how: Manner, codes: list[str], place: str = "") -> dict[str, Any]:
    """Head and foot of a paper of the register.

    Parameters
    ----------
    site : the site's year
    how : language and units
    codes : of the trees it is about
    place : the site's name, where the paper has no room for all of it
    """
    t = how.words
    manager = plain(site.record.get("manager") or t("not-recorded"))
    return {
        "place": place or site.name, "invented": bool(site.record.get("invented")),
        "heads": site.heads, "licence": site.licence,
        "facts": [f"{t.with_colon(key)} {value}"
                  for key, value in (("year-of", site.year), ("manager", manager), ("printed", how.day))],
        "version_of": [site.heads, site.year, codes],
    }  # fmt: skip


def _at_least(total: float, unknown: int, how: Manner, m: Measures) -> str:
    """A sum of load-hours; uses that cannot be counted make it a lower bound."""
    return f"{how.words('at-least')} {m.number(total)}" if unknown else m.number(total)


def _sheet(tree: TreeYear, site: SiteYear, how: Manner, m: Measures) -> dict[str, Any]:
    t = how.words
    pictures = [(t("photo-before"), tree.first_before), (t("photo-after"), tree.last_after)]
    drawn = [(words, small_picture(data)) for words, data in pictures if data]
    return {
        "tree": tree,
        "sums": [
            (t("total-uses"), str(tree.total.uses)), (t("total-hours"), m.number(tree.total.hours)),
            (t("total-load-hours"), _at_least(tree.total.load_hours_kn_h, tree.total.uses_unknown, how, m)),
            (t("uses-uncounted"), str(tree.total.uses_unknown)), (t("share-of-site"), m.share(tree.share)),
            (t("c-rests"), until_told(tree.resting_until, how) if tree.resting_until else t("none")),
            (t("y-open"), t("between").join(row.body["action"] for row in tree.open_actions) or t("none")),
        ],
        "lines": [f"{line.code}{t('colon')} {t.of(line.answer.word)}{t('between')}{t.why(line.answer.reasons)}"
                  for line in site.lines if line.id in tree.lines],
        "uses": [_use(row, how, m) for row in tree.uses],
        "marks": [_mark(row, how) for row in tree.marks],
        "inspections": [_inspection(row, how) for row in tree.inspections],
        "events": [_event(row, how) for row in tree.events],
        "rests": [[row.body["date"], until_told(row.body.get("until") or "9999-12-31", how),
                   row.body.get("notes") or "", _who(row, how)] for row in tree.rests],
        "girths": [f"{girth.day or t('c-undated', day=girth.entered)}{t('colon')} "
                   f"{trunk_told(girth.reading, girth.stems, t)}" for girth in tree.girths],
        "pair": [(words, source) for words, source in drawn if source],
    }  # fmt: skip


def until_told(day: str, how: Manner) -> str:
    """The last day of a rest in words, "9999-12-31" for one without an end."""
    return how.words("no-end") if day == "9999-12-31" else f"{how.words('until')} {day}"


def _pull(pull: float | None, how: str | None, t: Words, m: Measures) -> str:
    if pull is None:
        return t("not-recorded")
    return m.force(pull) + (f" ({t.of(how)})" if how not in (None, "unknown") else "")


def _use(row: LogRow, how: Manner, m: Measures) -> list[str]:
    t, body = how.words, row.body
    pull = reading_records.si(body.get("pull"), "force")
    clock = f"{body['start']} - {body['end']}" if body.get("start") else t("not-recorded")
    return [
        body["date"], clock, m.number(row.hours), row.line or t("not-recorded"),
        str(body.get("people") or t("not-recorded")), _pull(pull, body.get("pull_how"), t, m),
        m.number(row.load_hours_kn_h), m.length(reading_records.si(body.get("tie_height"), "length"), 2),
        body.get("padding") or t("not-recorded"), t.of(body.get("wetness", "unknown")),
        _marks(body, "bark_marks", how), _marks(body, "ground_marks", how), _photos(body, ("before",), how),
        _photos(body, ("after",), how), _who(row, how),
    ]  # fmt: skip


def _marks(body: Mapping[str, Any], which: str, how: Manner) -> str:
    told = how.words.of(body.get(which, "not looked"))
    return f"{told}, {body['mark_size']}" if which == "bark_marks" and body.get("mark_size") else told


def _photos(body: Mapping[str, Any], sides: tuple[str, ...], how: Manner) -> str:
    photos = body.get("photos") or {}
    names = itertools.chain.from_iterable(photos.get(side, ()) for side in sides)
    return ", ".join(name[:PHOTO_NAME] for name in names) or how.words("none")


def _who(row: LogRow, how: Manner) -> str:
    """Who wrote it, and whether it was put right later."""
    extra = how.words("disputed") if row.disputed else how.words("corrected") if row.corrected else ""
    return f"{row.who} ({extra})" if extra else row.who


def _mark(row: LogRow, how: Manner) -> list[str]:
    body = row.body
    return [body["date"], how.words.of(body.get("bark_marks", "not looked")),
            how.words.of(body.get("ground_marks", "not looked")), body.get("mark_size") or how.words("not-recorded"),
            _photos(body, ("before", "after"), how), body.get("notes") or "", _who(row, how)]  # fmt: skip


def _inspection(row: LogRow, how: Manner) -> list[str]:
    t, body = how.words, row.body
    standing = t.of(body["standing"]) + (f", {body['qualification']}" if body.get("qualification") else "")
    level = f" ({body['level']})" if body.get("level") else ""
    return [body["date"], body["inspector"], standing, body["finding"] + level, _action(body, how),
            body.get("next_due") or t("none")]  # fmt: skip


def _action(body: Mapping[str, Any], how: Manner) -> str:
    t = how.words
    if not body.get("action"):
        return t("none")
    done, last = body.get("action_done"), body.get("action_due") or t("not-recorded")
    when = f"{t('done-on')} {done}" if done else f"{t('open')}, {t('due-on')} {last}"
    return f"{body['action']} ({when})"


def _event(row: LogRow, how: Manner) -> list[str]:
    body = row.body
    return [body["date"], how.words.of(body["event"]), body.get("notes") or "", _photos(body, ("before", "after"), how),
            _who(row, how)]  # fmt: skip


def _kind(tree: TreeYear, how: Manner) -> str:
    return tree.species or (how.words.of("unknown") if tree.kind == "tree" else how.words.of(tree.kind))


def _tree_row(tree: TreeYear, how: Manner, m: Measures) -> list[str]:
    t = how.words
    return [
        tree.tag or t("tag-none"), tree.code, _kind(tree, how), t.of(tree.status or None), str(tree.total.uses),
        m.number(tree.total.hours), _at_least(tree.total.load_hours_kn_h, tree.total.uses_unknown, how, m),
        m.share(tree.share), t.of(tree.heaviest("bark_marks")), t.of(tree.heaviest("ground_marks")),
        t("between").join(row.body["action"] for row in tree.open_actions) or t("none"),
    ]  # fmt: skip
