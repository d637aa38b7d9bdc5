"""The kinds of scans that are rendered: codecs, containers, pixel formats, aspects, colour tags."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from numbered import SIZE, write_scan
from rendering import ffmpeg

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["COPIED", "FRAMES", "KINDS", "PROFILES", "RATES", "Kind"]

FRAMES = 13
PROFILES = (
    "as-scanned",
    "ffv1-master",
    "prores-mezzanine",
    "h264-viewing",
    "dpx-sequence",
    "tiff-sequence",
)
RATES = ("24000/1001", "24", "25", "30000/1001", "30", "48", "50", "60000/1001", "60", "18")
"""The rates that the file profiles take by name, and an archive's 18 frames unrepeated."""

# H.273 codes: BT.601-625 primaries and matrix 5, BT.601-525 6, BT.709 1, BT.2020 9, PQ 16.
_OLD = {"color_primaries": 6, "color_trc": 1, "colorspace": 5}
_HD = {"color_primaries": 1, "color_trc": 1, "colorspace": 1, "color_range": 1}
_WIDE = {"color_primaries": 9, "color_trc": 16, "colorspace": 9, "color_range": 1}
_RGB = {"color_primaries": 1, "color_trc": 13, "colorspace": 0, "color_range": 2}
_DNX_SIZE = (256, 144)  # FFmpeg's encoder takes nothing smaller than 256x120


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of scan; ``same`` is a pixel format that both it and its FFV1 can be read as."""

    name: str
    file: str
    codec: str
    pixel_format: str
    same: str = ""
    options: dict[str, str] = field(default_factory=dict)
    tags: dict[str, Any] = field(default_factory=dict)
    aspect: Fraction | None = None
    size: tuple[int, int] = SIZE
    family: str = "yuv"
    full: bool = False
    copied_as: str = ""

    @property
    def read_as(self) -> str:
        """The pixel format in which a copy of the scan's samples is compared."""
        return self.same or self.pixel_format

    def write(self, folder: Path) -> Path:
        """Write the scan into a folder and return its path."""
        path = folder / self.file
        if self.aspect is None:
            return self._written(path)
        # The ffmpeg program puts the aspect into the header, which PyAV cannot in every container.
        plain = self._written(path.with_stem("plain"))
        shape = Fraction(*self.size) * self.aspect
        ffmpeg("-i", plain, "-c", "copy", "-aspect", f"{shape.numerator}:{shape.denominator}", path)
        plain.unlink()
        return path

    def _written(self, path: Path) -> Path:
        return write_scan(
            path,
            FRAMES,
            self.codec,
            self.pixel_format,
            self.options,
            self.size,
            attributes=self.tags,
        )


_INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            name="ffv1",
            file="scan.mkv",
            codec="ffv1",
            pixel_format="yuv422p10le",
            options=_INTRA,
            tags=_OLD,
            aspect=Fraction(16, 15),
            copied_as="mkv",
        ),
        Kind(
            name="ffv1-grey",
            file="scan.mkv",
            codec="ffv1",
            pixel_format="gray10le",
            options=_INTRA,
            family="grey",
            copied_as="mkv",
        ),
        Kind(
            name="ffv1-rgb",
            file="scan.mkv",
            codec="ffv1",
            pixel_format="gbrp16le",
            options=_INTRA,
            tags=_RGB,
            family="rgb",
            copied_as="mkv",
        ),
        Kind(
            name="prores",
            file="scan.mov",
            codec="prores_ks",
            pixel_format="yuv422p10le",
            options={"profile": "3", "vendor": "apl0"},
            tags=_HD,
            aspect=Fraction(8, 9),
            copied_as="mov",
        ),
        Kind(
            name="prores-4444",
            file="scan.mov",
            codec="prores_ks",
            pixel_format="yuv444p10le",
            same="yuv444p12le",
            options={"profile": "4"},
            tags=_WIDE,
            copied_as="mov",
        ),
        Kind(
            name="h264",
            file="scan.mp4",
            codec="libx264",
            pixel_format="yuv420p",
            options={"crf": "10", "g": "6", "bf": "2"},
            tags=_HD,
            aspect=Fraction(16, 15),
        ),
        Kind(
            name="mjpeg",
            file="scan.mov",
            codec="mjpeg",
            pixel_format="yuvj422p",
            options={"qmax": "2"},
            full=True,
            copied_as="mov",
        ),
        Kind(
            name="mjpeg-avi",
            file="scan.avi",
            codec="mjpeg",
            pixel_format="yuvj420p",
            options={"qmax": "2"},
            full=True,
            copied_as="mov",
        ),
        Kind(
            name="dnxhr",
            file="scan.mov",
            codec="dnxhd",
            pixel_format="yuv422p",
            options={"profile": "dnxhr_hq"},
            tags=_HD,
            size=_DNX_SIZE,
            copied_as="mov",
        ),
        Kind(
            name="jpeg-2000",
            file="scan.mov",
            codec="jpeg2000",
            pixel_format="yuv422p10le",
            tags=_OLD,
            copied_as="mov",
        ),
        Kind(
            name="jpeg-2000-rgb",
            file="scan.mkv",
            codec="jpeg2000",
            pixel_format="rgb24",
            family="rgb",
            copied_as="mkv",
        ),
        Kind(
            name="v210",
            file="scan.mov",
            codec="v210",
            pixel_format="yuv422p10le",
            tags=_HD,
            copied_as="mov",
        ),
        Kind(
            name="raw",
            file="scan.mov",
            codec="rawvideo",
            pixel_format="uyvy422",
            tags=_HD,
            aspect=Fraction(8, 9),
            copied_as="mov",
        ),
        Kind(
            name="raw-mkv",
            file="scan.mkv",
            codec="rawvideo",
            pixel_format="yuv420p",
            tags=_OLD,
            copied_as="mkv",
        ),
        Kind(
            name="dpx-10",
            file="scan/%06d.dpx",
            codec="dpx",
            pixel_format="gbrp10be",
            family="rgb",
            copied_as="dpx",
        ),
        Kind(
            name="dpx-8-grey",
            file="scan/%06d.dpx",
            codec="dpx",
            pixel_format="gray",
            family="grey",
            copied_as="dpx",
        ),
        Kind(
            name="dpx-16",
            file="scan/%06d.dpx",
            codec="dpx",
            pixel_format="rgb48be",
            family="rgb",
            copied_as="dpx",
        ),
        Kind(
            name="tiff-8",
            file="scan/%06d.tif",
            codec="tiff",
            pixel_format="rgb24",
            family="rgb",
            copied_as="tif",
        ),
        Kind(
            name="tiff-16",
            file="scan/%06d.tif",
            codec="tiff",
            pixel_format="rgb48le",
            family="rgb",
            copied_as="tif",
        ),
        Kind(
            name="tiff-yuv",
            file="scan/%06d.tif",
            codec="tiff",
            pixel_format="yuv422p",
            copied_as="tif",
        ),
        Kind(
            name="png-8",
            file="scan/%06d.png",
            codec="png",
            pixel_format="rgb24",
            family="rgb",
            full=True,
            copied_as="png",
        ),
        Kind(
            name="png-16-grey",
            file="scan/%06d.png",
            codec="png",
            pixel_format="gray16be",
            family="grey",
            full=True,
            copied_as="png",
        ),
    )
}

COPIED = [kind.name for kind in KINDS.values() if kind.copied_as]
