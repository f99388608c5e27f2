"""siteassess register: approvals and marks."""

from __future__ import annotations

import datetime

import click

from siteassess.cli.register import register
from siteassess.cli.register_task import (
    Task,
    dry_run_switch,
    on_option,
    store_argument,
    who_option,
    why_option,
    with_task,
)
from siteassess.cli.shared import day


@register.command("approve")
@store_argument
@click.argument("subjects", nargs=-1, required=True, metavar="SUBJECT...")
@click.option("--to", required=True, help="draft, surveyed, 'second look', 'approved with conditions', active, ...")
@click.option("--conditions", help="Conditions of an approval.")
@click.option("--until", type=day, metavar="DATE", help="Last day of a closed season or a rest.")
@click.option("--against", metavar="REASON", help="Why it is approved against its assessment or a stop sign.")
@click.option("--signed", metavar="NAME", help="Who answers for that, by name and standing; always with --against.")
@with_task(on_option, who_option, why_option(), dry_run_switch)
def approve(
    task: Task, subjects: tuple[str, ...], to: str, conditions: str | None, until: datetime.date | None,
    against: str | None, signed: str | None,
) -> None:
    """Move things along their life; an illegal move is refused and the legal ones named.

    A line whose assessment says 'leave it' or 'cannot say', or with a stop sign, is only approved for a signed reason
    (--against and --signed); every list, card and copy goes on showing what it was approved against.
    """
    from siteassess.reference.findings import worded
    from siteassess.register.actions import Signed, move
    from siteassess.register.listing import news_told
    from siteassess.register.naming import resolve
    from siteassess.register.reasons import sentence

    if (against is None) != (signed is None):
        raise click.UsageError(worded("rg-against-and-signed"))
    signature = Signed(signed, against) if signed and against is not None else None
    with task.opened() as store:
        names = [resolve(store, subject) for subject in subjects]
        with store.change(task.dry_run) as writer:
            events = [
                move(writer, name, to, task.by, on=task.on, conditions=conditions, until=until, signed=signature)
                for name in names
            ]
        # the news a second look vouches for having seen
        seen = [[news_told(store, name) for name in event.body.get("reviewed", ())] for event in events]
    moved = [
        {"subject": e.about, "event": e.name, "from": e.body["seen"], "to": e.body["to"],
         "looked_at": list(map(sentence, news))} for e, news in zip(events, seen, strict=True)
    ]
    t, lines = task.words, []
    for subject, one, told in zip(subjects, moved, seen, strict=True):
        lines.append(f"{subject}{t('colon')} {t.of(one['from'])} -> {t.of(one['to'])}")
        lines += ["  " + t("li-looked-at", news=t.said(news)) for news in told]
    task.answer({"moves": moved}, *lines, task.kept)


@register.command("mark")
@store_argument
@click.argument("subject")
@click.option("--by", "side", type=click.Choice(["group", "owner"]), required=True, help="Whose mark it is.")
@click.option("--given/--refused", required=True, default=None, help="Given, or refused or taken back.")
@click.option("--name", required=True, help="Name or role of whoever gives it.")
@click.option("--role", help="Role.")
@click.option("--date", "given_on", type=day, metavar="DATE", help="Day it was given; today if not said.")
@click.option("--expires", metavar="DATE", help="Last day it holds; always needed with --given.")
@click.option("--far-end-is-right", is_flag=True, help="The last day is meant although it is over five years on.")
@click.option("--conditions", help="Conditions.")
@click.option("--reference", help="Reference number or letter.")
@with_task(who_option, why_option("mark"), dry_run_switch)
def mark(
    task: Task, subject: str, side: str, given: bool, name: str, role: str | None, given_on: datetime.date | None,
    expires: str | None, far_end_is_right: bool, conditions: str | None, reference: str | None,
) -> None:
    """Record the group's or the owner's mark. A mark on a site covers what stands on it."""
    from siteassess.register import actions
    from siteassess.register.naming import resolve

    said = {
        "by": side, "given": given, "name": name, "role": role, "date": (given_on or datetime.date.today()).isoformat(),
        "expires": expires, "conditions": conditions, "reference": reference,
    }
    body = {key: value for key, value in said.items() if value is not None}
    with task.opened() as store:
        about = resolve(store, subject)
        with store.change(task.dry_run) as writer:
            event = actions.mark(writer, about, body, task.by, far_end_is_right=far_end_is_right)
    told = task.words("li-mark-kept", name=event.name[:10], kept=task.kept)
    task.answer({"event": event.name, "subject": about}, told)
