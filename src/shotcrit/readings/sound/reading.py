"""All readings of one sound, in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shotcrit.clock import FrameClock
from shotcrit.media import MixedSound, Sound
from shotcrit.media.resampling import Resampler
from shotcrit.progress import Progress, Quiet
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Accent, Breath, Tremor, Voicing, Word
from shotcrit.readings.seen import FloatArray
from shotcrit.readings.sound.accents import find_accents
from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.breathers import breaths_need
from shotcrit.readings.sound.breaths import find_breaths, with_levels
from shotcrit.readings.sound.denoise import without_noise
from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.listen import listen
from shotcrit.readings.sound.spectra import measure_spectra
from shotcrit.readings.sound.spoken import Spoken
from shotcrit.readings.sound.textgrid import Track
from shotcrit.readings.sound.tremor import find_tremors
from shotcrit.readings.sound.voicing import voicing_stretches
from shotcrit.readings.sound.wave import WaveRows
from shotcrit.readings.sound.waveform import RATE, Samples, levelled

_STEPS = 4


def read_sound(
    sound: Sound | MixedSound,
    clock: FrameClock,
    lines: Sequence[GivenLine] = (),
    *,
    track: Track | None = None,
    progress: Progress | None = None,
) -> SoundReadings:
    """Measure a sound. Times in the result are seconds from the first picture; the wave has one row a frame.

    lines : what is said; without them voicing, breaths, tremor and accents are still read. Cue times count from the sound's first sample
    track : words, phones and breaths from a TextGrid, in place of our aligner; it wins over `lines`
    Deterministic: the same sound and lines give the same readings.
    """
    told = progress or Quiet()
    samples, wave = _taken_in(sound.mixed() if isinstance(sound, Sound) else sound, clock)
    listened = listen(without_noise(samples), told)
    spoken = track.spoken if track else (align_lines(samples, lines, sound=listened, progress=told) if lines else Spoken())
    told.step("reading the sound", 1, _STEPS)
    spectra = measure_spectra(samples)
    told.step("reading the sound", 2, _STEPS)
    placed_breaths = with_levels(track.breaths, samples, spoken.words, spectra) if track else ()
    breaths = placed_breaths or find_breaths(samples, spoken.words, spectra=spectra, heard=listened.heard)
    told.step("reading the sound", 3, _STEPS)
    offset = float(sound.offset_s)
    placed = spoken.shifted(offset)
    readings = SoundReadings(
        lines=placed.lines,
        words=placed.words,
        phones=placed.phones,
        breaths=tuple(_shift_breath(b, offset, spoken.words) for b in breaths),
        tremors=tuple(_shift_tremor(t, offset) for t in find_tremors(spectra, samples, breaths)),
        accents=tuple(_shift_accent(a, offset) for a in find_accents(spectra, samples, spoken.words, spoken.phones)),
        voicing=tuple(_shift_voicing(v, offset) for v in voicing_stretches(spectra, samples)),
        wave=wave,
        breaths_need=None if placed_breaths else breaths_need(samples, listened.heard),
    )
    told.step("reading the sound", _STEPS, _STEPS)
    return readings


def _taken_in(sound: MixedSound, clock: FrameClock) -> tuple[Samples, FloatArray]:
    """What the readings work on, at 16 kHz, and the wave at the sound's own rate, in one going through."""
    down, rows = Resampler(sound.rate, RATE), WaveRows(sound.rate, sound.offset_s, sound.samples, clock)
    for block in sound.blocks():
        down.add(block)
        rows.add(block)
    return levelled(down.done()), rows.done()


def _shift_breath(breath: Breath, by: float, words: Sequence[Word]) -> Breath:
    who = breath.who or _speaker_near(breath, words)
    return replace(breath, start_s=breath.start_s + by, end_s=breath.end_s + by, who=who)


def _speaker_near(breath: Breath, words: Sequence[Word]) -> str | None:
    """An inhalation or smack belongs to who speaks next, an exhalation to who spoke last; the only speaker owns them all."""
    if breath.kind == "exhale":
        before = [w for w in words if w.end_s <= breath.start_s + 0.1]
        near = before[-1:] or list(words[:1])
    else:
        after = [w for w in words if w.start_s >= breath.end_s - 0.1]
        near = after[:1] or list(words[-1:])
    return near[0].who if near else None


def _shift_tremor(tremor: Tremor, by: float) -> Tremor:
    return replace(tremor, start_s=tremor.start_s + by, end_s=tremor.end_s + by)


def _shift_accent(accent: Accent, by: float) -> Accent:
    return replace(accent, time_s=accent.time_s + by)


def _shift_voicing(voicing: Voicing, by: float) -> Voicing:
    return replace(voicing, start_s=voicing.start_s + by, end_s=voicing.end_s + by)
