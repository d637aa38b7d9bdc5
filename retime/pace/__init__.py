"""Periods of movements, measured in a scan's pictures, and the speeds that they imply.

``pictures`` makes small pictures of a box of the scan, ``steadying`` takes weave and flicker out
of them, ``views`` makes series of numbers for ``signal``, ``falling`` follows what falls;
``measuring`` does all of it, ``implied`` turns the answer into a speed by a natural frequency.
"""
