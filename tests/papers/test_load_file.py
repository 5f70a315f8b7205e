"""The load file: the doubtful first, people's units, the record to look at, and a decision left to a person."""

from __future__ import annotations

import io
from functools import cache
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from pypdf import PdfReader

from patency.evidence import CriterionState
from patency.papers import (
    LoadFile,
    LumenLine,
    Report,
    load_file,
    load_file_html,
    load_file_pdf,
    load_file_pictures,
    plot_record,
    report_pdf,
    report_text,
)
from tests.evidence.cycles import PREDICTION, Cycle, good_cycle
from tests.papers.cast import PRINTED, SMALL, SMALL_LOAD

if TYPE_CHECKING:
    from patency.evidence import PressurePrediction

LUMEN = LumenLine(
    "Morning", "tube – modular forceps", "H1", "480 mL/min (410–530)", "7.1 Pa (5.2–8.0)", "yes", "enough"
)


def file_of(cycle: Cycle, prediction: PressurePrediction | None = PREDICTION, **judging: object) -> LoadFile:
    evidence = cycle.judged(prediction=prediction, **judging)  # type: ignore[arg-type]
    plot = plot_record(cycle.record(), evidence, prediction)
    return load_file(SMALL, SMALL_LOAD, evidence, [LUMEN], plot)


@cache
def good_file() -> LoadFile:
    return file_of(good_cycle())


def cool_file() -> LoadFile:
    """A cycle whose chamber sensor shows 4 K less than it should during the whole run."""

    def cooler(_: np.ndarray, values: np.ndarray) -> None:
        values -= 4.0

    return file_of(good_cycle().with_column("T1", cooler), eye_check=None)


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_what_is_not_met_stands_first_then_what_is_not_evaluated_then_what_is_met() -> None:
    states = [line.state for line in cool_file().criteria]
    order = [CriterionState.NOT_MET, CriterionState.NOT_EVALUATED, CriterionState.MET]
    assert set(states) == set(order)
    assert states == sorted(states, key=lambda state: order.index(CriterionState(state)))


def test_numbers_stand_in_the_units_people_read() -> None:
    lines = {line.name: line for line in good_file().criteria}
    assert lines["A0 (T1)"].value.endswith(" s")
    assert lines["A0 (T1)"].limit.startswith("≥ ")
    pressure = lines["circulation pressure (cleaning, P1)"]
    assert pressure.value.startswith("200 mbar")
    assert " to " in pressure.limit
    dose = next(line for name, line in lines.items() if name.startswith("volume of"))
    assert "120 mL" in dose.value
    assert all(line.source for line in good_file().criteria)


def test_a_criterion_without_a_value_shows_a_dash_and_says_why() -> None:
    seen = next(line for line in cool_file().criteria if line.name == "every hose and sleeve seen at unloading")
    assert (seen.value, seen.limit, seen.margin, seen.state) == ("–", "–", "–", "not evaluated")
    assert "nobody has entered it" in seen.why


def test_the_verdict_is_said_in_a_sentence_and_never_as_a_release() -> None:
    assert good_file().verdict == "met"
    assert good_file().verdict_words == "Every criterion was evaluated and is met."
    for text in (text_of(load_file_pdf(good_file(), PRINTED)), load_file_html(good_file())):
        assert "Release is the decision of a qualified person" in text


def test_paper_and_page_hold_every_criterion_the_lumens_and_what_was_relied_on() -> None:
    file = cool_file()
    paper = text_of(load_file_pdf(file, PRINTED)).replace(" ", "")
    page = load_file_html(file)
    for line in file.criteria:
        assert line.name.split(" (")[0].replace(" ", "") in paper
        assert line.name.split(" (")[0] in page
    for word in ("H1", "480", "stagecolumn", "SHA-256", "DecisionofaqualifiedPerson".replace("P", "p")):
        assert word in paper


def test_the_paper_is_tagged_a4_and_the_same_twice() -> None:
    first = load_file_pdf(good_file(), PRINTED)
    assert load_file_pdf(good_file(), PRINTED) == first
    reader: Any = PdfReader(io.BytesIO(first))
    assert "/StructTreeRoot" in reader.trailer["/Root"]
    assert round(float(reader.pages[0].mediabox.width)) == 595
    assert len(load_file_pictures(good_file(), 40.0)) == len(reader.pages)


def test_the_plot_names_the_stages_and_draws_the_predicted_bands() -> None:
    plot = good_file().plot_svg
    words = {"".join(text.itertext()) for text in ET.fromstring(plot).iter("{http://www.w3.org/2000/svg}text")}
    assert {"cold rinse", "cleaning"} <= words
    assert any("predicted" in word for word in words)
    without = file_of(good_cycle(), prediction=None).plot_svg
    assert "predicted" not in without


def test_the_same_record_is_drawn_with_the_same_bytes() -> None:
    evidence = good_cycle().judged()
    first = plot_record(good_cycle().record(), evidence, PREDICTION)
    assert plot_record(good_cycle().record(), evidence, PREDICTION) == first


def test_a_record_with_holes_and_few_sensors_can_be_drawn() -> None:
    def hole(_: np.ndarray, values: np.ndarray) -> None:
        values[50:80] = np.nan

    cycle = good_cycle().with_column("P1", hole).without_column("arm").without_column("cond")
    evidence = cycle.judged()
    assert ET.fromstring(plot_record(cycle.record(), evidence, PREDICTION)).tag.endswith("svg")


def test_what_a_fixed_window_would_have_said_is_shown_for_comparison() -> None:
    assert good_file().comparisons
    assert all("would not have noticed anything" in line for line in good_file().comparisons)

    def low(_: np.ndarray, values: np.ndarray) -> None:
        values *= 0.5

    assert any("would have objected" in line for line in file_of(good_cycle().with_column("P1", low)).comparisons)


@pytest.mark.parametrize("rows", [(("a", "b"),), (("a" * 100, "b"), ("c", "d"))])
def test_a_report_is_a_table_on_paper_and_on_the_terminal(rows: tuple[tuple[str, ...], ...]) -> None:
    report = Report("Title here", "All is said.", ("First", "Second"), rows, (1.0, 2.0), ("a note",))
    text = report_text(report)
    assert text.splitlines()[0] == "Title here"
    assert text.splitlines()[-1] == "All is said."
    assert all(len(line) < 120 for line in text.splitlines())
    paper = text_of(report_pdf(report, PRINTED))
    assert all(word in paper for word in ("Title here", "All is said.", "First", "a note"))
