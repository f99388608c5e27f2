"""Every error the package raises.

SiteassessError                 anything we raise on purpose; the command line turns it into exit code 1
├── FaultyInput                 a file or text holds faults; carries all of them at once
├── OutsideModel                a sum was asked for outside what its model covers; the answer is "cannot say"
├── UnknownName                 a species, webbing, rule set or other name that no table holds
├── StoreError                  the group's register cannot be read or written as asked
└── MissingExtra                an optional library is not installed; says how to get it

A fault always says where, which field, what was read, what is wanted and how to mend it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, order=True)
class Fault:
    """One thing wrong with an input, in the reader's words.

    `line` counts from 1 and is 0 where the input has no lines (an option, a single text).
    """

    line: int
    field: str
    read: str
    wanted: str
    mend: str = ""

    def sentence(self) -> str:
        text = f"{self.field}: read {self.read}; wanted {self.wanted}"
        return f"{text}. {self.mend}" if self.mend else text


class SiteassessError(Exception):
    """Anything this package raises on purpose."""


class FaultyInput(SiteassessError):
    """One input with all its faults, sorted by line."""

    def __init__(self, source: str, faults: Iterable[Fault]):
        self.source = source
        self.faults = tuple(sorted(faults))
        super().__init__(self.listing())

    def listing(self) -> str:
        count = len(self.faults)
        head = f"{self.source}: {count} fault{'s' if count != 1 else ''}"
        lines = (f"  {self.source}:{f.line}: {f.sentence()}" if f.line else f"  {f.sentence()}" for f in self.faults)
        # a name or a text that was read may hold line breaks, and each line is one fault
        return "\n".join(re.sub(r"\s*[\r\n]+\s*", " ", line) for line in (head, *lines))


class FaultyFiles(FaultyInput):
    """Several inputs, each with all its faults."""

    def __init__(self, errors: Iterable[FaultyInput]):
        self.errors = tuple(errors)
        super().__init__(", ".join(one.source for one in self.errors), (f for one in self.errors for f in one.faults))

    def listing(self) -> str:
        return "\n".join(one.listing() for one in self.errors)


def refused(source: str, where: str, read: Any, wanted: str, mend: str = "", line: int = 0) -> FaultyInput:
    """One fault as the error that carries it; what was read is cut, unless it is a text that knows its code.

    Parameters
    ----------
    source : file or thing that was read
    where : field or place in it
    read : what stands there
    wanted, mend : what should, and how to put it right
    line : of the file; 0 where there is none
    """
    shown = str(read)[:200] if type(read) is str or not isinstance(read, str) else read
    return FaultyInput(source, [Fault(line, where, shown, wanted, mend)])


class WordedError(SiteassessError):
    """An error that may become part of an answer.

    The message is for whoever calls; `codes` of the table `findings` tell the same in every language, each worded with
    the `values` that it names.
    """

    def __init__(self, message: str, *codes: str, **values: Any):
        super().__init__(message)
        self.codes, self.values = codes, values


class OutsideModel(WordedError):
    """A sum asked for outside what its model covers; its codes tell the reason."""


class UnknownName(WordedError):
    """A name that no table holds; the message names the near ones."""


class AmbiguousName(UnknownName):
    """A name that several things bear; the message lists them."""


class StoreError(SiteassessError):
    """The register cannot be read or written as asked; nothing was changed."""


class MissingExtra(SiteassessError):
    """An optional library is missing; the message says how to get it."""
