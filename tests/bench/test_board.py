"""The board and a set's story."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.steps import Urgency, board_of, set_story_of
from tests.bench.desk import BEGIN, Desk, csrf, sign_in

if TYPE_CHECKING:
    from starlette.testclient import TestClient


def test_the_board_knows_every_set_and_how_it_stands_to_its_time(desk: Desk) -> None:
    opened = desk.opened
    lines = {line.set_key: line for line in board_of(opened.ledger, opened.department, opened.plan, BEGIN).lines}
    assert len(lines) == 11
    assert lines["Appendix"].urgency is Urgency.IN_TIME
    assert lines["Visiting Wrist"].holds
    assert lines["Gallbladder One"].state == "used"
    assert lines["Gallbladder One"].since is not None
    assert f"{lines['Gallbladder One'].since:%H:%M}" == "11:50"


def test_a_set_becomes_tight_and_late_when_its_wash_no_longer_fits_before_its_time(desk: Desk) -> None:
    # Appendix: washed by 18:03, the cycle takes 66 min, so 16:57 is the last start and 16:27 half an hour before it.
    urgencies = {}
    for hour, minute in ((16, 26), (16, 28), (16, 57), (16, 58)):
        now = BEGIN.replace(hour=hour, minute=minute)
        shown = board_of(desk.opened.ledger, desk.opened.department, desk.opened.plan, now)
        line = next(line for line in shown.lines if line.set_key == "Appendix")
        urgencies[hour, minute] = (line.urgency, shown.late())
    assert urgencies == {
        (16, 26): (Urgency.IN_TIME, 0),
        (16, 28): (Urgency.TIGHT, 0),
        (16, 57): (Urgency.TIGHT, 0),
        (16, 58): (Urgency.LATE, 1),
    }


def test_a_story_tells_every_event_and_how_sure_each_piece_is(desk: Desk) -> None:
    story = set_story_of(desk.opened.ledger, "Appendix")
    assert len(story.lines) == len(desk.opened.ledger.story("set", "Appendix"))
    assert story.lines[0].words == "issued → in-use"
    strengths: dict[bool, set[str]] = {piece.mark is None: set() for piece in story.pieces}
    for piece in story.pieces:
        strengths[piece.mark is None].add(piece.strength.name)
    assert strengths == {True: {"MEMBER"}, False: {"SCANNED"}}


def test_a_scanned_label_opens_its_set_and_an_unknown_one_says_so(client: TestClient) -> None:
    sign_in(client, "loader-1")
    mark = csrf(client.get("/").text)
    assert client.post("/find", data={"csrf": mark, "code": "Pelvis One"}).url.path == "/set/Pelvis One"
    assert "Nothing here carries this code: X-1" in client.post("/find", data={"csrf": mark, "code": "X-1"}).text
    assert client.get("/set/Nowhere").status_code == 400
