"""siteassess register: care log, photos, what is due, rota."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.decorators import FC

from siteassess.cli.register import register
from siteassess.cli.register_task import (
    Task,
    dry_run_switch,
    on_option,
    progress,
    store_argument,
    who_option,
    why_option,
    with_task,
)
from siteassess.cli.shared import OutFile, day, give, readers

if TYPE_CHECKING:
    from siteassess.register.writer import Writer

_LOG_OPTIONS = [
    click.option("--date", "date", type=day, metavar="DATE", help="Day; today if not said."),
    click.option("--start", help="use: time it went up, 24 hours."),
    click.option("--end", help="use: time it came down."),
    click.option("--hours", metavar="TIME", help="use: time it stood, for example '3 h', instead of clock times."),
    click.option("--line", help="use: the line."),
    click.option("--people", type=click.IntRange(1, 500), help="use: people."),
    click.option("--pull", metavar="FORCE", help="use: usual pull at this anchor, for example '2.8 kN'."),
    click.option("--pull-how", help="use: load cell, from sag, hauling sum, assessment, guess."),
    click.option("--peak", metavar="FORCE", help="use: highest pull."),
    click.option("--padding", help="use: padding."),
    click.option("--tie-height", metavar="LENGTH", help="use: height of the tie."),
    click.option("--sling-width", metavar="LENGTH", help="use: width of the sling."),
    click.option("--wetness", help="use: dry, moist, wet, standing water, frozen."),
    click.option("--bark-marks", help="use, marks: none, polish, dent, torn, bare wood."),
    click.option("--ground-marks", help="use, marks: none, flattened, bare."),
    click.option("--mark-size", metavar="LENGTH", help="use, marks: size of the mark."),
    click.option("--inspector", help="inspection: by whom."),
    click.option(
        "--standing",
        help="inspection: 'user of the line', 'group coordinator', \"land manager's staff\", "
        "'tree officer', 'qualified arborist'.",
    ),
    click.option("--qualification", help="inspection: qualification; always with 'qualified arborist'."),
    click.option("--level", help="inspection: how it was looked at."),
    click.option("--finding", help="inspection: finding."),
    click.option("--action", help="inspection: action wanted."),
    click.option("--action-due", metavar="DATE", help="inspection: its last day."),
    click.option("--action-done", metavar="DATE", help="inspection: day it was done."),
    click.option("--next-due", metavar="DATE", help="inspection: day of the next one."),
    click.option(
        "--event",
        help="event: storm, damage, root works, rule set changed, disease notice, vandalism, "
        "pruning, complaint, incident, reopened, entries lost, other.",
    ),
    click.option("--until", metavar="DATE", help="rest: last day."),
    click.option("--notes", help="Notes; facts only, a log can become evidence."),
    click.option("--before", multiple=True, type=click.Path(path_type=Path), help="Photo before; JPEG or PNG."),
    click.option("--after", multiple=True, type=click.Path(path_type=Path), help="Photo after."),
]


def _log_options(command: FC) -> FC:
    for option in reversed(_LOG_OPTIONS):
        command = option(command)
    return command


@register.command("log")
@store_argument
@click.argument("subject")
@click.argument("what", type=click.Choice(["use", "marks", "inspection", "event", "rest"]))
@_log_options
@with_task(who_option, why_option("care"), dry_run_switch)
def log(
    task: Task, subject: str, what: str, date: datetime.date | None, line: str | None, before: tuple[Path, ...],
    after: tuple[Path, ...], **said: str | int | None,
) -> None:
    """Add an entry to a tree's care log. Storm, damage and root works make a review due."""
    from siteassess.reference.measures import Measures
    from siteassess.register import actions
    from siteassess.register.care import LOAD_HOURS_NOTE, entry_load_hours
    from siteassess.register.naming import resolve
    from siteassess.register.reasons import sentence

    body: dict[str, Any] = {key: value for key, value in said.items() if value is not None}
    body |= {"what": what, "date": (date or datetime.date.today()).isoformat()}
    with task.opened() as store:
        about = resolve(store, subject)
        if line:
            body["line"] = resolve(store, line, "line")
        with store.change(task.dry_run) as writer:
            shown = (("before", before), ("after", after))
            photos = {when: _photos(writer, about, paths, task) for when, paths in shown if paths}
            if photos:
                body["photos"] = photos
            event = actions.log(writer, about, body, task.by)
    load_hours = entry_load_hours(event.body)
    t = task.words
    lines = [t("li-entry-kept", name=event.name[:10], kept=task.kept)]
    if what == "use":
        known = load_hours is not None
        amount = Measures(task.lang).told(load_hours, "kN h 1") if known else t("li-load-unknown")
        lines.append(t("li-load-hours", amount=amount, note=t.said(LOAD_HOURS_NOTE)))
    values = {"event": event.name, "subject": about, "load_hours_kn_h": load_hours, "note": sentence(LOAD_HOURS_NOTE)}
    task.answer(values, *lines)


