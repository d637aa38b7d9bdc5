"""How coded values stand for light: formats, ranges, and (as they come) transfer curves."""

__all__: list[str] = []
