"""Strict YAML that remembers its lines.

A record decides whether somebody hangs on a tree, so nothing in it may be guessed: a repeated key, an alias, a tag, a
`yes` read as true or an `010` read as eight is a fault, or stays the text that was typed. Everything found is
collected; only a break in the grammar itself ends the reading early.

The parser's events are used rather than its loader: they come from a state machine, so depth is ours to limit, and
the part before a break in the grammar is kept.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import yaml

from siteassess.errors import Fault
from siteassess.records.characters import forbidden_character, shortened
from siteassess.reference.findings import worded

MAX_BYTES = 5_000_000  # judgement: a thousand full trees fit twice over
MAX_YAML_DEPTH = 24
_LONGEST_CODE = 24
MAX_DIGITS = 17  # beyond this a float no longer holds every whole number typed
MAX_FAULTS = 1000  # a file of another kind should not answer with a million sentences
MAX_VALUES = 200_000  # judgement, as above: what a thousand trees need, twice over

WHOLE_NUMBER = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
DECIMAL = re.compile(
    r"[-+]?(?:0|[1-9][0-9]*)?\.[0-9]+|[-+]?(?:0|[1-9][0-9]*)\.|[-+]?[0-9]+(?:\.[0-9]*)?[eE][-+]?[0-9]+"
)
NOT_FINITE = re.compile(r"[-+]?\.?(?:inf|infinity)|\.?nan", re.IGNORECASE)
YAML_WORDS = {"": None, "~": None, "null": None, "true": True, "false": False}

# what the parser says; codes of what a person should hear, and of how to mend it
_GRAMMAR = (
    ("cannot start any token", "read-bad-start", "mend-bad-start"),
    ("mapping values are not allowed", "read-second-colon", "mend-second-colon"),
    ("expected ':'", "read-no-colon", "mend-no-colon"),
    ("expected <block end>", "read-out-of-step", "mend-line-up"),
    ("expected key", "read-out-of-step", "mend-line-up"),
    ("block end", "read-out-of-step", "mend-line-up"),
    ("escape", "read-backslash", "mend-backslash"),
    ("quoted scalar", "read-quote-open", "mend-close"),
    ("unexpected end of stream", "read-quote-or-bracket-open", "mend-close"),
    ("expected ',' or", "read-bracket-open", "mend-close"),
    ("", "read-broken-grammar", "mend-broken-grammar"),
)


class _Unread:
    """Stands where a value was typed that could not be read, and was reported."""

    def __repr__(self) -> str:
        return "a value already reported"


UNREAD = _Unread()

Steps: TypeAlias = tuple[str | int, ...]  # the way to a value: keys, and places in lists
Plain: TypeAlias = str | int | float | bool | None
NodeValue: TypeAlias = "Plain | _Unread | dict[str, Node] | list[Node]"


@dataclass
class Node:
    """A value and the line it stands on (for a member of a block, the line of its key).

    `blanks` keeps the lines of keys that were typed and left blank, once these are taken out.
    """

    line: int
    value: NodeValue
    blanks: dict[str, int] = field(default_factory=dict)

    def plain(self) -> Any:
        """The value alone."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value

    def child(self, step: str | int) -> Node | None:
        if isinstance(self.value, dict) and isinstance(step, str):
            return self.value.get(step)
        if isinstance(self.value, list) and isinstance(step, int) and step < len(self.value):
            return self.value[step]
        return None

    def line_at(self, path: Steps) -> int:
        """Line of a path; of the nearest parent where the path is not there."""
        node = self
        for step in path:
            nearer = node.child(step)
            if nearer is None:
                return node.blanks.get(step, node.line) if isinstance(step, str) else node.line
            node = nearer
        return node.line


@dataclass
class Document:
    """What could be read of a text.

    `open_path` is where the reading stood when the grammar broke (None if it never did): what lies on it is unfinished,
    and the value at `last_path` may have run into what broke.
    """

    root: Node
    faults: list[Fault] = field(default_factory=list)
    open_path: Steps | None = None
    last_path: Steps | None = None


def document_of(plain: Any) -> Document:
    """The document that plain values would be read from, were they written down; its faults name no line.

    Parameters
    ----------
    plain : dictionaries, lists, texts and numbers
    """
    return Document(_node_of(plain))


def _node_of(plain: Any) -> Node:
    if isinstance(plain, dict):
        return Node(0, {str(key): _node_of(one) for key, one in plain.items()})
    return Node(0, [_node_of(one) for one in plain] if isinstance(plain, list) else plain)


