"""The load file: the doubtful first, people's units, the record to look at, and a decision left to a person."""

from __future__ import annotations

import html
import io
import re
from dataclasses import replace
from functools import cache
from html import escape
from importlib import resources
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from patency.evidence import PRESSURE_CRITERION, CriterionState, read_description, read_record
from patency.papers import (
    LoadFile,
    LumenLine,
    load_file,
    load_file_html,
    load_file_pdf,
    load_file_pictures,
    plot_record,
)
from patency.papers.files.sharing import SharedRow, printed_file
from tests.evidence.cycles import PREDICTION, PROGRAMME, Cycle, good_cycle, limits
from tests.evidence.steam_cycles import good_steam
from tests.papers.cast import HOSTILE, PRINTED, SMALL, SMALL_LOAD, greys_only, squeezed, text_of
from tests.papers.web_page import WebPage

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.evidence import PressurePrediction
    from patency.papers.files import CriterionLine

LUMEN = LumenLine(
    "Morning", "tube – modular forceps", "H1", "480 mL/min (410–530)", "7.1 Pa (5.2–8.0)", "yes", "enough"
)
ENVELOPE = "outside of what was validated, lumens: 2 inside, 1 outside, 2 unknown; nearest reference load: PQ <1>"


def file_of(cycle: Cycle, prediction: PressurePrediction | None = PREDICTION, **judging: object) -> LoadFile:
    evidence = cycle.judged(prediction=prediction, **judging)  # type: ignore[arg-type]
    plot = plot_record(cycle.record(), evidence)
    return load_file(SMALL, SMALL_LOAD, evidence, [LUMEN], plot, ENVELOPE)


@cache
def good_file() -> LoadFile:
    return file_of(good_cycle())


@cache
def cool_file() -> LoadFile:
    """A cycle whose chamber sensor shows 4 K less than it should during the whole run."""

    def cooler(_: np.ndarray, values: np.ndarray) -> None:
        values -= 4.0

    return file_of(good_cycle().with_column("T1", cooler), eye_check=None)


@cache
def paper_of(file: LoadFile) -> tuple[str, ...]:
    """Return the words of each printed page."""
    pages = PdfReader(io.BytesIO(load_file_pdf(file, PRINTED))).pages
    return tuple(" ".join(page.extract_text().split()) for page in pages)


def rows_of(file: LoadFile) -> tuple[SharedRow, ...]:
    """Return all rows the paper has for criteria."""
    printed = printed_file(file)
    return printed.doubtful + printed.met


def reasons_of(*whys: str) -> list[str]:
    """Return each reason by itself, in an order that says nothing."""
    return sorted(reason for why in whys if why for reason in why.split("; "))


def dipped(cycle: Cycle) -> Cycle:
    """A cycle in which the power is away for half a minute of the disinfection: cold, without pressure, without arm."""

    def away(level: float) -> Callable[[np.ndarray, np.ndarray], None]:
        def change(time: np.ndarray, values: np.ndarray) -> None:
            values[(time >= 1000) & (time < 1030)] = level

        return change

    for column, level in (("T1", 80.0), ("T2", 79.0), ("P1", 0.0), ("arm", 0.0)):
        cycle = cycle.with_column(column, away(level))
    return cycle.without(1010, 1019)


def test_what_is_not_met_stands_first_then_what_is_not_evaluated_then_what_is_met() -> None:
    states = [line.state for line in cool_file().criteria]
    order = [CriterionState.NOT_MET, CriterionState.NOT_EVALUATED, CriterionState.MET]
    assert set(states) == set(order)
    assert states == sorted(states, key=lambda state: order.index(CriterionState(state)))