def _photos(writer: Writer, about: str, paths: Iterable[Path], task: Task) -> list[str]:
    from siteassess.register import actions
    from siteassess.register.guard import read_bytes
    from siteassess.register.photos import MAX_PHOTO_BYTES

    return [actions.add_photo(writer, about, read_bytes(p, MAX_PHOTO_BYTES), task.by).body["sha256"] for p in paths]


@register.command("photo")
@store_argument
@click.argument("subject")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--shows", help="What it shows.")
@click.option("--taken", metavar="DATE", help="Day it was taken: the photo's own date is stripped with the rest.")
@click.option(
    "--share", type=readers, default="officer", show_default=True,
    help="Widest readers it may reach.",
)
@click.option("--no-people", is_flag=True, help="Nobody can be recognised in it; needed for readers beyond officers.")
@with_task(who_option, why_option("photo"), dry_run_switch)
def photo(
    task: Task, subject: str, file: Path, shows: str | None, taken: str | None, share: str, no_people: bool
) -> None:
    """Keep a photo by its hash, stripped of position and all other metadata."""
    from siteassess.register import actions
    from siteassess.register.guard import read_bytes
    from siteassess.register.naming import resolve
    from siteassess.register.photos import MAX_PHOTO_BYTES

    said = {"shows": shows, "taken": taken, "share": share, "no_people": no_people}
    said = {key: value for key, value in said.items() if value is not None}
    data = read_bytes(file, MAX_PHOTO_BYTES)
    with task.opened() as store:
        about = resolve(store, subject)
        with store.change(task.dry_run) as writer:
            event = actions.add_photo(writer, about, data, task.by, **said)
    values = {"event": event.name, "sha256": event.body["sha256"], "size_bytes": event.body["size_bytes"]}
    task.answer(values, task.words("li-photo-kept", name=event.body["sha256"][:10], kept=task.kept))


@register.command("correct")
@store_argument
@click.argument("entry")
@click.option("--with", "right", metavar="JSON", help="The right entry as JSON; without it the entry is struck out.")
@with_task(who_option, why_option(), dry_run_switch)
def correct(task: Task, entry: str, right: str | None) -> None:
    """Put a log entry, photo, assessment or join right by a later entry; the earlier one stays in the history."""
    import json

    from siteassess.errors import StoreError
    from siteassess.reference.findings import worded
    from siteassess.register import actions

    body = None
    if right is not None:
        with suppress(ValueError, RecursionError):
            body = json.loads(right)
        # nothing, or null, would strike the entry out
        if not isinstance(body, dict):
            raise click.BadParameter(worded("rg-want-json-entry"), param_hint="--with")
    with task.opened() as store:
        named = store.db.execute("SELECT name FROM events WHERE name >= ? AND name < ?", (entry, entry + "g"))
        found = [name for (name,) in named]
        if len(entry) < 8 or len(found) != 1:
            raise StoreError(worded("rg-no-single-entry", name=entry[:20]))
        with store.change(task.dry_run) as writer:
            event = actions.correct(writer, found[0], task.by, body)
    task.answer({"event": event.name, "corrects": found[0]}, task.words("li-corrected", kept=task.kept))


