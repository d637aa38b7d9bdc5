"""retime conforms scans of silent-era films to today's rates and accounts for every frame."""

__version__ = "0.1.0"
