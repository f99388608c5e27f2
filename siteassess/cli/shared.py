"""What several commands share: quantity options, the JSON switch, printing."""

from __future__ import annotations

import contextlib
import json
import math
import os
import re
import stat
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import click
from click.decorators import FC

if TYPE_CHECKING:
    import datetime

    FloatType = click.ParamType[float]
    DateType = click.ParamType[datetime.date]
    TextType = click.ParamType[str]
    ChoiceType = click.Choice[str]
else:
    # before click 8.4 it cannot be told what a type reads
    FloatType = DateType = TextType = click.ParamType
    ChoiceType = click.Choice

from siteassess.reference.languages import faults, languages

json_switch = click.option("--json", "as_json", is_flag=True, help="One JSON object to stdout, SI units.")

surroundings_option = click.option(
    "--surroundings", "surroundings", type=click.Path(path_type=Path, dir_okay=False), multiple=True, metavar="FILE",
    help="Map file of paths, water, buildings and the like: .geojson, .gpkg, .gpx, .kml or .osm; may be repeated.",
)

NARROWEST_FOLDED = 30  # columns
LANGUAGE = "language"  # what the running command was asked to speak, in its object


def told_language(context: click.Context, option: click.Parameter, language: str) -> str:
    """The language asked for, kept for what the command may refuse; what is wrong with its file goes to stderr."""
    context.ensure_object(dict)[LANGUAGE] = language
    told = faults(language)
    for text in told[:FAULTS_TOLD]:
        note(text)
    if (left := len(told) - FAULTS_TOLD) > 0:
        from siteassess.reference.findings import said

        note(said("and-so-many-more", count=left).in_words(language))
    return language


FAULTS_TOLD = 10
language_option = click.option("--lang", type=click.Choice(languages()), default="en", show_default=True,
                               callback=told_language, is_eager=True, help="Language.")
messages_option = click.option("--lang", type=click.Choice(languages()), default="en", show_default=True, is_eager=True,
                               callback=told_language, help="Language of what is told and noted; questions: English.")
units_option = click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True,
                            help="Units that come first.")
file_argument = click.argument("file", type=click.Path(path_type=Path))
files_argument = click.argument("files", metavar="FILE...", nargs=-1, required=True,
                                type=click.Path(path_type=Path, allow_dash=True))


def _line_ids(context: click.Context, option: click.Parameter, typed: str) -> list[str]:
    """For a shell: ids of the lines of the record that was typed before; none where it cannot be read."""
    from siteassess.errors import SiteassessError
    from siteassess.records.loading import load_record

    # click leaves what stands before an unfinished option among the rest
    files = (*(context.params.get("files") or ()), context.params.get("file"), *context.args)
    file = next((one for one in files if one and os.path.isfile(one)), None)
    with contextlib.suppress(SiteassessError, OSError):
        return [line.id for line in load_record(file).lines if line.id.startswith(typed)] if file else []
    return []


def names_for_a_shell(address: str, *args: str) -> Callable[[click.Context, click.Parameter, str], list[str]]:
    """What completes a name from a list of another room, which is asked for when somebody types.

    Parameters
    ----------
    address : of a function that gives the names, below the package
    args : it is called with
    """

    def names(context: click.Context, option: click.Parameter, typed: str) -> list[str]:
        module, _, function = address.rpartition(".")
        known = getattr(import_module(f"siteassess.{module}"), function)(*args)
        return [str(one) for one in known if str(one).startswith(typed)]

    return names


line_option = click.option("--line", "line_id", metavar="ID", help="Only this line.", shell_complete=_line_ids)


def surroundings_read(record: Any, file: Path, given: Sequence[Path]) -> Any:
    """The record with what its map files and those given hold; says on stderr what was taken from each."""
    if not given and not record.site.surroundings_files:
        return record
    from siteassess.advice.surroundings import with_surroundings as added

    language = click.get_current_context().obj[LANGUAGE]
    record, told = added(record, file.parent, given, language)
    for one in told:
        note(one.in_words(language))
    return record


def read_with(record: Any, file: Path, given: Sequence[Path]) -> list[Path]:
    """The record's own file and every map file that is read with it."""
    return [file, *given, *(file.parent / one.file for one in record.site.surroundings_files)]


