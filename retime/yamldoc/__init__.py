"""YAML text as a located tree, and a model's complaints as located findings.

``read`` turns text into a ``Tree`` of text nodes; ``load`` opens a file first; ``validate`` holds
a tree against a pydantic model and raises every mistake at once. They are imported from
``retime.yamldoc.reading`` and ``retime.yamldoc.binding``.
"""

__all__: list[str] = []
