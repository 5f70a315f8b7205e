"""What of a load was used since: a set that comes to the same case twice."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from patency.ledger import CorrectMove, LoadRecord, SetState, open_ledger
from patency.steps.used_since import used_since
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from pathlib import Path

    from patency.ledger import Ledger


def told(ledger: Ledger) -> tuple[list[str], dict[str, str]]:
    """Tell what of the first steam load was used and what was not."""
    load = ledger.find(LoadRecord, "s1")
    assert load is not None
    since = used_since(ledger, load)
    return [use.what for use in since.used], dict(since.not_used)


def test_a_use_stays_when_the_set_comes_to_the_same_case_again_and_that_is_taken_back(tmp_path: Path) -> None:
    with closing(open_ledger(str(tmp_path / "ledger.sqlite"), create=True)) as ledger:
        desk = Desk(ledger).opened()
        desk.wash("w1", ["Heron"])
        desk.steam("s1", ["Heron"])
        desk.use("case-1", "Heron")
        desk.wash("w2", ["Heron"])
        desk.steam("s2", ["Heron"])
        desk.move("Heron", SetState.ISSUED, case="case-1")
        assert told(ledger) == (["Heron, used in case case-1", "Heron, issued to case case-1"], {})
        desk.do(CorrectMove(set_key="Heron", corrects=ledger.head().seq, why="the wrong set"))
        assert told(ledger) == (["Heron, used in case case-1"], {})