def refuse_over(read: Iterable[str | Path | None], written: Iterable[str | Path]) -> None:
    """Raise if a file to be written is one that the command reads: a slip must not cost the map or the inventory.

    Raises
    ------
    click.UsageError : names the file; nothing was written.
    """
    kept = [Path(path) for path in read if path is not None and Path(path).exists()]
    for path in map(Path, written):
        if path.exists() and any(path.samefile(one) for one in kept):
            from siteassess.reference.findings import worded

            raise click.UsageError(worded("option-over-what-is-read", path=str(path)))


def beside_or_named(file: Path, ending: str) -> Path:
    """Where a paper of a record goes that nobody named a file for: beside it, or here where it came from no file."""
    return Path(f"park{ending}") if str(file) == "-" else file.with_name(f"{file.stem}{ending}")


def kept_unless(force: bool, file: Path) -> None:
    """Refuse to write over a file that is there already.

    Raises
    ------
    click.UsageError : names the file; nothing was written.
    """
    if file.exists() and not force:
        from siteassess.reference.findings import worded

        raise click.UsageError(worded("option-file-exists", path=str(file)))


# what a person types, where that is not the SI unit: a message must not turn a tape's 40 into 40 m
_USUAL_UNIT = {"force": "kN", "pressure": "kPa", "mass per length": "g/m"}


class QuantityType(FloatType):
    """An option whose text carries its unit; the command gets an SI float."""

    def __init__(
        self, kind: str, low: float | None = None, high: float | None = None, above_low: bool = False,
        usual_unit: str = "", called: str = "", weighed: bool = False,
    ):
        self.weighed = weighed  # a force that may be told as the mass whose weight it is
        self.kind, self.low, self.high, self.above_low = kind, low, high, above_low
        self.usual_unit, self.called = usual_unit or _USUAL_UNIT.get(kind, ""), called or kind
        self.name = f"{self.called} with unit"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        from siteassess.reference.faults import of_unit
        from siteassess.reference.findings import worded
        from siteassess.units import SI_UNIT, STANDARD_GRAVITY, UnitText, parse, show

        if isinstance(value, float):
            return value
        try:
            si = parse(value, self.kind, self.usual_unit).si
        except UnitText as error:
            with contextlib.suppress(UnitText):
                if self.weighed:
                    return self.convert(parse(value, "mass").si * STANDARD_GRAVITY, param, ctx)
            self.fail(read_wanted(error.read, *of_unit(error, self.called)), param, ctx)
        unit = f"{SI_UNIT[self.kind]} g"
        if self.low is not None and (si < self.low or (self.above_low and si == self.low)):
            code = "want-more-than" if self.above_low else "want-at-least"
            self.fail(read_wanted(value, worded(code, limit=show(self.low, unit))), param, ctx)
        if self.high is not None and si > self.high:
            self.fail(read_wanted(value, worded("want-at-most", limit=show(self.high, unit))), param, ctx)
        return si


def read_wanted(read: Any, wanted: str, mend: str = "") -> str:
    """What was read of an option, what is wanted, and how to mend it; told in the language asked for where it ends."""
    from siteassess.reference.findings import said, worded

    more = (said("fault-mend", mend=mend),) if mend else ()
    return worded("option-read", read=repr(read), wanted=wanted, mend=more)


class OutFile(click.Path):
    """A file to write, of an ending that what we read never bears: a slip cannot put a paper over a record or register.

    What is no file at all, such as a pipe or /dev/stdout, may be written to under any name.
    """

    def __init__(self, *endings: str, dash: bool = False):
        super().__init__(path_type=Path, dir_okay=False, allow_dash=dash)
        self.endings, self.dash = endings, dash

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        path = Path(os.fsdecode(super().convert(value, param, ctx)))
        if self.dash and str(path) == "-":
            return path  # the standard output
        special = path.exists() and not stat.S_ISREG(path.stat().st_mode)
        if not special and path.suffix.lower() not in self.endings:
            from siteassess.reference.findings import worded

            self.fail(worded("option-ending", path=str(path), endings=self.endings), param, ctx)
        return path


