"""Stillness, conversions and cuts against the outside: libavfilter (freezedetect, siti, telecine, fps) and PySceneDetect, in the same run."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest
from scenedetect import FrameTimecode
from scenedetect.detectors import AdaptiveDetector, ContentDetector
from scenedetect.stats_manager import StatsManager
from tests.make.films import make_film
from tests.make.picture_rows import BarePicture, film_info, judged, read_film, read_pictures
from tests.make.posed import Frame, Pose, acting, drawn, drifting, painted

from shotcrit.checks import cadence
from shotcrit.checks.hold import check as hold
from shotcrit.readings.picture.cuts import RATIO, adaptive_ratio
from shotcrit.readings.picture.light import SCORES, WIDTH, LightReader

SIZE = (640, 360)


def ffmpeg(*arguments: str) -> str:
    """What ffmpeg prints. It is Debian's own, which the tests already need."""
    done = subprocess.run(["ffmpeg", "-hide_banner", "-nostdin", "-y", *arguments], capture_output=True, text=True, check=True)
    return done.stderr


def freezes(film: Path, *, noise: float = 0.001, seconds: float = 0.08) -> list[tuple[float, float]]:
    """Freezes by libavfilter, at the default noise and a length of two frames: (start, end) in seconds."""
    said = ffmpeg("-i", str(film), "-vf", f"freezedetect=n={noise}:d={seconds}", "-f", "null", "-")
    starts = [float(t) for t in re.findall(r"freeze_start: ([\d.]+)", said)]
    ends = [float(t) for t in re.findall(r"freeze_end: ([\d.]+)", said)]
    return list(zip(starts, [*ends, float("inf")][: len(starts)], strict=True))


def made(folder: Path, pictures, *, rate: int = 24, crf: int = 18) -> Path:  # type: ignore[no-untyped-def]
    return make_film(folder / "film.mkv", pictures, rate=Fraction(rate), crf=crf)


@pytest.mark.parametrize("painter", [painted, drawn])
def test_freezedetect_and_we_agree_on_plain_holds(tmp_path: Path, painter) -> None:  # type: ignore[no-untyped-def]
    """freezedetect's start is the picture that is repeated; ours the first that repeats it, one frame later."""
    film = made(tmp_path, painter(acting(60, dead=[(20, 25), (52, 59)]), SIZE))
    ours = [(f.span.start, f.span.last) for f in judged(hold, read_film(film)) if f.kind in ("inside", "tail")]
    theirs = [(round(a * 24) + 1, min(59, round(min(b, 60 / 24) * 24) - 1)) for a, b in freezes(film)]
    assert ours == [(20, 25), (52, 59)]
    assert theirs == ours


def test_a_slow_drift_freezes_for_freezedetect_and_not_for_us(tmp_path: Path) -> None:
    """A moving hold of 0.3 px of 1920: the mean difference that freezedetect goes by is under its default noise."""
    film = made(tmp_path, painted(drifting(40, 0.15)))
    assert freezes(film), "the reason that a mean difference will not do"
    assert judged(hold, read_film(film)) == ()


def test_spatial_and_temporal_information_of_a_still_film_is_nought(tmp_path: Path) -> None:
    """ITU-T P.910's TI by libavfilter's siti: 0 for a clip that we call still, well over it for one that we call alive."""
    still = made(tmp_path, drawn([Pose()] * 12, SIZE), crf=0)
    assert temporal_information(still) == 0
    readings = read_film(still)
    assert readings.picture is not None
    assert readings.picture.repeats[1:].all()
    alive = made(tmp_path, drawn(acting(12), SIZE), crf=0)
    assert temporal_information(alive) > 2
    living = read_film(alive)
    assert living.picture is not None
    assert not living.picture.repeats.any()


def temporal_information(film: Path) -> float:
    """Greatest TI of a film; the spatial one leaves it alone."""
    said = ffmpeg("-i", str(film), "-vf", "siti=print_summary=1", "-f", "null", "-")
    summary = said.split("Temporal Information:")[1]
    return float(re.findall(r"Max: ([\d.]+)", summary)[0])