def test_numbers_stand_in_the_units_people_read_with_the_unit_said_once() -> None:
    lines = {line.name: line for line in good_file().criteria}
    assert lines["A0 (T1)"].value.endswith(" s")
    assert lines["A0 (T1)"].limit == "≥ 3000 s"
    pressure = lines["circulation pressure (cleaning, P1)"]
    assert pressure.value.startswith("200")
    assert pressure.limit.endswith(" mbar")
    assert " to " in pressure.limit
    dose = next(line for name, line in lines.items() if name.startswith("volume of"))
    assert (dose.value, dose.limit, dose.margin) == ("120 ± 1 mL", "114 to 126 mL", "5 mL")
    coldest = lines["lowest temperature of the hold (disinfection, T1)"]
    assert (coldest.value, coldest.limit) == ("92.0 ± 0.5 °C", "≥ 90.0 °C")
    assert coldest.margin.endswith(" K")
    assert all(line.source for line in good_file().criteria)


def test_a_margin_that_is_missed_carries_a_minus_sign() -> None:
    missed = [line for line in cool_file().criteria if line.state == "not met"]
    assert missed
    assert all(line.margin.startswith("−") for line in missed if line.margin != "–")


def test_a_criterion_without_a_value_shows_a_dash_and_says_why() -> None:
    seen = next(line for line in cool_file().criteria if line.name == "every hose and sleeve seen at unloading")
    assert (seen.value, seen.limit, seen.margin, seen.state) == ("–", "–", "–", "not evaluated")
    assert "nobody has entered it" in seen.why


def test_the_verdict_is_said_in_a_sentence_and_never_as_a_release() -> None:
    assert good_file().verdict == "met"
    assert good_file().verdict_words == "Every criterion was evaluated and is met."
    for text in (*paper_of(good_file()), load_file_html(good_file())):
        assert "Release is the decision of a qualified person" in text


@pytest.mark.parametrize("file", [good_file(), cool_file()], ids=["good", "cool"])
def test_paper_and_page_hold_every_criterion_the_lumens_and_what_was_relied_on(file: LoadFile) -> None:
    paper = squeezed(" ".join(paper_of(file)))
    page = squeezed(html.unescape(re.sub(r"<[^>]+>", "", load_file_html(file))))
    words = [word for one in file.lumens for word in (one.piece, one.port, one.flow, one.shear, one.why)]
    words += [*file.sets, *file.comparisons, *file.findings, *file.relied_on, *file.cautions, file.verdict_words]
    for line in file.criteria:
        words += [line.kind, line.place, line.value, line.limit, line.margin, line.source, *line.why.split("; ")]
    assert [word for word in words if squeezed(word) not in paper] == []
    assert [word for word in (*words, *(line.why for line in file.criteria)) if squeezed(word) not in page] == []
    numbers = [(line.name, line.value, line.limit, line.margin, line.state, line.why) for line in file.criteria]
    assert [row for row in numbers if squeezed("".join(row)) not in page] == []


def test_on_paper_each_stage_and_sensor_has_its_own_numbers_beside_it() -> None:
    asked = [line for line in good_file().criteria if line.kind == PRESSURE_CRITERION]
    assert len(asked) == 5
    told = tuple(
        replace(line, value=f"{n}.25 mbar", limit=f"≤ {n}.5 mbar", margin=f"0.{n} mbar", why=f"{line.why}; reason {n}")
        for n, line in enumerate(asked, start=11)
    )
    paper = squeezed(" ".join(paper_of(replace(good_file(), criteria=told))))
    for n, line in enumerate(told, start=11):
        assert squeezed(f"{line.place}: reason {n}{line.value}{line.limit}{line.margin}") in paper
    assert paper.count(squeezed(asked[0].why)) == paper.count(squeezed(f"Source: {asked[0].source}")) == 1


@pytest.mark.parametrize("file", [good_file(), cool_file()], ids=["good", "cool"])
def test_rows_that_are_shared_lose_no_criterion_and_no_reason(file: LoadFile) -> None:
    def told(line: CriterionLine, *more: str) -> tuple[CriterionLine, list[str]]:
        return replace(line, why=""), reasons_of(line.why, *more)

    rows = rows_of(file)
    printed = [told(line, row.why) for row in rows for line in row.lines]
    assert len(printed) == len(file.criteria) > len(rows)
    for line in file.criteria:
        assert printed.count(told(line)) == 1, line
    assert all((line.kind, line.source) == (row.kind, row.source) for row in rows for line in row.lines)


