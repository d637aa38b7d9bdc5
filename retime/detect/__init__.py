"""The cadence that is already in a transfer, found from its pictures alone."""
