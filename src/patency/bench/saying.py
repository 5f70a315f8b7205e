"""Sentences with numbers and names that other rooms made in English, said in the language of the page.

A catalogue holds such a sentence with a named place for each thing in it, ``{port}: {less} % less``; what stands in the
places is looked up in turn. What no catalogue holds stays as it is, so names of a department are never touched.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from html import escape, unescape

from markupsafe import Markup

from patency.bench.languages import translations
from patency.bench.sentences import SENTENCES

_JOINTS = ("; ", " – ", " > ", ": ", ", ")
_IN_BRACKETS = re.compile(r"(?P<what>[^()]+) \((?P<inside>[^()]+)\)")
_PLACE = re.compile(r"\{(\w+)\}")
FORMS_OF_PLACES = {
    "port": r"\S+",
    "stage": r"[^();]+",
    "sensor": r"\w+",
    **dict.fromkeys(("number", "count", "seen", "low", "high"), r"[\d.,−-]+"),
}
"""What stands in such a place is a word, a name or a number; else texts of a department were taken for sentences."""
_WRITTEN = re.compile(r"(?P<mark><(?:text|title)\b[^>]*>)(?P<words>[^<]+)")


@lru_cache(maxsize=20_000)
def say(language: str, text: str) -> str:
    """Say something in another language.

    Parameters
    ----------
    language
        Its code.
    text
        Words or a sentence, in English.

    Returns
    -------
    str
        The same in that language; what is not known there stays in English.

    Examples
    --------
    >>> say("de", "Gallbladder One"), say("de", "circulation time (drying)")
    ('Gallbladder One', 'Umwälzzeit (Trocknung)')
    >>> say("de", "2 lumens get less, most H4: 3 % less")
    '2 Lumen bekommen weniger, am meisten H4: 3 % weniger'
    """
    if language == "en" or not text:
        return text
    catalogue = translations(language)
    known = catalogue.gettext(text)
    if known != text:
        return known
    for sentence, form in _forms():
        found = form.fullmatch(text)
        if found:
            places = {name: say(language, value) for name, value in found.groupdict().items()}
            return catalogue.gettext(sentence).format(**places)
    return _in_parts(language, text)


def say_in_drawing(language: str, drawing: str) -> Markup:
    """Say what is written in a drawing of ours in another language.

    Parameters
    ----------
    language
        Its code.
    drawing
        SVG that another room drew; nothing in it comes from a browser.

    Returns
    -------
    Markup
        The same drawing; names stay as they are.
    """

    def said(written: re.Match[str]) -> str:
        return written["mark"] + escape(say(language, unescape(written["words"])), quote=False)

    return Markup(_WRITTEN.sub(said, drawing))  # noqa: S704 - drawn by papers, and what is put in is escaped


def _in_parts(language: str, text: str) -> str:
    bracketed = _IN_BRACKETS.fullmatch(text)
    if bracketed:
        return f"{say(language, bracketed['what'])} ({say(language, bracketed['inside'])})"
    joint = next((one for one in _JOINTS if one in text), None)
    # What ends with a full stop is an instruction of the department: half of it in another language helps nobody.
    if joint is None or text.endswith("."):
        return text
    return joint.join(say(language, part) for part in text.split(joint))


@cache
def _forms() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Return the sentences, those with the most words of their own first: they cannot be taken for another."""
    in_order = sorted(SENTENCES, key=lambda sentence: -len(_PLACE.sub("", sentence)))
    return tuple((sentence, re.compile(_as_pattern(sentence))) for sentence in in_order)


def _as_pattern(sentence: str) -> str:
    parts = _PLACE.split(sentence)
    return "".join(
        f"(?P<{part}>{FORMS_OF_PLACES.get(part, '.+?')})" if place % 2 else re.escape(part)
        for place, part in enumerate(parts)
    )