def test_met_criteria_of_one_kind_share_a_row_with_the_tightest_margin_first() -> None:
    met = printed_file(good_file()).met
    assert len({(row.kind, row.source) for row in met}) == len(met)
    shared = [row for row in met if len(row.lines) > 1]
    assert {PRESSURE_CRITERION, "A0"} <= {row.kind for row in shared}
    for row in shared:
        margins = [line.spare for line in row.lines]
        assert None not in margins
        assert margins == sorted(margins, key=lambda margin: margin or 0.0)
    (coldest,) = (row for row in met if row.kind == "lowest temperature of the hold")
    assert coldest.why == "in the best 300 s of the stage"
    assert [line.why for line in coldest.lines] == ["", ""]


def test_criteria_of_one_kind_with_limits_from_two_sources_share_no_row() -> None:
    two = [line for line in good_file().criteria if line.kind == "A0"]
    criteria = (replace(two[0], source="elsewhere"), two[1])
    rows = printed_file(replace(good_file(), criteria=criteria)).met
    assert [(row.source, [line.place for line in row.lines]) for row in rows] == [
        ("elsewhere", ["T1"]),
        (two[1].source, ["T2"]),
    ]


def test_what_is_not_met_or_not_evaluated_keeps_a_row_of_its_own_before_what_is_met() -> None:
    file = replace(cool_file(), criteria=file_of(good_cycle(), prediction=None).criteria)
    doubtful = [line for line in file.criteria if line.state != "met"]
    assert [line.kind for line in doubtful].count(PRESSURE_CRITERION) == 5
    assert [[line.name for line in row.lines] for row in printed_file(file).doubtful] == [[o.name] for o in doubtful]
    one = replace(good_file().criteria[-1], kind=PRESSURE_CRITERION, source=doubtful[0].source, state="not met")
    mixed = printed_file(replace(good_file(), criteria=(one, *good_file().criteria)))
    assert [[line.name for line in row.lines] for row in mixed.doubtful] == [[one.name]]
    paper = squeezed(" ".join(paper_of(cool_file())))
    row = printed_file(cool_file()).doubtful[0].lines[0]
    assert paper.index(squeezed(row.name)) < paper.index("Therecord") < paper.index("Wherecriteria")


def test_a_row_shared_by_more_than_a_page_holds_loses_nothing() -> None:
    line = good_file().criteria[0]
    many = tuple(replace(line, kind="many", place=f"stage number {n}!", value=f"{n}.5 s") for n in range(150))
    paper = squeezed(" ".join(paper_of(replace(good_file(), criteria=many))))
    assert [one.place for one in many if squeezed(f"{one.place}{one.value}") not in paper] == []


def test_a_decision_is_left_to_a_person_on_the_first_page() -> None:
    first = paper_of(good_file())[0]
    for word in ("Decision of a qualified person", "released", "refused", "on hold", "Name", "Reason"):
        assert word in first


def test_the_decision_stays_on_the_first_page_however_much_is_not_met() -> None:
    missed = tuple(replace(line, state="not met") for line in cool_file().criteria)
    paper = paper_of(replace(cool_file(), criteria=missed))
    pages = ["Decision of a qualified person" in page for page in paper]
    assert pages == [True] + [False] * (len(pages) - 1)
    assert len(pages) > 2


def test_negative_numbers_in_the_words_carry_a_true_minus_and_days_keep_their_hyphens() -> None:
    evidence = good_cycle().judged(prediction=PREDICTION)
    words = "expected 241.8 mbar, -7.7% off; found on 2026-01-12"
    evidence = evidence.model_copy(update={"criteria": (replace(evidence.criteria[0], why=words),)})
    (said,) = load_file(SMALL, SMALL_LOAD, evidence, [LUMEN], "", ENVELOPE).criteria
    assert said.why == "expected 241.8 mbar, \N{MINUS SIGN}7.7% off; found on 2026-01-12"


def test_where_all_is_met_nothing_is_headed_as_doubtful() -> None:
    assert {line.state for line in good_file().criteria} == {"met"}
    assert "Not met or not evaluated" not in " ".join(paper_of(good_file()))
    assert "Not met or not evaluated" in " ".join(paper_of(cool_file()))


