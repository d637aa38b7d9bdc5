"""Where the demo lies; importing this makes the drawing modules in scripts/ importable."""

import sys
from pathlib import Path

__all__ = ["MEDIA"]

_ROOT = Path(__file__).resolve().parents[2]
MEDIA = _ROOT / "demo_media"

if str(_ROOT / "scripts") not in sys.path:
    sys.path.insert(0, str(_ROOT / "scripts"))
