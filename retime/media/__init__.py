"""Scans and deliverables as files: what they hold, how they are read and written."""

__all__: list[str] = []
