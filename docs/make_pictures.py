"""Makes the pictures on the pages from the demo day itself: ``python docs/make_pictures.py``; takes a minute."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from patency.demo import larkmere_texts, run_demo_day
from patency.papers import load_file_pictures, load_sheet_pictures
from patency.steps import flow_of_plan, flow_pictures, sheet_of_load

PICTURES = Path(__file__).with_name("pictures")
RESOLUTION_DPI = 90.0


def main() -> None:
    """Plan the demo day; keep the first page of a load sheet, its first steps, a load file, the charts of its flow."""
    with tempfile.TemporaryDirectory() as folder:
        day = run_demo_day(
            Path(folder) / "larkmere", larkmere_texts(), np.random.default_rng(20260512), datetime.now(UTC), print
        )
    load = day.plan.loads[-1]
    overview, _, steps, *_ = load_sheet_pictures(sheet_of_load(day.department, day.plan, load), RESOLUTION_DPI)
    judged, *_ = load_file_pictures(day.cycles[load.id].file, RESOLUTION_DPI)
    PICTURES.mkdir(exist_ok=True)
    for name, picture in {"load-sheet": overview, "load-sheet-steps": steps, "load-file": judged}.items():
        (PICTURES / f"{name}.png").write_bytes(picture)
    for name, chart in flow_pictures(flow_of_plan(day.department, day.plan, load.id)).items():
        (PICTURES / name.replace(f"-{load.id}-", "-")).write_bytes(chart)


if __name__ == "__main__":
    main()
