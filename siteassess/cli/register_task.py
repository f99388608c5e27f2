"""What all commands on a register share: their options, the task these make, opening it, progress."""

from __future__ import annotations

import datetime
import functools
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.decorators import FC

from siteassess.cli.shared import LANGUAGE, day, give, json_switch, language_option, not_blank, note

if TYPE_CHECKING:
    from siteassess.papers.language import Words
    from siteassess.register.actions import By
    from siteassess.register.store import Store

store_argument = click.argument("register_file", metavar="REGISTER", type=click.Path(path_type=Path))
_CLOCK_IS_RIGHT = "siteassess: clock is right"
set_right_switch = click.option(
    "--set-right", is_flag=True,
    help="Say that entries ahead of this machine's clock were written no later than now, by --who.",
)


def needs_who() -> click.UsageError:
    """That whoever sets entries right says who they are."""
    from siteassess.reference.findings import worded

    return click.UsageError(worded("rg-set-right-needs-who"))


dry_run_switch = click.option("--dry-run", is_flag=True, help="Do everything, then take it back; nothing is kept.")
on_option = click.option(
    "--on", "on_day", type=day, metavar="DATE", help="Day asked about, 2026-04-18; today if not given."
)


def clock_option(command: FC) -> FC:
    """The word that this machine's clock is right, where that is in doubt."""

    def keep(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
        ctx.meta[_CLOCK_IS_RIGHT] = value

    return click.option(
        "--clock-is-right", is_flag=True, expose_value=False, callback=keep,
        help="Write although the newest entry is long past by this machine's clock.",
    )(command)


def who_option(command: FC) -> FC:
    """Who writes, which goes with the clock it is stamped by."""
    said = "Who does it, a name or a role."
    who = click.option("--who", required=True, type=not_blank, envvar="SITEASSESS_WHO", help=said)
    return who(clock_option(command))


def why_option(untold: str = "", said: str = "Why it is done.") -> Callable[[FC], FC]:
    """Why it is done. Where it may be left out, the program says it in the language asked for: it is kept as said."""

    def say(ctx: click.Context, _param: click.Parameter, value: str | None) -> str | None:
        if value is not None or not untold:
            return value
        from siteassess.papers.language import words_in

        return words_in(ctx.obj[LANGUAGE])(f"why-{untold}")

    more = " What is done is said where it is left out." if untold else ""
    return click.option("--why", type=not_blank, required=not untold, callback=say, help=said + more)


@dataclass(frozen=True)
class Task:
    """What a command on a register is told beside its own options, as far as it takes them."""

    register_file: Path
    as_json: bool
    who: str = ""
    why: str = ""
    on_day: datetime.date | None = None
    dry_run: bool = False
    lang: str = "en"

    @property
    def by(self) -> By:
        from siteassess.register.actions import By

        return By(self.who, self.why)

    @property
    def on(self) -> datetime.date:
        """The day asked about: today if none was named."""
        return self.on_day or datetime.date.today()

    @property
    def words(self) -> Words:
        """The words of the language asked for."""
        from siteassess.papers.language import words_in

        return words_in(self.lang)

    @property
    def kept(self) -> str:
        return self.words("li-dry-run" if self.dry_run else "li-kept")

    def told(self, text: str) -> str:
        """A text that may know its code, in the language asked for."""
        from siteassess.reference.findings import in_language

        return in_language(text, self.lang)

    def answer(self, values: Mapping[str, Any], *lines: str) -> None:
        """Say what a command that writes has done."""
        give(self.as_json, {**values, "dry_run": self.dry_run}, lines)

    def opened(self) -> Store:
        """The register, told whether its clock was vouched for; says so where that clock is behind what is written."""
        from siteassess.reference.findings import worded
        from siteassess.register.clock import ahead_of
        from siteassess.register.intact import taken_out
        from siteassess.register.listing import damage_in_words
        from siteassess.register.standing import label
        from siteassess.register.store import Store

        store = Store.open(self.register_file)
        context = click.get_current_context()
        store.clock_is_right = context.meta.get(_CLOCK_IS_RIGHT, False)
        if sys.stdin.isatty() and sys.stderr.isatty():
            store.ask = lambda text: click.confirm(self.told(text), err=True)
        with store.in_words():
            ahead, _ = ahead_of(store, store.now())
            left_out = [worded("rg-thing", kind=one.kind, label=label(one)) for one in store.folded().undrawn()]
            beside = store.db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
            found = list(damage_in_words(self.register_file.name, left_out, taken_out(store.db), beside))
        for text in found:
            note(self.told(text))
        if ahead:
            newest = max(event.recorded for event in ahead)
            now = f"{store.now():%Y-%m-%d %H:%M}"
            told = {"count": len(ahead), "newest": newest[:16], "now": now, "file": self.register_file.name}
            note(self.words("li-clock-doubted", **told))
        return store


_TOLD = frozenset(field.name for field in fields(Task))


def with_task(*options: Callable[[Callable[..., None]], Callable[..., None]]) -> Callable[..., Callable[..., None]]:
    """Hand a command these options, `--lang` and `--json` as its `Task`; in its help they stand after its own."""

    def wrap(command: Callable[..., None]) -> Callable[..., None]:
        @functools.wraps(command)
        def run(**given: Any) -> None:
            told = {name: value for name in _TOLD & given.keys() if (value := given.pop(name)) is not None}
            command(Task(**told), **given)

        last_first = (json_switch, language_option, *reversed(options))
        return functools.reduce(lambda made, option: option(made), last_first, run)

    return wrap


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
