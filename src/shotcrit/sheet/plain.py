"""The same words everywhere: how a movie, a finding and a value are said to people in table, page and PDF."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from shotcrit.checks.finding import Finding
from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import kind_of, name_of
from shotcrit.clock import Numbering, rate_label
from shotcrit.counted import bound, counted, quantity
from shotcrit.media.info import MovieInfo
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings


def frames_of(finding: Finding, numbering: Numbering) -> str:
    """Where a finding is, as shown: '258 to 264', or each of single frames: '8, 33 and 108'."""
    return numbering.listed(finding.frames) if finding.frames else numbering.text(finding.span)


def value(finding: Finding) -> str:
    """What was measured, with its unit."""
    return quantity(finding.value, finding.unit)


def short_value(finding: Finding) -> str:
    """The value without what its sign means, for where room is short: '3 frames' of '3 frames, the mouth comes late'."""
    return value(finding).partition(",")[0]


def title(finding: Finding) -> str:
    """'hold, tail' or 'eye line, off target'."""
    name = name_of(finding.check)
    return f"{name}, {kind_of(finding.check, finding.kind).words}" if finding.kind else name


def weights_line(weights: Sequence[str]) -> str:
    """'4 must, 1 polish, 2 keep'; weights that nobody gave are left out."""
    return ", ".join(f"{weights.count(w)} {w}" for w in ("must", "polish", "keep") if w in weights)


def measure_of(finding: Finding) -> str:
    """What the value was held against, where that limit comes from, and how sure the measurement is."""
    return f"limit {bound(finding.limit, finding.unit)}; {finding.basis}; {sureness(finding.confidence)}"


def sureness(confidence: float) -> str:
    """'86 % sure'; how sure it is where that is a number."""
    return f"{round(confidence * 100)} % sure" if isfinite(confidence) else "sureness not known"


FLASHING = (
    "Caution: pictures in this shot flash, which can hurt people with photosensitive epilepsy. They were counted as broadcasters count them; "
    "this is no certified test."
)


def flashing(findings: Sequence[Finding]) -> str:
    """The caution for those who open a page with pictures in it; empty where nothing flashes. No finding's own words: it is about eyes, not about work."""
    return FLASHING if any(f.check == "flash" for f in findings) else ""


def findings_line(findings: Sequence[Finding]) -> str:
    """'5 findings: 4 must, 1 polish'."""
    if not findings:
        return "No findings"
    return f"{counted(len(findings), 'finding')}: {weights_line([f.weight for f in findings])}"


def frames_line(info: MovieInfo) -> str:
    """'264 frames, 1001 to 1264'."""
    last = info.first_frame + info.frames - 1
    return f"{counted(info.frames, 'frame')}, {info.first_frame} to {last}" if info.frames > 1 else f"1 frame, {last}"


def rate_line(info: MovieInfo) -> str:
    """'24 frames a second', with a word when the rate varies."""
    return f"{rate_label(info.rate)} frames a second" + (", varying" if info.variable_rate else "")


def about(measured: Measured) -> list[tuple[str, str]]:
    """Name and value of everything worth a line: movie, sound, lines, words, breaths, cuts, cadence, what was assumed."""
    readings = measured.readings
    info = readings.movie
    rows = movie_rows(readings)
    if info.ended_early:
        rows.append(("cut short", info.ended_early))
    rows += _heard(readings)
    if readings.picture is not None:
        rows += _seen(readings.picture, readings.numbering)
    return rows + [("assumed", sentence(a.says)) for a in readings.assumed if a.says != info.ended_early]


_FADES = {"in": "in", "out": "out", "dissolve": "dissolve"}


def _seen(picture: PictureReadings, numbering: Numbering) -> list[tuple[str, str]]:
    """Cuts, what is no acting (black, fades, cards) where there is any, stillness and rhythm."""
    cuts = [str(numbering.shown(cut)) for cut in picture.cuts]
    rows = [("cuts", f"{counted(len(cuts), 'cut')}, new shot at {', '.join(cuts)}" if cuts else "no cuts, one shot")]
    for name, spans in (("black", picture.black), ("still cards", picture.cards)):
        rows += [(name, ", ".join(numbering.text(span) for span in spans))] if spans else []
    if picture.fades:
        rows.append(("fades", ", ".join(f"{_FADES[fade.kind]} over {numbering.text(fade.span)}" for fade in picture.fades)))
    dead, changes = int(picture.repeats.sum()), len(picture.repeats) - 1 - int(picture.repeats[1:].sum())
    rows.append(("stillness", f"{counted(dead, 'frame')} that {'repeats' if dead == 1 else 'repeat'} the one before"))
    rows.append(("cadence", "nothing changes" if not changes else picture.cadence.name if picture.cadence else "no rhythm found"))
    return rows


def movie_rows(readings: Readings) -> list[tuple[str, str]]:
    """Name and value of what the movie itself says."""
    info = readings.movie
    rows = [("movie" if readings.picture else "sound", info.name), ("frames", f"{frames_line(info)}; {rate_line(info)}")]
    rows.append(("length", f"{float(info.duration_s):.2f} s" + (f", starts at {info.timecode}" if info.timecode else "")))
    if info.width and info.height:
        rows.append(("picture", f"{info.width} x {info.height}"))
    return rows


def sentence(words: str) -> str:
    """With a full stop, and a capital unless it begins with a file's name or path."""
    first = words.split(" ", 1)[0]
    head = words if any(sign in first for sign in "./\\") else words[:1].upper() + words[1:]
    return head if head.endswith((".", "?", "!")) else f"{head}."


def _heard(readings: Readings) -> list[tuple[str, str]]:
    sound, info = readings.sound, readings.movie.sound
    if sound is None or info is None:
        return [("sound", "none")]
    offset = float(info.offset_s)
    start = "" if not offset else f", starts {abs(offset):.3f} s {'before' if offset < 0 else 'after'} the picture"
    rows = [("sound", f"{info.rate} Hz, {counted(info.channels, 'channel')}, {float(info.duration_s):.2f} s{start}")]
    return rows + lines_rows(sound) + _breaths_row(sound)


def lines_rows(sound: SoundReadings) -> list[tuple[str, str]]:
    """How many of the given lines were heard, and each that was not, with its reason."""
    if not sound.lines:
        return [("lines", "none given")]
    heard = sum(line.heard for line in sound.lines)
    rows = [("lines", f"{heard} of {len(sound.lines)} heard; {counted(len(sound.words), 'word')}, {counted(len(sound.phones), 'phone')}")]
    for line in sound.lines:
        if not line.heard:
            rows.append(("not heard", f"{(line.who + ': ') if line.who else ''}{line.text} ({line.problem or 'not found in the sound'})"))
    return rows


def _breaths_row(sound: SoundReadings) -> list[tuple[str, str]]:
    kinds = (("inhale", "breath in", "breaths in"), ("exhale", "breath out", "breaths out"), ("smack", "smack", "smacks"))
    found = [counted(n, one, many) for kind, one, many in kinds if (n := sum(b.kind == kind for b in sound.breaths))]
    return [("breaths", ", ".join(found) or "none heard")]
