"""Shots, titles and leaders, found in a scan's pictures.

``looking`` is the one module that reads a scan; it gives small pictures to an ``Eye``, which keeps
a few numbers of each and a tiny picture. All else is pure: ``likeness`` tells how unlike two tiny
pictures are, whatever flickers, weaves or moves; ``cutting``, ``dissolving`` and ``fading`` find
how shots meet, ``lettering`` tells titles, ``leading`` where the picture begins and ends, and
``finding`` does all of it.
"""