def test_the_paper_is_tagged_a4_and_the_same_twice() -> None:
    first = load_file_pdf(good_file(), PRINTED)
    assert load_file_pdf(good_file(), PRINTED) == first
    reader: Any = PdfReader(io.BytesIO(first))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in root["/Metadata"].get_data()
    assert reader.metadata is not None
    assert reader.metadata.title == f"Load file {good_file().load_id}"
    for page in reader.pages:
        assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == (595, 842)
        names = [str(font["/BaseFont"]) for font in page["/Resources"]["/Font"].values()]
        assert all("AtkinsonHyperlegibleNext" in name for name in names)
    assert len(load_file_pictures(good_file(), 40.0)) == len(reader.pages) <= 3


def test_numbers_and_words_of_a_row_stay_on_one_page() -> None:
    pages = [squeezed(page) for page in paper_of(good_file())]
    for row in rows_of(good_file()):
        words = [squeezed(f"{row.why}. Source: {row.source}".removeprefix(". "))]
        for line in row.lines:
            name = line.name if len(row.lines) == 1 else ": ".join(filter(None, (line.place, line.why)))
            words.append(squeezed(f"{name}{line.value}"))
        assert any(all(word in page for word in words) for page in pages), row


def test_the_printed_pages_are_black_and_white_and_their_code_can_be_read() -> None:
    pages = [Image.open(io.BytesIO(picture)).convert("RGB") for picture in load_file_pictures(cool_file(), 120.0)]
    for page in pages:
        colours: Any = page.getcolors(1 << 24)
        assert all(max(colour) - min(colour) <= 1 for _, colour in colours)
    assert [code.text for code in zxingcpp.read_barcodes(pages[0])] == [f"load:{SMALL_LOAD.id}"]


@pytest.mark.parametrize("template", ["file.typ", "file.html.j2"])
def test_every_colour_of_the_templates_is_a_grey(template: str) -> None:
    assert greys_only((resources.files("patency.papers.files") / template).read_text(encoding="utf-8"))


def test_the_page_is_well_formed_and_needs_nothing_else() -> None:
    page = WebPage(load_file_html(cool_file()))
    assert page.open == []
    assert page.references_outside == []
    assert (page.lang, page.titled) == ("en", True)
    assert [tag for tag, _ in page.headings] == ["h1", "h2", "h2", "h2"]


def test_names_with_every_nasty_sign_are_set_as_they_are() -> None:
    named = {"load_id": HOSTILE, "site": HOSTILE, "carrier": HOSTILE, "machine": HOSTILE, "programme": HOSTILE}
    criterion = replace(cool_file().criteria[0], kind=HOSTILE, place=HOSTILE, why=HOSTILE, source=HOSTILE)
    lumen = replace(LUMEN, piece=HOSTILE, set=HOSTILE, why=HOSTILE, port=HOSTILE)
    lists = {"sets": (HOSTILE,), "findings": (HOSTILE,), "comparisons": (HOSTILE,), "relied_on": (HOSTILE,)}
    file = replace(cool_file(), criteria=(criterion,), lumens=(lumen,), **named, **lists)  # type: ignore[arg-type]
    assert squeezed(text_of(load_file_pdf(file, PRINTED))).count(squeezed('#panic("x")')) > 15
    page = load_file_html(file)
    assert HOSTILE not in page
    assert WebPage(page).open == []


def words_in(plot: str) -> set[str]:
    return {"".join(text.itertext()) for text in ET.fromstring(plot).iter("{http://www.w3.org/2000/svg}text")}


def test_the_plot_names_the_stages_and_draws_limits_and_predicted_bands_in_greys() -> None:
    plot = good_file().plot_svg
    words = words_in(plot)
    assert {"cold rinse", "cleaning", "first rinse", "second rinse", "disinfection", "drying", "limit"} <= words
    assert {"°C", "mbar", "rpm", "mL"} <= words
    assert any("predicted" in word for word in words)
    assert greys_only(plot)


