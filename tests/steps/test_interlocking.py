"""A cycle of which nobody says which tests it rests on is not met; what failed since counts against it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from patency.evidence import CriterionState
from patency.steps import Interlock
from patency.steps.interlocking import judged_with_tests
from tests.evidence.steam_cycles import good_steam

if TYPE_CHECKING:
    from pathlib import Path

    from patency.evidence import SteamEvidence
    from patency.steps.interlocking import RelyingOn

MET, MISSED, OPEN = CriterionState.MET, CriterionState.NOT_MET, CriterionState.NOT_EVALUATED
CALENDAR = """\
format: patency-calendar/1
tests:
  leak: {of: machine, name: Yew, interval: 7 d, blocks: {machines: [Yew]}, source: policy}
done:
  - {test: leak, at: 2026-05-27T06:30Z, by: M. Hollis, result: passed}
"""
RAN, DECIDED = (datetime.fromisoformat(f"2026-06-01T{hour}:00Z") for hour in (11, 18))
LATER = "  - {test: leak, at: 2026-06-01T14:30Z, by: M. Hollis, result: failed}\n"
AGAIN = "  - {test: leak, at: 2026-06-01T16:30Z, by: M. Hollis, result: passed}\n"


def judged(interlock: RelyingOn | None) -> tuple[SteamEvidence, str]:
    """Judge a cycle in which everything is as it should be; say why of its tests."""
    evidence = good_steam().judged()
    assert evidence.verdict is MET
    with_tests = judged_with_tests(evidence, interlock, "wrapped")
    return with_tests, "; ".join(one.why for one in with_tests.criteria if one.name == "test in date")


def by(folder: Path, text: str, ran: datetime | None = RAN) -> tuple[SteamEvidence, str]:
    (folder / "calendar.yaml").write_text(text, encoding="utf-8")
    return judged(replace(Interlock.of(folder / "calendar.yaml", DECIDED), ran=ran))


def test_without_a_calendar_it_is_open_whether_the_tests_are_in_date_and_so_is_the_verdict(tmp_path: Path) -> None:
    evidence, why = judged(None)
    assert (evidence.verdict, evidence.relies_on) == (OPEN, None)
    assert why == "no calendar was given: nobody says which tests have to be in date"
    assert by(tmp_path, CALENDAR)[0].verdict is MET


def test_when_nobody_says_when_the_cycle_ran_it_is_open(tmp_path: Path) -> None:
    evidence, why = by(tmp_path, CALENDAR, None)
    assert (evidence.verdict, evidence.relies_on is None) == (OPEN, False)
    assert "the record does not say when the cycle ran" in why


def test_a_test_that_failed_after_the_cycle_counts_against_it_though_it_was_passed_again(tmp_path: Path) -> None:
    for text in (CALENDAR + LATER, CALENDAR + LATER + AGAIN):
        evidence, why = by(tmp_path, text)
        assert evidence.verdict is MISSED
        assert "leak: failed since the cycle ran" in why
    assert by(tmp_path, CALENDAR + LATER.replace("T14", "T19"))[0].verdict is MET  # after the decision


def test_a_test_done_after_the_cycle_does_not_count_for_it(tmp_path: Path) -> None:
    evidence, why = by(tmp_path, CALENDAR.replace("2026-05-27T06:30Z", "2026-06-01T11:01Z"))
    assert evidence.verdict is MISSED
    assert "leak: never done" in why


def test_where_record_and_ledger_differ_about_when_it_ran_the_moment_counts_that_leaves_less_in_date(
    tmp_path: Path,
) -> None:
    (tmp_path / "calendar.yaml").write_text(CALENDAR, encoding="utf-8")
    told = Interlock.of(tmp_path / "calendar.yaml", DECIDED)
    overdue = datetime.fromisoformat("2026-06-04T11:00Z")
    for record, ledger, verdict in ((RAN, RAN, MET), (RAN, overdue, MISSED), (overdue, RAN, MISSED)):
        evidence = good_steam().judged().model_copy(update={"started": record})
        assert judged_with_tests(evidence, replace(told, ran=ledger), "wrapped").verdict is verdict
