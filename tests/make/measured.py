"""A whole `Measured` with known content and no media: shot 'Lantern 040', Oona and Bram on a lighthouse island.

Everything in it is written down here: 264 frames at 24 fps shown from 1001, cuts at indices 96 and 168, three lines, ten words ...
`measured(level=0)` is the movie alone; 1 adds the lines; 2 the marks. `frames` repeats the talk to fill a longer shot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from shotcrit.checks.finding import COMMON, Curve, Finding, NotMeasured, Stroke
from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock, Span
from shotcrit.media.info import MovieInfo, SoundInfo
from shotcrit.readings.acting import Acting, MarkTrack, Mouth
from shotcrit.readings.bundle import PictureReadings, Readings, Series, SoundReadings
from shotcrit.readings.cast import Cast, Character, Prop
from shotcrit.readings.events import Accent, Blink, Breath, Line, Look, Phone, Tremor, Voicing, Word

FRAMES = 264
FIRST_FRAME = 1001
CUTS = (96, 168)
DEAD_TAIL = 7
SLICES = 4
"""Of the wave, a frame."""
VOWELS = frozenset(["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"])

PHONE_S = 0.07
"""Length of a consonant; a vowel lasts twice that."""
TALK: tuple[tuple[str, float, tuple[tuple[str, str], ...]], ...] = (
    ("Oona", 0.9, (("But", "B AH1 T"), ("you", "Y UW1"), ("promised", "P R AA1 M AH0 S T"), ("me", "M IY1"))),
    ("Oona", 3.1, (("the", "DH AH0"), ("lighthouse", "L AY1 T HH AW2 S"))),
    ("Bram", 6.2, (("The", "DH AH0"), ("lantern", "L AE1 N T ER0 N"), ("went", "W EH1 N T"), ("out", "AW1 T"))),
)
TALK_S = 11.0
"""Seconds after which the talk begins again in a longer shot."""


@dataclass(frozen=True)
class Names:
    """What can be hostile: the names that people give."""

    shot: str = "Lantern 040"
    one: str = "Oona"
    other: str = "Bram"
    says: str = "The last seven frames repeat the one before them; the shot stops before it ends."


def measured(*, level: int = 2, frames: int = FRAMES, rate: Fraction = Fraction(24), names: Names | None = None) -> Measured:
    """The demo world as measured at `level` (0, 1 or 2)."""
    names = names or Names()
    clock = FrameClock.steady(rate, frames)
    sound = _sound(clock, names, with_lines=level >= 1)
    readings = Readings(
        movie=movie(frames, rate, names),
        clock=clock,
        sound=sound,
        picture=picture(frames),
        cast=_cast(names) if level >= 2 else None,
        acting=tuple(_acting(who, clock, sound) for who in (names.one, names.other)) if level >= 2 else (),
        looks=_looks(names, frames) if level >= 2 else (),
        blinks=_blinks(names, frames) if level >= 2 else (),
    )
    return Measured(readings, findings(names, frames, level), missing(names, level))


def sound_only(*, duration_s: Fraction = Fraction(5)) -> Measured:
    """A sound file alone, counted at 24."""
    clock = FrameClock.for_sound(Fraction(24), duration_s)
    info = replace(
        movie(len(clock), Fraction(24), Names()), width=None, height=None, first_frame=1, duration_s=duration_s, name="lines.wav"
    )
    readings = Readings(movie=info, clock=clock, sound=_sound(clock, Names(), with_lines=True))
    return Measured(readings, (), (NotMeasured("hold", None, "pictures"),))


def bare(frames: int = 1) -> Measured:
    """A silent movie of a few frames: the least that can be measured."""
    clock = FrameClock.steady(Fraction(24), frames)
    info = replace(movie(frames, Fraction(24), Names()), sound=None, name="still.mov")
    return Measured(Readings(movie=info, clock=clock, picture=picture(frames, cuts=(), dead=0)), (), ())


def movie(frames: int, rate: Fraction, names: Names) -> MovieInfo:
    length = frames / rate
    return MovieInfo(
        path=Path("/shots") / "lantern_040_t3.mov",
        name=f"{names.shot}.mov",
        sha256="5e" * 32,
        frames=frames,
        rate=rate,
        variable_rate=False,
        width=1280,
        height=720,
        first_frame=FIRST_FRAME,
        duration_s=length,
        sound=SoundInfo(48000, 2, Fraction(0), length),
    )


def picture(frames: int, *, cuts: tuple[int, ...] = CUTS, dead: int = DEAD_TAIL) -> PictureReadings:
    """Movement in slow waves; the last `dead` frames repeat; the first frame has no movement to measure."""
    at = np.arange(frames)
    moves = (2.2 + 2 * np.sin(at / 11) + 0.6 * np.sin(at / 2.3)).clip(0.1).astype(np.float32)
    repeats = np.zeros(frames, bool)
    repeats[frames - dead :] = dead > 0
    moves[repeats] = 0
    moves[0] = np.nan
    return PictureReadings(repeats, Series("movement", "px", moves), tuple(c for c in cuts if c < frames), noise=0.4)


def spoken(clock: FrameClock, names: Names) -> tuple[tuple[Line, ...], tuple[Word, ...], tuple[Phone, ...]]:
    """The talk laid end to end until the shot is full."""
    lines: list[Line] = []
    all_words: list[Word] = []
    phones: list[Phone] = []
    length = float(clock.duration)
    for turn in range(math.ceil(length / TALK_S)):
        for speaker, start, said in TALK:
            who = names.one if speaker == "Oona" else names.other
            _speak(who, start + turn * TALK_S, said, length, (lines, all_words, phones))
    return tuple(lines), tuple(all_words), tuple(phones)


def _speak(who: str, at: float, said: tuple[tuple[str, str], ...], length: float, into: tuple[list[Line], list[Word], list[Phone]]) -> None:
    lines, all_words, phones = into
    begin = at
    for text, spelled in said:
        start = at
        own: list[Phone] = []
        for symbol in spelled.split():
            name = symbol.rstrip("012")
            stop = at + PHONE_S * (2 if name in VOWELS else 1)
            own.append(Phone(name, int(symbol[-1]) if name in VOWELS else None, len(all_words), at, stop))
            at = stop
        if at > length:
            return
        phones.extend(own)
        all_words.append(Word(text, who, start, at, 0.4 if text == "me" else 0.95, len(lines)))
    lines.append(Line(" ".join(word for word, _ in said), who, True, 0.9, begin, at))


def _sound(clock: FrameClock, names: Names, *, with_lines: bool) -> SoundReadings:
    lines, spoken_words, phones = spoken(clock, names)
    length = float(clock.duration)
    breaths = [
        Breath("inhale", 0.45, 0.8, 14.0, 0.9, names.one),
        Breath("inhale", 2.62, 2.98, 17.5, 0.95, names.one),
        Breath("smack", 5.9, 5.97, 9.0, 0.7, names.other),
        Breath("exhale", 9.2, 9.75, 11.0, 0.8, names.other),
    ]
    voice = [Voicing("voiced", w.start_s, w.end_s) for w in spoken_words]
    unheard = Line("Wait for the tide", names.other, False, 0.1, problem="these words were not heard in the sound")
    return SoundReadings(
        lines=(*lines, unheard) if with_lines else (),
        words=spoken_words if with_lines else (),
        phones=phones if with_lines else (),
        breaths=tuple(b for b in breaths if b.end_s <= length),
        tremors=(Tremor(9.2, 9.7, 6.4, 0.22, "level"),) if length > 10 else (),
        accents=tuple(
            Accent(p.start_s + PHONE_S, 1.0 + 0.1 * (i % 5), i + 1, p.word if with_lines else None)
            for i, p in enumerate(p for p in phones if p.stress == 1)
        ),
        voicing=tuple(voice),
        wave=_wave(clock, voice, breaths),
    )


def _wave(clock: FrameClock, voice: list[Voicing], breaths: list[Breath]) -> np.ndarray:
    """Loud where voice is, soft where breath is, a little noise elsewhere; the same on every run."""
    rate = float(clock.rate) * SLICES
    loud = np.full(len(clock) * SLICES, 0.012)
    for part in voice:
        loud[round(part.start_s * rate) : round(part.end_s * rate)] = 0.5
    for breath in breaths:
        loud[round(breath.start_s * rate) : round(breath.end_s * rate)] = 0.07
    shake = np.random.default_rng(40).uniform(0.55, 1.5, (len(loud), 2))
    wave = np.stack([-loud * shake[:, 0], loud * shake[:, 1]], axis=1).clip(-1, 1)
    return wave.reshape(len(clock), SLICES, 2).astype(np.float32)


def _acting(who: str, clock: FrameClock, sound: SoundReadings) -> Acting:
    at = np.arange(len(clock))
    opening = np.zeros(len(clock), np.float32)
    for phone in sound.phones:
        word = sound.words[phone.word or 0]
        if word.who == who and phone.phone in VOWELS:
            middle = clock.position((phone.start_s + phone.end_s) / 2) + 2
            opening += (0.34 * np.exp(-(((at - middle) / 1.6) ** 2))).astype(np.float32)
    chest = np.stack([np.full(len(at), 0.4), 0.7 + 0.004 * np.sin(at / 19)], axis=1).astype(np.float32)
    hips = np.stack([np.full(len(at), 0.4), np.full(len(at), 0.95)], axis=1).astype(np.float32)
    small = np.full(len(at), 0.02, np.float32)
    if len(at) > 80:
        opening[70:80] = np.nan
    mouth = Mouth(opening, np.ones(len(at), np.float32), small, small, (opening < 0.05).astype(np.float32), taught=("shut", "open"))
    marks = {name: MarkTrack(who, name, xy, small, (0,)) for name, xy in (("chest", chest), ("hips", hips))}
    return Acting(who, 2, marks, mouth, lacks={"eyes": "the iris marks of both eyes"})


def _cast(names: Names) -> Cast:
    return Cast(characters=(Character(name=names.one), Character(name=names.other)), props=(Prop(name="lantern"),))


def _looks(names: Names, frames: int) -> tuple[Look, ...]:
    looks = (
        Look(names.one, names.other, 0, 59),
        Look(names.one, "lantern", 60, 95),
        Look(names.other, names.one, 96, 167),
        Look(names.one, "camera", 168, frames - 1),
    )
    return tuple(look for look in looks if look.last < frames)


def _blinks(names: Names, frames: int) -> tuple[Blink, ...]:
    blinks = (
        Blink(names.one, 30, 32, 36),
        Blink(names.one, 64, 65, 68),
        Blink(names.other, 120, 122, 126),
        Blink(names.one, 200, 202, 206),
    )
    return tuple(blink for blink in blinks if blink.last < frames)


def findings(names: Names, frames: int, level: int) -> tuple[Finding, ...]:
    """What a reviewer would be shown, in the order of the shot."""
    found = [_breath(names), _eyeline(names), _closure(names), _slip(names)] if level >= 2 else []
    if frames >= FRAMES:
        found.append(
            Finding(
                "hold",
                "tail",
                None,
                Span(frames - DEAD_TAIL, frames),
                DEAD_TAIL,
                "frames",
                1,
                "must",
                0.98,
                names.says,
                "Keep the settle alive to the cut: half a pixel a frame is enough.",
                COMMON,
            )
        )
    return tuple(sorted((f for f in found if f.span.stop <= frames), key=lambda f: f.span.start))


def _breath(names: Names) -> Finding:
    lift = tuple(float(0.2 * math.sin(i / 9)) for i in range(28))
    return Finding(
        "breath",
        "missing",
        names.one,
        Span(62, 72),
        0.2,
        "% of head height",
        1.5,
        "must",
        0.86,
        f"We hear {names.one} breathe in at 1063; we don't see it.",
        "Open the mouth over 1061 to 1064, lift the shoulders, let it out on \u201cthe\u201d.",
        COMMON,
        2,
        (Curve("chest lift", "% of head height", 54, lift, tuple(2.4 * math.exp(-(((i - 12) / 6) ** 2)) for i in range(28))),),
        (Stroke(66, "path", ((0.3, 0.72), (0.4, 0.68), (0.5, 0.72)), "chest: 0.2 %"), Stroke(66, "should", ((0.4, 0.7), (0.4, 0.6)))),
    )


def _eyeline(names: Names) -> Finding:
    return Finding(
        "eyeline",
        "off_target",
        names.one,
        Span(74, 92),
        14.2,
        "\u00b0 too high",
        5.0,
        "must",
        0.91,
        f"{names.one} looks over {names.other}'s head, 14 degrees too high.",
        "Drop both irises by a third of their width; let the lids follow.",
        "guess: made up for this world",
        2,
        (),
        (
            Stroke(82, "is", ((0.42, 0.4), (0.74, 0.18)), "as it is"),
            Stroke(82, "should", ((0.42, 0.4), (0.76, 0.46)), "14\u00b0 lower"),
        ),
    )


def _closure(names: Names) -> Finding:
    seen = (0.1, 0.32, 0.5, 0.34, 0.31, 0.4, float("nan"), 0.2)
    wanted = (0.1, 0.4, 0.6, 0.0, 0.0, 0.4, 0.3, 0.1)
    return Finding(
        "lipsync",
        "closure",
        names.one,
        Span(39, 41),
        31.0,
        "% open",
        5.0,
        "polish",
        0.74,
        "The lips stay 31 % open on the m of \u201cpromised\u201d.",
        "Shut them for two frames, 1040 and 1041, pressed on the first.",
        "common practice, no source; articulation of m: lips together (IPA, bilabial)",
        2,
        (Curve("opening", "of mouth width", 36, seen, wanted),),
        (Stroke(39, "patch", ((0.44, 0.5), (0.5, 0.49), (0.5, 0.53), (0.44, 0.54)), "31 % open"),),
    )


def _slip(names: Names) -> Finding:
    return Finding(
        "contact",
        "slide",
        names.other,
        Span(94, 96),
        3.1,
        "px over 2 frames",
        1.0,
        "must",
        0.8,
        f"The lantern slides in {names.other}'s hand over the two frames before the cut.",
        "Pin the handle to the palm through the cut.",
        COMMON,
        2,
        (),
        (Stroke(95, "slip", ((0.62, 0.6), (0.66, 0.585)), "3.1 px"),),
    )


def missing(names: Names, level: int) -> tuple[NotMeasured, ...]:
    if level >= 2:
        return (NotMeasured("blink", names.other, "lid marks on one frame where the eyes are shut"), NotMeasured("weight", None, "a scene"))
    needs = [NotMeasured("eyeline", None, "marks for both irises, or a scene with eye nodes")]
    if level == 0:
        needs.append(NotMeasured("lipsync", None, "the lines that are spoken"))
    return tuple(needs)
