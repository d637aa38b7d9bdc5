"""The commands, one small module each, imported when called.

What is set here is set before the libraries are imported, and for the program alone.
"""

import gc
import os

__all__: list[str] = []

# Neither modules nor a map of thousands of shots are garbage: looking for some is a tenth of a
# report's time.
gc.set_threshold(100_000)
# No plug-in of pydantic's has a part in this, and looking for some reads every package's papers.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