class DayType(DateType):
    """A day as year-month-day."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime.date:
        import datetime

        if isinstance(value, datetime.date):
            return value
        try:
            if len(value) != 10:
                raise ValueError
            return datetime.date.fromisoformat(value)
        except ValueError:
            from siteassess.reference.findings import worded

            self.fail(read_wanted(value, worded("want-a-date")), param, ctx)


day = DayType()
day_option = click.option("--on", type=day, help="Judge for this day (year-month-day) instead of each line's own.")


class WordedType(TextType):
    """A text that is there: what is kept says who and why."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value).strip()
        if not text:
            from siteassess.reference.findings import worded

            self.fail(read_wanted(value, worded("want-words")), param, ctx)
        return text


not_blank = WordedType()


class WordsOf(ChoiceType):
    """One of the words of a type or a list of another room, but for some; read when asked, since rooms take time."""

    def __init__(self, address: str, but: Sequence[str] = ()):
        self.module, _, self.name_there = address.rpartition(".")
        self.but, self.case_sensitive = but, True

    def __getattr__(self, name: str) -> Any:
        if name != "choices":
            raise AttributeError(name)
        there = getattr(import_module(f"siteassess.{self.module}"), self.name_there)
        self.choices = tuple(one for one in get_args(there) or there if one not in self.but)
        return self.choices


readers = WordsOf("records.fields.Layer")


OF_A_QUANTITY = ("low", "high", "above_low", "usual_unit", "called", "weighed")


def measured(name: str, kind: str, text: str, **options: Any) -> Callable[[FC], FC]:
    """An option holding a quantity, SI inside; `usual_unit` is what a message suggests for a bare number, and what
    it is `called` where that is not its kind."""
    limits = {key: options.pop(key) for key in OF_A_QUANTITY if key in options}
    return click.option(name, type=QuantityType(kind, **limits), help=text, **options)


def json_ready(value: Any) -> Any:
    """JSON-ready copy: numpy numbers become plain, not-a-number and infinities become null.

    Parameters
    ----------
    value : an answer, or a part of one

    Returns
    -------
    Of dictionaries, lists, texts, finite numbers and None.
    """
    if isinstance(value, dict):
        return {str(key): json_ready(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [json_ready(item) for item in value]
    if hasattr(value, "item") and not isinstance(value, (str, bytes)):
        return json_ready(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def give(
    as_json: bool, values: Mapping[str, Any] | Callable[[], Mapping[str, Any]], told: Iterable[str] | Callable[[], str]
) -> None:
    """The end of every command: one JSON object to stdout, or the same told in words; what is not wanted is not made.

    Parameters
    ----------
    values : the object, or what makes it
    told : lines, or what makes the text of a paper, which has put each foreign text in it on one line
    """
    if as_json:
        made = json_ready(values() if callable(values) else values)
        click.echo(json.dumps(made, ensure_ascii=False, indent=1, allow_nan=False))
    elif callable(told):
        from siteassess.cli import Coloured

        text = told()
        # the short answer has its rows already
        click.echo(text if isinstance(text, Coloured) else on_terminal_rows(text), nl=False)
    else:
        for text in told:
            click.echo(on_terminal_rows(one_line(text)))


def terminal_columns() -> int | None:
    """Columns of the terminal that it is told on; None where it goes elsewhere."""
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns or None
    except (OSError, ValueError, AttributeError):  # the last of a stream closed before we began
        return None


def on_terminal_rows(text: str) -> str:
    """The text in rows as wide as the terminal, broken between words; elsewhere, and on a sliver of one, as it is.

    A row after the first is indented, so that no text of a file begins a line that would be read as our own answer.
    """
    columns = terminal_columns()
    if columns is None or columns < NARROWEST_FOLDED or max(map(len, text.split("\n"))) <= columns:
        return text
    from siteassess.papers.terminal import refolded

    return refolded(text, columns, at_most=None)


def one_line(text: str) -> str:
    """The text without line breaks: no name or note within it can begin a line that would be read as our own answer."""
    return re.sub(r"\s*[\r\n]+\s*", " ", text)


def say(text: str, err: bool = False) -> None:
    """Print one line."""
    click.echo(one_line(text), err=err)


def note(text: str) -> None:
    """A warning or word of progress: to stderr, so that stdout stays the result."""
    say(text, err=True)


def wrote(paths: Iterable[Path]) -> None:
    """Name what was written, in the language asked for."""
    from siteassess.reference.findings import said

    language = click.get_current_context().ensure_object(dict).get(LANGUAGE, "en")
    for path in paths:
        note(said("file-written", path=str(path)).in_words(language))
