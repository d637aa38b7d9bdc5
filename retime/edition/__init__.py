"""Map, profiles and scans joined, once, for every command that needs them."""

__all__: list[str] = []
