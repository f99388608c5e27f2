"""Characters that may not stand in a record's texts.

Controls, halves of a pair, and marks that turn the direction of text about: none has a use on a form, and each can
break a file, a page, or what a reader believes a line says.
"""

from __future__ import annotations

import re

_FORBIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff]")


LONGEST_SHOWN = 60


def shortened(text: str, most: int = LONGEST_SHOWN) -> str:
    """A text as a message repeats it: on one line, printable, not long."""
    tame = "".join(character if character.isprintable() else "?" for character in text[: most + 1])
    return tame if len(tame) <= most else tame[:most] + "..."


def forbidden_character(text: str) -> str | None:
    """Name of the first character that may not stand in a record, as U+0007; None where all may.

    Parameters
    ----------
    text : as read
    """
    found = _FORBIDDEN.search(text)
    return f"U+{ord(found[0]):04X}" if found else None
