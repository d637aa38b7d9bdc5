"""Measures of the trade: speeds, rates, gauges, lengths, timecode, all exact."""

__all__: list[str] = []
