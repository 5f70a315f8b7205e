"""Collects what the pages of the bench say into the gettext catalogues, and compiles them: ``make words``.

Besides the texts of templates and routes each catalogue holds the words that other rooms hand to the pages: states,
roles, kinds of things. A new language is a folder in ``src/patency/bench/locale`` with an empty ``bench.po``.
"""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from patency.bench import words_of_other_rooms

BENCH = Path(__file__).parents[1] / "src" / "patency" / "bench"
WAYS = [("**.html", "jinja2"), ("**.py", "python")]
OPTIONS = {"**.html": {"trimmed": "true", "newstyle_gettext": "true", "silent": "false"}}
NO_DATE = datetime(2026, 1, 1, tzinfo=UTC)  # the same texts give the same bytes
DOMAIN = "bench"


def template() -> Catalog:
    """Collect every text there is to translate."""
    found = Catalog(project="Patency", creation_date=NO_DATE, fuzzy=False)
    texts = [
        (message, context)
        for _, _, message, _, context in extract_from_dir(str(BENCH), method_map=WAYS, options_map=OPTIONS)
    ]
    texts += [(word, None) for word in words_of_other_rooms()]
    for message, context in sorted(texts, key=str):
        found.add(message, context=context)
    return found


def catalogues() -> list[Path]:
    """List the catalogues of all languages."""
    return sorted((BENCH / "locale").glob(f"*/LC_MESSAGES/{DOMAIN}.po"))


def renewed(file: Path) -> tuple[bytes, bytes]:
    """Bring a catalogue up to date: its text and its compiled form."""
    language = file.parents[1].name
    with file.open("rb") as stream:
        catalogue = read_po(stream, locale=language, domain=DOMAIN)
    catalogue.update(template(), no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    catalogue.project, catalogue.version = "Patency", "1"
    catalogue.creation_date = catalogue.revision_date = NO_DATE
    catalogue.fuzzy = False
    catalogue.header_comment = f"# What the pages of the bench say, {catalogue.locale.english_name}."
    text, compiled = io.BytesIO(), io.BytesIO()
    write_po(text, catalogue, width=118, sort_output=True, no_location=True)
    write_mo(compiled, catalogue)
    return text.getvalue(), compiled.getvalue()


if __name__ == "__main__":
    for file in catalogues():
        text, compiled = renewed(file)
        file.write_bytes(text)
        file.with_suffix(".mo").write_bytes(compiled)
