"""Writes the JSON Schemas of all files from the types that read them: ``python docs/make_schemas.py``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from patency.catalogue import Measurements, department_schema, schema_of
from patency.evidence import (
    Calendar,
    ChartSettings,
    DriftedSensor,
    InspectionDay,
    SensorCorrections,
    baseline_schema,
    description_schema,
    evidence_schema,
    steam_schema,
)
from patency.flow import network_schema, rates_schema
from patency.load import plan_schema

FOLDER = Path(__file__).with_name("schemas")


def schemas() -> dict[str, dict[str, Any]]:
    """Return each schema by the name of its file."""
    return {
        "department.json": department_schema(),
        "plan.json": plan_schema(),
        "network.json": network_schema(),
        "measurements.json": schema_of(Measurements, "Measurements on the bench"),
        "record-description.json": description_schema(),
        "baseline.json": baseline_schema(),
        "fault-rates.json": rates_schema(),
        "evidence.json": evidence_schema(),
        "steam-evidence.json": steam_schema(),
        "calendar.json": schema_of(Calendar, "Tests of a site and what was done"),
        "drifted.json": schema_of(DriftedSensor, "A sensor that was found to have drifted"),
        "charts.json": schema_of(ChartSettings, "What is charted and how"),
        "corrections.json": schema_of(SensorCorrections, "What sensors were found to show too much"),
        "inspection.json": schema_of(InspectionDay, "What waits for inspection"),
    }


def text(schema: dict[str, Any]) -> str:
    """Return a schema as it stands in its file."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, schema in schemas().items():
        (FOLDER / name).write_text(text(schema), encoding="utf-8")
