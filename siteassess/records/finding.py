"""A reading that looks like a slip: where, what it says, what it more likely was; each a code of `findings`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from siteassess.records.record import Record
from siteassess.records.yaml_lines import Steps
from siteassess.reference.findings import English, Said, said
from siteassess.reference.texts import text


@dataclass(frozen=True)
class Doubt:
    """A doubtful reading by its path in the record; each code is worded as half a sentence.

    `slip` is what more likely happened and `meant` what was meant then, `others` are slips nearly as likely, and `then`
    is what to do about it.
    """

    path: Steps
    told: Said
    slip: Said | None = None
    meant: Said | None = None
    others: tuple[Said, ...] = ()
    then: Said | None = None

    says, likelier, would_be = English("told"), English("slip"), English("meant")

    @property
    def or_else(self) -> str:
        """What else it may have been, or what to do, in English."""
        return text("between").join(one.in_words() for one in self.others or (self.then,) if one)


@dataclass(frozen=True)
class ReadingWarning(Doubt):
    """A doubtful reading, for people. It never blocks: whoever stood there knows better.

    `line` is None where the record was not read from a file; `field` is its path in the record's own words.
    """

    line: int | None = None
    field: str = ""

    @property
    def whole(self) -> Said:
        """All of it as one code."""
        more = [said("doubt-likelier", what=self.slip)] if self.slip else []
        more += [said("doubt-would-be", what=self.meant)] if self.meant else []
        more += [said("doubt-or", others=self.others)] if self.others else []
        more += [said("doubt-then", what=self.then)] if self.then else []
        return said("doubted", field=self.field, what=self.told, more=tuple(more))

    def sentence(self, language: str = "en") -> str:
        return self.whole.in_words(language)

    def as_dict(self) -> dict[str, Any]:
        """The English texts, and the codes behind them with their values."""
        return {
            "line": self.line, "field": self.field, "says": self.says, "likelier": self.likelier,
            "would_be": self.would_be, "or_else": self.or_else, "code": self.told.code,
            "values": dict(self.told.values), "codes": {
                "likelier": self.slip, "would_be": self.meant, "others": self.others, "then": self.then,
            },
        }


def number_and_unit(text: str) -> tuple[str, str]:
    """The two halves of a plain quantity text; feet and inches typed together come back whole, without a unit.

    Parameters
    ----------
    text : "5.2 m", as typed; a decimal comma comes back as a point

    Returns
    -------
    Number and unit, "" where there is none.
    """
    match = re.fullmatch(r"\s*([-+0-9.,]+)\s*([^0-9]*?)\s*", text)
    return (match[1].replace(",", "."), match[2]) if match else (text.strip(), "")


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
