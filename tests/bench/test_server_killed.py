"""The process that serves the bench is killed at random points under load: what it acknowledged is there, once.

Each station scans pods to its set over HTTP, one after the other. When the bench is back it sends the last scan that
was acknowledged again, and then the one it got no answer to. The bench is ``patency serve`` itself, and the same
application started from modules that are loaded already, which is ready sooner and can be killed more often.
"""

from __future__ import annotations

import json
import multiprocessing
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import closing, suppress
from http import HTTPStatus
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import TYPE_CHECKING, Protocol
from urllib.parse import quote

import pytest

from patency.bench import shifted_clock
from patency.ledger import open_ledger, rebuild
from tests.bench.desk import BEGIN, PINS, badge_of
from tests.bench.test_serving import free_port

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

pytestmark = pytest.mark.slow

SETS = ("Gallbladder One", "Gallbladder Two", "Pelvis One", "Little Otter", "Knee Scope", "Groin Repair")
_WAIT_S = 120
_START = multiprocessing.get_context("forkserver")
_START.set_forkserver_preload(["patency.bench.serving", "uvicorn", "tests.bench.test_server_killed"])


class Serving(Protocol):
    """A process that serves the bench."""

    def kill(self) -> None: ...


class Station:
    """Somebody who scans one pod after the other to a set, and sends again what got no answer."""

    def __init__(self, number: int, set_key: str) -> None:
        self.number, self.set_key = number, set_key
        self.token, self.acknowledged = "", 0
        self.faults: list[str] = []

    def pod(self, number: int) -> str:
        return f"pod {self.number}-{number}"

    def sign_in(self, port: int) -> None:
        person = ("loader-1", "loader-2", "lead-1")[self.number % 3]
        with closing(HTTPConnection("127.0.0.1", port, timeout=_WAIT_S)) as connection:
            _, told = _asked(connection, "session", badge=badge_of(person), pin=PINS[person])
        self.token = json.loads(told)["token"]

    def scan_until_it_is_gone(self, port: int, acknowledged: Callable[[], None]) -> None:
        """Begin with the last scan that was acknowledged; end when nobody answers any more."""
        number, path = max(self.acknowledged, 1), f"sets/{quote(self.set_key)}/pod"
        calls = HTTPConnection("127.0.0.1", port, timeout=_WAIT_S)
        with suppress(OSError, HTTPException), closing(calls):
            while True:
                key = f"scan-{self.number}-{number}"
                status, told = _asked(calls, path, self.token, key, pod=self.pod(number))
                if status != HTTPStatus.OK:
                    self.faults.append(f"{key}: {status} {told!r}")
                    return
                self.acknowledged = number
                acknowledged()
                number += 1


def _asked(connection: HTTPConnection, path: str, token: str = "", key: str = "", **body: str) -> tuple[int, bytes]:
    headers = {"Content-Type": "application/json"}
    if token:
        headers |= {"Authorization": f"Bearer {token}", "Idempotency-Key": key}
    connection.request("POST", f"/api/v1/{path}", json.dumps(body), headers)
    answer = connection.getresponse()
    return answer.status, answer.read()


def patency_serve(folder: Path, port: int) -> subprocess.Popen[bytes]:
    """Start the command as a person does."""
    command = [sys.executable, "-m", "patency", "serve", "--in", str(folder), "--port", str(port)]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _serve(folder: Path, port: int) -> None:
    import uvicorn

    from patency.bench import make_app, open_folder

    app = make_app(open_folder(folder, shifted_clock(folder)))
    uvicorn.run(app, host="127.0.0.1", port=port, access_log=False, log_level="error")


def lean_serve(folder: Path, port: int) -> multiprocessing.context.ForkServerProcess:
    """Start the same application from loaded modules, without compiling beside it what computes flows."""
    process = _START.Process(target=_serve, args=(folder, port))
    process.start()
    return process


def _gone(process: Serving) -> None:
    process.kill()
    if isinstance(process, subprocess.Popen):
        assert process.wait() == -signal.SIGKILL
    else:
        assert isinstance(process, multiprocessing.context.ForkServerProcess)
        process.join()
        assert process.exitcode == -signal.SIGKILL


def _alive(port: int) -> None:
    until = time.monotonic() + _WAIT_S
    while True:
        try:
            with closing(HTTPConnection("127.0.0.1", port, timeout=_WAIT_S)) as connection:
                connection.request("GET", "/alive")
                connection.getresponse().read()
        except (OSError, HTTPException):
            assert time.monotonic() < until, "the bench did not answer"
            time.sleep(0.01)
        else:
            return


def serve_until_killed(
    start: Callable[[Path, int], Serving], folder: Path, stations: Sequence[Station], after: int, more_s: float
) -> float:
    """Serve, let every station scan, kill a moment after so many answers; return how long the start took [s]."""
    port, began, answers = free_port(), time.perf_counter(), threading.Semaphore(0)
    process = start(folder, port)
    try:
        _alive(port)
        took = time.perf_counter() - began
        for station in stations:
            if not station.token:
                station.sign_in(port)
        threads = [threading.Thread(target=one.scan_until_it_is_gone, args=(port, answers.release)) for one in stations]
        for thread in threads:
            thread.start()
        for _ in range(after):
            assert answers.acquire(timeout=_WAIT_S), [one.faults for one in stations]
        time.sleep(more_s)
    finally:
        _gone(process)
    for thread in threads:
        thread.join()
    assert not any(one.faults for one in stations), [one.faults for one in stations]
    return took


def prepared_to_be_killed(prepared: Path, folder: Path) -> tuple[Path, list[Station]]:
    """Copy a department with accounts, whose clock shows its day, and put a station to each of some sets."""
    shutil.copytree(prepared, folder)
    shifted_clock(folder, BEGIN)
    return folder, [Station(number, name) for number, name in enumerate(SETS)]


def kill_often(
    start: Callable[[Path, int], Serving], folder: Path, stations: Sequence[Station], kills: int, rng: random.Random
) -> list[float]:
    """Kill again and again, then look whether all is there once; return how long each start took [s]."""
    starts = [
        serve_until_killed(start, folder, stations, rng.randint(1, 40), rng.uniform(0.0, 0.05)) for _ in range(kills)
    ]
    check(folder, stations)
    return starts


def check(folder: Path, stations: Sequence[Station]) -> None:
    """Find each acknowledged scan once, none left out in between, at most one more that got no answer; all whole."""
    ledger = open_ledger(str(folder / "ledger.sqlite"))
    for station in stations:
        story = ledger.story("set", station.set_key)
        keys = [event["command"].split()[0] for event in story if event["command"].startswith("scan-")]
        kept = Counter(int(key.rpartition("-")[2]) for key in keys)
        assert max(kept.values(), default=1) == 1, station.set_key
        assert sorted(kept) == list(range(1, len(kept) + 1))
        assert station.acknowledged <= len(kept) <= station.acknowledged + 1
        for number in kept:
            assert len(ledger.story("accessory", station.pod(number))) == 1  # the other half of the same command
    assert ledger.verify() == []
    assert rebuild(ledger) == []
    ledger.close()


@pytest.mark.parametrize(("start", "kills"), [(patency_serve, 2), (lean_serve, 4)])
def test_a_killed_bench_loses_and_doubles_no_scan(
    prepared: Path, tmp_path: Path, start: Callable[[Path, int], Serving], kills: int
) -> None:
    folder, stations = prepared_to_be_killed(prepared, tmp_path / "larkmere")
    kill_often(start, folder, stations, kills, random.Random(kills))
    assert sum(one.acknowledged for one in stations) >= kills
