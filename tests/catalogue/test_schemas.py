"""The schema by which an editor checks agrees with the reader: good files pass both, most broken ones neither."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from patency.catalogue import department_schema, read_nodes
from patency.catalogue.schema_walk import SchemaWalk
from patency.demo import larkmere_texts
from tests.catalogue.schema_check import SILENT, USED, accepts, keywords
from tests.small_site import SMALL_SITE, changed

SCHEMA = department_schema()
WALK = SchemaWalk(SCHEMA)
BROKEN = yaml.safe_load((Path(__file__).parents[1] / "broken" / "catalogues.yaml").read_text(encoding="utf-8"))
# What only reading the whole department shows: names, and what one value asks of another.
BETWEEN_VALUES = (
    "does not exist",
    "stands a second time",
    "waits a second time",
    "shorter than its stages",
    "outside the carrier",
)


def passes(texts: dict[str, str]) -> bool:
    """Tell whether the schema accepts every file."""
    nodes = [read_nodes(file, text)[0] for file, text in texts.items()]
    return all(node is None or accepts(SCHEMA, node.plain(), SCHEMA) for node in nodes)


@pytest.mark.parametrize("texts", [SMALL_SITE, larkmere_texts()], ids=["small", "Larkmere"])
def test_every_file_of_a_good_department_passes(texts: dict[str, str]) -> None:
    assert passes(dict(texts))


def test_the_checker_of_these_tests_knows_every_keyword_the_schema_uses() -> None:
    assert keywords(SCHEMA) - SILENT <= USED


@pytest.mark.parametrize(
    "what",
    [
        "a bore without unit",
        "a bore in kilograms",
        "a mass with a decimal comma",
        "an unknown key at the top",
        "a key misspelt",
        "a key of another kind of segment",
        "an unknown shape",
        "no shape",
        "no length",
        "an unknown kind of accessory",
        "an unknown state",
        "an unknown movable part",
        "an unknown gender",
        "a limit without source",
        "a limit that is a number alone",
        "a limit with a key misspelt",
        "a language in full",
        "no language",
        "a number as text",
        "text as number",
        "half an instrument",
        "no instrument",
        "yes instead of true",
        "an empty name",
        "a time without its day",
        "a time with a zone",
    ],
)
def test_an_editor_marks_what_the_reader_refuses(what: str) -> None:
    one = next(broken for broken in BROKEN if broken["what"] == what)
    assert not passes(changed(SMALL_SITE, one["was"], one["now"]))


@pytest.mark.parametrize(
    "one", [one for one in BROKEN if any(words in one["says"] for words in BETWEEN_VALUES)], ids=lambda one: one["what"]
)
def test_what_needs_the_whole_department_is_left_to_the_reader(one: dict[str, str]) -> None:
    assert passes(changed(SMALL_SITE, one["was"], one["now"]))


def described(schema: dict[str, Any]) -> list[str]:
    """Name the kinds of description that say nothing of themselves."""
    return [name for name, kind in schema["$defs"].items() if kind["type"] == "object" and not kind.get("description")]


def test_every_kind_of_description_says_what_it_is() -> None:
    assert [name for name in described(SCHEMA) if not name.endswith("Limit")] == []


def test_the_walk_finds_keys_words_and_what_belongs_at_a_place() -> None:
    segment = ("instruments", "x", "pieces", "y", "lumens", "z", "segments", 0)
    assert WALK.keys_at((*segment, "shape: bore")) == ["shape", "bore", "length", "roughness", "loss"]
    assert WALK.words_at((*segment, "shape")) == ["bore", "annulus"]
    assert WALK.expected_at((*segment, "shape: bore", "bore")) == "Inner diameter, such as 4.2 mm"
    assert WALK.expected_at(("carriers", "x", "ports", "y", "kind")) == "one of hose, nozzle, taper"
    assert WALK.keys_at(("sets",)) == []
    assert WALK.expected_at(("nothing", "here")) == ""
    assert "jaws" in WALK.key_words_at(("instruments", "x", "pieces", "y", "states"))
    assert WALK.without_tags((*segment, "shape: bore", "bore")) == (*segment, "bore")
    assert WALK.without_tags(("accessories", "kind: hose", "kind: hose", "near")) == (
        "accessories",
        "kind: hose",
        "near",
    )
