"""The measurement form on one page, and the picture of what was measured beside what is predicted."""

from __future__ import annotations

import io
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from pypdf import PdfReader

from patency.catalogue import Measurements, read_described
from patency.flow import BenchModel, described_parameters, fit_readings
from patency.papers import BenchForm, bench_form, bench_form_pdf, bench_form_pictures, plot_comparison
from tests.flow.commissioning.bench_cases import MEASURED
from tests.flow.commissioning.test_fitting import filled
from tests.papers.cast import PRINTED, SMALL, greys_only, text_of


def form_of(text: str = MEASURED) -> BenchForm:
    return bench_form(SMALL, read_described(Measurements, text, "bench.yaml"))


def test_the_form_says_what_to_set_up_what_to_read_and_what_to_expect() -> None:
    form = form_of()
    assert [(one.letter, one.ports, one.water) for one in form.setups] == [
        ("A", "all ports open", "20 °C"),
        ("B", "open: H1; all others capped", "20 °C"),
        ("C", "open: N1; all others capped; on N1: injector nozzle 6 mm", "45 °C, pump at 90 %"),
    ]
    first, second, _, meter, *_ = form.readings
    assert (first.number, first.letter, first.what, first.blanks) == ("1", "A", "bucket: port H1", ("L", "s"))
    assert first.hint == "about 2.28 L/min: 1 L in 26 s"
    assert (second.what, second.hint, second.blanks) == ("pressure: circulation", "about 634 mbar", ("mbar",))
    assert meter.blanks == ("L/min",)


def test_the_form_is_one_page_that_can_be_read_aloud_and_carries_the_cautions() -> None:
    pdf = bench_form_pdf(form_of(), PRINTED)
    reader: Any = PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) == 1
    assert "/StructTreeRoot" in reader.trailer["/Root"]
    words = text_of(pdf)
    for line in ("Never bypass a door's lock", "Wren", "front_loader", "bucket: port T1", "it validates no process"):
        assert line in words
    assert pdf == bench_form_pdf(form_of(), PRINTED)


def test_sixteen_readings_of_ten_set_ups_still_fit_on_one_page() -> None:
    head, rest = MEASURED.split("setups:")
    setups = "".join(f"  set-up number {k}: {{open: [H1], temperature: 20 °C}}\n" for k in range(10))
    readings = "".join(f"- {{setup: set-up number {k % 10}, instrument: bucket, at: H1}}\n" for k in range(16))
    assert rest
    form = form_of(f"{head}setups:\n{setups}readings:\n{readings}")
    assert len(bench_form_pictures(form, 20.0)) == 1


def test_a_name_with_signs_of_the_typesetter_is_printed_as_it_is() -> None:
    name = "<b>#panic(1) $x$ @a"
    text = MEASURED.replace("  A: {", f"  '{name}': {{").replace("setup: A,", f"setup: '{name}',")
    assert name in text_of(bench_form_pdf(form_of(text), PRINTED))


def test_the_picture_shows_every_reading_before_and_after_the_fit() -> None:
    model = BenchModel(SMALL, read_described(Measurements, filled({"hoses of 3 mm": 1.4}), "bench.yaml"))
    fit = fit_readings(model, described_parameters(list(model.benches.values()), SMALL.limits.flow))
    drawn = ET.fromstring(plot_comparison(fit, [0.01] * 8))
    circles = [one for one in drawn.iter() if one.tag.endswith("circle")]
    assert len(circles) == 16
    rings, dots = circles[::2], circles[1::2]
    middle = 128.0
    far = [abs(float(one.attrib["cx"]) - middle) for one in rings]
    near = [abs(float(one.attrib["cx"]) - middle) for one in dots]
    assert max(near) < 0.3 * max(far)
    assert set(np.argsort(far)[-2:]) == {0, 5}  # the buckets at a hose
    assert greys_only(plot_comparison(fit, [0.01] * 8))
    words = " ".join(one.text or "" for one in drawn.iter())
    assert "bucket H1: A" in words
    assert "Measured over predicted" in words


@pytest.mark.parametrize("share", [0.01, 0.3])
def test_bars_stay_inside_the_picture(share: float) -> None:
    model = BenchModel(SMALL, read_described(Measurements, filled({}), "bench.yaml"))
    fit = fit_readings(model, described_parameters(list(model.benches.values()), SMALL.limits.flow))
    drawn = ET.fromstring(plot_comparison(fit, [share] * 8))
    ends = [float(one.attrib[key]) for one in drawn.iter() if one.tag.endswith("line") for key in ("x1", "x2")]
    assert min(ends) >= 77.9
    assert max(ends) <= 178.1
