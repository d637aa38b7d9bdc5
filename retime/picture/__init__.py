"""Pictures in, pictures out: pixel formats and what lies between them."""

__all__: list[str] = []
