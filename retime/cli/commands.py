"""The group of the program's commands, which tells what was refused in plain words."""

from __future__ import annotations

from typing import Any

from typer import BadParameter
from typer.core import TyperGroup

__all__ = ["Commands"]

_OF_THE_LIBRARY = "Value error, "  # what pydantic puts before the words of a validator


class Commands(TyperGroup):
    """Commands whose refusals begin with what is wrong."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was named."""
        try:
            return super().invoke(ctx)
        except BadParameter as refused:
            refused.message = refused.message.removeprefix(_OF_THE_LIBRARY)
            raise
