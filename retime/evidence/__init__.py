"""The evidence for a speed: what documents and motion say, what it implies, and what it weighs.

``document`` and ``reading`` turn a ``retime-evidence/1`` file into ``model``'s values,
``implied`` gives the speeds that each item implies, ``weighing`` what all of them support.
"""