@register.command("assessment")
@store_argument
@click.argument("answer_file", metavar="ANSWER", type=click.Path(path_type=Path))
@with_task(on_option, who_option, why_option("assessment"), dry_run_switch)
def assessment(task: Task, answer_file: Path) -> None:
    """Keep an answer of `siteassess assess FILE --json`, as it was given, with each of its lines."""
    from siteassess import __version__
    from siteassess.register.actions import keep_answer, lines_of_answer
    from siteassess.register.guard import MAX_FILE_BYTES, guarded_text
    from siteassess.register.naming import resolve

    site, lines = lines_of_answer(guarded_text(answer_file, MAX_FILE_BYTES), answer_file.name)
    program = f"siteassess {__version__}"
    with task.opened() as store:
        names = [(resolve(store, f"{site}/{code}", "line"), result) for code, result in lines]
        with store.change(task.dry_run) as writer:
            events = [keep_answer(writer, name, result, task.on, task.by, program) for name, result in names]
    kept_ = [{"line": code, "event": event.name} for (code, _), event in zip(lines, events, strict=True)]
    task.answer({"assessments": kept_}, task.words("li-assessments-kept", count=len(events), kept=task.kept))


@register.command("due")
@store_argument
@click.option("--site", help="One site only.")
@click.option("--days", default=60, show_default=True, type=click.IntRange(0, 3660), help="How far ahead to look.")
@click.option("--ics", type=OutFile(".ics"), help="Also write an iCalendar file.")
@with_task(on_option)
def due_(task: Task, site: str | None, days: int, ics: Path | None) -> None:
    """What is due: reviews, marks that end, seasons, rests, inspections, actions."""
    from siteassess.papers.ical import calendar
    from siteassess.papers.language import words_in
    from siteassess.papers.register_text import due_text
    from siteassess.records.files import write_whole
    from siteassess.register.due import due
    from siteassess.register.naming import resolve
    from siteassess.register.schema import TABLES_OF_THINGS

    on = task.on
    with task.opened() as store:
        sites = {resolve(store, site, "site")} if site else None
        total = sum(store.db.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in TABLES_OF_THINGS)
        with progress(task.words.of("things"), total) as tick:
            items = due(store, on, days, sites, tick)
    if ics:
        stamp = datetime.datetime.now(datetime.UTC)
        title = words_in(task.lang)("li-calendar", register=task.register_file.stem)
        write_whole(calendar(items, stamp, title, task.lang), ics)
    values = {"on": on.isoformat(), "days_ahead_d": days, "due": [item.as_dict() for item in items]}
    give(task.as_json, values, due_text(items, on, days, task.lang))


@register.command("rota")
@store_argument
@click.argument("site")
@click.option("--wetness", default="unknown", show_default=True, help="Ground today: dry, moist, wet, standing water.")
@with_task(on_option)
def rota_(task: Task, site: str, wetness: str) -> None:
    """Whose turn it is: lines by load-hours, wetness and season, and each tree's share."""
    from typing import get_args

    from siteassess.papers.register_text import rota_text
    from siteassess.records.anchor import Wetness
    from siteassess.reference.findings import worded
    from siteassess.register.naming import resolve
    from siteassess.register.reasons import sentence
    from siteassess.register.rota import rota

    if wetness not in get_args(Wetness):
        raise click.BadParameter(worded("rg-want-wetness", words=get_args(Wetness)), param_hint="--wetness")
    with task.opened() as store:
        found = rota(store, resolve(store, site, "site"), task.on, wetness)
    turns = [
        {
            "line": t.label, "subject": t.subject, "advice": t.advice, "may_rig_now": t.may_rig_now,
            "may_rig_until": t.may_rig_until, "reasons": [why.as_dict() for why in t.reasons], "use_index": t.index,
            "uses_without_pull_or_time": t.uses_unknown,
        }
        for t in found.turns
    ]
    uses = [
        {
            "anchor": name, "uses": u.uses, "hours_h": u.hours, "load_hours_kn_h": u.load_hours_kn_h,
            "share_of_load_hours": share, "last_used": u.last_used,
        }
        for name, u, share in found.uses
    ]
    values = {"turns": turns, "anchors": uses, "note": sentence(found.note)}
    give(task.as_json, values, rota_text(found, task.lang))

