"""What a client or a disc wants: rates, raster, codec, container, as YAML in ``profiles/``."""

__all__: list[str] = []
