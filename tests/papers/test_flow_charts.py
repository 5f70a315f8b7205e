"""The charts of flow: every lumen, interval, limit and port is drawn as handed over, readable in black and white."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from patency.flow import LeastValue, ManifoldPlace
from patency.papers import LumenBar, plot_lumens, plot_manifold
from patency.papers.drawing import charts
from patency.papers.drawing.svg import SVG_NAMESPACE
from patency.papers.flows import lumens_plot, manifold_plot
from patency.quantities import Interval
from tests.papers.cast import HOSTILE, greys_only

if TYPE_CHECKING:
    from collections.abc import Iterator

ML_MIN = 1.0 / 6e7
PLAIN = LumenBar(
    name="forceps (A) H1",
    flow_m3_s=Interval(80 * ML_MIN, 100 * ML_MIN, 130 * ML_MIN),
    shear_pa=Interval(1.5, 2.0, 4.0),
    least_flow=LeastValue(50 * ML_MIN, in_date=True),
    least_shear=LeastValue(1.0, in_date=True),
    weak=False,
)
WEAK = replace(PLAIN, name="needle (B) H2", least_flow=LeastValue(90 * ML_MIN, in_date=True), weak=True)
NOZZLE = replace(PLAIN, name="sleeve (B) N1", shear_pa=None, least_flow=None, least_shear=None)
BARS = (PLAIN, WEAK, NOZZLE)
CIRCUITS = {
    "header": (ManifoldPlace(0.0, 24000.0, ()), ManifoldPlace(0.4, 23900.0, ("T1",)), ManifoldPlace(0.8, 23800.0, ())),
    "rail": (ManifoldPlace(0.8, 23800.0, ()), ManifoldPlace(1.0, 23500.0, ("H1", "H2"))),
}


@pytest.fixture
def figures(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Any]]:
    """Keep each figure that is drawn."""
    kept: list[Any] = []

    def keep(figure: Any, title: str) -> str:  # noqa: ANN401 - matplotlib
        kept.append(figure)
        return charts.chart_svg(figure, title)

    for module in (lumens_plot, manifold_plot):
        monkeypatch.setattr(module, "chart_svg", keep)
    yield kept
    kept.clear()


def words(svg: str) -> set[str]:
    return {"".join(element.itertext()) for element in ET.fromstring(svg).iter(f"{{{SVG_NAMESPACE}}}text")}


def lines(panel: Any) -> list[tuple[list[float], list[float]]]:  # noqa: ANN401 - matplotlib
    return [tuple(np.asarray(ends, dtype=float).tolist() for ends in line.get_data()) for line in panel.get_lines()]


def drawn(panel: Any, across: list[float], down: list[float]) -> bool:  # noqa: ANN401 - matplotlib
    return any(
        len(x) == len(across) and np.allclose(x, across, rtol=1e-9) and np.allclose(y, down, rtol=1e-9)
        for x, y in lines(panel)
    )


def test_every_lumen_is_named_with_its_interval_and_its_limit(figures: list[Any]) -> None:
    svg = plot_lumens("L1", {"Morning": "A", "Noon": "B"}, BARS)
    assert words(svg) >= {bar.name for bar in BARS} | {"A: Morning, B: Noon", "flow [mL/min]", "wall shear [Pa]"}
    flow, shear = figures[0].axes
    for row in range(3):
        assert drawn(flow, [80.0, 130.0], [row, row])
        assert drawn(flow, [100.0], [row])
    assert drawn(flow, [50.0, 50.0], [-0.42, 0.42])
    assert drawn(flow, [90.0, 90.0], [0.58, 1.42])
    assert drawn(shear, [1.5, 4.0], [0, 0])
    assert drawn(shear, [1.0, 1.0], [0.58, 1.42])
    assert not any(2 in y for _, y in lines(shear))
    assert "not known over a nozzle" in words(svg)


def test_the_weakest_differ_in_form_and_what_is_drawn_is_explained(figures: list[Any]) -> None:
    svg = plot_lumens("L1", {"Noon": "B"}, BARS)
    marks = {
        line.get_ydata()[0]: line.get_marker() for line in figures[0].axes[0].get_lines() if len(line.get_xdata()) == 1
    }
    assert marks == {0: "o", 1: "D", 2: "o"}
    assert words(svg) >= {"predicted, with its interval", "among the weakest of the load", "limit"}
    assert "limit out of date" not in words(svg)


def test_a_limit_out_of_date_is_dotted_and_a_dry_lumen_told_in_words(figures: list[Any]) -> None:
    late = replace(PLAIN, least_flow=LeastValue(50 * ML_MIN, in_date=False))
    dry = replace(PLAIN, name="dry H3", flow_m3_s=Interval(0.0, 0.0, 0.0), shear_pa=Interval(0.0, 0.0, 0.0))
    leaking = replace(PLAIN, name="nearly dry H4", flow_m3_s=Interval(0.0, 10 * ML_MIN, 20 * ML_MIN))
    svg = plot_lumens("L1", {"Noon": "B"}, (late, dry, leaking))
    assert words(svg) >= {"limit out of date", "nothing flows", "nearly dry H4"}
    strokes = [line.get_linestyle() for line in figures[0].axes[0].get_lines() if line.get_ydata()[0] == -0.42]
    assert strokes == [":"]
    assert drawn(figures[0].axes[0], [10.0], [2.0])


def test_many_lumens_still_fit_on_one_page() -> None:
    def height_mm(count: int) -> float:
        bars = [replace(PLAIN, name=f"forceps H{number}") for number in range(count)]
        return (
            float(ET.fromstring(plot_lumens("L1", {"Noon": "A"}, bars)).get("height", "").removesuffix("pt"))
            * 25.4
            / 72
        )

    assert height_mm(10) < height_mm(45) < height_mm(120) + 5.0 < 250.0


def test_a_line_for_each_circuit_with_a_mark_at_every_port(figures: list[Any]) -> None:
    svg = plot_manifold("L1", "cleaning", CIRCUITS)
    (panel,) = figures[0].axes
    assert words(svg) >= {"header", "rail", "T1", "H1, H2", "length of pipe from the dock [mm]"}
    assert drawn(panel, [0.0, 400.0, 800.0], [240.0, 239.0, 238.0])
    assert drawn(panel, [800.0, 1000.0], [238.0, 235.0])
    header, rail = panel.get_lines()
    assert (header.get_markevery(), rail.get_markevery()) == ([1], [1])
    assert header.get_marker() != rail.get_marker()
    assert header.get_linestyle() != rail.get_linestyle()


@pytest.mark.parametrize(
    "draw",
    [
        lambda: plot_lumens("L1", {HOSTILE: "A"}, [replace(PLAIN, name=HOSTILE), *BARS]),
        lambda: plot_manifold(HOSTILE, HOSTILE, {HOSTILE: CIRCUITS["header"], **CIRCUITS}),
    ],
)
def test_it_can_be_read_in_black_and_white_and_is_the_same_every_time(draw: Any) -> None:  # noqa: ANN401
    svg = draw()
    assert greys_only(svg)
    assert any(HOSTILE in word for word in words(svg))
    assert draw() == svg
