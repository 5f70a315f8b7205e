"""The languages of the pages: gettext catalogues, one folder each; English is what the pages are written in.

What other rooms say in English is looked up as it stands, so that their words need no second home: a catalogue may hold
``jaws open`` as it holds the words of the pages. What it does not hold is shown in English.
"""

from __future__ import annotations

from functools import cache
from gettext import GNUTranslations, NullTranslations
from pathlib import Path

_FOLDER = Path(__file__).with_name("locale")
_DOMAIN = "bench"
NAMES = {"en": "English", "de": "Deutsch"}
"""What a language calls itself; one without a name here is called by its code."""


@cache
def languages() -> tuple[str, ...]:
    """List the languages there are.

    Returns
    -------
    tuple[str, ...]
        English first, then each with a compiled catalogue.
    """
    found = sorted(file.parents[1].name for file in _FOLDER.glob(f"*/LC_MESSAGES/{_DOMAIN}.mo"))
    return ("en", *found)


@cache
def translations(language: str) -> NullTranslations:
    """Return the catalogue of a language.

    Parameters
    ----------
    language
        Its code.

    Returns
    -------
    NullTranslations
        One that leaves everything as it is, for English and for a language there is none for.
    """
    if language not in languages() or language == "en":
        return NullTranslations()
    with (_FOLDER / language / "LC_MESSAGES" / f"{_DOMAIN}.mo").open("rb") as file:
        return GNUTranslations(file)


def language_of(chosen: str | None, accepted: str) -> str:
    """Choose the language of a page.

    Parameters
    ----------
    chosen
        What the person chose before; None where nothing.
    accepted
        The browser's ``Accept-Language``.

    Returns
    -------
    str
        The first there is, or English.

    Examples
    --------
    >>> language_of(None, "fr;q=0.9, de-CH;q=0.8"), language_of("en", "de"), language_of("xx", "")
    ('de', 'en', 'en')
    """
    asked = [one.split(";")[0].strip().lower() for one in accepted.split(",")]
    wanted = ([chosen] if chosen else []) + asked
    return next((one.split("-")[0] for one in wanted if one.split("-")[0] in languages()), "en")
