"""siteassess register: the group's store, its approvals and its care log. Heavy imports stay inside the commands."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from siteassess.cli.shared import emit, hand_out, json_switch, note, say, worded

NAME_NOTE = "Names under --who are claims: the register proves that nothing was changed since, not who wrote it."

store_argument = click.argument("register_file", metavar="REGISTER", type=click.Path(path_type=Path))
_CLOCK_IS_RIGHT = "siteassess: clock is right"
set_right_switch = click.option(
    "--set-right",
    is_flag=True,
    help="Say that entries ahead of this machine's clock were written no later than now, by --who.",
)


def clock_option(command: Callable) -> Callable:
    """The word that this machine's clock is right, where that is in doubt."""

    def keep(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
        ctx.meta[_CLOCK_IS_RIGHT] = value

    return click.option(
        "--clock-is-right",
        is_flag=True,
        expose_value=False,
        callback=keep,
        help="Write although the newest entry is long past by this machine's clock.",
    )(command)


def who_option(command: Callable) -> Callable:
    """Who writes, which goes with the clock it is stamped by."""
    who = {"type": worded, "envvar": "SITEASSESS_WHO", "help": "Who does it, a name or a role."}
    return click.option("--who", required=True, **who)(clock_option(command))


dry_run_switch = click.option("--dry-run", is_flag=True, help="Do everything, then take it back; nothing is kept.")
on_option = click.option("--on", "on_text", metavar="DATE", help="Day asked about, 2026-04-18; today if not given.")


def why_option(default: str | None = None) -> Callable:
    return click.option("--why", type=worded, required=default is None, default=default, help="Why it is done.")


@click.group()
def register() -> None:
    """The group's store of approved places: history, approvals, care log, sharing, merge.

    One GeoPackage file. Nothing in it is ever changed or deleted: a later entry replaces an earlier one. A thing is
    named SITE, SITE/CODE, CODE where only one site has it, or by the first 8 characters of its name.
    """


def day(text: str | None, option: str = "--on"):
    """A day from an option's text; today when nothing was typed."""
    import datetime

    if text is None:
        return datetime.date.today()
    try:
        if len(text) != 10:
            raise ValueError
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise click.BadParameter(f"read {text!r}; wanted a date, for example 2026-04-18", param_hint=option) from None


def opened(path: Path):
    """The register, told whether its clock was vouched for; says so where that clock is behind what is written."""
    from siteassess.register.clock import ahead_of
    from siteassess.register.intact import taken_out
    from siteassess.register.listing import damage_in_words
    from siteassess.register.standing import label
    from siteassess.register.store import Store

    store = Store.open(path)
    context = click.get_current_context()
    store.clock_is_right = context.meta.get(_CLOCK_IS_RIGHT, False)
    if sys.stdin.isatty() and sys.stderr.isatty():
        store.ask = lambda text: click.confirm(text, err=True)
    with store.in_words():
        ahead, _ = ahead_of(store, store.now())
        left_out = [f"{subject.kind} {label(subject)}" for subject in store.folded().undrawn()]
        beside = store.db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        found = list(damage_in_words(path.name, left_out, taken_out(store.db), beside))
    for text in found:
        note(text)
    if ahead:
        newest = max(event.recorded for event in ahead)
        note(
            f"{len(ahead)} entries up to {newest[:16]}Z lie ahead of this machine's clock, "
            f"{store.now():%Y-%m-%d %H:%M}Z: no line may be rigged by this list until one of the two is put right. "
            f"If this clock is right: siteassess register clock {path.name} --set-right "
            "--who NAME"
        )
    return store


@contextmanager
def progress(label: str, total: int | None = None) -> Iterator[Callable[[int], None]]:
    """A bar on stderr for a person who waits, or a count where the end is not known; nothing where nobody looks."""
    if total == 0 or not sys.stderr.isatty():
        yield lambda done: None
    elif total is None:
        yield lambda done: click.echo(f"\r{done} {label}", nl=False, err=True) if done % 500 == 0 else None
        click.echo("", err=True)
    else:
        with click.progressbar(length=total, label=label, file=sys.stderr) as bar:
            yield lambda done: bar.update(done - bar.pos)


def kept(dry_run: bool) -> str:
    return "dry run: nothing was kept" if dry_run else "kept"


def answer(as_json: bool, values: dict[str, Any], *lines: str) -> None:
    if as_json:
        emit(values)
    for text in () if as_json else lines:
        say(text)


@register.command("init")
@store_argument
@click.option("--title", required=True, help="Name of the group or list.")
@click.option("--licence", default="group only", show_default=True, help="Licence written into every copy.")
@who_option
@dry_run_switch
@json_switch
def init(register_file: Path, title: str, licence: str, who: str, dry_run: bool, as_json: bool) -> None:
    """Begin a register in a new file."""
    import tempfile

    from siteassess.errors import StoreError
    from siteassess.register.store import Store

    if dry_run:
        if register_file.exists():
            raise StoreError(f"{register_file.name} is there already; a register is never written over")
        with tempfile.TemporaryDirectory() as folder:
            Store.create(Path(folder) / "try.gpkg", title=title, who=who, licence=licence).close()
        answer(as_json, {"register": register_file.name, "dry_run": True}, kept(True))
        return
    with Store.create(register_file, title=title, who=who, licence=licence) as store:
        heads = store.heads()
    answer(
        as_json,
        {"register": register_file.name, "heads": heads, "dry_run": False},
        f"{register_file.name} begun. Head {heads[0]}",
        f"Note the head elsewhere: against it `verify` finds a cut-off history. {NAME_NOTE}",
    )


@register.command("add")
@store_argument
@click.argument("record_file", metavar="RECORD", type=click.Path(path_type=Path))
@click.option("--share", type=click.Choice(["public", "members", "officer"]), help="Widest readers it may reach.")
@click.option("--sensitive", multiple=True, metavar="CODE", help="Anchor whose exact point stays with the officers.")
@who_option
@why_option()
@dry_run_switch
@json_switch
def add(register_file, record_file, share, sensitive, who, why, dry_run, as_json) -> None:
    """Take in a site record: new things, or a new survey of what is listed under the same site and code."""
    from siteassess.errors import UnknownName
    from siteassess.records.reading import read_record
    from siteassess.register.actions import By, add_record

    record = read_record(record_file).model_dump(mode="json", exclude_unset=True)
    codes = {anchor["code"] for anchor in record.get("anchors", ())}
    if unknown := sorted(set(sensitive) - codes):
        raise UnknownName(
            f"--sensitive {', '.join(unknown)}: the record holds {', '.join(sorted(codes)) or 'no anchor'}"
        )
    with opened(register_file) as store:
        before = store.count()
        with store.change(dry_run) as writer:
            names = add_record(writer, record, By(who, why), share=share, sensitive=sensitive)
            added = store.count() - before
        heads = store.heads()
    lines = [f"{what}: {name[:10]}" for what, name in names.items()]
    values = {"subjects": names, "changes": added, "heads": heads, "dry_run": dry_run}
    counted = "1 change" if added == 1 else f"{added} changes"
    last = f"{counted}, {kept(dry_run)}" if added else "nothing new: all of it is listed already, word for word"
    answer(as_json, values, *lines, last)


@register.command("list")
@store_argument
@click.option("--site", help="One site only.")
@click.option("--status", help="One status only.")
@on_option
@json_switch
def list_(register_file, site, status, on_text, as_json) -> None:
    """What is listed, with today's status and its reasons."""
    from siteassess.register.listing import rows
    from siteassess.register.naming import resolve

    on = day(on_text)
    with opened(register_file) as store:
        wanted = resolve(store, site, "site") if site else None
        found = [row for row in rows(store, on, wanted) if status is None or row["status"] == status]
        heads = store.heads()
    if as_json:
        emit({"on": on.isoformat(), "heads": heads, "rows": found})
        return
    for row in found:
        indent = "" if row["kind"] == "site" else "  "
        until = f", marks until {row['valid_until']}" if row["valid_until"] else ""
        until_day = f" until {row['may_rig_until']} at most" if row["may_rig_until"] else ""
        may = f", may rig now: {row['may_rig_now']}{until_day}" if row["kind"] == "line" else ""
        say(f"{indent}{row['kind']} {row['label']}: {row['status']}{until}{may}  [{row['subject'][:10]}]")
        told = [why["says"] for why in row["may_rig_reasons"]] if row["kind"] == "line" else row["reasons"]
        for says in told:
            say(f"{indent}    {says}")
    say(f"{len(found)} listed on {on}")


@register.command("show")
@store_argument
@click.argument("subject")
@on_option
@json_switch
def show(register_file, subject, on_text, as_json) -> None:
    """One thing: record, status, marks, news, what is legal next, conflicts side by side."""
    from siteassess.register.listing import details, record_in_words, told_in_words
    from siteassess.register.naming import resolve

    with opened(register_file) as store:
        found = details(store, resolve(store, subject), day(on_text))
    if as_json:
        emit(found)
        return
    for title, text in told_in_words(found):
        say(f"{title}: {text}")
    say("record:")
    hand_out(record_in_words(found["record"]))


@register.command("history")
@store_argument
@click.argument("subject", required=False)
@json_switch
def history(register_file, subject, as_json) -> None:
    """Every change: when, who, why, what it replaces."""
    from siteassess.register.listing import told
    from siteassess.register.naming import resolve

    with opened(register_file) as store:
        events = store.events(resolve(store, subject) if subject else None)
        heads = store.heads()
    if as_json:
        emit({"heads": heads, "events": [told(event) for event in events]})
        return
    for event in events:
        replaced = f" (replaces {', '.join(name[:10] for name in event.replaces)})" if event.replaces else ""
        say(f"{event.recorded[:16]}Z  {event.name[:10]}  {event.kind} by {event.who}: {event.why}{replaced}")
    say("heads: " + ", ".join(heads))


@register.command("verify")
@store_argument
@click.option("--head", "noted", multiple=True, help="A head noted elsewhere, whole or its first 16 characters.")
@json_switch
def verify_(register_file, noted, as_json) -> None:
    """Find altered or missing changes and photos; against a noted head also a cut-off or rewritten history."""
    from siteassess.register.verify import verify

    with opened(register_file) as store:
        with progress("changes", store.count()) as tick:
            findings = verify(store, noted, tick)
        count, heads = store.count(), store.heads()
    if as_json:
        found = [{"what": f.what, "wrong": f.wrong} for f in findings]
        emit({"changes": count, "heads": heads, "findings": found, "whole": not findings})
    else:
        for finding in findings:
            say(str(finding))
        say(f"{count} changes, {'nothing wrong found' if not findings else f'{len(findings)} things wrong'}")
        say("heads: " + ", ".join(heads))
        if not noted:
            note("No noted head was given: a history cut off at its end, or written anew, cannot be found without one.")
    if findings:
        sys.exit(1)


@register.command("redraw")
@store_argument
@dry_run_switch
@json_switch
def redraw(register_file, dry_run, as_json) -> None:
    """Draw the tables that map programs show anew from the history."""
    with opened(register_file) as store:
        total = store.db.execute("SELECT count(DISTINCT subject) FROM events").fetchone()[0]
        with progress("things", total) as tick:
            store.redraw_all(tick, dry_run)
    answer(as_json, {"subjects": total, "dry_run": dry_run}, f"{total} things drawn, {kept(dry_run)}")


@register.command("salvage")
@click.argument("damaged", metavar="DAMAGED", type=click.Path(path_type=Path))
@click.argument("new", metavar="NEW", type=click.Path(path_type=Path))
@on_option
@who_option
@why_option("salvaged from a damaged file")
@dry_run_switch
@json_switch
def salvage_(damaged, new, on_text, who, why, dry_run, as_json) -> None:
    """Bring every intact entry and photo of a damaged register into a new file; the damaged one is only read.

    Where entries are lost, what they were about is due for review and its marks have to be given again.
    """
    import tempfile

    from siteassess.errors import StoreError
    from siteassess.register.salvage import salvage

    if dry_run and new.exists():
        raise StoreError(f"{new.name} is there already; a register is never written over")
    with tempfile.TemporaryDirectory() as folder:
        store, report = salvage(damaged, Path(folder) / new.name if dry_run else new, who, why, day(on_text))
        with store:
            doubted, heads = report.labels(store), store.heads()
    values = {
        "entries": report.entries,
        "photos": report.photos,
        "lost": report.lost,
        "unknown": report.unknown,
        "photos_lost": report.photos_lost,
        "review_and_new_marks_wanted": doubted,
        "whole": report.whole,
        "heads": heads,
        "dry_run": dry_run,
    }
    said = [f"{report.entries} entries and {report.photos} photos brought into {new.name}, {kept(dry_run)}"]
    if report.whole:
        said.append("Nothing is missing: the chain of entries is whole up to its heads. Use the new file from now on.")
    else:
        said += [f"lost: {name[:16]}, which other entries build on" for name in report.lost]
        said += [f"left out: {name[:16]}, a text that nothing else in the file knows of" for name in report.unknown]
        said += [f"to be looked at again, and its marks given again: {label}" for label in doubted]
        said.append(f"If a copy still holds what is lost: siteassess register merge {new.name} COPY")
    said += [f"lost photo: {name[:16]}" for name in report.photos_lost]
    answer(as_json, values, *said)


@register.command("clock")
@store_argument
@set_right_switch
@click.option("--who", type=worded, envvar="SITEASSESS_WHO", help="Who sets entries right; needed with --set-right.")
@why_option("a clock was wrong")
@dry_run_switch
@json_switch
def clock_(register_file, set_right, who, why, dry_run, as_json) -> None:
    """Entries stamped ahead of this machine's clock; with --set-right they count as written no later than now.

    What was written is not changed: an entry of its own says it, signed by --who, and travels with every copy.
    """
    from siteassess.register.clock import ahead_of
    from siteassess.register.clock import set_right as put_right

    if set_right and not who:
        raise click.UsageError("--set-right needs --who: who says it is written down")
    with opened(register_file) as store:
        now = store.now()
        ahead, newest = ahead_of(store, now)
        event = None
        if set_right:
            with store.change(dry_run) as writer:
                event = put_right(writer, who, why)
    listed = [{"event": e.name, "recorded": e.recorded, "kind": e.kind, "who": e.who} for e in ahead]
    values = {
        "clock": now.isoformat(),
        "newest_not_ahead": newest or None,
        "ahead": listed,
        "event": event.name if event else None,
        "dry_run": dry_run,
    }
    said = [f"this machine's clock: {now:%Y-%m-%d %H:%M}Z; newest entry not ahead of it: {newest[:16] or 'none'}"]
    said += [f"ahead: {e.recorded[:16]}Z  {e.name[:10]}  {e.kind} by {e.who}: {e.why}" for e in ahead]
    said.append(f"{len(ahead)} entries set right, {kept(dry_run)}" if event else f"{len(ahead)} entries are ahead")
    answer(as_json, values, *said)


def _load_the_rest() -> None:
    # these modules add their commands to the group above
    from siteassess.cli import register_approve, register_care, register_share  # noqa: F401


_load_the_rest()
