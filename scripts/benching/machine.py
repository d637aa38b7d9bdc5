"""What the figures were measured on and with."""

import os
import platform
import subprocess
from importlib.metadata import version
from pathlib import Path

from benching.programs import PYTHON, ffmpeg

__all__ = ["machine"]


def machine() -> dict[str, str]:
    """Return names and versions, each with what it is the name of."""
    return {
        "machine": platform.node(),
        "CPU": f"{_cpu()}, {os.cpu_count()} cores",
        "memory": f"{os.sysconf('SC_PHYS_PAGES') * os.sysconf('SC_PAGE_SIZE') / 1e9:.0f} GB",
        "system": f"{platform.system()} {platform.release()}",
        "Python": platform.python_version(),
        "retime": version("retime"),
        "av": f"{version('av')} with FFmpeg {_ours()}",
        "ffmpeg program": f"{_program()}, from imageio-ffmpeg {version('imageio-ffmpeg')}",
    }


def _cpu() -> str:
    """Return the processor's name where the system tells it."""
    told = Path("/proc/cpuinfo")
    if told.exists():
        for line in told.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def _ours() -> str:
    """Return the version of the FFmpeg inside PyAV, asked for apart: a light process is measured.

    The peak memory that the system tells of a process counts that of the process that started it.
    """
    return _told(PYTHON, "-c", "import av; print(av.ffmpeg_version_info)")


def _program() -> str:
    return _told(str(ffmpeg()[0]), "-version").split()[2]


def _told(*command: str) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()
