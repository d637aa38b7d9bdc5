"""The speed map: which film, at which speeds, for which deliverables.

``reading`` turns text into a ``model.SpeedMap``, ``rules`` says what is wrong or odd in one,
``decisions`` says which rule governs each stretch of a version, ``schema`` serves editors.
"""

__all__: list[str] = []
