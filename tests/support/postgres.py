"""A throwaway PostgreSQL cluster on the loopback interface."""

import os
import shutil
import subprocess
import tempfile
import time
import uuid
from collections.abc import Sequence
from pathlib import Path

import psycopg

from tests.support.net import free_port

USER = "postgres"
SETTINGS = (
    "fsync=off",
    "full_page_writes=off",
    "max_connections=200",
    "listen_addresses=127.0.0.1",
)
READY_WITHIN_S = 60


class Cluster:
    """Starts in a temporary folder, gives fresh databases, leaves nothing behind."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="clampbook-pg-"))
        self._port = free_port()
        self._server: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        binaries = find_binaries()
        files = self._folder / "files"
        if os.geteuid() == 0:
            shutil.chown(self._folder, USER)
        initdb = [binaries / "initdb", "-D", files, "-U", USER, "-A", "trust", "-E", "UTF8", "-N"]
        subprocess.run(_as_user([*initdb, "--locale=C.UTF-8"]), check=True, capture_output=True)
        options = [part for setting in SETTINGS for part in ("-c", setting)]
        command = [
            binaries / "postgres",
            "-D",
            files,
            "-p",
            self._port,
            "-k",
            self._folder,
            *options,
        ]
        with (self._folder / "log").open("wb") as log:
            self._server = subprocess.Popen(_as_user(command), stdout=log, stderr=log)
        self._wait()

    def stop(self) -> None:
        if self._server is not None:
            pid = int((self._folder / "files/postmaster.pid").read_text().split()[0])
            os.kill(pid, 2)  # SIGINT: disconnect everyone and stop at once, but cleanly
            self._server.wait(READY_WITHIN_S)
        shutil.rmtree(self._folder, ignore_errors=True)

    @property
    def url(self) -> str:
        """Address of the cluster; a database's name is appended to it."""
        return f"postgresql+psycopg://{USER}@127.0.0.1:{self._port}/"

    def _wait(self) -> None:
        give_up = time.monotonic() + READY_WITHIN_S
        while True:
            try:
                psycopg.connect(_plain(self.url) + "postgres", connect_timeout=2).close()
            except psycopg.OperationalError:
                stopped = self._server is None or self._server.poll() is not None
                if stopped or time.monotonic() > give_up:
                    raise RuntimeError((self._folder / "log").read_text()) from None
                time.sleep(0.05)
            else:
                return


def new_address(cluster_url: str) -> str:
    """The address of a database that is not in the cluster yet."""
    return f"{cluster_url}t{uuid.uuid4().hex}"


def create_database(url: str, like: str = "") -> None:
    """Make a database: empty, or a copy of the database `like`, to which nobody is connected."""
    cluster_url, name = _parts(url)
    template = f' template "{_parts(like)[1]}"' if like else ""
    _execute(cluster_url, f'create database "{name}"{template}')


def drop_database(url: str) -> None:
    """Remove a database if it is there, whoever is still connected."""
    cluster_url, name = _parts(url)
    _execute(cluster_url, f'drop database if exists "{name}" with (force)')


def _parts(url: str) -> tuple[str, str]:
    cluster_url, slash, name = url.rpartition("/")
    return cluster_url + slash, name


def find_binaries() -> Path:
    """Folder of initdb and postgres, the newest version first."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    folders = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name)
    )
    if not folders:
        raise RuntimeError("PostgreSQL is not installed; 'python -m tests' installs it.")
    return folders[-1]


def _execute(cluster_url: str, statement: str) -> None:
    with psycopg.connect(_plain(cluster_url) + "postgres", autocommit=True) as connection:
        connection.execute(statement.encode())


def _plain(url: str) -> str:
    return url.replace("postgresql+psycopg://", "postgresql://")


def _as_user(command: Sequence[object]) -> list[str]:
    """PostgreSQL refuses to run as root, so root lends it the package's own account."""
    words = [str(part) for part in command]
    return ["runuser", "-u", USER, "--", *words] if os.geteuid() == 0 else words
