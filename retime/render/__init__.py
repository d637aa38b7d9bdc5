"""Makes deliverables: three routes from scans to files, one pass over the scans for all."""

__all__: list[str] = []
