"""More than a hundred damaged records: refused with line and column, or read with a finding; none passes by chance."""

from __future__ import annotations

import re

import pytest

from patency.evidence import CriterionState, Evidence, FindingKind, SteamEvidence
from tests.evidence.damage import DAMAGES, damaged
from tests.evidence.damageable import DAMAGEABLE, Damageable

SEEDS = range(5)
RENAMES = {"names of columns swapped"}

machines = pytest.mark.parametrize("machine", DAMAGEABLE.values(), ids=DAMAGEABLE)


def noticed(machine: Damageable, text: str) -> Evidence | SteamEvidence:
    found = machine.judged(text)
    assert not isinstance(found, list), found
    return found


def told(evidence: Evidence | SteamEvidence) -> list[tuple[str, float | None, CriterionState]]:
    """Return what is found of each criterion, whatever its sensor is called; gauges of one machine are as good."""
    found = [(one.name, one.value and round(abs(one.value), 6), one.state) for one in evidence.criteria]
    return sorted(found, key=str)


@machines
def test_there_are_more_than_a_hundred_and_undamaged_ones_stay_what_they_are(machine: Damageable) -> None:
    assert len(DAMAGES) * len(SEEDS) > 100
    good, bad = noticed(machine, machine.good), noticed(machine, machine.bad)
    assert (good.verdict, good.findings) == (CriterionState.MET, ())
    assert (bad.verdict, bad.findings) == (CriterionState.NOT_MET, ())


@pytest.mark.slow
@machines
@pytest.mark.parametrize("kind", DAMAGES)
def test_a_damaged_record_is_refused_with_its_place_or_noticed_and_never_passes_by_accident(
    kind: str, machine: Damageable
) -> None:
    for seed in SEEDS:
        found = machine.judged(damaged(machine.good, kind, seed))
        if isinstance(found, list):
            assert all(re.match(r"r\.csv, line \d+", line) for line in found)
        else:
            # Where points of one kind change their names, all that is judged stays what it was.
            same = told(found) == told(noticed(machine, machine.good))
            assert found.findings or found.verdict is not CriterionState.MET or (kind in RENAMES and same)
        bad = machine.judged(damaged(machine.bad, kind, seed))
        assert isinstance(bad, list) or bad.verdict is not CriterionState.MET


@machines
@pytest.mark.parametrize(
    ("kind", "units", "absolute"),
    [
        ("degrees Fahrenheit", "in degF;", "in degF;"),
        ("kelvins", "in K;", "in K;"),
        ("kilopascals for millibars", "in kPa or psi;", "in kPa;"),
        ("pascals for millibars", "in Pa;", "in Pa;"),
        ("pounds for millibars", "in bar or psi;", "in psi;"),
    ],
)
def test_a_mixed_up_unit_is_noticed_and_never_repaired(
    kind: str, units: str, absolute: str, machine: Damageable
) -> None:
    found = noticed(machine, damaged(machine.good, kind, 0))
    (doubt,) = [finding for finding in found.findings if finding.kind is FindingKind.UNIT_DOUBT]
    assert (absolute if "reference: absolute" in machine.description else units) in doubt.text
    assert "read as described" in doubt.text
    assert found.verdict is not CriterionState.MET


@machines
def test_usual_and_silent_columns_raise_no_doubt_of_their_unit(machine: Damageable) -> None:
    for text in (machine.good, damaged(machine.good, "a sensor fallen silent", 0)):
        found = noticed(machine, text)
        assert all(finding.kind is not FindingKind.UNIT_DOUBT for finding in found.findings)
