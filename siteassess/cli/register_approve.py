"""siteassess register: approvals and marks."""

from __future__ import annotations

import click

from siteassess.cli.register import (
    answer,
    day,
    dry_run_switch,
    kept,
    on_option,
    opened,
    register,
    store_argument,
    who_option,
    why_option,
)
from siteassess.cli.shared import json_switch


@register.command("approve")
@store_argument
@click.argument("subjects", nargs=-1, required=True, metavar="SUBJECT...")
@click.option("--to", required=True, help="draft, surveyed, 'second look', 'approved with conditions', active, ...")
@click.option("--conditions", help="Conditions of an approval.")
@click.option("--until", metavar="DATE", help="Last day of a closed season or a rest.")
@click.option("--against", metavar="REASON", help="Why it is approved against its assessment or a stop sign.")
@click.option("--signed", metavar="NAME", help="Who answers for that, by name and standing; always with --against.")
@on_option
@who_option
@why_option()
@dry_run_switch
@json_switch
def approve(
    register_file, subjects, to, conditions, until, against, signed, on_text, who, why, dry_run, as_json
) -> None:
    """Move things along their life; an illegal move is refused and the legal ones named.

    A line whose assessment says 'leave it' or 'cannot say', or with a stop sign, is only approved for a signed reason
    (--against and --signed); every list, card and copy goes on showing what it was approved against.
    """
    from siteassess.register.actions import By, Signed, move
    from siteassess.register.naming import resolve

    if (against is None) != (signed is None):
        raise click.UsageError("--against and --signed go together: the reason, and who answers for it")
    signature = Signed(signed, against) if signed else None
    on, last = day(on_text), day(until, "--until") if until else None
    with opened(register_file) as store:
        names = [resolve(store, subject) for subject in subjects]
        with store.change(dry_run) as writer:
            said = {"conditions": conditions, "until": last, "signed": signature}
            events = [move(writer, name, to, By(who, why), on=on, **said) for name in names]
        said = [_looked_at(store, event) for event in events]
    moved = [
        {"subject": e.about, "event": e.name, "from": e.body["seen"], "to": e.body["to"], "looked_at": news}
        for e, news in zip(events, said, strict=True)
    ]
    lines = []
    for subject, one in zip(subjects, moved, strict=True):
        lines.append(f"{subject}: {one['from']} -> {one['to']}")
        lines += [f"  looked at: {news}" for news in one["looked_at"]]
    answer(as_json, {"moves": moved, "dry_run": dry_run}, *lines, kept(dry_run))


def _looked_at(store, event) -> list[str]:
    """The news a second look vouches for having seen, in words."""
    from siteassess.register.listing import news_in_words

    return [news_in_words(store, name) for name in event.body.get("reviewed", ())]


@register.command("mark")
@store_argument
@click.argument("subject")
@click.option("--by", "side", type=click.Choice(["group", "owner"]), required=True, help="Whose mark it is.")
@click.option("--given/--refused", required=True, default=None, help="Given, or refused or taken back.")
@click.option("--name", required=True, help="Name or role of whoever gives it.")
@click.option("--role", help="Role.")
@click.option("--date", "given_on", metavar="DATE", help="Day it was given; today if not said.")
@click.option("--expires", metavar="DATE", help="Last day it holds; always needed with --given.")
@click.option("--far-end-is-right", is_flag=True, help="The last day is meant although it is over five years on.")
@click.option("--conditions", help="Conditions.")
@click.option("--reference", help="Reference number or letter.")
@who_option
@why_option("mark recorded")
@dry_run_switch
@json_switch
def mark(
    register_file,
    subject,
    side,
    given,
    name,
    role,
    given_on,
    expires,
    far_end_is_right,
    conditions,
    reference,
    who,
    why,
    dry_run,
    as_json,
) -> None:
    """Record the group's or the owner's mark. A mark on a site covers what stands on it."""
    from siteassess.register import actions
    from siteassess.register.naming import resolve

    said = {
        "by": side,
        "given": given,
        "name": name,
        "role": role,
        "date": day(given_on, "--date").isoformat(),
        "expires": expires,
        "conditions": conditions,
        "reference": reference,
    }
    body = {key: value for key, value in said.items() if value is not None}
    with opened(register_file) as store:
        about = resolve(store, subject)
        with store.change(dry_run) as writer:
            event = actions.mark(writer, about, body, actions.By(who, why), far_end_is_right=far_end_is_right)
    answer(
        as_json, {"event": event.name, "subject": about, "dry_run": dry_run}, f"mark {event.name[:10]}, {kept(dry_run)}"
    )
