"""What a description's validation found wrong, in words for the person who wrote the file."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any

from patency.catalogue.nodes import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

    from patency.catalogue.nodes import Path
    from patency.catalogue.schema_walk import SchemaWalk

_EXPECTED = {
    "string_type": "text; numbers, true and false in quotes",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "dict_type": "a mapping of keys and values",
    "model_type": "a mapping of keys and values",
    "dataclass_type": "a mapping of keys and values",
    "list_type": "a list",
    "tuple_type": "a list",
    "date_type": "a day such as 2026-03-31",
    "date_parsing": "a day such as 2026-03-31",
    "date_from_datetime_parsing": "a day such as 2026-03-31",
    "datetime_type": "a local time without zone, such as 2026-03-31T11:50",
    "datetime_parsing": "a local time without zone, such as 2026-03-31T11:50",
    "datetime_from_date_parsing": "a local time without zone, such as 2026-03-31T11:50",
    "timezone_naive": "a local time without zone, such as 2026-03-31T11:50",
    "string_too_short": "some text",
    "too_short": "at least one",
}
_FEW = 8
_BOUNDS = {
    "ge": "at least {}",
    "gt": "more than {}",
    "le": "at most {}",
    "lt": "less than {}",
    "max_length": "at most {} letters",
}


def faults_of(error: ValidationError, walk: SchemaWalk) -> list[Finding]:
    """Say what each single fault of a validation is.

    Parameters
    ----------
    error
        What the validation raised.
    walk
        The schema of the same description.

    Returns
    -------
    list[Finding]
        One for each fault, in the order of the validation.
    """
    return [_finding(detail, walk) for detail in error.errors(include_url=False)]


def nearest_word(word: str, known: Iterable[str]) -> str:
    """Suggest the known word that is most like a wrong one.

    Parameters
    ----------
    word
        The wrong word.
    known
        The right ones.

    Returns
    -------
    str
        Such as ``, perhaps 'bore' is meant``; empty where none is like it.
    """
    close = difflib.get_close_matches(word, list(known), n=1)
    return f", perhaps {close[0]!r} is meant" if close else ""


def unnamed(path: Path, name: str, known: Iterable[str], expected: str) -> Iterator[Finding]:
    """Find fault with a name that names nothing.

    Parameters
    ----------
    path
        Where it stands.
    name
        The name.
    known
        The names there are.
    expected
        What it should name, such as ``an instrument``.

    Yields
    ------
    Finding
        The fault; nothing when the name is known.
    """
    names = set(known)
    if name not in names:
        few = f": {', '.join(sorted(names))}" if 0 < len(names) <= _FEW else ""
        yield Finding(path, f"{shown(name)} does not exist{nearest_word(name, names)}", f"{expected}{few}")


def shown(value: object) -> str:
    """Write a value from a file so that it fits into one line.

    Parameters
    ----------
    value
        The value.

    Returns
    -------
    str
        At most some sixty letters.
    """
    if isinstance(value, bool):
        return str(value).lower()
    for kind, name in ((dict, "a mapping"), (list, "a list"), (tuple, "a list"), (type(None), "nothing")):
        if isinstance(value, kind):
            return name
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:56]}…{text[-1]}"


def _finding(detail: ErrorDetails, walk: SchemaWalk) -> Finding:
    tagged: Path = detail["loc"]
    if tagged[-1:] == ("[key]",):
        tagged = tagged[:-1]
        if words := walk.key_words_at(tagged[:-1]):
            return _unknown_word(walk.without_tags(tagged), tagged[-1], words)
    path, kind, value = walk.without_tags(tagged), detail["type"], detail["input"]
    context: dict[str, Any] = detail.get("ctx", {})
    if kind == "missing":
        return Finding(path, "missing", walk.expected_at(tagged) or "the key with its value")
    if kind == "extra_forbidden":
        known = walk.keys_at(tagged[:-1])
        return Finding(path, f"unknown key{nearest_word(str(path[-1]), known)}", f"one of {', '.join(known)}")
    if kind == "told_apart":
        return _unknown_kind(path, value, str(context["key"]), walk.words_at((*tagged, context["key"])))
    if kind == "value_error":
        what, _, expected = str(context["error"]).partition("|")
        return Finding(path, what, expected)
    if kind in {"enum", "literal_error"}:
        return _unknown_word(path, value, walk.words_at(tagged))
    what = f"{shown(value)} cannot stand here"
    bounds = [text.format(context[bound]) for bound, text in _BOUNDS.items() if bound in context]
    expected = _EXPECTED.get(kind) or ", ".join(bounds) or walk.expected_at(tagged) or detail["msg"]
    return Finding(path, what, expected)


def _unknown_kind(path: Path, value: object, key: str, words: list[str]) -> Finding:
    """Say that a value is none of the kinds that may stand there."""
    if not isinstance(value, dict):
        return Finding(path, f"{shown(value)} cannot stand here", _EXPECTED["dict_type"])
    if key not in value:
        return Finding((*path, key), "missing", f"one of {', '.join(words)}")
    return _unknown_word((*path, key), value[key], words)


def _unknown_word(path: Path, value: object, words: list[str]) -> Finding:
    what = f"{shown(value)} is not known{nearest_word(str(value), words)}"
    return Finding(path, what, f"one of {', '.join(words)}")
