"""Stages found from the signals alone, held to the truth of simulated cycles; no fault passed, no good cycle refused.

A few cycles here; a thousand and more in benchmarks/stage_finding.py.
"""

from __future__ import annotations

import pytest

from patency.demo import FAULTS
from patency.evidence import CriterionState, Origin
from tests.demo.fleet import scored


@pytest.mark.slow
def test_stages_lie_within_five_seconds_of_the_truth_and_good_cycles_are_met() -> None:
    fleet = [scored(number, None) for number in range(24)]
    assert {one.evidence.stages_found_by for one in fleet} == {Origin.SIGNALS}
    assert [number for number, one in enumerate(fleet) if one.farthest_s > 5.0] == []
    assert {one.evidence.verdict for one in fleet} == {CriterionState.MET}


# Faults that leave the water's course as it was leave its stages where they are.
MOVES_NOTHING = {"load sensor reads low", "pressure sensor reads low", "dose missed", "foam", "arm stuck", "short hold"}


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
def test_no_fault_is_passed_and_most_leave_the_stages_where_they_are(fault: str) -> None:
    for number in (0, 1):
        one = scored(number, fault)
        assert one.evidence.verdict is not CriterionState.MET
        if fault in MOVES_NOTHING:
            assert one.farthest_s <= 5.0


@pytest.mark.slow
def test_the_machines_own_words_agree_with_the_signals() -> None:
    for number in range(4):
        evidence = scored(number, None, stage_column="step").evidence
        assert (evidence.stages_found_by, evidence.verdict) == (Origin.COLUMN, CriterionState.MET)
