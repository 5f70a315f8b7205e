"""A program that works through the interface, for a person who signed in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.testclient import TestClient

from tests.bench.desk import PINS, Desk, badge_of

if TYPE_CHECKING:
    from httpx2 import Response


class Program:
    """Calls of one person."""

    def __init__(self, desk: Desk, person: str, client: TestClient | None = None) -> None:
        self.client = client or TestClient(desk.app(), base_url="http://127.0.0.1")
        self.person, self.number = person, 0
        answer = self.client.post("/api/v1/session", json={"badge": badge_of(person), "pin": PINS[person]})
        assert answer.status_code == 200, answer.text
        self.token = answer.json()["token"]
        self.headers = {"Authorization": f"Bearer {self.token}", "Station": "clean side 1"}

    def get(self, path: str, status: int = 200, **query: str) -> Any:  # noqa: ANN401 - a document of JSON
        answer = self.client.get(f"/api/v1{path}", params=query, headers=self.headers)
        assert answer.status_code == status, answer.text
        return answer.json()

    def post(self, path: str, status: int = 200, under: str = "", **body: object) -> Any:  # noqa: ANN401 - the same
        answer = self.send(path, under, body)
        assert answer.status_code == status, answer.text
        return answer.json()

    def send(self, path: str, under: str, body: dict[str, Any]) -> Response:
        self.number += 1
        headers = {**self.headers, "Idempotency-Key": under or f"{self.person}-{id(self)}-{self.number}"}
        return self.client.post(f"/api/v1{path}", json=body, headers=headers)

    def lines(self, path: str, status: int, **body: object) -> str:
        """What is told where it was not done."""
        answer = self.send(path, "", body)
        assert answer.status_code == status, answer.text
        return "\n".join(fault["line"] for fault in answer.json()["faults"])
