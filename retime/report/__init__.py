"""What was planned, told: as values, JSON and tables."""

__all__: list[str] = []
