"""A PostgreSQL server of the tests' own: started in a temporary folder, on a socket there, thrown away afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

# PostgreSQL refuses to run as root; any other user does
_OTHER_USERS = ("postgres", "nobody")


def programs() -> Path | None:
    """The folder of PostgreSQL's programs, newest first; None where there is no server."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: int(folder.parent.name), reverse=True)
    if on_path := shutil.which("pg_ctl"):
        found.append(Path(on_path).resolve().parent)
    return next((folder for folder in found if (folder / "initdb").exists()), None)


class Server:
    """Start it, ask it for a new database, let it crash, stop it."""

    def __init__(self, folder: Path) -> None:
        self.programs = folder
        self.home = Path(tempfile.mkdtemp(prefix="beltwright-pg-"))
        self._as: list[str] = []
        if os.geteuid() == 0:
            user = next(name for name in _OTHER_USERS if name in {entry.pw_name for entry in pwd.getpwall()})
            shutil.chown(self.home, user)
            # root's own programs may be off the path of whoever runs the tests
            runuser = shutil.which("runuser") or shutil.which("runuser", path="/usr/sbin:/sbin")
            assert runuser is not None, "runuser is needed to start a server as another user than root"
            self._as = [runuser, "-u", user, "--"]
        self._count = 0
        self._run("initdb", "-D", f"{self.home}/data", "-A", "trust", "-U", "planner", "-E", "UTF8", "--locale=C",
                  "--no-sync")
        self.start()

    def start(self) -> None:
        options = f"-k {self.home} -c listen_addresses= -c fsync=off -c max_connections=60"
        self._run("pg_ctl", "-D", f"{self.home}/data", "-l", f"{self.home}/log", "-w", "-o", options, "start")

    def crash(self) -> None:
        """Stop as a crash would: nothing finished, nothing written out."""
        self._run("pg_ctl", "-D", f"{self.home}/data", "-m", "immediate", "-w", "stop")

    def new_database(self) -> str:
        """The address of an empty database."""
        self._count += 1
        self.ask("postgres", f"CREATE DATABASE plant{self._count}")
        return f"postgresql://planner@/plant{self._count}?host={self.home}"

    def ask(self, database: str, sql: str) -> str:
        return self._run("psql", "-h", str(self.home), "-U", "planner", "-d", database, "-Atc", sql)

    def dump(self, address: str) -> str:
        """The tables of a database as its own tool writes them down."""
        lines = self._run("pg_dump", "--schema-only", "--no-comments", address).splitlines()
        return "\n".join(line for line in lines if line and not line.startswith(("--", "\\")))

    def stop(self) -> None:
        self._run("pg_ctl", "-D", f"{self.home}/data", "-m", "immediate", "stop")
        shutil.rmtree(self.home)

    def _run(self, program: str, *arguments: str) -> str:
        command: Sequence[str] = [*self._as, str(self.programs / program), *arguments]
        done = subprocess.run(command, capture_output=program != "pg_ctl", text=True, cwd="/", timeout=120, check=False,
                              stdin=subprocess.DEVNULL)
        assert done.returncode == 0, f"{program}: {done.stdout}{done.stderr}"
        return done.stdout or ""
