"""A command that tells every fault of its options at once, each with its name, what was read and what is wanted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import click

# options of which exactly one is needed, and the code that says so
ONE_OF = (({"diameter", "girth"}, "option-diameter-or-girth"), ({"standing", "sag"}, "option-standing-or-sag"),
          ({"efficiency", "sheave"}, "option-efficiency-or-sheave"))  # fmt: skip

BY_NUMBERS, BY_CLASS = {"stiffness", "mass"}, "webbing_class"


class SeveralFaults(click.UsageError):
    """Several options that cannot be taken, one a line; each may know its code."""

    def __init__(self, faults: Sequence[str], ctx: click.Context | None = None):
        self.faults = faults
        super().__init__(self.in_lines("en"), ctx)

    def in_lines(self, language: str) -> str:
        """The faults in a language, under their count."""
        from siteassess.cli.shared import one_line
        from siteassess.reference.findings import in_language, worded

        head = worded("option-faults", count=len(self.faults))
        return "\n  ".join(one_line(in_language(one, language)) for one in (head, *self.faults))


class EveryFault(click.Command):
    """A command whose options are all read before the first faulty one stops it."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read what was typed, as click does.

        Raises
        ------
        SeveralFaults : more than one option cannot be taken
        click.UsageError : one cannot
        """
        typed = list(args)
        try:
            rest = super().parse_args(ctx, args)
        except click.BadParameter:
            if len(faults := [*self._faults(ctx, typed)]) < 2:
                raise
            raise SeveralFaults(faults, ctx) from None
        # a single one of these is told by the sum itself; a shell that completes a line asks for none
        if not ctx.resilient_parsing and len(faults := [*self._together(ctx.params)]) > 1:
            raise SeveralFaults(faults, ctx)
        return rest

    def _faults(self, ctx: click.Context, typed: list[str]) -> Iterator[str]:
        """What is wrong with each option and argument, and with those of which one is needed."""
        from siteassess.reference.findings import worded

        given, _, _ = self.make_parser(ctx).parse_args(args=typed)
        for param in self.get_params(ctx):
            try:
                if not param.is_eager:
                    param.handle_parse_result(ctx, given, [])
                elif param.name in given:  # the language: what its files tell was told
                    param.type_cast_value(ctx, given[param.name])
            except click.MissingParameter:
                wanted = str(getattr(param, "help", None) or param.human_readable_name).rstrip(".")
                yield worded("option-missing", option=_named(param), wanted=wanted)
            except click.BadParameter as error:
                yield worded("option-of", option=_named(param), says=error.message)
        yield from self._together(given)

    def _together(self, given: Mapping[str, Any]) -> Iterator[str]:
        """What is wrong with options of which one is needed."""
        from siteassess.reference.findings import worded

        names, there = {param.name for param in self.params}, {one for one, value in given.items() if _is_given(value)}
        for pair, code in ONE_OF:
            if pair <= names and len(pair & there) != 1:
                yield worded(code)
        if {*BY_NUMBERS, BY_CLASS} <= names and BY_CLASS not in there and not there >= BY_NUMBERS:
            yield worded("option-stiffness-or-class")


def _is_given(value: Any) -> bool:
    return value is not None and type(value).__name__ != "Sentinel"  # click's own mark of nothing


def _named(param: click.Parameter) -> str:
    return param.opts[0] if param.param_type_name == "option" else param.human_readable_name
