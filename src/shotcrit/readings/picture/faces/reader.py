"""Finds faces while the pictures pass: sought every few frames on a small picture, read on every frame where one is.

A row holds MOST places, and a face keeps its place as long as it is followed. What stands in a place: PLACE.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.media.info import MovieInfo
from shotcrit.media.picture import Picture
from shotcrit.readings.picture.faces.colours import PARTS, mouth_colours
from shotcrit.readings.picture.faces.crop import SOFTER, Square, cut, of_box, of_points
from shotcrit.readings.picture.faces.nets import READ, RGB, SEEK, FaceNets
from shotcrit.readings.picture.faces.points import JUDGED, KEPT, MOUTH, opening_of, size_of, width_of

Floats = npt.NDArray[np.float32]

MOST = 6
"""Faces at once; a crowd has no lines."""
SMALL = 2 * SEEK
"""px; width of the picture that is searched, so that a tile of half its width is one square of the detector's."""
SEEK_EVERY, TILE_EVERY = 8, 4
"""Frames between two looks at the whole picture, and at one tile of it."""
LEAST_SCORE = 0.5
"""A box below this is not looked at (measured: all faces that were read well had more on some frame)."""
GONE = 0.5
"""Presence below which a face is no longer followed."""
CHECK_EVERY, CHECK_AGAIN = 24, 4
"""Frames between two checks of how far the points spread, and while presence is low."""
DOUBTFUL = 0.97
"""Presence below which the spread is checked again."""
JITTERS = (
    (0.04, 0.0, 1.0, 0.0),
    (-0.04, 0.0, 1.0, 0.0),
    (0.0, 0.04, 1.06, 0.0),
    (0.0, -0.04, 0.94, 0.0),
    (0.02, 0.02, 1.0, 0.09),
    (-0.02, -0.02, 1.0, -0.09),
)
"""Six crops that differ by a little: parts of the side, its factor, radians."""
WIDER = 1.35
"""A crop larger by so much holds the same face among more of what is around it: who sees a mouth sees it there too, who makes one up makes up another."""
CUT = 18.0
"""Mean change of 8-bit luma from one picture to the next that is taken for a cut here: all is sought anew (a false one costs time only)."""
LOOKS = 6
"""Cells each way of the small colour picture of a face."""
HEADS = ("track", "score", "presence", "spread", "opening sd", "width sd", "slip", "again")
PLACE = len(HEADS) + 3 * len(KEPT) + 3 * LOOKS * LOOKS + 3 * len(PARTS)
"""track : a number of the face in this block; score : the detector's, nan where it was not asked; presence 0..1; spread : standard deviation of
the judged points over JITTERS, parts of the face's size, nan where not checked; the deviation of opening and width, parts of the face's size, likewise;
slip : how far the mouth's points go from this crop to the WIDER one, parts of the face's size; again : the detector's score on these two crops, their
mean; both likewise; then x, y, z of KEPT, parts of the picture's width; then the looks, R G B 0..255 of the levelled square; then R G B 0..255 of the mouth's
PARTS, nan where too little is seen."""


@dataclass
class _Face:
    """A face that is followed."""

    number: int
    square: Square
    since: int
    score: float
    checked: int = -CHECK_EVERY
    row: Floats = field(default_factory=lambda: np.full(PLACE, np.nan, np.float32))


@dataclass(frozen=True)
class _Look:
    """One square as the points' network saw it. flat : all points, px of the square"""

    square: Square
    seen: RGB
    flat: Floats
    presence: float

    @cached_property
    def points(self) -> Floats:
        """All of them, parts of the picture's width."""
        return self.square.to_picture(self.flat, READ)

    @property
    def looks(self) -> Floats:
        small = cv2.resize(self.seen, (LOOKS, LOOKS), interpolation=cv2.INTER_AREA)
        return np.asarray(small, np.float32).ravel()

    @property
    def colours(self) -> Floats:
        return mouth_colours(self.seen, self.flat).ravel()


