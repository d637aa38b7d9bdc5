"""Series of numbers, one a film frame, and what repeats or falls in them: no pictures, no files.

``period`` finds a period in several series, ``marks`` in frames that were marked by hand, and
``fall`` finds a body let go in the places of its edges.
"""
