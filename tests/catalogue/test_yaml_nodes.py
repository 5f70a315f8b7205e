"""YAML as plain values with their lines: what is read, what is refused."""

from __future__ import annotations

import time

import pytest
import yaml

from patency.catalogue import yaml_nodes
from patency.catalogue.yaml_nodes import read_nodes


@pytest.fixture(params=["CSafeLoader", "SafeLoader"])
def _parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Take the compiled parser, then the one in Python."""
    monkeypatch.setattr(yaml_nodes, "_LOADER", getattr(yaml, request.param))


def plain(text: str) -> object:
    """Read text that has no fault."""
    node, faults = read_nodes("a.yaml", text)
    assert faults == []
    return None if node is None else node.plain()


def faults(text: str) -> list[str]:
    """Read text and return the faults."""
    return [fault.line for fault in read_nodes("a.yaml", text)[1]]


@pytest.mark.usefixtures("_parser")
@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("4", 4),
        ("-4", -4),
        ("4.0", 4.0),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("true", True),
        ("false", False),
        ("~", None),
        ("null", None),
        ("", None),
        ("yes", "yes"),
        ("no", "no"),
        ("on", "on"),
        ("off", "off"),
        ("11:50", "11:50"),
        ("11:50:00", "11:50:00"),
        ("1_000", "1_000"),
        ("0x1F", "0x1F"),
        ("0o17", "0o17"),
        ("017", "017"),
        ("08", "08"),
        ("2026-03-31", "2026-03-31"),
        ("2026-03-31 11:50:00", "2026-03-31 11:50:00"),
        (".inf", ".inf"),
        (".nan", ".nan"),
        ("1e999", "1e999"),
        ("9" * 30, 1e30),
        ("=", "="),
        ("4.2 mm", "4.2 mm"),
        ('"4"', "4"),
        ("'true'", "true"),
        ("'<<'", "<<"),
    ],
)
def test_a_scalar_is_a_number_or_a_truth_value_only_where_it_clearly_is_one(written: str, value: object) -> None:
    node, _ = read_nodes("a.yaml", f"a: {written}")
    read = node.mapping["a"].value if node else "nothing"
    assert (read, type(read)) == (value, type(value))


@pytest.mark.usefixtures("_parser")
def test_keys_are_always_text() -> None:
    text = "1: a\non: b\ntrue: c\n2026-03-31: d\n~: e\n11:50: f\n'<<': g"
    keys = ["1", "on", "true", "2026-03-31", "~", "11:50", "<<"]
    assert plain(text) == dict(zip(keys, "abcdefg", strict=True))


@pytest.mark.usefixtures("_parser")
def test_every_value_knows_its_line() -> None:
    node, _ = read_nodes("a.yaml", "# first\na:\n  b:\n    - x\n    - y: |\n        long\n        text\n      z: 1\n")
    assert node is not None
    lines = {path: node.nearest(path).line for path in [("a",), ("a", "b"), ("a", "b", 0), ("a", "b", 1, "z")]}
    assert lines == {("a",): 2, ("a", "b"): 3, ("a", "b", 0): 4, ("a", "b", 1, "z"): 8}


@pytest.mark.usefixtures("_parser")
def test_an_alias_repeats_its_value_on_a_line_of_its_own() -> None:
    node, _ = read_nodes("a.yaml", "a: &x {b: 1}\nc: *x\nd: [*x]\n")
    assert node is not None
    assert node.plain() == {"a": {"b": 1}, "c": {"b": 1}, "d": [{"b": 1}]}
    assert (node.nearest(("c",)).line, node.nearest(("d", 0)).line, node.nearest(("c", "b")).line) == (2, 3, 1)


@pytest.mark.usefixtures("_parser")
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("x: &x {a: 1, b: 2}\ny: {<<: *x, b: 3}", {"a": 1, "b": 3}),
        ("x: &x {a: 1, b: 2}\ny: {b: 3, <<: *x}", {"a": 1, "b": 3}),
        ("x: [&x {a: 1}, &y {a: 2, b: 2}]\ny: {<<: [*x, *y]}", {"a": 1, "b": 2}),
        ("x: &x {a: 1}\nz: &z {<<: *x, b: 2}\ny: {<<: *z, c: 3}", {"a": 1, "b": 2, "c": 3}),
    ],
)
def test_a_merge_key_brings_in_what_is_not_stated_anew(text: str, value: dict[str, int]) -> None:
    read = plain(text)
    assert isinstance(read, dict)
    assert read["y"] == value


@pytest.mark.usefixtures("_parser")
@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("a: 1\na: 2\nb: {c: 1, c: 2}", ["a.yaml:2: the key 'a' a second time", "a.yaml:3: the key 'c' a second time"]),
        ("a:\n\tb: 1", ["a.yaml:2: a tab before the first word"]),
        ("a: [1, 2", ["a.yaml:"]),
        ("a: b: c", ["a.yaml:1: not YAML: "]),
        ("a: 1\nb: \x00", ["a.yaml:2: the character '\\x00'"]),
        ("a: 1\nb: \ud800", ["a.yaml:2: the character '\\ud800'"]),
        ("a: !!str 1", ["a.yaml:1: the tag"]),
        ("a: !mine {b: 1}", ["a.yaml:1: the tag '!mine'"]),
        ("a: *x", ["a.yaml:1: the alias *x has no anchor before it"]),
        ("a: &x [*x]", ["a.yaml:1: the alias *x stands inside what it names"]),
        ("a: &x b\n*x : 1", ["a.yaml:2: the alias *x as key"]),
        ("? [1]\n: 2", ["a.yaml:1: a list or mapping as key"]),
        ("a: 1\n---\nb: 1", ["a.yaml:2: a second document begins"]),
        ("a: {<<: 3}", ["a.yaml:1: << without a mapping"]),
        ("a: {<<: [{b: 1}, 3]}", ["a.yaml:1: << without a mapping"]),
        ("[" * 100, ["a.yaml:1: nested more than 40 deep"]),
    ],
)
def test_what_two_readers_could_take_differently_is_refused_with_its_line(text: str, place: list[str]) -> None:
    found = faults(text)
    assert len(found) == len(place)
    assert [line[: len(start)] for line, start in zip(found, place, strict=True)] == place


@pytest.mark.usefixtures("_parser")
def test_half_a_character_is_refused() -> None:
    assert [line[:9] for line in faults('a: "\\ud800"')] == ["a.yaml:1:"]


@pytest.mark.usefixtures("_parser")
def test_aliases_that_multiply_are_refused_before_they_fill_the_memory() -> None:
    levels = "".join(f"l{n}: &l{n} [{', '.join(10 * [f'*l{n - 1}'])}]\n" for n in range(1, 30))
    started = time.perf_counter()
    assert faults(f"l0: &l0 x\n{levels}") == [
        "a.yaml:7: more than 200000 values with all aliases written out (expected: a smaller description)"
    ]
    assert time.perf_counter() - started < 2


@pytest.mark.usefixtures("_parser")
@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? "])
def test_no_nesting_exhausts_the_stack(opening: str) -> None:
    assert len(faults(opening * 100_000)) == 1


@pytest.mark.usefixtures("_parser")
@pytest.mark.parametrize("text", ["", "# nothing\n", "---\n", "\ufeff"])
def test_a_file_without_content_holds_nothing(text: str) -> None:
    assert plain(text) is None


@pytest.mark.usefixtures("_parser")
def test_where_a_bracket_was_opened_is_said() -> None:
    assert "in what begins on line 1" in faults("a: [1,\n2\n")[0]
