"""Commands run one after another, each in a process of its own with little time and memory.

Lines on standard input are JSON: the folder to work in and the arguments of one command. What is
answered is how it ended: its exit code, or minus the signal that it died of. The program is loaded
once, before the first fork.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import resource
import signal
import sys
import time
from pathlib import Path

import retime
from retime.cli.main import run

ROOMS = {"speedmap", "profile", "plan", "media", "second", "picture", "detect", "edition", "follow"}
ROOMS |= {"yamldoc", "check", "render", "signal", "report"}
CPU_SECONDS = 10
WALL_SECONDS = 60  # of a machine that may be busy
MEMORY = 3 << 30  # of addresses: FFmpeg's threads reserve many that they never use


def main() -> None:
    """Run what is asked for until there is no more."""
    for module in pkgutil.walk_packages(retime.__path__, "retime."):
        if module.name.split(".")[1] in ROOMS:
            importlib.import_module(module.name)
    for line in sys.stdin:
        folder, arguments = json.loads(line)
        child = os.fork()
        if not child:
            _run(Path(folder), arguments)
        print(json.dumps(_ended(child)), flush=True)  # noqa: T201 - the answer


def _run(folder: Path, arguments: list[str]) -> None:
    """Become the command; its output goes into a file."""
    os.setsid()
    os.chdir(folder)
    said = os.open(folder / "said", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    nothing = os.open(os.devnull, os.O_RDONLY)
    for stream, handle in enumerate((nothing, said, said)):
        os.dup2(handle, stream)
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    sys.argv = ["retime", *arguments]
    code = 99
    try:
        run()
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 98
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _ended(child: int) -> int:
    """Return how a child ended; one that does not end is killed, with all that it started."""
    stop = time.monotonic() + WALL_SECONDS
    while time.monotonic() < stop:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.005)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -signal.SIGALRM


if __name__ == "__main__":
    main()
