"""A department written as files reads back equal, whatever its names and numbers."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from patency.catalogue import Department, read_department, write_department
from patency.catalogue.written import write_quantity
from patency.quantities import Toleranced
from tests.small_site import SMALL_SITE, changed, small_department

names = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp", "Zs")) | st.sampled_from(" :#-?&*!|>'\"%@`{}[],=~<"),
    min_size=1,
    max_size=12,
).filter(lambda text: text == text.strip())
words = names | st.sampled_from(
    ["yes", "on", "null", "~", "1", "1.5", "1e5", "0x1F", "2026-03-31", "11:50", "<<", "-", "---"]
)
lengths = st.floats(1e-5, 3.0).map(lambda metres: write_quantity(metres, "length"))
toleranced = st.tuples(st.floats(1e-4, 0.1), st.none() | st.floats(1e-9, 9e-5)).map(
    lambda pair: write_quantity(Toleranced(*pair), "length")
)
ends = st.fixed_dictionaries(
    {"family": st.just("luer"), "gender": st.sampled_from(["male", "female"])}, optional={"size": toleranced}
)
limits = st.fixed_dictionaries(
    {
        "value": st.floats(1e-3, 1e3).map(lambda pascal: write_quantity(pascal, "pressure")),
        "source": words.map("source {}".format),
    },
    optional={"valid_from": st.dates().map(str)},
)
segments = st.fixed_dictionaries(
    {"shape": st.just("bore"), "bore": toleranced, "length": lengths},
    optional={"roughness": toleranced, "loss": st.just(0) | st.floats(1e-9, 9)},
)
lumens = st.fixed_dictionaries(
    {"segments": st.lists(segments, min_size=1, max_size=3), "fed_by": st.just("connection")},
    optional={
        "inlet": ends,
        "outlet": ends,
        "dead_ends": st.lists(lengths, max_size=2),
        "side_holes": st.just([]),
        "strainer_upstream": st.booleans(),
        "need": st.fixed_dictionaries({}, optional={"minimum_shear": limits, "maximum_pressure": limits}),
    },
)
pieces = st.fixed_dictionaries(
    {
        "name": words,
        "placing": st.just("port"),
        "way_up": st.sampled_from(["distal up", "distal down", "lying"]),
        "outline": st.lists(
            st.fixed_dictionaries({"form": st.sampled_from(["tube", "rod"]), "length": lengths, "width": lengths}),
            min_size=1,
            max_size=2,
        ),
        "lumens": st.dictionaries(words, lumens, min_size=1, max_size=2),
    },
    optional={
        "mass": st.floats(1e-3, 5).map(lambda kilograms: write_quantity(kilograms, "mass")),
        "count": st.integers(1, 20),
        "states": st.dictionaries(st.sampled_from(["jaws", "tap"]), st.just("open")),
        "cups": st.just([]),
    },
)
instruments = st.fixed_dictionaries(
    {"name": words, "family": words, "pieces": st.dictionaries(words, pieces, min_size=1, max_size=2)}
)
REFERENCE_LOAD = """\
reference_loads:
  first:
    source: validation report
    valid_from: 2026-01-01
    valid_until: 2027-01-01
    carrier: Wren
    programme: gentle
    lumens:
      - instrument: fix5
        piece: whole
        lumen: shaft
        shear: {value: 2 Pa, source: validation report, valid_until: 2027-01-01}
"""


@st.composite
def departments(draw: st.DrawFn) -> Department:
    """Invent a small department."""
    known = draw(st.dictionaries(words, instruments, min_size=1, max_size=2))
    contents = st.dictionaries(st.sampled_from(sorted(known)), st.integers(1, 99), min_size=1)
    sets = st.fixed_dictionaries({"contents": contents, "basket_areas": st.integers(0, 20)}, optional={"hold": words})
    return Department.model_validate(
        {
            "site": draw(words),
            "languages": ["en", "no"],
            "connector_families": {"luer": {"name": draw(words), "source": "common practice"}},
            "instruments": known,
            "sets": draw(st.dictionaries(words, sets, max_size=2)),
        }
    )


@settings(max_examples=40)
@given(departments())
def test_any_department_reads_back_equal(department: Department) -> None:
    assert read_department(write_department(department)) == department


def test_quantities_limits_and_times_are_written_as_people_write_them() -> None:
    texts = write_department(small_department())
    assert "bore: 4.2 ± 0.05 mm" in texts["instruments.yaml"]
    assert "drain_angle: {value: 15 °, source: common practice}" in texts["site.yaml"]
    assert "hose_bend_ratio: {value: 4, source: common practice}" in texts["site.yaml"]
    assert "mass_limit: 12 kg" in texts["carriers.yaml"]
    assert "hold: 10 min" in texts["programmes.yaml"]
    assert "2026-03-02T16:00" in texts["day.yaml"]


def test_a_stated_none_is_written_and_read_again_as_stated() -> None:
    texts = write_department(small_department())
    assert "bore: full" in texts["connectors.yaml"]
    assert "arm_above: none" in texts["carriers.yaml"]
    assert "inlet: []" in texts["carriers.yaml"]
    assert "doses: []" in texts["programmes.yaml"]
    stated = ("side_holes: []", "dead_ends: []", "strainer_upstream: false", "states: {}", "needs_net: false")
    assert all(words in texts["instruments.yaml"] for words in stated)
    assert read_department(texts) == small_department()


def test_what_has_its_default_is_left_out() -> None:
    texts = write_department(small_department())
    assert "null" not in "".join(texts.values())
    assert "rank" not in texts["accessories.yaml"]
    assert set(write_department(read_department({"a.yaml": "site: Here\nlanguages: [en]"}))) == {"site.yaml"}


def test_a_validity_and_a_reference_load_are_written_too() -> None:
    department = small_department({"more.yaml": REFERENCE_LOAD})
    texts = write_department(department)
    assert texts["sets.yaml"].count("2027-01-01") == 2
    assert read_department(texts) == department


@pytest.mark.parametrize("word", ["no", "1", "~", "2026-03-31", "1e5", "<<"])
def test_older_readers_of_yaml_take_the_words_for_words_too(word: str) -> None:
    department = read_department(changed(SMALL_SITE, "name: HF cable", f"name: '{word}'"))
    read = yaml.safe_load(write_department(department)["instruments.yaml"])
    assert read["instruments"]["cable"]["name"] == word
