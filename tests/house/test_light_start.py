"""Commands that only plan import no numpy, whose import takes a fifth of a report's time."""

from __future__ import annotations

import subprocess
import sys

import pytest

REPORT = "retime.cli.main, retime.edition.join, retime.report.table, retime.report.values"
LINT = "retime.cli.main, retime.edition.join, retime.follow.findings"


@pytest.mark.parametrize("modules", [REPORT, LINT], ids=["report", "lint"])
def test_what_only_plans_is_done_without_numpy(modules: str) -> None:
    code = f"import sys, {modules}; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert "False" == done.stdout.strip()
