"""Pictures that are made of several film frames, against the same number that are not."""

from collections.abc import Iterator

from benching.bench import Bench
from benching.maps import from_first
from benching.owned import own_profile
from benching.programs import encoder, ffmpeg
from benching.rows import Row
from benching.scans import Scan
from benching.timing import in_turn, run

__all__ = ["blend", "flags", "grey_scan", "weave"]

_PRORES, _FFV1, _DISC = "prores-mezzanine", "ffv1-master", "disc-sd-525"
_STANDARD = 720, 480
_TIMES = 5  # that a scan is played, for a start of half a second not to matter


def blend(bench: Bench) -> Iterator[Row]:
    """Blend 20 in 24 into ProRes: a grey scan, and one whose chroma has grain."""
    drawn = grey_scan(bench)
    grey = bench.scans.played(drawn, frames=_TIMES * drawn.frames, name=drawn.path.name)
    yield from _blend(bench, "a grey ProRes scan", grey, most=1.35, least=1)
    coloured = bench.scans.drawn("prores-422.mov")
    yield from _blend(bench, "a ProRes scan with coloured grain", coloured, most=None, least=None)


def _blend(
    bench: Bench, kind: str, scan: Scan, most: float | None, least: float | None
) -> Iterator[Row]:
    outputs = scan.frames * 6 // 5
    long = _twice(bench, scan)
    owed = f"profile: {_PRORES}, rate: 24"
    blended = from_first(scan, scan.frames, "20", f"{owed}, method: blend", "blend")
    plain = from_first(long, outputs, "24", owed, "plain")
    target = bench.target("blended.mov")
    filters = ("-vf", "setpts=N/20/TB,framerate=24", *encoder(_PRORES))
    rounds = in_turn(
        f"blend, {kind}",
        bench.runs,
        lambda: bench.render(blended),
        lambda: bench.render(plain),
        lambda: bench.peer(ffmpeg("-i", scan.path, *filters, target), [target]),
    )
    yield Row(
        name=f"{outputs} blended ProRes pictures of {kind}: time over as many that are not blended",
        figures=[ours.flushed / unblended.flushed for ours, unblended, _ in rounds],
        unit="x",
        most=most,
    )
    yield Row(
        name="the same: times faster than ffmpeg with `framerate`",
        figures=[peer.flushed / ours.flushed for ours, _, peer in rounds],
        unit="x",
        least=least,
    )


def weave(bench: Bench) -> Iterator[Row]:
    """Weave 20 in 50 fields into FFV1."""
    scan = bench.scans.drawn("prores-422.mov")
    outputs, long = scan.frames * 5 // 4, _twice(bench, scan)
    woven = from_first(
        scan, scan.frames, "20", f"profile: {_FFV1}, rate: 25, scanning: top-first", "w"
    )
    plain = from_first(long, outputs, "25", f"profile: {_FFV1}, rate: 25", "plain-ffv1")
    rounds = in_turn("weave", bench.runs, lambda: bench.render(woven), lambda: bench.render(plain))
    yield Row(
        name=f"{outputs} FFV1 pictures woven from {scan.frames} film frames: time over as many "
        "that are not woven",
        figures=[ours.flushed / unwoven.flushed for ours, unwoven in rounds],
        unit="x",
        most=1.1,
    )


def flags(bench: Bench) -> Iterator[Row]:
    """Carry 20 in 60 fields by repeat flags, and woven by a profile that has none."""
    scan = _standard(bench)
    own_profile(bench, _DISC, "no-flags", lambda text: text.replace("limit: yes", "limit: no"))
    flagged = from_first(scan, scan.frames, "20", f"profile: {_DISC}", "flags")
    woven = from_first(scan, scan.frames, "20", "profile: no-flags", "woven")
    rounds = in_turn(
        "flags", bench.runs, lambda: bench.render(woven), lambda: bench.render(flagged)
    )
    yield Row(
        name=f"20 in 60 fields of MPEG-2, {scan.frames} film frames by repeat flags: times faster "
        f"than woven, which codes 1.5 times as many pictures",
        figures=[ours.flushed / unwoven.flushed for ours, unwoven in rounds],
        unit="x",
        least=0.8 * 1.5,
    )


def grey_scan(bench: Bench) -> Scan:
    """Return the drawn scan without its chroma's grain, as ProRes."""
    scan = bench.scans.drawn("prores-422.mov")
    path = scan.path.with_name(f"grey-{scan.path.name}")
    if not path.exists():
        chain = ("-vf", "lutyuv=u=512:v=512", *encoder(_PRORES, {"profile": "2"}))
        run(ffmpeg("-i", scan.path, *chain, path))
    return Scan(path=path, frames=scan.frames)


def _twice(bench: Bench, scan: Scan) -> Scan:
    path = bench.folder / f"twice-{scan.path.name}"
    if not path.exists():
        run(ffmpeg("-stream_loop", "1", "-i", scan.path, "-c", "copy", path))
    return Scan(path=path, frames=2 * scan.frames)


def _standard(bench: Bench) -> Scan:
    """Return a long scan of the disc's own raster that costs next to nothing to decode."""
    scan, times = bench.scans.drawn("prores-422.mov"), 10
    path = bench.folder / "standard.mkv"
    if not path.exists():
        width, height = _STANDARD
        once = path.with_name("standard-once.mkv")
        chain = f"scale={width}:{height},setsar=10/11,format=yuv420p"
        run(ffmpeg("-i", scan.path, "-vf", chain, "-c:v", "rawvideo", once))
        run(ffmpeg("-stream_loop", str(times - 1), "-i", once, "-c", "copy", path))
    return Scan(path=path, frames=times * scan.frames)
