"""Commands that only plan import no numpy, whose import takes a fifth of a report's time."""

from __future__ import annotations

import subprocess
import sys


def test_a_report_is_made_without_numpy() -> None:
    modules = "retime.cli.main, retime.edition.join, retime.report.table, retime.report.values"
    code = f"import sys, {modules}; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert "False" == done.stdout.strip()
