"""Whatever stands in the files: a department comes out, or faults of one line each; never anything else."""

from __future__ import annotations

import yaml
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import Department, department_schema, read_department
from patency.errors import InputErrors
from tests.small_site import SMALL_SITE

FILES = sorted(SMALL_SITE)
WORDS = sorted(
    {key for kind in department_schema()["$defs"].values() for key in kind.get("properties", {})}
    | {word for kind in department_schema()["$defs"].values() for word in kind.get("enum", [])}
    | set(department_schema()["properties"])
    | {"4.2 mm", "5 min", "sleeve11", "luer", "dock", "kind", "bore: hose", "[key]"}
)
scalars = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.sampled_from(WORDS)
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(WORDS) | st.text(max_size=3), inner, max_size=5)
    ),
    max_leaves=25,
)


def check(texts: dict[str, str]) -> None:
    """Read texts and ask of the outcome what must always hold."""
    try:
        read: Department | InputErrors = read_department(texts)
    except InputErrors as refused:
        read = refused
    if isinstance(read, InputErrors):
        assert read.faults
        assert all(fault.where and fault.what for fault in read.faults)
        assert [fault.line for fault in read.faults if len(fault.line.splitlines()) != 1] == []


@given(st.text())
def test_any_text_is_a_department_or_refused(text: str) -> None:
    check({"a.yaml": text})


@given(st.text(alphabet=st.sampled_from("ab:-?[]{},&*!|>'\"%@`#<>=~ \t\n0.1")))
def test_any_text_of_the_letters_that_yaml_uses_is_refused_or_read(text: str) -> None:
    check({"a.yaml": text})


@given(st.dictionaries(st.sampled_from(sorted(department_schema()["properties"])), values, min_size=1))
def test_any_value_under_the_known_keys_is_refused_or_read(data: dict[str, object]) -> None:
    check({"a.yaml": yaml.safe_dump(data, allow_unicode=True), "b.yaml": "site: Here\nlanguages: [en]\n"})


@given(st.sampled_from(FILES), st.integers(0, 2000), st.integers(0, 40), st.sampled_from(WORDS) | st.text(max_size=4))
def test_the_small_department_with_a_piece_replaced_is_refused_or_read(
    file: str, start: int, length: int, instead: str
) -> None:
    text = SMALL_SITE[file]
    start %= len(text)
    check({**SMALL_SITE, file: text[:start] + instead + text[start + length :]})


@given(st.sampled_from(FILES), st.data())
def test_the_small_department_with_lines_missing_or_moved_is_refused_or_read(file: str, data: st.DataObject) -> None:
    lines = SMALL_SITE[file].splitlines(keepends=True)
    places = data.draw(st.lists(st.integers(0, len(lines) - 1), max_size=5))
    for place in places:
        lines.insert(data.draw(st.integers(0, len(lines) - 1)), lines.pop(place % len(lines)))
    drop = data.draw(st.integers(0, len(lines) - 1))
    check({**SMALL_SITE, file: "".join(lines[:drop] + lines[drop + 1 :])})
