"""Later readings of ports beside what the fit predicts for them, summed up to see whether one clogs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.commissioning.drift import innovations, limit_for, watch, words_of

if TYPE_CHECKING:
    from datetime import date

    from patency.flow.commissioning.drift import Drift
    from patency.flow.commissioning.model import BenchModel
    from patency.flow.commissioning.parameters import Factors


@dataclass(frozen=True, slots=True)
class WatchedPort:
    """The readings of one port in one set-up.

    Parameters
    ----------
    setup
        The set-up.
    port
        The port.
    days
        Days of the readings, in order.
    flows_m3_s
        What was read [m³/s].
    predicted_m3_s
        What the fit predicts [m³/s].
    drift
        Their shortfalls summed up.
    """

    setup: str
    port: str
    days: tuple[date, ...]
    flows_m3_s: tuple[float, ...]
    predicted_m3_s: float
    drift: Drift

    @property
    def last_share(self) -> float:
        """The last reading over the prediction."""
        return self.flows_m3_s[-1] / self.predicted_m3_s

    @property
    def drifts(self) -> str:
        """How it clogs, in words; empty where it is not flagged."""
        return words_of(self.drift, "gives less and less", self.days)


def watch_ports(model: BenchModel, known: Factors, readings_between_false_alarms: float) -> tuple[WatchedPort, ...]:
    """Watch every port of which there are readings.

    Parameters
    ----------
    model
        Set-ups, and readings of many days.
    known
        What the fit in force knows.
    readings_between_false_alarms
        Mean number of readings of one port that pass until it is flagged though nothing happened.

    Returns
    -------
    tuple[WatchedPort, ...]
        Each port in each set-up.

    Raises
    ------
    InputError
        If a reading has no day.
    """
    shown, noise = model.shown(), model.noise()
    predicted = model.predict(known.names, known.mean)
    doubt = np.sqrt(np.sum((predicted.jacobian @ known.covariance) * predicted.jacobian, axis=1))
    groups: dict[tuple[str, str], list[tuple[date, int]]] = {}
    for row, reading in enumerate(model.readings):
        if reading.instrument == "bucket" and reading.value is not None:
            if reading.on is None:
                raise InputError(f"readings[{row}].on", "the day is not stated", "a day such as 2026-03-31")
            groups.setdefault((reading.setup, reading.at), []).append((reading.on, row))
    limit = limit_for(readings_between_false_alarms)
    found = []
    for (setup, port), dated in groups.items():
        rows = [row for _, row in sorted(dated)]
        shortfalls = [float(predicted.shown[row] - shown[row]) for row in rows]
        drift = watch(innovations(shortfalls, float(noise[rows[0]]), float(doubt[rows[0]])), limit)
        found.append(
            WatchedPort(
                setup=setup,
                port=port,
                days=tuple(day for day, _ in sorted(dated)),
                flows_m3_s=tuple(float(np.exp(shown[row])) for row in rows),
                predicted_m3_s=float(np.exp(predicted.shown[rows[0]])),
                drift=drift,
            )
        )
    return tuple(found)
