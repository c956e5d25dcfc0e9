"""A memory on each of the two databases; the PostgreSQL is a real server of the system's packages."""

import contextlib
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg
import pytest

from demoule.store import By, open_store

WITHOUT = "DEMOULE_WITHOUT_POSTGRES"
HOW = (
    "These tests need a PostgreSQL server's programs (initdb, pg_ctl). On Debian or Ubuntu: sudo apt-get install -y "
    f"postgresql, or run scripts/postgres as root. To leave them out on your own machine: {WITHOUT}=1."
)
BEGAN = datetime(2026, 5, 2, 6, 0, tzinfo=UTC)


def programs():
    """The folder with initdb, the newest release first."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[4]), reverse=True)
    plain = shutil.which("initdb")
    return found[0].parent if found else Path(plain).parent if plain else None


class Server:
    """A server in a folder of its own, reached by a socket in it: no port, nobody else's data."""

    def __init__(self, bin_folder):
        self.bin = bin_folder
        self.folder = Path(tempfile.mkdtemp(prefix="demoule-pg-", dir="/tmp"))  # a socket's path must be short
        self.user = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        if os.geteuid() == 0:
            shutil.chown(self.folder, "postgres", "postgres")
        self.numbers = itertools.count()
        self.run("initdb", "-D", self.folder / "data", "-U", self.user, "-A", "trust", "-E", "UTF8", "--locale=C")
        options = f"-k {self.folder} -c listen_addresses='' -c max_connections=200"
        self.run("pg_ctl", "-D", self.folder / "data", "-l", self.folder / "log", "-w", "-o", options, "start")

    def run(self, program, *arguments):
        as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        done = (
            subprocess.run(
                [*as_user, str(self.bin / program), *map(str, arguments)],
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
                check=False,
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
            )
            if program != "pg_ctl"
            else subprocess.run(
                # The server inherits what it is started with: a pipe would never end.
                [*as_user, str(self.bin / program), *map(str, arguments)],
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                check=False,
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
            )
        )
        if done.returncode:
            log = self.folder / "log"
            pytest.fail(
                f"{program} ended with {done.returncode}: {done.stdout or ''}{log.read_text() if log.exists() else ''}"
            )

    def address(self, name):
        return f"postgresql://{self.user}@/{name}?host={self.folder}"

    def new(self):
        """The address of an empty database."""
        name = f"kitchen_{next(self.numbers)}"
        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return self.address(name)

    def stop(self):
        with contextlib.suppress(Exception):
            self.run("pg_ctl", "-D", self.folder / "data", "-m", "immediate", "stop")
        shutil.rmtree(self.folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres():
    found = programs()
    if found is None:
        if os.environ.get(WITHOUT) == "1" and os.environ.get("CI", "").lower() not in ("1", "true"):
            pytest.skip(f"{WITHOUT}=1 leaves the tests on PostgreSQL out")
        pytest.fail(HOW)
    server = Server(found)
    yield server
    server.stop()


@pytest.fixture(params=["sqlite", "postgres"])
def address(request, tmp_path):
    """The address of a database that does not exist yet, or is empty."""
    if request.param == "sqlite":
        return str(tmp_path / "memory.sqlite")
    return request.getfixturevalue("postgres").new()


@pytest.fixture
def store(address):
    with open_store(address) as opened:
        yield opened


@pytest.fixture
def by():
    """Somebody who writes, one second later each time."""
    seconds = itertools.count()

    def write(who="Ada", why=""):
        return By(who=who, at=BEGAN + timedelta(seconds=next(seconds)), why=why)

    return write
