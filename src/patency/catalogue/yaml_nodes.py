"""YAML as plain values that know their line.

Only what every reader understands in the same way is read: mappings with text as keys, lists, and the scalars of YAML
1.2's core schema. So ``no`` stays a language and not a ``false``, ``on`` stays a key, ``11:50`` stays a time and not
the number 710, a day stays text until a description asks for a day. Anchors, aliases and merge keys (``<<``) work, up
to a size no department reaches.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Any

import yaml

from patency.catalogue.nodes import Node, Scalar
from patency.errors import InputError

_WORDS: dict[str, Scalar] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]{0,17})")
_NUMBER = re.compile(r"[-+]?(\.[0-9]+|(0|[1-9][0-9]*)(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_DEEPEST = 40
_LARGEST = 200_000
# The compiled parser where PyYAML has it: twenty times as quick, the same events.
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read_nodes(file: str, text: str) -> tuple[Node | None, list[InputError]]:
    """Read one YAML document.

    Parameters
    ----------
    file
        Name of the file, for the places.
    text
        Its text.

    Returns
    -------
    tuple
        The value, None where the text holds none or cannot be read to its end; and the faults found.
    """
    reader = _Reader(file)
    try:
        for event in yaml.parse(text, _LOADER):
            reader.take(event)
    except _Stopped:
        return None, reader.faults
    except (yaml.YAMLError, UnicodeError) as error:
        return None, [*reader.faults, _not_yaml(file, text, error)]
    return reader.root, reader.faults


def core_value(text: str) -> Scalar:
    """Return what a plain scalar means in YAML 1.2's core schema.

    Parameters
    ----------
    text
        The scalar as written, without quotes.

    Returns
    -------
    Scalar
        A number, true, false or null where it clearly is one, else the text itself.

    Examples
    --------
    >>> [core_value(text) for text in ("4", "4.0", "true", "", "no", "11:50", "2026-03-31", "007", ".inf")]
    [4, 4.0, True, None, 'no', '11:50', '2026-03-31', '007', '.inf']
    """
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.fullmatch(text):
        return int(text)
    if _NUMBER.fullmatch(text) and math.isfinite(number := float(text)):
        return number
    return text


def _not_yaml(file: str, text: str, error: Exception) -> InputError:
    """Say in one line what the parser could not read."""
    if not isinstance(error, yaml.MarkedYAMLError) or error.problem_mark is None:
        # a character that no YAML text may hold
        at = error.start if isinstance(error, UnicodeEncodeError) else getattr(error, "position", 0)
        return InputError(
            f"{file}:{text.count(chr(10), 0, at) + 1}", f"the character {text[at : at + 1]!r}", "printable text"
        )
    lines = text.splitlines() or [""]
    line = min(error.problem_mark.line, len(lines) - 1)  # the parser counts the end as a line of its own
    written = lines[line]
    if "\t" in written[: len(written) - len(written.lstrip())]:
        return InputError(f"{file}:{line + 1}", "a tab before the first word", "spaces")
    begun = error.context_mark.line if error.context_mark is not None else line
    within = f" in what begins on line {begun + 1}" if begun != line else ""
    return InputError(f"{file}:{line + 1}", f"not YAML: {error.problem}{within}", "YAML")


class _Stopped(Exception):
    """There is no sense in reading on; the reason is among the faults."""


class _Merge(Enum):
    KEY = "<<"


@dataclass(slots=True)
class _Open:
    """A list or mapping whose end has not come yet."""

    line: int
    anchor: str | None
    items: list[Node] = field(default_factory=list)
    entries: dict[str, Node] | None = None
    """None for a list."""
    key: str | _Merge | None = None
    """The key whose value comes next."""
    key_line: int = 0
    merged: dict[str, Node] = field(default_factory=dict)


class _Reader:
    """Builds nodes from the parser's events, without recursion, so that no nesting can exhaust the stack."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[InputError] = []
        self.root: Node | None = None
        self._open: list[_Open] = []
        self._anchors: dict[str, Node | None] = {}
        self._documents = 0

    def take(self, event: yaml.Event) -> None:
        line = 0 if event.start_mark is None else event.start_mark.line + 1
        if isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self._stop(line, "a second document begins", "one document in a file")
        elif isinstance(event, yaml.ScalarEvent):
            self._scalar(event, line)
        elif isinstance(event, yaml.SequenceStartEvent):
            self._begin(event, line, None)
        elif isinstance(event, yaml.MappingStartEvent):
            self._begin(event, line, {})
        elif isinstance(event, yaml.SequenceEndEvent | yaml.MappingEndEvent):
            self._end()
        elif isinstance(event, yaml.AliasEvent) and event.anchor is not None:
            self._alias(event.anchor, line)

    def _fault(self, line: int, what: str, expected: str) -> None:
        self.faults.append(InputError(f"{self.file}:{line}", what, expected))

    def _stop(self, line: int, what: str, expected: str) -> None:
        self._fault(line, what, expected)
        raise _Stopped

    @property
    def _key_comes(self) -> bool:
        inner = self._open[-1] if self._open else None
        return inner is not None and inner.entries is not None and inner.key is None

    def _scalar(self, event: yaml.ScalarEvent, line: int) -> None:
        if event.tag is not None:
            self._fault(line, f"the tag {event.tag!r}", "a value without a tag")
        if any("\ud800" <= letter <= "\udfff" for letter in event.value):
            self._stop(line, f"half a character in {event.value!r}", "whole characters")
        plain = event.implicit[0]
        if self._key_comes:
            self._key(_Merge.KEY if plain and event.value == "<<" else event.value, line)
        else:
            self._put(Node(core_value(event.value) if plain else event.value, self.file, line), event.anchor)

    def _key(self, key: str | _Merge, line: int) -> None:
        mapping = self._open[-1]
        mapping.key, mapping.key_line = key, line
        if isinstance(key, str) and mapping.entries is not None and key in mapping.entries:
            first = mapping.entries[key]
            self._fault(line, f"the key {key!r} a second time, first on line {first.line}", "every key once")

    def _begin(self, event: yaml.CollectionStartEvent, line: int, entries: dict[str, Node] | None) -> None:
        if event.tag is not None:
            self._fault(line, f"the tag {event.tag!r}", "a value without a tag")
        if self._key_comes:
            self._stop(line, "a list or mapping as key", "text as key")
        if len(self._open) >= _DEEPEST:
            self._stop(line, f"nested more than {_DEEPEST} deep", "a flatter arrangement")
        if event.anchor is not None:
            self._anchors[event.anchor] = None
        self._open.append(_Open(line, event.anchor, entries=entries))

    def _end(self) -> None:
        done = self._open.pop()
        value = done.items if done.entries is None else {**done.merged, **done.entries}
        inner = value.values() if isinstance(value, dict) else value
        size = 1 + sum(node.size for node in inner)
        if size > _LARGEST:
            self._stop(done.line, f"more than {_LARGEST} values with all aliases written out", "a smaller description")
        self._put(Node(value, self.file, done.line, size), done.anchor)

    def _alias(self, anchor: str, line: int) -> None:
        if self._key_comes:
            self._stop(line, f"the alias *{anchor} as key", "text as key")
        node = self._anchors.get(anchor)
        if node is None:
            what = "stands inside what it names" if anchor in self._anchors else "has no anchor before it"
            self._stop(line, f"the alias *{anchor} {what}", f"&{anchor} at an earlier value")
        else:
            self._put(replace(node, line=line), None)

    def _put(self, node: Node, anchor: str | None) -> None:
        """Put a finished value where it belongs."""
        if anchor is not None:
            self._anchors[anchor] = node
        if not self._open:
            self.root = node
            return
        inner = self._open[-1]
        if inner.entries is None:
            inner.items.append(node)
        elif inner.key is _Merge.KEY:
            self._merge(inner, node)
        elif inner.key is not None:
            inner.entries.setdefault(inner.key, replace(node, line=inner.key_line))
        inner.key = None

    def _merge(self, mapping: _Open, node: Node) -> None:
        for source in node.value if isinstance(node.value, list) else [node]:
            if isinstance(source.value, dict):
                # What is merged first wins, as everywhere merge keys are known.
                mapping.merged = {**source.value, **mapping.merged}
            else:
                self._stop(mapping.key_line, "<< without a mapping", "an alias of a mapping, or a list of such")
