"""How coded values stand for light: formats, scales of codes, transfer curves."""

__all__: list[str] = []
