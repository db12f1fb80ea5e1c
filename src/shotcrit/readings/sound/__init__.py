"""Lines, words and phones, breaths and mouth noises, voice, accents, tremor, wave."""

from shotcrit.readings.sound.given import GivenLine, GivenWord, parse_lines, read_lines
from shotcrit.readings.sound.reading import VERSION, read_sound
from shotcrit.readings.sound.stored import sound_from_json, sound_to_json
from shotcrit.readings.sound.textgrid import Track, read_textgrid, write_textgrid

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
