"""Pages from templates: each page's folder holds its own, all build on the layout."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from patency.bench.languages import NAMES, languages, translations
from patency.bench.saying import say, say_in_drawing

_ROOM = Path(__file__).parent


@cache
def _environment(language: str) -> Environment:
    made = Environment(
        loader=FileSystemLoader(_ROOM),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    made.policies["ext.i18n.trimmed"] = True
    made.install_gettext_translations(translations(language), newstyle=True)  # type: ignore[attr-defined]
    made.filters |= {"clock": _clock, "day": _day, "moment": _moment}
    made.filters |= {"words": partial(say, language), "drawing": partial(say_in_drawing, language)}
    made.globals |= {
        "languages": languages(),
        "language_names": NAMES,
        "asset": asset,
        "new_key": lambda: uuid.uuid4().hex,
    }
    return made


def render(template: str, language: str, **shown: object) -> str:
    """Fill a template in.

    Parameters
    ----------
    template
        The page's folder, or a file in a folder.
    language
        In which language.
    **shown
        What it shows.

    Returns
    -------
    str
        HTML.
    """
    name = template if "/" in template else f"{template}/page.html"
    folder = name.split("/", maxsplit=1)[0]
    return _environment(language).get_template(name).render(language=language, folder=folder, **shown)


def asset(folder: str, name: str) -> str | None:
    """Return where the browser finds a style or script.

    Parameters
    ----------
    folder
        Of the page, or ``layout`` or ``vendor``.
    name
        Of the file.

    Returns
    -------
    str or None
        A path; None where the folder has no such file.
    """
    return f"/asset/{folder}/{name}" if (_ROOM / folder / name).is_file() else None


def _clock(moment: datetime | None) -> str:
    return f"{moment:%H:%M}" if moment else "–"


def _day(moment: datetime | None) -> str:
    return f"{moment:%Y-%m-%d %H:%M}" if moment else "–"


def _moment(seconds: float) -> str:
    return _day(datetime.fromtimestamp(seconds, UTC))
