"""What click says of a command's options, in the language of the command; its lines of usage stay English."""

from __future__ import annotations

from collections.abc import Sequence

import click


def language_typed(args: Sequence[str]) -> str:
    """The language that was typed, for what is refused before the option of it was read.

    Parameters
    ----------
    args : what was typed behind the program's name
    """
    from siteassess.reference.languages import languages

    after = [value for name, value in zip(args, args[1:]) if name == "--lang"]
    typed = [*after, *(one.partition("=")[2] for one in args if one.startswith("--lang="))]
    return next((one for one in typed if one in languages()), "en")


def in_other_words(error: click.ClickException, language: str) -> click.ClickException:
    """The same error in a language other than English, where click words it itself; else the error.

    Parameters
    ----------
    error : as click raises it
    language : of the command
    """
    from siteassess.reference.findings import worded

    if language == "en" or not isinstance(error, click.UsageError):
        return error
    if isinstance(error, click.NoSuchOption):
        near = tuple(sorted(error.possibilities or ()))
        code = "option-unknown-but" if near else "option-unknown"
        told = worded(code, option=error.option_name, **({"near": near} if near else {}))
    elif isinstance(error, click.BadOptionUsage) and error.option_name in error.message and "argument" in error.message:
        told = worded("option-wants-value", option=error.option_name)
    elif isinstance(error, click.MissingParameter) and error.param is not None:
        param = error.param
        name = param.opts[0] if param.param_type_name == "option" else param.human_readable_name.upper()
        told = worded("option-left-out", option=name)
    else:
        return error
    return click.UsageError(told, error.ctx)
