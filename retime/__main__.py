"""``python -m retime``."""

from retime.cli.main import run

__all__: list[str] = []

run()
