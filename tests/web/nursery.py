"""A server that can be killed two hundred times: everything is imported once, each life of it is a fork.

Started as a script with a book's path. It prints its port, then obeys lines: `serve` begins a life, `kill` ends it as a
power cut does. The listening socket outlives every life, so that phones never find the door gone, only nobody in.
"""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import sys
from pathlib import Path

import uvicorn

from beltwright.bench import card
from beltwright.web.app import create_app


def main(path: Path) -> None:
    """Obey until the lines end."""
    assert card.METHOD
    door = socket.create_server(("127.0.0.1", 0), backlog=64)
    print(door.getsockname()[1], flush=True)  # noqa: T201
    alive = 0
    for line in sys.stdin:
        if line.strip() == "serve" and not alive:
            alive = os.fork()
            if not alive:
                server = uvicorn.Server(uvicorn.Config(create_app(path), log_level="critical", lifespan="off"))
                asyncio.run(server.serve(sockets=[door]))
                os._exit(0)
        elif line.strip() == "kill" and alive:
            os.kill(alive, signal.SIGKILL)
            os.waitpid(alive, 0)
            alive = 0
        print("done", flush=True)  # noqa: T201
    if alive:
        os.kill(alive, signal.SIGKILL)
        os.waitpid(alive, 0)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
