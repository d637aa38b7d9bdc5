"""The commands, one small module each, imported when called."""

__all__: list[str] = []
