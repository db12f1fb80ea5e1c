"""What the rows of the face reader add up to: one FoundFace for each face and shot, read only where it is sure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import erfc, sqrt

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.media.blocks import Rows
from shotcrit.readings.acting import Mouth
from shotcrit.readings.faces import FoundFace, Unread, Worth
from shotcrit.readings.picture.faces.points import KEPT, MARKS, eyes_apart_of, opening_of, size_of, width_of, yaw_of
from shotcrit.readings.picture.faces.reader import HEADS, LOOKS, MOST, PLACE
from shotcrit.readings.shots import shots_between

Floats = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

SCORE, PRESENCE, SPREAD = 0.6, 0.9, 0.02
"""A face is read where the detector said at least so much of it on some frame, the points' network on this one, and the points spread no further
(measured: 39 of 39 good views pass, none of 14 profiles)."""
SLIP = 0.06
"""Of its size; a mouth whose points go further than this in a wider crop is made up, not seen: behind a scarf, a hand, a beard (measured on strangers' film:
mouths behind a scarf 0.069 to 0.136 on all 16 frames of three clips, seen ones 0.013 to 0.038 on 79; on rendered and generated heads up to 0.054)."""
AGAIN = 0.74
"""What the detector says of the levelled face, asked again for two crops, is at least so much (measured: an animal's face 0.57 to 0.69, people's and
heads' 0.78 to 0.95)."""
DOUBTED = 0.25
"""Part of its frames on which a face may be doubted; one that is doubted more often is not read (guess: a face that is one is surely seen more often)."""
PROFILE_DEG = 48.0
"""Turned further than this a mouth shows too little of itself (guess, from three generated heads on which errors double from here on)."""
SMALLEST = 26.0
"""px from forehead to chin; a mouth is then 8 px wide, the least that is read (head/mouth: FINEST)."""
SHORTEST = 6
"""Frames; what is seen for less is no face that acts (guess: a quarter of a second)."""
GAP = 6
"""Frames for which a face may be lost and be the same (guess)."""
NEAR = 0.6
"""Of its size, by which a face may have gone meanwhile (guess)."""
SHUT_BIAS = 0.12
"""Of the mouth's width: what the points leave open at most of lips that are shut (guess, from six generated and rendered heads: 0.02 to 0.11)."""
NOISE = 0.05
"""Standard error of an opening that the jitter does not show, of the mouth's width (guess, from three generated heads)."""
SCALE = 0.12
"""The same in parts of the opening (guess, from three generated heads: wide mouths are read too narrow or too wide by about this)."""
COVERED = 15.0
"""Change of the mouth's colours against their usual ones, 8-bit steps, beyond that of the eyes, that is a hand or a prop (measured on a
generated head: speech 4, a hand of the skin's own colour 34)."""
COLOURED = 16.0
"""px of a mouth's width from which on its parts have colours of their own (guess: lips are then two px thick)."""
MEETS = 0.05
"""Of the mouth's width: a gap up to which lips count as meeting."""
SURELY_SHUT, SURELY_OPEN = MEETS / 2, MEETS + 2 * NOISE
"""Of the mouth's width: frames between the two would teach a mouth wrongly, since what shows there may be shut lips or parted ones (on the demo a lip on
the teeth was read as 0.04 and stood 0.17 open)."""
_SPREAD, _OPENING_SD, _WIDTH_SD, _SLIP, _AGAIN = (HEADS.index(name) for name in ("spread", "opening sd", "width sd", "slip", "again"))
_POINTS = slice(len(HEADS), len(HEADS) + 3 * len(KEPT))
_LOOKS = slice(_POINTS.stop, _POINTS.stop + 3 * LOOKS * LOOKS)
_COLOURS = slice(_LOOKS.stop, None)
_CHUNK = 512


@dataclass
class _Track:
    """Rows of one face, by frame."""

    frames: list[int] = field(default_factory=list)
    rows: list[Floats] = field(default_factory=list)

    def take(self, index: int, row: Floats) -> None:
        self.frames.append(index)
        self.rows.append(row)


def find_faces(rows: Rows, cuts: Sequence[int], size: tuple[int, int]) -> tuple[FoundFace, ...]:
    """Faces in the order of the film. rows : of FaceReader; size : width and height of the picture, px"""
    found: list[FoundFace] = []
    for shot in shots_between(cuts, len(rows)):
        for track in _tracks(rows, shot):
            if len(track.frames) >= SHORTEST:
                face = _face(len(found) + 1, track, size)
                if face is not None:
                    found.append(face)
    return tuple(found)


def _tracks(rows: Rows, shot: Span) -> list[_Track]:
    tracks: list[_Track] = []
    for begin in range(shot.start, shot.stop, _CHUNK):
        block = np.asarray(rows[begin : min(begin + _CHUNK, shot.stop)]).reshape(-1, MOST, PLACE)
        for index, places in enumerate(block, start=begin):
            for row in places[np.isfinite(places[:, 0])]:
                _nearest(tracks, index, row).take(index, row.copy())
    return tracks


def _nearest(tracks: list[_Track], index: int, row: Floats) -> _Track:
    """The track that this goes on, a new one where there is none."""
    here = _middle(row)
    for track in tracks:
        last = track.rows[-1]
        if 0 < index - track.frames[-1] <= GAP and np.linalg.norm(_middle(last) - here) < NEAR * float(size_of(_points(last))):
            return track
    tracks.append(_Track())
    return tracks[-1]


def _points(row: Floats) -> Floats:
    return row[..., _POINTS].reshape(*row.shape[:-1], len(KEPT), 3)


def _middle(row: Floats) -> Floats:
    return np.asarray(_points(row)[..., :2].mean(axis=-2), np.float32)


def _face(number: int, track: _Track, size: tuple[int, int]) -> FoundFace | None:
    """None where the detector was never sure of it."""
    span = Span(track.frames[0], track.frames[-1] + 1)
    table = np.full((len(span), len(track.rows[0])), np.nan, np.float32)
    table[np.array(track.frames) - span.start] = track.rows
    if not np.nan_to_num(table[:, 1]).max() >= SCORE:
        return None
    points, presence = _points(table), table[:, 2]
    height, turned = size_of(points), yaw_of(points)
    causes = {
        "in profile": np.abs(turned) > PROFILE_DEG,
        "small": height * size[0] < SMALLEST,
        "covered": _covered(table[:, _LOOKS]),
        "not surely seen": ~((presence >= PRESENCE) & _trusted(table)),
    }
    seen = np.isfinite(presence)
    plain = seen & ~np.any([causes[why] for why in ("in profile", "small", "covered")], axis=0)
    if (plain & causes["not surely seen"]).sum() > DOUBTED * plain.sum():
        causes["not surely seen"] = seen
    good = seen & ~np.any(list(causes.values()), axis=0)
    mouth = _mouth(points, table, good)
    to_picture = np.array([1.0, size[0] / size[1]], np.float32)
    marks = {name: (points[:, list(at), :2].mean(axis=1) * to_picture).astype(np.float32) for name, at in MARKS.items()}
    looks = np.nanmedian(table[good if good.any() else seen][:, _LOOKS], axis=0).reshape(-1, 3)
    return FoundFace(
        number, span, (_middle(table) * to_picture).astype(np.float32), height, turned, mouth, marks, looks.astype(np.float32),
        tuple(_unread(span, seen & ~good, causes)), _worth(span, mouth, turned, good), colours=_colours(points, table, good, size[0]),
    )  # fmt: skip


def _trusted(table: Floats) -> Flags:
    """Where what the reader checked now and then speaks for the points."""
    spread, slip, doubt = (_carried(column) for column in (table[:, _SPREAD], table[:, _SLIP], 1 - table[:, _AGAIN]))
    return np.asarray((spread <= SPREAD) & (slip <= SLIP) & (doubt <= 1 - AGAIN))


def _carried(spread: Floats) -> Floats:
    """Between two checks the worse of both; before the first and after the last one that one."""
    checked = np.flatnonzero(np.isfinite(spread))
    if not len(checked):
        return np.full(len(spread), np.inf, np.float32)
    at = np.arange(len(spread))
    after = checked[np.minimum(np.searchsorted(checked, at), len(checked) - 1)]
    before = checked[np.maximum(np.searchsorted(checked, at, side="right") - 1, 0)]
    return np.maximum(spread[before], spread[after])


def _covered(looks: Floats) -> Flags:
    """Frames whose lower middle changed much more than the upper half did: something is held before the mouth."""
    cells = looks.reshape(len(looks), LOOKS, LOOKS, 3)
    known = np.isfinite(cells[:, 0, 0, 0])
    if not known.any():
        return ~known
    away = np.abs(cells - np.nanmedian(cells, axis=0)).mean(axis=-1)
    mouth, eyes = away[:, 3:5, 2:4].mean(axis=(1, 2)), away[:, 1:3, 1:5].mean(axis=(1, 2))
    return np.nan_to_num(mouth - eyes) > COVERED


def _mouth(points: Floats, table: Floats, good: Flags) -> Mouth:
    scale = np.where(good, eyes_apart_of(points), np.nan)
    opening, width = opening_of(points) / scale, width_of(points) / scale
    empty = np.full(len(points), np.nan, np.float32)
    if not good.any():
        return Mouth(empty, empty, empty, empty, empty)
    calm = opening <= np.nanmedian(opening)
    rest = float(np.nanmedian(width[calm]))
    shut = min(float(np.nanpercentile(opening, 4)) / rest, SHUT_BIAS)
    gap = np.maximum(opening / rest - shut, 0)
    face = size_of(points) / scale / rest
    jitter = [
        np.nan_to_num(_carried(np.where(np.isfinite(table[:, c]), table[:, c], np.nan)), posinf=0.0) * face
        for c in (_OPENING_SD, _WIDTH_SD)
    ]
    error = np.sqrt(NOISE**2 + (SCALE * gap) ** 2 + jitter[0] ** 2)
    wide_error = np.sqrt(NOISE**2 + jitter[1] ** 2)
    meets = [0.5 * erfc(-x / sqrt(2)) if np.isfinite(x) else np.nan for x in ((MEETS - gap) / NOISE).tolist()]
    single = [np.asarray(series, np.float32) for series in (gap, width / rest, error, wide_error + 0 * gap, meets)]
    return Mouth(single[0], single[1], single[2], single[3], single[4])


def _colours(points: Floats, table: Floats, good: Flags, width: int) -> Floats:
    """As in FoundFace; nan where the mouth is not read, or too small for its parts to be told."""
    colours = table[:, _COLOURS].reshape(len(table), -1, 3).copy()
    with np.errstate(invalid="ignore"):
        colours[~(good & (width_of(points) * width >= COLOURED))] = np.nan
    return colours


def _unread(span: Span, lost: Flags, causes: dict[str, Flags]) -> Iterator[Unread]:
    """Stretches in which a face is lost by one cause, the first of those that hold; what is shorter than SHORTEST is told by nobody."""
    for why, holds in causes.items():
        for run in runs((lost & holds).tolist()):
            if len(run) >= SHORTEST:
                yield Unread(Span(span.start + run.start, span.start + run.stop), why)
        lost = lost & ~holds


def _worth(span: Span, mouth: Mouth, turned: Floats, good: Flags) -> dict[Worth, int]:
    """Frames worth confirming marks on, no two alike; such as show lips that surely meet or surely do not, as far as there are any."""
    clear = good & ((mouth.opening <= SURELY_SHUT) | (mouth.opening >= SURELY_OPEN))
    good = clear if clear.any() else good
    if not good.any():
        return {}
    facing = np.abs(turned)
    found: dict[Worth, int] = {}
    wishes: dict[Worth, Floats] = {
        "facing": np.where(good, -facing, -np.inf),
        "open": np.where(good, mouth.opening - facing / 200, -np.inf),
        "shut": np.where(good, -mouth.opening - facing / 400, -np.inf),
        "wide": np.where(good & (mouth.opening < 0.5), mouth.width - facing / 200, -np.inf),
    }
    for name, wish in wishes.items():
        wish = np.nan_to_num(wish, nan=-np.inf)
        wish[[index - span.start for index in found.values()]] = -np.inf
        if np.isfinite(wish.max()):
            found[name] = span.start + int(np.argmax(wish))
    return found
