"""The small department on the bench, and a smaller one still for hundreds of trials. All of it is invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Measurements, read_described
from tests.small_site import small_department

if TYPE_CHECKING:
    from patency.catalogue import Department

MEASURED = """\
format: patency-measurements/1
site: Small Infirmary (invented)
carrier: Wren
machine_kind: front_loader
instruments:
  bucket: {uncertainty: 2 %, source: invented}
  gauge: {uncertainty: 5 mbar, source: invented}
  meter: {uncertainty: 2 %, source: invented}
setups:
  A: {open: [N1, N2, H1, H2, H3, T1], temperature: 20 °C}
  B: {open: [H1], temperature: 20 °C}
  C: {open: [N1], fitted: {N1: nozzle_6}, temperature: 45 °C, pump_speed: 0.9}
readings:
- {setup: A, instrument: bucket, at: H1}
- {setup: A, instrument: gauge, at: circulation}
- {setup: A, instrument: gauge, at: hoses}
- {setup: A, instrument: meter, at: pump}
- {setup: A, instrument: bucket, at: T1}
- {setup: B, instrument: bucket, at: H1}
- {setup: B, instrument: gauge, at: circulation}
- {setup: C, instrument: bucket, at: N1}
"""


def small_bench() -> tuple[Department, Measurements]:
    """Three set-ups of the small department's carrier, eight readings, all empty."""
    return small_department(), read_described(Measurements, MEASURED, "bench.yaml")


def two_ports() -> tuple[Department, Measurements]:
    """A hose port and a nozzle port, two set-ups, four readings: quick enough for hundreds of trials."""
    text = MEASURED.split("setups:", maxsplit=1)[0] + (
        "setups:\n"
        "  A: {open: [H1, N1], temperature: 20 °C}\n"
        "  B: {open: [H1], temperature: 20 °C}\n"
        "readings:\n"
        "- {setup: A, instrument: bucket, at: H1}\n"
        "- {setup: A, instrument: bucket, at: N1}\n"
        "- {setup: A, instrument: gauge, at: circulation}\n"
        "- {setup: B, instrument: bucket, at: H1}\n"
    )
    return small_department(), read_described(Measurements, text, "bench.yaml")
