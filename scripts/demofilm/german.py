"""The German edition's remade titles: the film's own lettering, clean and twice its raster."""

from demofilm.cards import card
from demofilm.raster import HEIGHT, WIDTH, Picture

__all__ = ["TITLES", "lost_scene_card", "title"]

_PIXELS = (2 * WIDTH, 2 * HEIGHT)

# Every title of the film by its reel and shot: lines, size, a line above and one below them.
TITLES: dict[str, tuple[tuple[str, ...], float, str, str]] = {
    "1-1": (("Die Lampe des", "Flutwächters"), 34, "Pellow und Thrale zeigen",
            "mit Tobit Lanyard und Ida Merrowe"),
    "1-3": (("Einunddreißig Jahre hatte", "Abel Quorn die Lampe", "von Skarrow Point gehütet."),
            25, "", ""),
    "1-6": (("Hochwasser um neun Uhr.",), 25, "", ""),
    "1-8": (("„Das Öl!“",), 30, "", ""),
    "2-1": (("In jener Nacht lag", "die „Constancy“ in der Bucht,",
             "und kein Licht wies ihr den Weg."), 25, "", ""),
    "2-5": (("„Ein Licht!", "Ein Licht auf Skarrow!“"), 28, "", ""),
    "2-8": (("Ende",), 36, "", "Ein Lichtspiel von Pellow und Thrale"),
}  # fmt: skip


def title(shot: str) -> Picture:
    """The remade title of a shot, named by its reel and shot as in "1-3"."""
    lines, size, opening, foot = TITLES[shot]
    return card(lines, size, opening, foot, _PIXELS)


def lost_scene_card() -> Picture:
    """The card that tells what happened in the scene that is lost before Wenna lights the lamp."""
    return card(
        ("Das Boot läuft auf das Riff.", "Wenna sieht es vom Kliff aus",
         "und trägt das letzte Öl", "auf den Turm."),
        22,
        "An dieser Stelle fehlt eine Szene:",
        pixels=_PIXELS,
    )  # fmt: skip