def load_nodes(text: str) -> Document:
    """Read a text into nodes with lines, and every fault of form.

    Parameters
    ----------
    text : the whole document; line ends of any system, a byte-order mark at its start is passed over

    Returns
    -------
    Never raises for a str: what is wrong stands in `faults`.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    controls = _character_faults(text)
    if controls:
        return Document(Node(1, None), controls, ())
    return _Builder().run(text)


def _character_faults(text: str) -> list[Fault]:
    if not forbidden_character(text):
        return []
    found = ((number, forbidden_character(line)) for number, line in enumerate(text.split("\n"), 1))
    where, wanted, mend = worded("the-characters"), worded("want-printable"), worded("mend-no-text-file")
    faults = [
        Fault(number, where, worded("read-character", name=name), wanted, mend) for number, name in found if name
    ]
    return faults[:MAX_FAULTS]


def _events(text: str) -> Iterator[yaml.Event]:
    return yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))


@dataclass
class _Open:
    """A container still open, and the member it waits for: a key (None until one is read) or an index."""

    node: Node
    step: str | int | None
    key_line: int
    keep: bool = True  # False for the value of a repeated or merge key

    @property
    def waits_for_key(self) -> bool:
        return isinstance(self.node.value, dict) and self.step is None

    def put(self, node: Node) -> None:
        if isinstance(self.node.value, list):
            self.node.value.append(node)
        elif isinstance(self.node.value, dict) and isinstance(self.step, str) and self.keep:
            node.line = self.key_line
            self.node.value[self.step] = node

    def next(self) -> None:
        self.step = len(self.node.value) if isinstance(self.node.value, list) else None
        self.keep = True


class _Builder:
    """Builds nodes from the parser's events."""

    def __init__(self) -> None:
        self.root = Node(1, None)
        self.found: list[tuple[Steps, int, str, str, str]] = []  # path, then the fault without its field
        self.stack: list[_Open] = []
        self.documents = 0
        self.values = 0
        self.last: Steps = ()

    def run(self, text: str) -> Document:
        broken: list[Fault] = []
        try:
            whole = all(self._take(event) for event in _events(text))
        except yaml.YAMLError as error:
            whole, broken = False, [_grammar_fault(error)]
        # named only now, when an item's own code has been read
        faults = [Fault(line, show_path(self.root, path) or worded("the-record"), *told)
                  for path, line, *told in self.found]
        return Document(self.root, faults + broken, None if whole else self._path(), self.last)

    def _take(self, event: yaml.Event) -> bool:
        """Use one event; False ends the reading."""
        line = event.start_mark.line + 1 if event.start_mark else 0
        if isinstance(event, yaml.AliasEvent):
            name = str(event.anchor)
            self._fault(line, worded("read-alias", name=shortened(name)), worded("want-value-itself"),
                        worded("mend-value-again"))
            self._unread(f"*{name}", line)
        elif isinstance(event, yaml.ScalarEvent):
            self._refuse_marks(event, line)
            self._scalar(event.value, line, plain=not event.style)
        elif isinstance(event, yaml.CollectionStartEvent):
            self._refuse_marks(event, line)
            return self._open(event, line)
        elif isinstance(event, yaml.CollectionEndEvent):
            self.stack.pop()
            self._advance()
        elif isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                read, wanted = worded("read-second-document"), worded("want-one-record")
                self._fault(line, read, wanted, worded("mend-second-document"))
            return self.documents == 1
        return len(self.found) < MAX_FAULTS and self._few_enough(line)

    def _few_enough(self, line: int) -> bool:
        self.values += 1
        if self.values <= MAX_VALUES:
            return True
        read = worded("read-many-values", most=MAX_VALUES)
        self._fault(line, read, worded("want-one-site"), worded("mend-split-record"))
        return False

    def _path(self) -> Steps:
        return tuple(opened.step for opened in self.stack if opened.step is not None)

    def _fault(self, line: int, read: str, wanted: str, mend: str) -> None:
        self.found.append((self._path(), line, read, wanted, mend))

    def _refuse_marks(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent, line: int) -> None:
        if event.anchor is not None:
            read = worded("read-yaml-anchor", name=shortened(event.anchor))
            self._fault(line, read, worded("want-no-yaml-anchors"), worded("mend-values-out"))
        if event.tag is not None:
            read = worded("read-tag", name=shortened(event.tag))
            self._fault(line, read, worded("want-no-tags"), worded("mend-delete-tag"))

    def _open(self, event: yaml.CollectionStartEvent, line: int) -> bool:
        if len(self.stack) >= MAX_YAML_DEPTH:
            read = worded("read-deep-nesting", most=MAX_YAML_DEPTH)
            self._fault(line, read, worded("want-few-levels"), worded("mend-bracket-open"))
            return False
        if self._waits_for_key():
            self._fault(line, worded("read-block-as-key"), worded("want-word-as-key"), worded("mend-quote-key"))
            return False
        mapping = isinstance(event, yaml.MappingStartEvent)
        node = Node(line, {} if mapping else [])
        self._put(node)
        self.stack.append(_Open(node, None if mapping else 0, line))
        return True

    def _waits_for_key(self) -> bool:
        return bool(self.stack) and self.stack[-1].waits_for_key

    def _scalar(self, text: str, line: int, plain: bool) -> None:
        if bad := forbidden_character(text):
            read = worded("read-escaped-character", name=bad)
            self._fault(line, read, worded("want-printable"), worded("mend-delete"))
            self._unread("?", line)
        elif self._waits_for_key():
            self._key(text, line, plain)
        else:
            self._put(Node(line, self._resolved(text, line) if plain else text))
            self.last = self._path()
            self._advance()

    def _unread(self, as_key: str, line: int) -> None:
        if self._waits_for_key():
            self.stack[-1].step, self.stack[-1].key_line = as_key, line
        else:
            self._put(Node(line, UNREAD))
            self._advance()

    def _resolved(self, text: str, line: int) -> NodeValue:
        try:
            return scalar_value(text)
        except ValueError as error:
            self._fault(line, shortened(text), worded("want-finite-number"), error.args[0])
            return UNREAD

    def _key(self, key: str, line: int, plain: bool) -> None:
        holder = self.stack[-1]
        if plain and key == "<<":
            read = worded("read-merge-key")
            self._fault(line, read, worded("want-keys-themselves"), worded("mend-keys-again"))
            holder.keep = False
        elif first := holder.node.child(key):
            read = worded("read-key-again", key=shortened(key), line=first.line)
            self._fault(line, read, worded("want-keys-once"), worded("mend-delete-one-of-two"))
            holder.keep = False
        holder.step, holder.key_line = key, line

    def _put(self, node: Node) -> None:
        if self.stack:
            self.stack[-1].put(node)
        else:
            self.root = node

    def _advance(self) -> None:
        if self.stack:
            self.stack[-1].next()


