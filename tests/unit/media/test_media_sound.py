"""Sound keeps its true offset, its channels and its length, in every container."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from tests.make.films import clicks, make_film, make_sequence, make_sound, numbered, tone

from shotcrit.errors import InputError
from shotcrit.media import Sound, open_movie
from shotcrit.media.proxy_sound import downmix, write_proxy_sound

AAC_SMEAR_S = 0.004
"""A lossy codec rings around a click; the loudest sample stays this near (measured here, not from a source)."""


def onset(sound: Sound, channel: int = 0) -> float:
    """Time of the first loud sample, seconds from the first picture."""
    loud = np.abs(sound.samples[:, channel]) > 0.25
    return float(sound.offset_s) + int(np.argmax(loud)) / sound.rate


@pytest.mark.parametrize("offset", [0.0, 0.25, -0.25, 0.1])
@pytest.mark.parametrize(("ending", "codec", "near"), [
    (".mov", "pcm_s16le", 1e-9), (".mp4", "aac", AAC_SMEAR_S), (".mkv", "flac", 0.0006), (".mkv", "pcm_s24le", 0.0006), (".webm", "libopus", AAC_SMEAR_S),
])  # fmt: skip
def test_a_click_lies_where_it_was_put(tmp_path: Path, offset: float, ending: str, codec: str, near: float) -> None:
    """Matroska rounds time stamps to a millisecond (RFC 9559, TimestampScale default)."""
    video = {"codec": "libvpx-vp9"} if ending == ".webm" else {}
    path = make_film(tmp_path / f"a{ending}", numbered(36), sound=clicks(1.5, [0.5]), sound_offset_s=offset, sound_codec=codec, **video)
    movie = open_movie(path)
    sound = movie.sound()
    assert sound is not None
    assert movie.info.sound is not None
    assert abs(onset(sound) - (0.5 + offset)) <= near
    assert abs(float(sound.offset_s) - offset) <= max(near, 0.0011) or codec in ("aac", "libopus")
    assert (movie.info.sound.offset_s, movie.info.sound.duration_s) == (sound.offset_s, sound.duration_s)


@pytest.mark.parametrize("channels", [1, 2, 6])
@pytest.mark.parametrize("ending", [".mov", ".mkv", ".mp4"])
def test_channels_are_kept_in_order(tmp_path: Path, channels: int, ending: str) -> None:
    path = make_film(tmp_path / f"a{ending}", numbered(24), sound=tone(1.0, hz=200, channels=channels))
    sound = open_movie(path).sound()
    assert sound is not None
    assert sound.samples.shape[1] == channels
    spectrum = np.abs(np.fft.rfft(sound.samples[4800:43200], axis=0))
    loudest = spectrum.argmax(axis=0) * sound.rate / 38400
    heard = [0, 1, 2, 4, 5] if channels == 6 and ending == ".mp4" else range(channels)  # AAC cuts the low-frequency channel
    for c in heard:
        assert loudest[c] == pytest.approx(200 * (c + 1), abs=2)


@pytest.mark.parametrize(
    ("codec", "ending"), [("pcm_u8", ".mov"), ("pcm_s16le", ".avi"), ("pcm_s24le", ".mov"), ("pcm_f32le", ".mov"), ("pcm_s32le", ".mkv")]
)
def test_sample_values_are_full_scale_one(tmp_path: Path, codec: str, ending: str) -> None:
    drawn = tone(0.5, hz=100, level=0.5)
    sound = open_movie(make_film(tmp_path / f"a{ending}", numbered(12), sound=drawn, sound_codec=codec)).sound()
    assert sound is not None
    assert sound.samples.dtype == np.float32
    assert np.abs(sound.samples[: len(drawn)] - drawn).max() < (0.01 if codec == "pcm_u8" else 1e-4)


def test_sound_of_another_length(tmp_path: Path) -> None:
    for seconds in (0.4, 3.0):
        movie = open_movie(make_film(tmp_path / f"{seconds}.mov", numbered(24), sound=tone(seconds)))
        assert movie.clock.duration == 1
        assert movie.info.sound is not None
        assert float(movie.info.sound.duration_s) == pytest.approx(seconds, abs=1e-3)


def test_no_sound(tmp_path: Path) -> None:
    movie = open_movie(make_film(tmp_path / "a.mp4", numbered(3)))
    assert movie.info.sound is None
    assert movie.sound() is None


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.mp3", "a.m4a", "a.ogg"])
def test_sound_alone(tmp_path: Path, name: str) -> None:
    path = make_sound(tmp_path / name, tone(1.26, channels=2))
    movie = open_movie(path, rate=Fraction(25))
    assert (movie.info.width, movie.info.height, movie.info.rate) == (None, None, 25)
    assert movie.info.sound is not None
    assert movie.info.sound.offset_s == 0
    assert float(movie.info.sound.duration_s) == pytest.approx(1.26, abs=0.06)
    assert len(movie.clock) == movie.info.frames == -(-movie.info.sound.duration_s * 25 // 1)
    assert list(movie.pictures()) == []
    sound = movie.sound()
    assert sound is not None
    assert sound.duration_s == movie.info.sound.duration_s


def test_sound_alone_counts_at_24_unless_told(tmp_path: Path) -> None:
    assert open_movie(make_sound(tmp_path / "a.wav", tone(1.0))).info.rate == 24


def test_a_movie_keeps_its_own_rate(tmp_path: Path) -> None:
    path = make_film(tmp_path / "a.mp4", numbered(3))
    assert open_movie(path, rate=Fraction(24)).info.frames == 3
    with pytest.raises(InputError, match="24 frames per second"):
        open_movie(path, rate=Fraction(25))


def test_a_separate_sound_starts_with_the_first_picture(tmp_path: Path) -> None:
    folder = make_sequence(tmp_path / "run", numbered(12))
    wav = make_sound(tmp_path / "a.wav", clicks(0.5, [0.125]))
    movie = open_movie(folder, sound=wav, rate=Fraction(24))
    sound = movie.sound()
    assert sound is not None
    assert onset(sound) == 0.125
    assert movie.info.sha256 != open_movie(folder).info.sha256
    film = open_movie(make_film(tmp_path / "a.mov", numbered(12), sound=tone(0.5), sound_offset_s=0.2), sound=wav)
    other = film.sound()
    assert other is not None
    assert onset(other) == 0.125


@pytest.mark.parametrize("offset", [0.25, -0.25])
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_the_proxy_sound_starts_with_the_first_picture(tmp_path: Path, offset: float, channels: int) -> None:
    movie = open_movie(make_film(tmp_path / "a.mov", numbered(24), sound=clicks(1.0, [0.5], channels=channels), sound_offset_s=offset))
    sound = movie.sound()
    assert sound is not None
    flac = open_movie(write_proxy_sound(sound, tmp_path / "deep" / "sound.flac")).sound()
    assert flac is not None
    assert flac.samples.shape[1] == min(2, channels)
    assert onset(flac) == 0.5 + offset
    assert flac.duration_s == 1 + Fraction(offset)
    assert float(np.abs(flac.samples).max()) <= 1
    assert [p.name for p in (tmp_path / "deep").iterdir()] == ["sound.flac"]


def test_downmix_by_hand() -> None:
    """ITU-R BS.775-4 annex 4: centre and surrounds at -3 dB; the low-frequency channel is left out."""
    left_right_centre_low_back = np.array([[0.1, 0.2, 0.4, 0.9, 0.01, 0.02]], np.float32)
    np.testing.assert_allclose(downmix(left_right_centre_low_back), [[0.1 + 0.7071 * 0.41, 0.2 + 0.7071 * 0.42]], atol=1e-6)


def test_long_sound_lies_on_disk_and_reads_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    movie = open_movie(make_sound(tmp_path / "a.wav", tone(2.0, channels=2)))
    short = movie.sound()
    monkeypatch.setattr("shotcrit.media.sound.KEPT_IN_MEMORY", 1000)
    long = movie.sound()
    assert short is not None
    assert long is not None
    assert isinstance(long.samples, np.memmap)
    np.testing.assert_array_equal(short.samples, long.samples)


@pytest.mark.parametrize("inverted", [False, True])
def test_mixed_sound_is_the_mean_unless_the_channels_cancel(tmp_path: Path, inverted: bool) -> None:
    samples = np.concatenate([tone(1.0, hz=200), (-0.9 if inverted else 0.5) * tone(1.0, hz=200)], axis=1).astype(np.float32)
    if inverted:
        samples[:, 1] = -samples[:, 0]
    movie = open_movie(make_sound(tmp_path / "a.wav", samples, codec="pcm_f32le"))
    whole, mixed = movie.sound(), movie.mixed_sound()
    assert whole is not None
    assert mixed is not None
    assert (mixed.offset_s, mixed.rate, mixed.samples) == (whole.offset_s, whole.rate, len(whole.samples))
    wanted = whole.samples[:, 0] if inverted else whole.samples.mean(axis=1)
    streamed = np.concatenate(list(mixed.blocks()))
    np.testing.assert_allclose(streamed, wanted, atol=1e-6)
    np.testing.assert_array_equal(streamed, np.concatenate(list(whole.mixed().blocks())))
    assert np.abs(streamed).max() > 0.1
