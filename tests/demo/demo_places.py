"""Where the demo lies."""

from pathlib import Path

__all__ = ["MEDIA"]

MEDIA = Path(__file__).resolve().parents[2] / "demo_media"
