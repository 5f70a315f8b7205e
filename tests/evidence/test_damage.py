"""More than a hundred damaged records: refused with line and column, or read with a finding; none passes by chance."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from patency.errors import InputErrors
from patency.evidence import CriterionState, Evidence, FindingKind, judge, read_description, read_record
from tests.evidence.cycles import ALL_SEEN, LIMITS, MACHINE, PREDICTION, PROGRAMME, TODAY, Cycle, good_cycle
from tests.evidence.damage import DAMAGES, damaged

SEEDS = range(5)


def every_fourth(cycle: Cycle) -> str:
    return replace(cycle, rows=[row for row in range(cycle.time.size) if row % 4]).text()


def cold_cycle() -> Cycle:
    """A cycle whose load stays too cold: whatever happens to its record, it must not be met."""

    def colder(_: object, values: np.ndarray) -> None:
        np.minimum(values, 84.0, out=values)

    return good_cycle().with_column("T2", colder)


GOOD, COLD = every_fourth(good_cycle()), every_fourth(cold_cycle())
DESCRIPTION = read_description(good_cycle().description)


def judged(text: str) -> Evidence | list[str]:
    """Judge a record; the faults where it is refused."""
    try:
        record = read_record(text, DESCRIPTION, "r.csv")
    except InputErrors as refused:
        return [fault.line for fault in refused.faults]
    return judge(record, PROGRAMME, LIMITS, PREDICTION, on=TODAY, eye_check=ALL_SEEN, machine=MACHINE)


def test_there_are_more_than_a_hundred_and_undamaged_ones_stay_what_they_are() -> None:
    assert len(DAMAGES) * len(SEEDS) > 100
    good, cold = judged(GOOD), judged(COLD)
    assert isinstance(good, Evidence)
    assert isinstance(cold, Evidence)
    assert (good.verdict, good.findings) == (CriterionState.MET, ())
    assert cold.verdict is CriterionState.NOT_MET


@pytest.mark.slow
@pytest.mark.parametrize("kind", DAMAGES)
def test_a_damaged_record_is_refused_with_its_place_or_noticed_and_never_passes_by_accident(kind: str) -> None:
    for seed in SEEDS:
        found = judged(damaged(GOOD, kind, seed))
        if isinstance(found, list):
            assert all(re.match(r"r\.csv, line \d+", line) for line in found)
        else:
            assert found.findings or found.verdict is not CriterionState.MET
        cold = judged(damaged(COLD, kind, seed))
        assert isinstance(cold, list) or cold.verdict is not CriterionState.MET


@pytest.mark.parametrize(
    ("kind", "units"),
    [
        ("degrees Fahrenheit", "in degF;"),
        ("kelvins", "in K;"),
        ("kilopascals for millibars", "in kPa or psi;"),
        ("pascals for millibars", "in Pa;"),
        ("pounds for millibars", "in bar or psi;"),
    ],
)
def test_a_mixed_up_unit_is_noticed_and_never_repaired(kind: str, units: str) -> None:
    found = judged(damaged(GOOD, kind, 0))
    assert isinstance(found, Evidence)
    (doubt,) = [finding for finding in found.findings if finding.kind is FindingKind.UNIT_DOUBT]
    assert units in doubt.text
    assert "read as described" in doubt.text
    assert found.verdict is not CriterionState.MET


def test_usual_and_silent_columns_raise_no_doubt_of_their_unit() -> None:
    silent = damaged(GOOD, "a sensor fallen silent", 0)
    for text in (GOOD, silent):
        found = judged(text)
        assert isinstance(found, Evidence)
        assert all(finding.kind is not FindingKind.UNIT_DOUBT for finding in found.findings)