def test_without_a_prediction_no_band_is_drawn_and_pressure_is_not_evaluated() -> None:
    for prediction in (None, replace(PREDICTION, stages={})):
        file = file_of(good_cycle(), prediction=prediction)
        assert not any("predicted" in word for word in words_in(file.plot_svg))
        pressure = [line for line in file.criteria if line.name.startswith("circulation pressure")]
        assert pressure
        assert {line.state for line in pressure} == {"not evaluated"}
        assert file.comparisons == ()
        assert load_file_pdf(file, PRINTED).startswith(b"%PDF")
        assert WebPage(load_file_html(file)).open == []


def test_a_criterion_without_a_limit_draws_none() -> None:
    def limits_drawn(file: LoadFile) -> int:
        return file.plot_svg.count('id="LineCollection_')

    without = file_of(good_cycle(), limits=limits(cleaning_temperature_tolerance=None))
    assert limits_drawn(without) < limits_drawn(good_file())


def test_a_power_dip_is_seen_in_the_findings_on_paper_and_on_the_page() -> None:
    file = file_of(dipped(good_cycle()))
    assert file.verdict == "not met"
    assert file.findings
    for text in (text_of(load_file_pdf(file, PRINTED)), load_file_html(file)):
        assert "Noticed while reading the record" in text
    assert "limit" in words_in(file.plot_svg)


def test_a_load_without_weak_lumens_to_show_has_no_such_part() -> None:
    bare = replace(good_file(), lumens=())
    for text in (" ".join(paper_of(bare)), load_file_html(bare)):
        assert "Weakest lumens" not in text


def test_the_same_record_is_drawn_with_the_same_bytes() -> None:
    evidence = good_cycle().judged()
    first = plot_record(good_cycle().record(), evidence)
    assert plot_record(good_cycle().record(), evidence) == first


def test_a_record_with_holes_and_few_sensors_can_be_drawn() -> None:
    def hole(_: np.ndarray, values: np.ndarray) -> None:
        values[50:80] = np.nan

    cycle = good_cycle().with_column("P1", hole).without_column("arm").without_column("cond")
    evidence = cycle.judged()
    assert ET.fromstring(plot_record(cycle.record(), evidence)).tag.endswith("svg")


def test_the_band_of_a_plateau_is_drawn_closer_where_there_is_one() -> None:
    def cold(values: np.ndarray) -> None:
        np.minimum(values, 120.0, out=values)

    good = good_steam()
    for cycle, closer in ((good, True), (good.bent("T1", cold).bent("TD", cold), False)):
        record = read_record(cycle.text(), read_description(cycle.description))
        assert ("°C, closer" in words_in(plot_record(record, cycle.judged()))) is closer


def test_a_stage_may_be_called_anything() -> None:
    stages = [stage.model_copy(update={"name": f"{HOSTILE} {stage.name}"}) for stage in PROGRAMME.stages]
    file = file_of(good_cycle(), prediction=None, programme=PROGRAMME.model_copy(update={"stages": stages}))
    assert {stage.name for stage in stages} <= words_in(file.plot_svg)
    assert WebPage(load_file_html(file)).open == []


def test_bands_are_drawn_where_the_sensor_should_read_also_an_absolute_one() -> None:
    def bands(cycle: Cycle) -> np.ndarray:
        return np.array([c.limit for c in cycle.judged().criteria if c.name == PRESSURE_CRITERION])

    def lift(_: np.ndarray, values: np.ndarray) -> None:
        values += 980.0

    cycle = good_cycle().with_column("P1", lift).described("reference: gauge", "reference: absolute")
    stated = "surroundings: {pressure: 980, unit: mbar, uncertainty: 0.1, source: barometer}\n"
    absolute = replace(cycle, description=cycle.description + stated)
    assert bands(absolute) == pytest.approx(bands(good_cycle()) + 98000.0)
    assert any("predicted" in word for word in words_in(plot_record(absolute.record(), absolute.judged())))


