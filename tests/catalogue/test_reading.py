"""A department is read from several files at once, as it stands there, with every fault in one go."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patency.catalogue import Department, read_department, read_with_places, write_department
from patency.demo import larkmere_texts
from patency.errors import InputErrors
from tests.small_site import SMALL_SITE, changed, small_department


def faults(texts: dict[str, str]) -> list[str]:
    with pytest.raises(InputErrors) as refusal:
        read_department(texts)
    return [fault.line for fault in refusal.value.faults]


def test_the_small_department_is_read_as_it_is_validated() -> None:
    assert read_department(SMALL_SITE) == small_department()


def test_the_order_of_the_files_changes_nothing() -> None:
    assert read_department(dict(reversed(list(SMALL_SITE.items())))) == read_department(SMALL_SITE)


def test_all_in_one_file_is_the_same_department() -> None:
    assert read_department({"all.yaml": "\n".join(SMALL_SITE.values())}) == small_department()


def test_limits_may_be_spread_over_files() -> None:
    site = SMALL_SITE["site.yaml"]
    head, cycle = site.split("  cycle:\n")
    texts = {**SMALL_SITE, "site.yaml": head, "cycle.yaml": "limits:\n  cycle:\n" + cycle}
    assert read_department(texts) == small_department()


def test_every_fault_is_told_at_once_and_each_with_its_own_place() -> None:
    texts = changed(SMALL_SITE, "4.2 ± 0.05 mm", "4.2")
    texts = changed(texts, "mass: 60 g", "mass: -60 g")
    texts = changed(texts, "  Noon:\n    contents: {sleeve11: 1,", "  Noon:\n    contents: {sleeve12: 1,")
    lines = faults(texts)
    assert len(lines) == 3
    assert len({line.split(": ")[0] for line in lines}) == 3
    assert any("'4.2' has no unit" in line or "4.2 has no unit" in line for line in lines)
    assert any("sleeve12" in line for line in lines)


def test_the_same_entry_in_two_files_names_both_places() -> None:
    (line,) = faults(
        {**SMALL_SITE, "twice.yaml": "machines:\n  Alpha: {kind: front_loader, docks: [], programmes: {}}\n"}
    )
    assert "twice.yaml:2" in line
    assert "machines.yaml" in line


def test_words_that_older_yaml_takes_for_something_else_stay_words() -> None:
    texts = {**SMALL_SITE, "more.yaml": "sets:\n  on: {contents: {fix5: 1}, basket_areas: 0, hold: no}\n"}
    department = read_department(texts)
    assert department.sets["on"].hold == "no"


def test_a_number_as_a_name_is_the_text_of_that_number() -> None:
    texts = {**SMALL_SITE, "more.yaml": "sets:\n  7: {contents: {fix5: 1}, basket_areas: 0}\n"}
    assert "7" in read_department(texts).sets


def test_aliases_that_grow_without_end_are_refused_quickly() -> None:
    bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n"
    for before, after in pairwise("abcdefghi"):
        bomb += f"{after}: &{after} [{', '.join(['*' + before] * 9)}]\n"
    lines = faults({**SMALL_SITE, "bomb.yaml": bomb})
    assert any(line.startswith("bomb.yaml") for line in lines)


def test_nothing_at_all_says_what_is_missing() -> None:
    assert any("site" in line for line in faults({"empty.yaml": ""}))


def test_a_value_knows_its_file_and_line() -> None:
    reading = read_with_places(SMALL_SITE)
    assert reading.place(("site",)) == "site.yaml:1"
    assert reading.place(("sets", "Noon")).startswith("instruments.yaml:")
    assert reading.place(("sets", "Noon", "contents", "no such")).startswith("instruments.yaml:")


@pytest.mark.parametrize(
    "department", [small_department(), read_department(larkmere_texts())], ids=["small", "Larkmere"]
)
def test_what_is_written_is_read_back_equal(department: Department) -> None:
    texts = write_department(department)
    assert read_department(texts) == department
    assert write_department(read_department(texts)) == texts


def refused(texts: dict[str, str]) -> tuple[str, ...]:
    """The lines a text is refused with; none where it is read."""
    try:
        read_department(texts)
    except InputErrors as refusal:
        return tuple(fault.line for fault in refusal.faults)
    return ()


@settings(max_examples=60)
@given(st.text(max_size=200))
def test_any_text_is_refused_with_lines_never_anything_else(text: str) -> None:
    lines = refused({"any.yaml": text})
    assert lines
    assert all(": " in line for line in lines)


_SCALARS = st.none() | st.booleans() | st.integers(-5, 5) | st.sampled_from([0.5, "4 mm", "x", "11:50", ""])
_VALUES = st.recursive(
    _SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["name", "kind"]), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=80)
@given(st.sampled_from(sorted(set(Department.model_fields) - {"site", "languages"})), _VALUES)
def test_any_value_under_any_key_is_read_or_refused(key: str, value: object) -> None:
    texts = {"site.yaml": "site: x\nlanguages: [en]\n", "any.yaml": json.dumps({key: value})}
    assert all(line.startswith(("any.yaml:1: ", "site.yaml:1: ")) for line in refused(texts))
