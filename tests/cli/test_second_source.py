"""``patency evidence judge --logger`` and ``steam --logger``: never less strict than the machine's record alone."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import larkmere_texts
from patency.load import write_plan
from tests.evidence.cycles import good_cycle
from tests.evidence.steam_cycles import good_steam
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def states(answer: Result) -> dict[tuple[str, str | None, str | None], str]:
    criteria = json.loads(answer.stdout)["criteria"]
    return {(one["name"], one["stage"], one["sensor"]): one["state"] for one in criteria}


def three_less(_: NDArray[np.float64], values: NDArray[np.float64]) -> None:
    values -= 3.0


def test_a_logger_in_a_washing_cycle_is_judged_beside_the_machine(tmp_path: Path) -> None:
    cycle = good_cycle()
    (tmp_path / "site").mkdir()
    for name, text in SMALL_SITE.items():
        (tmp_path / "site" / name).write_text(text, encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    (tmp_path / "r.csv").write_text(cycle.text(), encoding="utf-8")
    (tmp_path / "r.yaml").write_text(cycle.description, encoding="utf-8")
    (tmp_path / "l.csv").write_text(cycle.with_column("T2", three_less).text(), encoding="utf-8")
    words = ["evidence", "judge", tmp_path / "r.csv", "--description", tmp_path / "r.yaml", "--on", "2026-03-02"]
    load = ["--site", tmp_path / "site", "--plan", tmp_path / "plan.json", "--load", SMALL_PLAN.loads[0].id, "--json"]
    alone, beside = run(*words, *load), run(*words, *load, "--logger", tmp_path / "l.csv", tmp_path / "r.yaml")
    before, after = states(alone), states(beside)
    order = ("not met", "not evaluated", "met")
    assert all(order.index(after[key]) <= order.index(state) for key, state in before.items())
    assert after["agreement of two recorders: T2 and the logger's T2", None, "T2"] == "not met"
    assert after["agreement of two recorders: T1 and the logger's T1", None, "T1"] == "met"
    assert ("A0", None, "logger: T2") in after
    assert json.loads(beside.stdout)["verdict"] == "not met"
    assert "--logger is judged against a load" in run(*words, "--logger", "a", "b").stderr


def test_a_logger_in_a_steam_cycle_is_judged_beside_the_machine(tmp_path: Path) -> None:
    (tmp_path / "larkmere").mkdir()
    for name, text in larkmere_texts().items():
        (tmp_path / "larkmere" / name).write_text(text, encoding="utf-8")
    cycle = good_steam()
    (tmp_path / "s.csv").write_text(cycle.text(), encoding="utf-8")
    (tmp_path / "s.yaml").write_text(cycle.description, encoding="utf-8")
    words = ["evidence", "steam", tmp_path / "s.csv", "--description", tmp_path / "s.yaml", "--json"]
    site = ["--site", tmp_path / "larkmere", "--on", "2026-03-31", "--programme", "wrapped_134"]
    after = states(run(*words, *site, "--logger", tmp_path / "s.csv", tmp_path / "s.yaml"))
    agreement = {key[2]: state for key, state in after.items() if key[0].startswith("agreement")}
    assert set(agreement.values()) == {"met"}
    assert len(agreement) == 3
