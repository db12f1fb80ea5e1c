"""The track reading as a Praat TextGrid, with tiers for the notes and for how frames are counted."""

from __future__ import annotations

from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.errors import InputError
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.sound.textgrid import Rows, textgrid_of

COUNT = "frames"
"""The tier that says in one interval over the whole how frames are counted."""


def track_textgrid(crit: CritForDelivery) -> Made:
    """Raises InputError for a movie without sound."""
    count = counting(crit)
    heard, begins, length = need_sound(crit.measured.readings)
    tiers = {COUNT: [(begins, begins + length, count.about())], **_notes(crit, count)}
    text = textgrid_of(heard, length, offset_s=begins, more=tiers)
    return Made({"track.TextGrid": text.encode()}, lost(crit, "A TextGrid"))


def need_sound(readings: Readings) -> tuple[SoundReadings, float, float]:
    """What was heard, when the sound begins and how long it is, s. Raises InputError, one sentence, for a movie without sound."""
    sound = readings.movie.sound
    if readings.sound is None or sound is None:
        raise InputError(f"{readings.movie.path} has no sound, so there is no track reading to write; leave textgrid out")
    return readings.sound, float(sound.offset_s), float(sound.duration_s)


def _notes(crit: CritForDelivery, count: Counting) -> dict[str, Rows]:
    """'notes', and where notes overlap 'notes 2' and so on, since intervals of a tier may not."""
    tiers: list[list[NoteForDelivery]] = []
    for one in sorted(crit.notes, key=lambda n: (n.first, n.last)):
        free = next((tier for tier in tiers if tier[-1].last < one.first), None)
        if free is None:
            tiers.append(free := [])
        free.append(one)
    return {f"notes {n}" if n > 1 else "notes": [_row(one, count) for one in tier] for n, tier in enumerate(tiers, start=1)}


def _row(one: NoteForDelivery, count: Counting) -> tuple[float, float, str]:
    start, stop = count.seconds(one.span)
    who = f" {one.who}" if one.who else ""
    return float(start), float(stop), f"{count.numbering.text(one.span)} {one.weight}{who}: {' '.join(one.what.split())}"


FORMAT = Format(
    "textgrid",
    "track reading",
    "Words, phones, breaths and notes as a TextGrid, for phonetics programs.",
    "Seconds from the first sample; how frames are counted in one interval over the whole. Of a note its frames and what it says. No drawings.",
    track_textgrid,
)