def test_a_pressure_sensor_that_was_silent_has_no_band() -> None:
    def silent(_: np.ndarray, values: np.ndarray) -> None:
        values[:] = np.nan

    file = file_of(good_cycle().with_column("P1", silent))
    assert not any("predicted" in word for word in words_in(file.plot_svg))


def test_two_stages_of_one_name_are_named_and_banded_apart() -> None:
    stages = [s.model_copy(update={"name": "rinse"}) if s.kind.value == "rinse" else s for s in PROGRAMME.stages]
    names = {"first rinse": "rinse", "second rinse": "rinse 2"}
    predicted = {names.get(name, name): pressure for name, pressure in PREDICTION.stages.items()}
    programme = PROGRAMME.model_copy(update={"stages": stages})
    same = file_of(good_cycle(), replace(PREDICTION, stages=predicted), programme=programme)
    assert {"rinse", "rinse 2"} <= words_in(same.plot_svg)
    assert same.plot_svg.count('id="FillBetweenPolyCollection_') == good_file().plot_svg.count(
        'id="FillBetweenPolyCollection_'
    )
    assert same.plot_svg.count('id="LineCollection_') == good_file().plot_svg.count('id="LineCollection_')
    assert same.plot_svg.count('id="FillBetweenPolyCollection_') == 5


def test_a_record_of_stages_alone_says_that_it_holds_no_values() -> None:
    cycle = good_cycle()
    for column in cycle.columns:
        cycle = cycle.without_column(column)
    file = file_of(cycle)
    assert words_in(file.plot_svg) == {"The record holds no measured values."}
    assert "The record holds no measured values." in text_of(load_file_pdf(file, PRINTED))


def test_what_a_fixed_window_would_have_said_is_shown_for_comparison() -> None:
    assert len(good_file().comparisons) == 1
    assert all("would not have noticed anything" in line for line in good_file().comparisons)

    def low(_: np.ndarray, values: np.ndarray) -> None:
        values *= 0.5

    objected = file_of(good_cycle().with_column("P1", low)).comparisons
    assert any("would have objected: cold rinse (P1) 100 mbar in 160 to 240 mbar" in line for line in objected)


def test_how_the_load_stands_to_what_was_validated_is_on_paper_and_on_the_page() -> None:
    assert squeezed(ENVELOPE) in squeezed(" ".join(paper_of(good_file())))
    page = load_file_html(good_file())
    assert f"<b>Against the validated reference loads:</b> {escape(ENVELOPE)}." in page


def test_what_the_sensors_could_not_show_stands_on_paper_and_on_screen_where_it_was_worked_out() -> None:
    unseen = "3 of 17 single faults (no baseline): lumen blocked (3). Looked at instead, when loading: all caps."
    file = replace(good_file(), unseen=unseen)
    assert f"<b>What the sensors could not show:</b> {unseen}" in load_file_html(file)
    assert "What the sensors could not show: 3 of 17 single" in " ".join(text_of(load_file_pdf(file, PRINTED)).split())
    assert "could not show" not in load_file_html(good_file())


def test_a_row_tells_no_number_twice() -> None:
    for one in (*good_file().criteria, *cool_file().criteria):
        if one.limit != "–":
            assert not re.match(r"[−\d][^;]*, (at least|at most|between) ", one.why), one
    (a0,) = (one for one in cool_file().criteria if one.name == "A0 (T1)")
    assert a0.why.startswith("after subtracting the sensor's")
    assert not re.search(r'class="why">\s*\.', load_file_html(good_file()))


def test_what_the_readings_can_have_been_stands_on_both_pages_and_nowhere_where_nobody_asked() -> None:
    told = (
        "70.1 %  cannot be told apart: cap missing, T1 / pump <slow>",
        "Cannot be seen with these sensors: arm stuck.",
    )
    asked = replace(good_file(), diagnosed=told)
    head = "What the readings can have been"
    for line in (head, *told):
        assert squeezed(line) in squeezed(" ".join(paper_of(asked)))
        assert escape(line) in load_file_html(asked)
    assert head not in load_file_html(good_file())
    assert squeezed(head) not in squeezed(" ".join(paper_of(good_file())))
