"""The command line: a thin shell round the rooms.

`--help` must be quick, so a command's module, and all the libraries behind it, is imported only when that command
runs. The short help stands here once more; a test holds the two together.
"""

from __future__ import annotations

import gc
import importlib
import os
import re
import sys
from typing import Any

import click

from siteassess import __version__

# command: (module, attribute, short help)
COMMANDS: dict[str, tuple[str, str, str]] = {
    "demo": ("siteassess.cli.demo", "demo", "Assess the bundled invented park and write every paper."),
    "new": ("siteassess.cli.files", "new", "Write a commented record to fill in."),
    "check": ("siteassess.cli.files", "check", "Faults, doubtful readings, bearings and distances of a record."),
    "assess": ("siteassess.cli.assess", "assess", "Loads, verdicts, reasons, remedies, protection and rules."),
    "pack": ("siteassess.cli.files", "pack", "Packing list: slings, lengths, pads, slats."),
    "map": ("siteassess.cli.drawings", "site_map", "Site map, one HTML file that opens with no network."),
    "plan": ("siteassess.cli.drawings", "plan", "Printable plan to a round scale, SVG and PDF."),
    "report": ("siteassess.cli.drawings", "report", "Papers for the land manager, HTML."),
    "form": ("siteassess.cli.form", "form", "Field form for a phone, one HTML file that writes a record."),
    "quick": ("siteassess.cli.quick", "quick", "One sum without a record."),
    "rules": ("siteassess.cli.rules", "rules", "Land managers' rule sets: list, show, check."),
    "survey": ("siteassess.cli.survey", "survey", "Desk survey of a tree inventory: candidate trees and pairs."),
    "register": ("siteassess.cli.register", "register", "The group's store of approved places and care."),
    "serve": ("siteassess.cli.serve", "serve", "The group's page over one register, for phones and desks."),
    "schema": ("siteassess.cli.schema", "schema", "JSON Schemas of record, answer and bundle."),
    "tables": ("siteassess.cli.tables", "tables", "The reference rows with their sources."),
}


class LateGroup(click.Group):
    """A group that imports a command's module only to run it or show its own help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        module, attribute, _ = COMMANDS[name]
        command: click.Command = getattr(importlib.import_module(module), attribute)
        return command

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        from siteassess.reference.texts import cautions

        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(" ".join(cautions(on="head")))

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, short) for name, (_, _, short) in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            import difflib

            near = difflib.get_close_matches(args[0], COMMANDS, n=1) if args else []
            hint = f" Did you mean '{near[0]}'?" if near else ""
            raise click.UsageError(f"{error.message}{hint}", ctx) from None


@click.group(cls=LateGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="siteassess")
def group() -> None:
    """Record anchor sites for lines between park trees, estimate whether each anchor suits the planned load, plan
    padding and wraps, and map the site.

    Exit codes: 0 done (an unfavourable verdict is a result), 1 the record is faulty or the work failed, 2 wrong
    usage, 3 a verdict fell short of --fail-unless.
    """


# marks that would move a terminal's cursor, ring its bell, or turn a line's direction round, and halves of characters,
# such as a file's name of bytes that are no UTF-8 is told with: no stream takes them
_STEERS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\U000e0000-\U000e007f]"
)
_STEERS_OURS = re.compile(rf"(?!\x1b\[(?:[01]|3[1-5])m){_STEERS.pattern}")  # but for the colours `Coloured` may have


class Coloured(str):
    """A text of which we made every foreign part plain before we coloured some of our own words."""



class _Tame:
    """A stream on which no foreign text can steer the terminal: such marks are written as JSON writes them.

    Our own colours pass, in a text that says so by its type: what was read never has it.
    """

    def __init__(self, stream: Any):
        self._stream = stream

    def write(self, text: Any) -> int:
        # bytes are click's trial whether the stream takes them; the stream itself answers
        steers = _STEERS_OURS if isinstance(text, Coloured) else _STEERS
        written: int = self._stream.write(steers.sub(_shown, text) if isinstance(text, str) else text)
        return written

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def _shown(mark: re.Match[str]) -> str:
    return f"\\u{ord(mark[0]):04x}"


def main(args: list[str] | None = None) -> None:
    """Run the command line; what the package raises on purpose becomes a sentence and exit code 1.

    Parameters
    ----------
    args : what was typed behind the program's name; None takes the process's own

    Raises
    ------
    SystemExit : always, with the exit code; 0 where all went well
    """
    from siteassess.cli.shared import LANGUAGE, one_line, say
    from siteassess.errors import FaultyInput, SiteassessError

    asked: dict[str, str] = {}  # what the command was asked to speak, for what it refuses
    # a short run leaves few rings of dead objects; looking for them less often saves a thirtieth of the demo
    gc.set_threshold(100_000, 20, 100)
    # a stream that was closed before we began is None, which click passes over
    sys.stdout, sys.stderr = (_Tame(stream) if stream is not None else None for stream in (sys.stdout, sys.stderr))
    try:
        sys.exit(group.main(args=args, prog_name="siteassess", standalone_mode=False, obj=asked) or 0)
    except click.ClickException as error:
        from siteassess.cli.click_words import in_other_words, language_typed
        from siteassess.reference.findings import in_language

        # an option unknown to click stops it before the language is read
        asked.setdefault(LANGUAGE, language_typed(sys.argv[1:] if args is None else args))
        error = in_other_words(error, asked[LANGUAGE])
        # it may repeat a file's name, which may hold a line break; the help shown to who says nothing has many
        if not isinstance(error, getattr(click.exceptions, "NoArgsIsHelpError", ())):
            language = asked.get(LANGUAGE, "en")
            several = getattr(error, "in_lines", None)  # of options, one a line
            vars(error)["message"] = several(language) if several else one_line(in_language(error.message, language))
        error.show()
        sys.exit(error.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Aborted!", err=True)
        sys.exit(1)
    except SiteassessError as error:
        from siteassess.reference.faults import of_error

        told = of_error(error, asked.get(LANGUAGE, "en"))
        click.echo(f"siteassess: {told if isinstance(error, FaultyInput) else one_line(told)}", err=True)
        sys.exit(1)
    except BrokenPipeError:
        # the reader of our output went away; nothing was lost
        if sys.stderr is not None:
            sys.stderr.close()
        sys.exit(1)
    except OSError as error:
        from siteassess.reference.findings import in_language
        from siteassess.reference.texts import text

        language = asked.get(LANGUAGE, "en")
        told = in_language(error.strerror or str(error), language)
        where = f"{text('colon', language)} {error.filename}" if error.filename else ""
        say(f"siteassess: {told}{where}", err=True)
        sys.exit(1)
    except Exception as error:
        if isinstance(error.__cause__, KeyboardInterrupt):
            # pydantic makes its own of one that comes while it writes a value out
            click.echo("Aborted!", err=True)
            sys.exit(1)
        # a mistake of ours, not of the user's: say so in one line, and how to see where
        if os.environ.get("SITEASSESS_TRACEBACK"):
            raise
        told = f"{type(error).__name__}: {error}"
        say(f"siteassess: a fault of the program itself ({told}); nothing it printed above should be relied on. "
            "Set SITEASSESS_TRACEBACK=1 to see where, and tell the developers.", err=True)
        sys.exit(1)
