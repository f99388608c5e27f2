"""siteassess register: the group's store, its approvals and its care log. Heavy imports stay inside the commands."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from siteassess.cli.register_task import (
    Task,
    dry_run_switch,
    needs_who,
    on_option,
    progress,
    set_right_switch,
    store_argument,
    who_option,
    why_option,
    with_task,
)
from siteassess.cli.shared import give, not_blank, note, readers

if TYPE_CHECKING:
    from siteassess.papers.language import Words
    from siteassess.register.events import Event


@click.group()
def register() -> None:
    """The group's store of approved places: history, approvals, care log, sharing, merge.

    One GeoPackage file. Nothing in it is ever changed or deleted: a later entry replaces an earlier one. A thing is
    named SITE, SITE/CODE, CODE where only one site has it, or by the first 8 characters of its name.
    """


@register.command("init")
@store_argument
@click.option("--title", required=True, help="Name of the group or list.")
@click.option("--licence", default="group only", show_default=True, help="Licence written into every copy.")
@with_task(who_option, dry_run_switch)
def init(task: Task, title: str, licence: str) -> None:
    """Begin a register in a new file."""
    import tempfile

    from siteassess.register.opening import there_already
    from siteassess.register.store import Store

    if task.dry_run:
        if task.register_file.exists():
            raise there_already(task.register_file)
        with tempfile.TemporaryDirectory() as folder:
            Store.create(Path(folder) / "try.gpkg", title=title, who=task.who, licence=licence).close()
        task.answer({"register": task.register_file.name}, task.kept)
        return
    with Store.create(task.register_file, title=title, who=task.who, licence=licence) as store:
        heads = store.heads()
    t, values = task.words, {"register": task.register_file.name, "heads": heads}
    begun = t("li-begun", file=task.register_file.name, head=heads[0])
    task.answer(values, begun, f"{t('li-note-head')} {t('li-names-claimed')}")


@register.command("add")
@store_argument
@click.argument("record_file", metavar="RECORD", type=click.Path(path_type=Path))
@click.option("--share", type=readers, help="Widest readers it may reach.")
@click.option("--sensitive", multiple=True, metavar="CODE", help="Anchor whose exact point stays with the officers.")
@with_task(who_option, why_option(), dry_run_switch)
def add(task: Task, record_file: Path, share: str | None, sensitive: tuple[str, ...]) -> None:
    """Take in a site record: new things, or a new survey of what is listed under the same site and code."""
    from siteassess.errors import UnknownName
    from siteassess.records.reading import read_record
    from siteassess.reference.findings import worded
    from siteassess.register.actions import add_record

    record = read_record(record_file).model_dump(mode="json", exclude_unset=True)
    codes = {anchor["code"] for anchor in record.get("anchors", ())}
    if unknown := sorted(set(sensitive) - codes):
        code = "rg-sensitive-unknown" if codes else "rg-sensitive-none"
        raise UnknownName(worded(code, codes=unknown, anchors=sorted(codes)))
    with task.opened() as store:
        before = store.count()
        with store.change(task.dry_run) as writer:
            names = add_record(writer, record, task.by, share=share, sensitive=sensitive)
            added = store.count() - before
        heads = store.heads()
    t, lines = task.words, []
    for what, name in names.items():
        kind, *called = what.split(" ", 1)
        lines.append(f"{' '.join((t.of(kind), *called))}{t('colon')} {name[:10]}")
    values = {"subjects": names, "changes": added, "heads": heads}
    counted = "li-one-change" if added == 1 else "li-changes"
    task.answer(values, *lines, t(counted, count=added, kept=task.kept) if added else t("li-nothing-new"))


@register.command("list")
@store_argument
@click.option("--site", help="One site only.")
@click.option("--status", help="One status only.")
@with_task(on_option)
def list_(task: Task, site: str | None, status: str | None) -> None:
    """What is listed, with today's status and its reasons."""
    from siteassess.papers.register_text import list_text
    from siteassess.register.listing import listed_rows
    from siteassess.register.naming import resolve

    on = task.on
    with task.opened() as store:
        wanted = resolve(store, site, "site") if site else None
        found = [row for row in listed_rows(store, on, wanted) if status is None or row.status == status]
        heads = store.heads()
    values = {"on": on.isoformat(), "heads": heads, "rows": [row.as_dict() for row in found]}
    give(task.as_json, values, list_text(found, on, task.lang))


@register.command("show")
@store_argument
@click.argument("subject")
@with_task(on_option)
def show(task: Task, subject: str) -> None:
    """One thing: record, status, marks, news, what is legal next, conflicts side by side."""
    from siteassess.papers.register_text import show_text
    from siteassess.register.listing import details
    from siteassess.register.naming import resolve

    with task.opened() as store:
        found = details(store, resolve(store, subject), task.on)
    give(task.as_json, found.as_dict, show_text(found, task.lang))


@register.command("history")
@store_argument
@click.argument("subject", required=False)
@with_task()
def history(task: Task, subject: str | None) -> None:
    """Every change: when, who, why, what it replaces."""
    from siteassess.register.listing import event_told
    from siteassess.register.naming import resolve

    with task.opened() as store:
        events = store.events(resolve(store, subject) if subject else None)
        heads = store.heads()
    values = {"heads": heads, "events": [event_told(event) for event in events]}
    t = task.words
    lines = (_entry(event, t) + _replaced(event, t) for event in events)
    give(task.as_json, values, (*lines, t("li-heads", heads=", ".join(heads))))


