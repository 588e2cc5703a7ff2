"""A PostgreSQL of our own, started for a while on a port of this machine."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

PORT = 54329
# Nothing is waited for on the disk: for tests that look at what is answered, not at what outlives.
FORGETFUL = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"


@dataclass(frozen=True)
class Server:
    """A server that runs: its address, and how it is started anew."""

    url: str
    control: tuple[str, ...]
    options: str

    def database(self, name: str) -> str:
        """Make a database on it and return its URL."""
        import sqlalchemy as sa

        engine = sa.create_engine(f"{self.url}/postgres", isolation_level="AUTOCOMMIT")
        with engine.connect() as db:
            db.execute(sa.text(f"CREATE DATABASE {name}"))
        engine.dispose()
        return f"{self.url}/{name}"

    def restart(self) -> None:
        """Stop it as a power cut would, and start it again."""
        subprocess.run([*self.control, "-m", "immediate", "stop"], check=True)
        start = [*self.control, "-w", "-o", self.options, "start"]
        subprocess.run(start, stdout=subprocess.DEVNULL, check=True)


@contextmanager
def postgres_server(port: int = PORT, more: str = "") -> Iterator[Server]:
    """Yield a server that nobody else uses; Debian's package is installed where it is missing.

    `more` are further options of the server's command.
    """
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found:
        subprocess.run(["apt-get", "install", "-y", "-qq", "postgresql"], check=True)
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    tools = found[-1].parent
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        subprocess.run(["chown", "postgres", str(home)], check=True)
        home.chmod(0o755)
        as_user = ("runuser", "-u", "postgres", "--")
        control = (*as_user, str(tools / "pg_ctl"), "-D", f"{home}/db", "-l", f"{home}/log")
        options = f"-p {port} -k {home} -c listen_addresses=127.0.0.1 {more}"
        for command in (
            [*as_user, str(tools / "initdb"), "-D", f"{home}/db", "-A", "trust"],
            [*control, "-w", "-o", options, "start"],
        ):
            subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
        try:
            yield Server(f"postgresql+psycopg://postgres@127.0.0.1:{port}", control, options)
        finally:
            subprocess.run([*control, "-m", "immediate", "stop"], check=False)
