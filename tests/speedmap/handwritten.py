"""Maps as people write them, at random: odd comments, quotes, names, brackets and line ends.

``speeds_of`` reads the speeds back in a way of its own: by the plain YAML loader and the rules of
the README, shot by shot, without anything of the house's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import yaml

if TYPE_CHECKING:
    from random import Random

__all__ = ["SPEEDS", "handwritten", "shot_names", "speeds_of"]

SPEEDS = ("16", "17.5 fps", "18 fps", "200/11 fps", "20 fps", "75 ft/min", "13:20 /1000ft")
RAMPS = ("16 fps -> 18 fps", "20 -> 22 fps")
COMMENTS = ("# ü: see the card index", "#", "# 𝄞 after the cue sheet, p. 4", "#\tdoubtful: 18?")


def handwritten(dice: Random, *, shots: int, reels: int = 3) -> str:
    """Return a sound map of so many shots a reel."""
    return _Hand(dice).map(shots, reels)


class _Hand:
    """Someone who writes a map, never twice in the same way."""

    def __init__(self, dice: Random) -> None:
        self.dice = dice
        self.lines: list[str] = []

    def map(self, shots: int, reels: int) -> str:
        dice = self.dice
        self.put("# written by hand", "format:   retime-map/1", "film: 'The Tidewatcher''s Lamp'")
        self.put("gauge: 35mm", "footage: nominal   # as the register counts", "", "reels:")
        keys: list[tuple[str, str]] = []
        listed: list[str] = []
        for reel in range(1, reels + 1):
            at = dice.randrange(30)
            first = at
            for number in range(1, shots + 1):
                last = at + dice.randrange(40)
                name = f"{number}A" if dice.random() < 0.1 else str(number)
                keys.append((str(reel), name))
                listed += self.shot(reel, at, last, name)
                at = last + 1
            self.put(
                f'  - {{reel: "{reel}", scan: scans/r{reel}.mkv, first: {first}, last: {at - 1},'
            )
            self.put(f"     frames: {at + 9}}}   # {at - first} of picture")
        self.put("versions:")
        self.version("restrained", "20 fps", keys)
        self.version("brisk", "24 fps", keys)
        self.put("  second: {like: restrained,", "    titles: {speed: 22 fps}   # an heir", "  }")
        self.put("shots:   # by the cutting list", *listed)
        end = dice.choice(["\n", "\r\n"])
        return end.join(self.lines) + dice.choice(["", end])

    def put(self, *lines: str) -> None:
        """Write lines, with a comment or an empty one before some of them."""
        for line in lines:
            if self.dice.random() < 0.1 and self.lines and not self.lines[-1].endswith(","):
                self.lines.append(" " * self.dice.randrange(4) + self.dice.choice(COMMENTS))
            self.lines.append(line)

    def shot(self, reel: int, first: int, last: int, name: str) -> list[str]:
        kind = self.dice.choice(["", "", ", kind: title", ', kind: "action"'])
        quote = self.dice.choice(["", "'", '"'])
        if self.dice.random() < 0.3:
            told = [f"  -   reel: {reel}", f"      first: {first}     # seen twice"]
            told += [f"      last:   {last}", f"      shot: {quote}{name}{quote}"]
            return told + ([f"      kind: {kind.split(': ')[1]}"] if kind else [])
        comment = self.dice.choice(["", "   # " + "x" * self.dice.randrange(9)])
        inside = f"reel: {reel}, first: {first} , last: {last}, shot: {quote}{name}{quote}{kind}"
        return [f"  - {{{inside}}}{comment}"]

    def version(self, name: str, speed: str, keys: list[tuple[str, str]]) -> None:
        self.put(f"  {name}:", f"    speed:  {self.quoted(speed)}  # {name}")
        if self.dice.random() < 0.7:
            self.put('    reels: { "2" : 22 fps }')
        rules = self.rules(keys)
        if self.dice.random() < 0.7:
            self.put("    titles:", f"      speed: &{name} 19 fps", "      at least: 3 s   # read")
            if self.dice.random() < 0.4 and rules:
                rules[0] = (rules[0][0], f"*{name}")
        if not rules:
            return
        if self.dice.random() < 0.5:
            self.put("    shots:")
            for key, value in rules:
                self.rule(key, value)
            return
        self.put("    shots: {")
        for key, value in rules[:-1]:
            self.lines.append(f"      {key}: {value},{self.dice.choice(['', '  # so'])}")
        self.lines.append(f"      {rules[-1][0]}: {rules[-1][1]}")
        if self.dice.random() < 0.5:
            self.lines[-1] += "}"
        else:
            self.lines.append("    }   # so far")

    def rule(self, key: str, value: str) -> None:
        match self.dice.randrange(5):
            case 0:
                self.put(f"      ? {key}", f"      : {value}")
            case 1:
                self.put(f"      '{key}' :   {value}   # odd")
            case _:
                self.put(f"      {key}: {value}")

    def quoted(self, text: str) -> str:
        quote = self.dice.choice(["", "'", '"'])
        return f"{quote}{text}{quote}"

    def rules(self, keys: list[tuple[str, str]]) -> list[tuple[str, str]]:
        """Return rules: runs that share no shot, and single ones anywhere."""
        dice = self.dice
        found: dict[str, str] = {}
        at = dice.randrange(4)
        while at < len(keys) - 1:
            last = min(at + 1 + dice.randrange(4), len(keys) - 1)
            ends = ["/".join(keys[place]) for place in (at, last)]
            found["-".join(ends)] = self.quoted(dice.choice([*SPEEDS, dice.choice(RAMPS)]))
            at = last + 1 + dice.randrange(8)
        for reel, shot in dice.sample(keys, len(keys) // 6):
            speed = dice.choice(SPEEDS)
            limits = dice.choice([f"{{at most: 3 s, speed: {speed}}}", "{at least: 2 s}"])
            found[f"{reel}/{shot}"] = dice.choice([limits, self.quoted(speed), self.quoted(speed)])
        told = list(found.items())
        dice.shuffle(told)
        return told


def shot_names(text: str) -> list[str]:
    """Return the shots of a map in list order, as ``2/14A``."""
    shots = yaml.load(text, Loader=yaml.CBaseLoader)["shots"]  # noqa: S506 - texts alone
    return [f"{shot['reel']}/{shot['shot']}" for shot in shots]


def speeds_of(text: str) -> dict[tuple[str, int], tuple[str, ...]]:
    """Return what governs the speed of every frame's shot: by version and shot's first frames.

    It is the text of a speed, and of a ramp also the frames that it is written for.
    """
    document = yaml.load(text, Loader=yaml.CBaseLoader)  # noqa: S506 - texts alone
    shots = document["shots"]
    places = {f"{shot['reel']}/{shot['shot']}": at for at, shot in enumerate(shots)}
    names = list(places)
    told: dict[tuple[str, int], tuple[str, ...]] = {}
    for name, version in document["versions"].items():
        elder = document["versions"].get(version.get("like"), {})
        merged = {**elder, **version}
        merged["titles"] = {**elder.get("titles", {}), **version.get("titles", {})}
        merged["reels"] = {**elder.get("reels", {}), **version.get("reels", {})}
        merged["shots"] = {**elder.get("shots", {}), **version.get("shots", {})}
        # an heir's rules come last, and so win where runs overlap
        for key in version.get("shots", {}):
            merged["shots"][key] = merged["shots"].pop(key)
        for place, shot in enumerate(shots):
            told[name, place] = _governs(merged, shot, names[place], places, shots)
    return told


def _governs(
    version: dict[str, Any], shot: dict[str, str], name: str, places: dict[str, int], shots: Any
) -> tuple[str, ...]:
    single = _pace(version["shots"].get(name))
    if single is not None:
        return _token(single, shot, shot)
    title = version["titles"].get("speed") if shot.get("kind") == "title" else None
    for key, rule in reversed(version["shots"].items()):
        first, _, last = key.partition("-")
        if last and places[first] <= places[name] <= places[last]:
            pace = _pace(rule)
            if pace is not None and not (title and "->" in pace):
                return _token(pace, shots[places[first]], shots[places[last]])
            break
    return (title or version["reels"].get(shot["reel"]) or version["speed"],)


def _pace(rule: Any) -> str | None:
    return rule.get("speed") if isinstance(rule, dict) else rule


def _token(pace: str, first: dict[str, str], last: dict[str, str]) -> tuple[str, ...]:
    if "->" not in pace:
        return (pace,)
    return pace, first["reel"], first["first"], last["reel"], last["last"]
