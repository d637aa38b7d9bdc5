"""``python -m retime``."""

from retime.cli.main import program

__all__: list[str] = []

program()