def scalar_value(text: str) -> Plain:
    """Value of a plain scalar: null, true, false, a plain number, else the text itself.

    Raises
    ------
    ValueError : not finite, or more digits than a number here can hold; how to mend it
    """
    if text in YAML_WORDS:
        return YAML_WORDS[text]
    if text[0] not in "+-.0123456789iInN":
        return text
    whole = WHOLE_NUMBER.fullmatch(text)
    if whole or DECIMAL.fullmatch(text):
        if whole and len(text.lstrip("+-")) > MAX_DIGITS:
            raise ValueError(worded("mend-fewer-digits", most=MAX_DIGITS))
        number: int | float = int(text) if whole else float(text)
        if not math.isfinite(number):
            raise ValueError(worded("mend-number-itself"))
        return number
    if NOT_FINITE.fullmatch(text) and not text.isalpha():
        raise ValueError(worded("mend-value-unknown"))
    return text


def show_path(root: Node | None, path: Steps) -> str:
    """A path for people: items of a list by their own code where they have one, else counted from 1."""
    shown, node = "", root
    for step in path:
        node = node.child(step) if node is not None else None
        if isinstance(step, int):
            shown += f"[{_own_code(node) or step + 1}]"
        else:
            shown += f".{shortened(step)}" if shown else shortened(step)
    return shown


def _own_code(node: Node | None) -> str | None:
    for key in ("code", "id"):
        named = node.child(key) if node is not None else None
        if named is not None and isinstance(named.value, (str, int)) and not isinstance(named.value, bool):
            return shortened(str(named.value), _LONGEST_CODE)
    return None


def _grammar_fault(error: yaml.YAMLError) -> Fault:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = " ".join(str(part) for part in (getattr(error, "context", ""), getattr(error, "problem", "")) if part)
    read, mend = next((worded(read), worded(mend)) for clue, read, mend in _GRAMMAR if clue in problem)
    line = mark.line + 1 if mark else 0
    if line:
        mend = worded("mend-and-after", mend=mend, line=line)
    return Fault(line, worded("the-grammar"), read, worded("want-yaml"), mend)
