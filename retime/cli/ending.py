"""How a run of the program ends: an exit code, a message where there is one, no traceback."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from retime.cli.screen import SCREEN, muted
from retime.errors import Exit, Interrupted, RetimeError

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["exit_code"]


def exit_code(program: Callable[[], object]) -> int:
    """Run the program; return the code that says how it went, its message already told."""
    try:
        code = _called(program)
        sys.stdout.flush()
    except RetimeError as error:
        SCREEN.complain(str(error))
        return error.exit_code
    except BrokenPipeError:  # whoever read the result has had enough
        muted(sys.stdout)
        return Exit.DONE
    except Exception as error:
        if isinstance(error, OSError) and error.filename is None:  # files have names, pipes none
            SCREEN.complain(f"the result cannot be printed: {error.strerror or error}")
            muted(sys.stdout)
            return Exit.INPUT
        if "RETIME_TRACEBACK" in os.environ:
            raise
        SCREEN.complain(
            f"retime failed: {type(error).__name__}: {error}\n"
            "This is a fault of retime's own. Set RETIME_TRACEBACK=1 to see where, and report it."
        )
        return Exit.FAILURE
    return code


def _called(program: Callable[[], object]) -> int:
    """Return the exit code that typer asks for; raise what it meant by the others."""
    try:
        program()
    except KeyboardInterrupt as stopped:
        raise _interrupted() from stopped
    except SystemExit as ended:
        if isinstance(ended.__context__, BrokenPipeError):
            raise ended.__context__ from None
        if ended.code == Exit.INTERRUPTED:
            raise _interrupted() from ended
        return ended.code if isinstance(ended.code, int) else Exit.INPUT
    return Exit.DONE


def _interrupted() -> Interrupted:
    return Interrupted("interrupted; nothing unfinished is left behind")
