"""The languages: every text is in the catalogue, German is complete, and what is shipped was compiled from it."""

from __future__ import annotations

import gettext
import io
import re
import runpy
from pathlib import Path

import pytest
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from patency.bench.languages import language_of, languages, translations
from patency.bench.saying import FORMS_OF_PLACES, say, say_in_drawing
from patency.bench.sentences import SENTENCES

DOCS = Path(__file__).parents[2] / "docs"
GERMAN = Path(__file__).parents[2] / "src/patency/bench/locale/de/LC_MESSAGES/bench.po"


@pytest.fixture(scope="module")
def texts() -> set[str]:
    """Every text there is to translate, as ``make words`` collects them."""
    found = runpy.run_path(str(DOCS / "make_words.py"))["template"]()
    return {one.id[0] if isinstance(one.id, tuple) else one.id for one in found if one.id}


def german() -> dict[str, str]:
    with GERMAN.open("rb") as file:
        catalogue = read_po(file, locale="de")
    return {_first(one.id): _first(one.string) for one in catalogue if one.id}


def _first(text: object) -> str:
    """Return a text, or of one that counts the form for one."""
    return str((text[0] if isinstance(text, tuple | list) else text) or "")


def test_every_text_is_in_the_german_catalogue_and_none_is_left_in_english(texts: set[str]) -> None:
    held = german()
    assert len(texts) > 250
    assert sorted(texts - held.keys()) == [], "run make words, then translate"
    assert sorted(text for text in texts if not held[text]) == []


def test_what_a_text_leaves_open_stays_open_in_german(texts: set[str]) -> None:

    holes = re.compile(r"%\(\w+\)s|\{\w*\}")
    held = german()
    assert [text for text in texts if sorted(holes.findall(text)) != sorted(holes.findall(held[text]))] == []


def test_what_is_shipped_was_compiled_from_the_catalogue() -> None:
    with GERMAN.open("rb") as file:
        catalogue = read_po(file, locale="de")
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    with GERMAN.with_suffix(".mo").open("rb") as file:
        shipped = gettext.GNUTranslations(file)
    fresh = gettext.GNUTranslations(compiled)
    assert shipped._catalog == fresh._catalog  # type: ignore[attr-defined]


def test_a_language_is_a_folder_and_english_needs_none() -> None:
    assert languages() == ("en", "de")
    assert translations("de").gettext("Board") == "Übersicht"
    assert translations("en").gettext("Board") == "Board"
    assert translations("xx").gettext("Board") == "Board"
    assert language_of("de", "") == "de"


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_sentence_of_another_room_is_said_with_its_numbers_and_names(sentence: str) -> None:
    named = enumerate(re.findall(r"\{(\w+)\}", sentence))
    # A digit stands for every place of a certain form, also for one that takes nothing but numbers.
    places = {name: f"{'7' if name in FORMS_OF_PLACES else 'Q'}{number}" for number, name in named}
    assert say("de", sentence.format(**places)) == german()[sentence].format(**places)
    assert say("en", sentence.format(**places)) == sentence.format(**places)


def test_what_nobody_translated_stays_as_it_was_made() -> None:
    assert say("de", "Gallbladder One: clip applier 10 mm") == "Gallbladder One: clip applier 10 mm"
    assert say("de", "circulation pressure (cleaning, P1)") == "Umwälzdruck (Reinigung, P1)"
    assert say("de", "jaws open, hold-down net over it") == "Maul offen, Netz darüber"
    assert say("de", "") == ""


def test_what_is_written_in_a_drawing_is_said_too_and_its_names_stay() -> None:
    svg = "<title>Lapwing, lower, seen from above</title><text x='1'>front: you stand here</text><text>H4</text>"
    told = say_in_drawing("de", svg)
    assert "<title>Lapwing, lower, von oben gesehen</title>" in told
    assert "vorn: hier stehen " in told
    assert "<text>H4</text>" in told
    assert say_in_drawing("de", "<text>back &lt;b&gt;</text>") == "<text>back &lt;b&gt;</text>"
