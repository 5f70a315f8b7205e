"""The pieces that jets strike least, on the pages of release and unloading, which wait for no calculation."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from patency.bench.warming import look_ahead
from patency.errors import PhysicsError
from tests.bench.desk import Desk, sign_in
from tests.bench.test_reach_view import few_found
from tests.bench.test_release import Round

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import LoadReach

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("page", ["/release/L1", "/unloading/L1"])
def test_what_jets_strike_least_stands_with_its_zone_where_a_load_is_decided_and_unloaded(
    client: TestClient, desk: Desk, page: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = desk.opened.reach
    kept._found["L1", ()] = few_found()
    (desk.opened.folder / "records" / "load-L1.csv").unlink()  # nothing to judge: it is not about that
    Round(desk).run("L1")
    sign_in(client, "releaser-1")
    told = _least_struck(client.get(page).text)
    lines = re.findall(r"<li>(.*?)</li>", told)
    shares = [int(share) for line in lines for share in re.findall(r"(\d+) % struck directly; ", line)]
    assert len(lines) == len(shares) == 5
    assert shares == sorted(shares)
    assert "valve flap – trocar sleeve 11 mm, Gallbladder One" in told
    assert "under the flap (0 %, no jet points there)" in told
    assert "nothing of what is left on a surface: on the clean side look" in told
    assert 'href="/reach/L1"' in told
    left_out = len(desk.opened.plan.loads[0].pieces) - len(few_found().arranged.number_of)
    assert left_out > 10
    assert f"Pieces of which it is not known: {left_out}. Look at every side of them." in told
    client.cookies.set("language", "de")
    german = _least_struck(client.get(page).text)
    assert "unten: Klappe (0 %, kein Strahl zeigt dorthin)" in german
    assert "nichts darüber, was auf der Fläche bleibt: auf der reinen Seite zuerst" in german
    kept._found.clear()
    told = _least_struck(client.get(page).text)
    assert "Noch nicht berechnet: die Strahlansicht öffnen." in told
    assert 'href="/reach/L1"' in told
    assert "<li>" not in told
    assert kept._found == {}

    def computed(_: Department, load: Load, *__: object) -> LoadReach:
        if load.id != "L1":
            raise PhysicsError("the pump", "is driven beyond its run-out")
        return few_found()

    monkeypatch.setattr("patency.steps.reach_trying.load_reach", computed)
    look_ahead(desk.opened)
    assert "(0 %, kein Strahl zeigt dorthin)" in _least_struck(client.get(page).text)
    assert kept._found == {}


def _least_struck(text: str) -> str:
    found = re.search(r'<section class="card" id="least-struck">.*?</section>', text, re.DOTALL)
    assert found, text
    return found.group()
