"""Values of several kinds under one key, told apart by a word: ``shape: bore``, ``kind: hose``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Discriminator

if TYPE_CHECKING:
    from collections.abc import Callable


def told_apart_by(key: str) -> Discriminator:
    """Return the mark of a union whose members state one key with different words.

    Every member carries the tag ``key: word``. A place inside a value then never holds a tag that could be mistaken
    for one of its keys (a bore segment has a key ``bore``).

    Parameters
    ----------
    key
        The key.

    Returns
    -------
    Discriminator
        The mark for `typing.Annotated`.
    """
    return Discriminator(
        _word_under(key),
        custom_error_type="told_apart",
        custom_error_message="not one of the kinds",
        custom_error_context={"key": key},
    )


def _word_under(key: str) -> Callable[[object], str | None]:
    def word(value: object) -> str | None:
        stated = value.get(key) if isinstance(value, dict) else getattr(value, key, None)
        return None if stated is None else f"{key}: {stated}"

    return word