def _entry(event: Event, t: Words) -> str:
    moment, kind = event.recorded[:16], t.of(event.kind)
    return t("li-entry", moment=moment, name=event.name[:10], kind=kind, who=event.who, why=event.why)


def _replaced(event: Event, t: Words) -> str:
    return t("li-replaces", names=", ".join(name[:10] for name in event.replaces)) if event.replaces else ""


@register.command("verify")
@store_argument
@click.option("--head", "noted", multiple=True, help="A head noted elsewhere, whole or its first 16 characters.")
@with_task()
def verify_(task: Task, noted: tuple[str, ...]) -> None:
    """Find altered or missing changes and photos; against a noted head also a cut-off or rewritten history."""
    from siteassess.register.verify import verify

    t = task.words
    with task.opened() as store:
        with progress(t.of("changes"), store.count()) as tick:
            findings = verify(store, noted, tick)
        count, heads = store.count(), store.heads()
    found = "li-wrong" if findings else "li-verified"
    counted = t(found, count=count, wrong=len(findings))
    values = {"changes": count, "heads": heads, "findings": list(map(vars, findings)), "whole": not findings}
    give(task.as_json, values, (*map(task.told, map(str, findings)), counted,
                                  t("li-heads", heads=", ".join(heads))))
    if not noted:
        note(t("li-no-noted-head"))
    if findings:
        sys.exit(1)


@register.command("redraw")
@store_argument
@with_task(dry_run_switch)
def redraw(task: Task) -> None:
    """Draw the tables that map programs show anew from the history."""
    t = task.words
    with task.opened() as store:
        total = store.db.execute("SELECT count(DISTINCT subject) FROM events").fetchone()[0]
        with progress(t.of("things"), total) as tick:
            store.redraw_all(tick, task.dry_run)
    task.answer({"subjects": total}, t("li-drawn", count=total, kept=task.kept))


@register.command("salvage")
@click.argument("register_file", metavar="DAMAGED", type=click.Path(path_type=Path))
@click.argument("new", metavar="NEW", type=click.Path(path_type=Path))
@with_task(on_option, who_option, why_option("salvage"), dry_run_switch)
def salvage_(task: Task, new: Path) -> None:
    """Bring every intact entry and photo of a damaged register into a new file; the damaged one is only read.

    Where entries are lost, what they were about is due for review and its marks have to be given again.
    """
    import tempfile

    from siteassess.register.opening import there_already
    from siteassess.register.salvage import salvage

    if task.dry_run and new.exists():
        raise there_already(new)
    with tempfile.TemporaryDirectory() as folder:
        into = Path(folder) / new.name if task.dry_run else new
        store, report = salvage(task.register_file, into, task.who, task.why, task.on)
        with store:
            doubted, heads = report.labels(store), store.heads()
    values = {
        "entries": report.entries, "photos": report.photos, "lost": report.lost, "unknown": report.unknown,
        "photos_lost": report.photos_lost, "review_and_new_marks_wanted": doubted, "whole": report.whole,
        "heads": heads,
    }
    t, counted = task.words, {"entries": report.entries, "photos": report.photos}
    said = [t("li-salvaged", **counted, file=new.name, kept=task.kept)]
    if report.whole:
        said.append(t("li-salvaged-whole"))
    else:
        said += [t("li-lost", name=name[:16]) for name in report.lost]
        said += [t("li-unknown", name=name[:16]) for name in report.unknown]
        said += [t("li-doubted", thing=task.told(label)) for label in doubted]
        said += [t("li-lost-photo", name=name[:16]) for name in report.photos_lost]
        said.append(t("li-merge-copy", file=new.name))
    task.answer(values, *said)


@register.command("clock")
@store_argument
@set_right_switch
@click.option("--who", type=not_blank, envvar="SITEASSESS_WHO", help="Who sets entries right; needed with --set-right.")
@with_task(why_option("clock"), dry_run_switch)
def clock_(task: Task, set_right: bool) -> None:
    """Entries stamped ahead of this machine's clock; with --set-right they count as written no later than now.

    What was written is not changed: an entry of its own says it, signed by --who, and travels with every copy.
    """
    from siteassess.register.clock import ahead_of
    from siteassess.register.clock import set_right as put_right

    if set_right and not task.who:
        raise needs_who()
    with task.opened() as store:
        now = store.now()
        ahead, newest = ahead_of(store, now)
        event = None
        if set_right:
            with store.change(task.dry_run) as writer:
                event = put_right(writer, task.who, task.why)
    listed = [{"event": e.name, "recorded": e.recorded, "kind": e.kind, "who": e.who} for e in ahead]
    values = {
        "clock": now.isoformat(), "newest_not_ahead": newest or None, "ahead": listed,
        "event": event.name if event else None,
    }
    t, moment = task.words, f"{now:%Y-%m-%d %H:%M}"
    said = [t("li-clock", now=moment, newest=newest[:16]) if newest else t("li-clock-alone", now=moment)]
    said += [t("li-ahead", entry=_entry(e, t)) for e in ahead]
    counted = t("li-set-right", count=len(ahead), kept=task.kept) if event else t("li-are-ahead", count=len(ahead))
    said.append(counted)
    task.answer(values, *said)


def _load_the_rest() -> None:
    # these modules add their commands to the group above
    from siteassess.cli import register_approve, register_care, register_share  # noqa: F401


_load_the_rest()
