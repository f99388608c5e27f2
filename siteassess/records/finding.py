"""A reading that looks like a slip: where, what it says, what it more likely was."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from siteassess.records.record import Record
from siteassess.records.yaml_lines import Steps


@dataclass(frozen=True)
class Doubt:
    """A doubtful reading by its path in the record; texts are half sentences."""

    path: Steps
    says: str
    likelier: str = ""
    would_be: str = ""
    or_else: str = ""


@dataclass(frozen=True, order=True)
class ReadingWarning:
    """A doubtful reading, for people. It never blocks: whoever stood there knows better.

    `line` is None where the record was not read from a file.
    """

    line: int | None
    field: str
    says: str
    likelier: str = ""
    would_be: str = ""
    or_else: str = ""

    def sentence(self) -> str:
        text = f"{self.field}: {self.says}"
        if self.likelier:
            text += f". Likelier: {self.likelier}"
        if self.would_be:
            text += f"; it would be {self.would_be}" if self.likelier else f". It would be {self.would_be}"
        if self.or_else:
            text += f". Or: {self.or_else}"
        return text + "."


def number_and_unit(text: str) -> tuple[str, str]:
    """The two halves of a plain quantity text; feet and inches typed together come back whole, without a unit."""
    match = re.fullmatch(r"\s*([-+0-9.]+)\s*([^0-9]*?)\s*", text)
    return (match[1], match[2]) if match else (text.strip(), "")


def field_name(record: Record, path: Steps) -> str:
    """A path for people, with the codes of anchors, lines and landmarks; other lists count from 1."""
    shown = ""
    node: Any = record
    for step in path:
        if isinstance(step, int):
            node = node[step]
            own = getattr(node, "code", None) or getattr(node, "id", None)
            shown += f"[{own or step + 1}]"
        else:
            node = getattr(node, step, None)
            shown += f".{step}" if shown else step
    return shown
