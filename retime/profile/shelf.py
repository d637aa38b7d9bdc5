"""Where profiles stand: those that ship with retime, and a user's own folder before them."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError, DocumentError
from retime.findings import Finding
from retime.light.raster import Fit
from retime.profile.codec import ONLY_PROGRESSIVE
from retime.profile.codecs import CODECS
from retime.profile.disc import disc_faults, disc_of
from retime.profile.faults import codec_faults
from retime.profile.model import AS_SCANNED, Container, Profile, ProfileDocument
from retime.profile.scannings import possible_scannings
from retime.profile.sound import sound_faults, sound_of
from retime.yamldoc.binding import validate
from retime.yamldoc.reading import load

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.film.scanning import Scanning
    from retime.profile.codec import Codec, Variant
    from retime.yamldoc.tree import Tree

__all__ = ["Shelf", "load_profile", "own_folder", "shelf", "shipped_folder"]

_RASTER = ("raster", "size", "display-aspect", "active-width")
_TOLD_AN_ENCODER = {
    "variant",
    "pixel-formats",
    "scanning",
    "options",
    "threads",
    "disc",
    "burn-in",
    *_RASTER,
}


def shipped_folder() -> Path:
    """Return the folder of the profiles that ship with retime, installed or in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_profiles"
    return installed if installed.is_dir() else package.parent / "profiles"


def own_folder() -> Path | None:
    """Return the folder for a user's own profiles; None for a user without a home.

    XDG Base Directory Specification: XDG_CONFIG_HOME where it is an absolute path, else ~/.config.
    """
    stated = Path(os.environ.get("XDG_CONFIG_HOME", ""))
    if stated.is_absolute():
        return stated / "retime" / "profiles"
    with suppress(RuntimeError):
        return Path.home() / ".config" / "retime" / "profiles"
    return None


class Shelf(Struct, frozen=True, kw_only=True):
    """Profile files by name; a user's own stands in front of a shipped one of that name."""

    files: dict[str, Path]

    def load(self, name: str) -> Profile:
        """Return a profile by name; raises CommandError if there is none, or DocumentError."""
        if name not in self.files:
            raise CommandError(f"no profile is named {name!r}", self.offer(name))
        return load_profile(self.files[name])

    def offer(self, name: str) -> str:
        """Return a hint that names the nearest profile, or all of them."""
        from difflib import get_close_matches  # noqa: PLC0415 - needed only once things go wrong

        near = get_close_matches(name, self.files, 1)
        return f"did you mean {near[0]!r}?" if near else f"there are {', '.join(self.files)}"


def shelf() -> Shelf:
    """Return what stands in the shipped folder and in the user's own."""
    files: dict[str, Path] = {}
    for folder in (shipped_folder(), own_folder()):
        if folder is not None and folder.is_dir():
            files |= {path.stem: path for path in sorted(folder.glob("*.yaml"))}
    return Shelf(files=dict(sorted(files.items())))


def load_profile(path: Path) -> Profile:
    """Read one profile; raises DocumentError with every mistake at its place."""
    tree = load(path)
    document = validate(ProfileDocument, tree)
    findings = _findings(document, tree)
    if findings:
        raise DocumentError(findings)
    codec = None if document.codec == AS_SCANNED else CODECS[document.codec]
    variant = codec.variants[document.variant] if codec and document.variant else None
    container = None if document.container == AS_SCANNED else Container(document.container)
    return Profile(
        name=document.profile,
        path=path,
        promises=document.promises,
        codec=codec,
        variant=variant,
        variant_name=document.variant,
        container=container,
        pixel_formats=tuple(document.pixel_formats) or (variant.pixel_formats if variant else ()),
        rates=tuple(document.rates),
        options=dict(document.options),
        threads=document.threads,
        links=document.links,
        caution=document.caution,
        fit=document.raster,
        size=document.size,
        display_aspect=document.display_aspect,
        active_width=document.active_width,
        scannings=_scannings(document, codec, variant),
        disc=None if document.disc is None else disc_of(document.disc),
        sound=None if document.sound is None else sound_of(document.sound),
        burn_place=document.burn_in,
    )


def _scannings(
    document: ProfileDocument, codec: Codec | None, variant: Variant | None
) -> tuple[Scanning, ...]:
    """Return the scannings that are allowed: those stated, else all that the codec can."""
    if codec is None:
        return ONLY_PROGRESSIVE
    stated = tuple(dict.fromkeys(document.scanning))
    return stated or possible_scannings(codec, variant, document.container)


def _findings(document: ProfileDocument, tree: Tree) -> list[Finding]:
    """Return what is wrong between the keys of a profile."""
    found: list[Finding] = []

    def tell(key: str, text: str, hint: str) -> None:
        found.append(Finding(place=tree.place((key,)), rule="profile", text=text, hint=hint))

    if document.profile != tree.path.stem:
        tell("profile", f"the file is named {tree.path.stem!r}", "give both the same name")
    if document.codec == AS_SCANNED:
        if document.container != AS_SCANNED:
            tell("container", "a copied codec keeps the scan's container", f"write {AS_SCANNED}")
        for key in _TOLD_AN_ENCODER & {str(key) for key in tree.plain()}:
            tell(key, "a copied codec has no encoder to be told this", "leave the key out")
        return found
    found += [
        Finding(place=tree.place(path), rule="profile", text=text, hint=hint)
        for path, text, hint in (*codec_faults(document), *disc_faults(document))
    ]
    for key, text, hint in _faults(document):
        tell(key, text, hint)
    if document.sound is not None:
        found += [
            Finding(place=tree.place(("sound", key)), rule="profile", text=text, hint=hint)
            for key, text, hint in sound_faults(document.sound, document.container)
        ]
    return found


def _faults(document: ProfileDocument) -> Iterator[tuple[str, str, str]]:
    """Yield what is wrong between keys whatever the codec: key, text, hint."""
    size, active = document.size, document.active_width
    if document.links and document.container != "sequence":
        yield "links", "only a sequence of files can have links", "leave the key out"
    if document.raster is not Fit.KEEP and size is None:
        yield "raster", f"to {document.raster} needs a raster", "add size: 1920x1080 or another"
    if size is not None and document.display_aspect is None:
        yield "size", "a raster has a display aspect", "add display-aspect: 16:9 or another"
    if active is None:
        return
    if size is None:
        yield "active-width", "an active width is part of a raster's", "add size, or leave it out"
    elif active > size[0]:
        text = f"{active} samples are more than the raster is wide"
        yield "active-width", text, f"write {size[0]} or less"
