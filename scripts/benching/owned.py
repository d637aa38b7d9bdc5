"""Profiles of our own that differ from shipped ones, in a folder that stands for the user's."""

import os
from collections.abc import Callable

from benching.bench import Bench
from retime.profile.shelf import shipped_folder

__all__ = ["own_profile", "with_threads"]


def own_profile(bench: Bench, shipped: str, name: str, change: Callable[[str], str]) -> str:
    """Write a profile that is a shipped one changed, as all that is run from now on finds it.

    Returns its name.
    """
    home = bench.folder / "config"
    own = home / "retime" / "profiles" / f"{name}.yaml"
    own.parent.mkdir(parents=True, exist_ok=True)
    text = (shipped_folder() / f"{shipped}.yaml").read_text(encoding="utf-8")
    named = text.replace(f"profile: {shipped}", f"profile: {name}")
    own.write_text(change(named), encoding="utf-8")
    os.environ["XDG_CONFIG_HOME"] = str(home)
    return name


def with_threads(bench: Bench, shipped: str, threads: int) -> str:
    """Write a profile that is a shipped one but for its encoder's threads; return its name."""

    def threaded(text: str) -> str:
        others = [line for line in text.splitlines() if not line.startswith("threads:")]
        return "\n".join([*others, f"threads: {threads}", ""])

    return own_profile(bench, shipped, f"{shipped}-{threads}", threaded)