@pytest.fixture(scope="module")
def four_seconds(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made(tmp_path_factory.mktemp("film"), painted(acting(96), SIZE))


@pytest.mark.parametrize("rate", [25, 30, 60])
def test_conversions_made_by_libavfilters_fps_are_named(four_seconds: Path, tmp_path: Path, rate: int) -> None:
    converted = tmp_path / "converted.mkv"
    ffmpeg("-i", str(four_seconds), "-vf", f"fps={rate}", "-crf", "18", str(converted))
    readings = read_film(converted)
    found = judged(cadence, readings)
    assert [(f.kind, f.value) for f in found] == [("conversion", 24)]
    assert f"24 to {rate}" in found[0].says
    assert judged(hold, readings) == ()


def test_pulldown_made_by_libavfilters_telecine_is_named(tmp_path: Path) -> None:
    film = made(tmp_path, painted(acting(64, pan=4), SIZE))
    pulled = tmp_path / "pulled.mkv"
    ffmpeg("-i", str(film), "-vf", "telecine=pattern=23", "-crf", "10", str(pulled))
    found = judged(cadence, read_film(pulled))
    assert [f.kind for f in found] == ["conversion"]
    assert "2:3 pulldown, 24 film pictures in 30 frames" in found[0].says


@pytest.mark.parametrize(
    "source", ["testsrc2=size=640x360:rate=24", "mandelbrot=size=640x360:rate=24", "life=size=640x360:rate=24:mold=10:random_seed=1"]
)
def test_libavfilters_own_moving_pictures_are_alive_and_a_still_one_is_dead(tmp_path: Path, source: str) -> None:
    """A third generator that nothing was tuned to. tpad repeats the last picture: 12 dead frames.

    life is drawn with a fixed seed: of twelve, one made the encoder mend the first repeat so much that it was not dead.
    """
    film = tmp_path / "source.mkv"
    graph = f"{source},trim=end_frame=36,tpad=stop=12:stop_mode=clone"
    ffmpeg("-f", "lavfi", "-i", graph, "-crf", "20", "-pix_fmt", "yuv420p", str(film))
    found = read_film(film).picture
    assert found is not None
    assert np.flatnonzero(found.repeats).tolist() == list(range(36, 48))


def test_our_ratio_is_pyscenedetects_own() -> None:
    pictures: list[Frame] = [*painted(acting(12), SIZE), *drawn(acting(12), SIZE)]
    readings = read_pictures(pictures)
    assert readings.picture is not None
    detector = AdaptiveDetector(min_scene_len=1)
    detector.stats_manager = StatsManager()
    cuts = []
    for i, picture in enumerate(pictures):
        small = cv2.resize(picture, (256, 144), interpolation=cv2.INTER_AREA)
        cuts += detector.process_frame(FrameTimecode(i, 24.0), cv2.cvtColor(small, cv2.COLOR_RGB2BGR))
    key = next(k for k in detector.get_metrics() if "adaptive_ratio" in k)
    theirs = [detector.stats_manager.get_metrics(FrameTimecode(i, 24.0), [key])[0] for i in range(3, len(pictures) - 2)]
    reader = LightReader()
    reader.start(film_info(SIZE, len(pictures), Fraction(24)))
    content = np.array([reader.feed(BarePicture(i, picture))[0] for i, picture in enumerate(pictures)])  # type: ignore[arg-type]
    ours = adaptive_ratio(content)[3 : len(pictures) - 2]
    assert ours == pytest.approx(theirs, rel=1e-4)
    assert [c.frame_num for c in cuts] == list(readings.picture.cuts) == [12]
    assert ours[12 - 3] > RATIO


def test_our_content_score_is_pyscenedetects_own() -> None:
    """ContentDetector with its default weights, picture by picture: score and the three parts that it is made of."""
    pictures: list[Frame] = [*painted(acting(8), SIZE), *drawn(acting(8), SIZE)]
    detector, reader = ContentDetector(), LightReader()
    detector.stats_manager = StatsManager()
    reader.start(film_info(SIZE, len(pictures), Fraction(24)))
    for i, picture in enumerate(pictures):
        small = BarePicture(i, picture)
        detector.process_frame(FrameTimecode(i, 24.0), cv2.cvtColor(small.rgb(WIDTH), cv2.COLOR_RGB2BGR))
        ours = reader.feed(small)[: len(SCORES)]  # type: ignore[arg-type]
        theirs = detector.stats_manager.get_metrics(FrameTimecode(i, 24.0), list(SCORES))
        assert list(ours) == pytest.approx([s or 0.0 for s in theirs], rel=1e-6), i
    assert ours[0] > 0
