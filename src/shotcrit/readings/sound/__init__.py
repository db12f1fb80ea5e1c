"""Lines, words and phones, breaths and mouth noises, voice, accents, tremor, wave.

What measures a sound is loaded when it is first asked for, since it brings in the aligner and its dictionaries, which take long to
load: measuring asks for it on the thread that reads the sound, while the pictures are already being decoded.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from shotcrit.readings.sound.given import GivenLine, GivenWord
from shotcrit.readings.sound.lines_file import parse_lines, read_lines
from shotcrit.readings.sound.stored import VERSION, sound_from_json, sound_to_json
from shotcrit.readings.sound.textgrid import Track, read_textgrid, write_textgrid

if TYPE_CHECKING:
    from shotcrit.readings.sound.reading import read_sound

__all__ = [
    "VERSION",
    "GivenLine",
    "GivenWord",
    "Track",
    "parse_lines",
    "read_lines",
    "read_sound",
    "read_textgrid",
    "sound_from_json",
    "sound_to_json",
    "write_textgrid",
]


def __getattr__(name: str) -> Any:
    if name != "read_sound":
        raise AttributeError(name)
    return import_module(f"{__name__}.reading").read_sound
