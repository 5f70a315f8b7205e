"""``patency serve`` as a person starts it: it prints where it is, and a link that sets up the first account once."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from patency.bench import shifted_clock

if TYPE_CHECKING:
    from pathlib import Path

    from tests.bench.desk import Desk

pytestmark = pytest.mark.slow


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def answered(address: str) -> bytes:
    until = time.monotonic() + 90
    while True:
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:
                return bytes(answer.read())
        except OSError:
            assert time.monotonic() < until, "the bench did not answer"
            time.sleep(0.2)


def test_serve_prints_a_setup_link_answers_on_loopback_and_stops_when_told(desk: Desk) -> None:
    folder, port = desk.opened.folder, free_port()
    desk.opened.close()
    (folder / "people.sqlite").unlink()
    command = [sys.executable, "-m", "patency", "serve", "--in", str(folder), "--port", str(port)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        try:
            assert answered(f"http://127.0.0.1:{port}/alive") == b"alive\n"
        finally:
            process.send_signal(signal.SIGINT)
            told, faults = process.communicate(timeout=60)
    assert f"http://127.0.0.1:{port}" in told
    links = re.findall(r"/setup/[\w-]{30,}", told)
    assert len(links) == 1
    assert links[0] not in faults


def test_the_clock_of_a_demo_goes_on_where_it_stood_over_a_restart(tmp_path: Path) -> None:
    stands = datetime(2026, 5, 12, 13, 20, tzinfo=UTC)
    first = shifted_clock(tmp_path, stands)
    assert abs(first.now() - stands) < timedelta(seconds=5)
    again = shifted_clock(tmp_path)
    assert again.name == "demo clock"
    assert abs(again.now() - first.now()) < timedelta(seconds=5)
    assert json.loads((tmp_path / "clock.json").read_text())["shift_s"] != 0


def test_a_folder_without_a_demo_uses_the_clock_of_the_computer(tmp_path: Path) -> None:
    assert shifted_clock(tmp_path).name == "station clock"