class FaceReader:
    """One row a frame: MOST places of PLACE numbers each; nan where there is no face."""

    NAME = "faces"
    VERSION = 3
    WARMUP = 0
    COLUMNS = tuple(f"{name} {place}" for place in range(MOST) for name in (*HEADS, *(f"p{i}" for i in range(PLACE - len(HEADS)))))

    def __init__(self, nets: FaceNets | None = None) -> None:
        self._nets = nets or FaceNets()
        self._clear()

    def _clear(self) -> None:
        self._at, self._tile, self._named = 0, 0, 0
        self._faces: list[_Face] = []
        self._before: npt.NDArray[np.uint8] | None = None

    def start(self, info: MovieInfo) -> None:
        self._clear()

    def feed(self, picture: Picture) -> Floats:
        """float32 [shape=(MOST, PLACE)]"""
        small = picture.rgb(SMALL)
        fresh = self._is_new_shot(small)
        if fresh:
            self._faces, self._tile = [], 0
        self._seek(small, fresh)
        rows = np.full((MOST, PLACE), np.nan, np.float32)
        self._faces = [face for face in self._faces if self._read(picture, face)]
        self._faces = _one_each(self._faces)
        for place, face in enumerate(self._faces[:MOST]):
            rows[place] = face.row
        self._at += 1
        return rows

    def _is_new_shot(self, small: RGB) -> bool:
        tiny = cv2.resize(small, (32, 18), interpolation=cv2.INTER_AREA)
        before, self._before = self._before, np.asarray(tiny, np.uint8)
        return before is None or float(cv2.mean(cv2.absdiff(before, self._before))[1]) > CUT

    def _seek(self, small: RGB, fresh: bool) -> None:
        """Look for faces that are not followed yet, and ask the detector again about those that are."""
        if fresh:
            for tile in (None, *_tiles(small)):
                self._seek_in(small, tile)
        elif self._at % SEEK_EVERY == 0:
            self._seek_in(small, None)
        elif self._at % TILE_EVERY == 0:
            tiles = _tiles(small)
            self._seek_in(small, tiles[self._tile % len(tiles)])
            self._tile += 1

    def _seek_in(self, small: RGB, tile: tuple[int, int] | None) -> None:
        """tile : its top left corner; None is the whole picture"""
        width, height = small.shape[1], small.shape[0]
        if tile is None:
            side = max(width, height)
            scale, left, top = side / SEEK, -(side - width) / 2, -(side - height) / 2
        else:
            scale, left, top = 1.0, float(tile[0]), float(tile[1])
        square = Square((left + scale * SEEK / 2) / width, (top + scale * SEEK / 2) / width, scale * SEEK / width)
        for box in self._nets.seek(cut(_soft(small, scale), square, SEEK), LEAST_SCORE):
            self._meet(of_box(box, scale / width, left / width, top / width), box.score)

    def _meet(self, square: Square, score: float) -> None:
        known = max(self._faces, key=lambda face: face.square.shares(square), default=None)
        if known is not None and known.square.shares(square) > 0.3:
            known.score = score if np.isnan(known.score) else max(known.score, score)
        elif len(self._faces) < MOST:
            self._faces.append(_Face(self._named, square, self._at, score))
            self._named += 1

    def _read(self, picture: Picture, face: _Face) -> bool:
        """Read a face on this picture; False where it is gone."""
        look = self._look(picture, face.square)
        if face.since == self._at and look.presence >= GONE / 2:
            look = self._look(picture, of_points(look.points))
        points, presence = look.points, look.presence
        if presence < GONE or not np.isfinite(points).all():
            return False
        face.square = of_points(points)
        kept = points[list(KEPT)]
        checks: tuple[float, ...] = (np.nan,) * (len(HEADS) - 3)
        wait = CHECK_AGAIN if presence < DOUBTFUL else CHECK_EVERY
        if self._at - face.checked >= wait:
            face.checked = self._at
            checks = (*self._spread(picture, face.square), *self._seen_again(picture, face.square, kept))
        face.row = np.concatenate(
            [np.array([face.number, face.score, presence, *checks], np.float32), kept.ravel(), look.looks, look.colours]
        )
        face.score = np.nan
        return True

    def _look(self, picture: Picture, square: Square) -> _Look:
        seen = cut(picture.rgb(_width_for(picture, square)), square)
        return _Look(square, seen, *self._nets.read(seen))

    def _spread(self, picture: Picture, square: Square) -> tuple[float, float, float]:
        """Standard deviation over JITTERS, parts of the face's size: of the judged points, of the opening, of the width."""
        seen = np.stack([self._look(picture, square.moved(*jitter)).points[list(KEPT)] for jitter in JITTERS])
        size = max(float(size_of(seen).mean()), 1e-9)
        judged = seen[:, list(JUDGED), :2]
        spread = float(np.sqrt(judged.var(axis=0).sum(axis=-1).mean()))
        return spread / size, float(opening_of(seen).std()) / size, float(width_of(seen).std()) / size

    def _seen_again(self, picture: Picture, square: Square, points: Floats) -> tuple[float, float]:
        """slip and again, as in HEADS. points : kept ones, of `square`"""
        wide = square.moved(0.0, 0.0, WIDER, 0.0)
        kept = self._look(picture, wide).points[list(KEPT)]
        away = np.linalg.norm((kept - points)[list(MOUTH), :2], axis=-1).mean()
        width = _width_for(picture, square)
        scores = [self._nets.again(cut(picture.rgb(width), one)) for one in (square, wide)]
        return float(away / max(float(size_of(points)), 1e-9)), float(np.mean(scores))


def _width_for(picture: Picture, square: Square) -> int:
    """A width at which the square is about as large as the network wants it; few widths, so that faces share the work."""
    wanted = READ / max(square.side, 1e-6)
    for part in (8, 4, 3, 2):
        width = picture.width // part
        if width >= SMALL and width * SOFTER >= wanted:
            return width
    return picture.width


def _tiles(small: RGB) -> list[tuple[int, int]]:
    """Corners of squares of SEEK px that cover the picture, half over each other."""
    width, height = small.shape[1], small.shape[0]
    across = sorted({min(x, max(width - SEEK, 0)) for x in range(0, max(width - SEEK, 0) + SEEK // 2, SEEK // 2)})
    down = sorted({min(y, max(height - SEEK, 0)) for y in range(0, max(height - SEEK, 0) + SEEK // 2, SEEK // 2)})
    return [(x, y) for y in down for x in across]


def _soft(small: RGB, scale: float) -> RGB:
    """Softened before it is shrunk."""
    return (
        small if scale <= 1 else np.asarray(cv2.blur(small, (2, 2)) if scale <= 2 else cv2.GaussianBlur(small, (0, 0), scale / 2), np.uint8)
    )


def _one_each(faces: list[_Face]) -> list[_Face]:
    """Without those that slid onto another that is followed longer."""
    kept: list[_Face] = []
    for face in faces:
        if all(face.square.shares(other.square) < 0.5 for other in kept):
            kept.append(face)
    return kept
