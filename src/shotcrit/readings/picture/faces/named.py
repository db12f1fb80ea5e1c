"""Whose face is whose: the one whose mouth follows the sound of Oona's lines is Oona's. By lines, by looks in this film, by a person; nobody is recognised.

Faces that look alike and are never seen at once are taken for one person. For each person the chance of every name is weighed on how well the mouth
follows each speaker's phones, against following them by accident; people who are seen together never share a name. Unsure stays unnamed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Phone
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.sound.articulation import wanted_mouth

Array = npt.NDArray[np.float64]

NOBODY = "a face"
"""How a face is called whose lines have no name."""
SURE = 0.95
"""Chance from which on a face gets a name (two-handers are to be right 95 times of 100, and the rest is to say so)."""
ONLY_SURE = 0.55
"""The same where one face alone is seen and one person alone speaks; every finding then says what it takes for granted."""
SHIFTS = np.arange(-4, 5)
"""Frames by which a mouth may be early or late and be told by its lines (guess: beyond, it cannot be told from another's)."""
FOLLOWS, FOLLOWS_SPREAD = 1.0, 0.3
"""Fisher's z of a mouth with its own phones, and how it varies (found mouths correlate 0.86 to 0.91 with the truth, and acted ones follow phones less)."""
ACCIDENT, ACCIDENT_SPREAD, OTHER_DOUBT = 1.05, 0.8, 0.08
"""The same with another's phones at the best of SHIFTS: mean and deviation over the root of the number of moments, and what is left with many (measured on 80
pairs of hand-labelled sentences, 24 to 160 frames long: 0.25 and 0.20 at 69 frames, 0.35 and 0.2 at 40)."""
RARE = -4.0
"""Log chance under which no accident is put (guess: once in fifty such stretches something else moves a mouth so)."""
NOBODYS, NOBODYS_ALONE = float(np.log(0.4)), float(np.log(0.1))
"""Log chance beforehand that a face is nobody's who speaks, against each name's, and where one face alone is seen while one person alone speaks (guess:
most faces in a shot with lines are somebody's)."""
UNLIKE_PAIR = float(np.log(0.5))
"""Log chance beforehand that two who look unlike are one person after all, in another light (guess)."""
TOGETHER = 4.0
"""Frames that hang together in speech (guess: a phone and its neighbour)."""
FEWEST = 18
"""Frames of a speaker's on which a mouth must be known to be weighed."""
STILL = 0.06
"""Of the mouth's width: an opening that varies less is noise."""
STILL_OWN, STILL_OTHER = 0.1, 0.7
"""Chance that the mouth of who speaks, and of who listens, stands still."""
ALIKE = 16.0
"""Mean difference of looks, 8-bit steps, up to which two faces may be one person's (guess; the demo's three faces: 27 for one person
over a cut, 38 and 42 for two)."""
REACH = 1.0
"""Of a face's size, from its middle: so near a point has to lie to speak of it."""
MOST_JOINED = 5
"""People weighed against each other; more are weighed each alone."""


@dataclass(frozen=True)
class _Person:
    """Faces taken for one, and what each name has for it: log chances, by name; '' is nobody's."""

    faces: tuple[FoundFace, ...]
    chances: Mapping[str, float]

    @property
    def known(self) -> str | None:
        """As a person said: a name, '' for nobody's; None where nothing was said."""
        return next((face.who or "" for face in self.faces if face.said), None)

    def meets(self, other: _Person) -> bool:
        return any(a.span.overlap(b.span) is not None for a in self.faces for b in other.faces)


def name_faces(faces: Sequence[FoundFace], sound: SoundReadings | None, clock: FrameClock) -> tuple[FoundFace, ...]:
    """The same faces with `who` and `sure` filled in where lines, looks or a person (`said`) tell it."""
    own = _phones(sound)
    groups = _people(faces)
    people = [_Person(tuple(group), _chances(group, own, clock)) for group in groups]
    if not own and not any(person.known for person in people):
        return tuple(faces)
    names = sorted({*own, *(p.known for p in people if p.known)})
    named: dict[int, FoundFace] = {}
    for person, chance in zip(people, _weighed(people, names), strict=True):
        who, sure = _best(person, chance, alone=len(people) == len(names) == 1)
        named |= {f.id: f if f.said else replace(f, who=who, sure=sure) for f in person.faces}
    return tuple(named[face.id] for face in faces)


def faces_said(faces: Sequence[FoundFace], said: Sequence[tuple[int, float, float, str | None]]) -> tuple[FoundFace, ...]:
    """The faces with what a person said of them. said : frame index, x, y (parts of the picture's width and height), whose face is nearest to it there"""
    named = {face.id: face for face in faces}
    for index, x, y, who in said:
        there = [f for f in named.values() if index in f.span and np.isfinite(f.middle[index - f.span.start, 0])]
        nearest = min(there, key=lambda f: float(np.hypot(*(f.middle[index - f.span.start] - (x, y)))), default=None)
        if nearest is not None and float(np.hypot(*(nearest.middle[index - nearest.span.start] - (x, y)))) < REACH * float(
            nearest.size[index - nearest.span.start]
        ):
            named[nearest.id] = replace(nearest, who=who, sure=SURE if who else 0.0, said=True)
    return tuple(named[face.id] for face in faces)


def _best(person: _Person, chance: Mapping[str, float], *, alone: bool) -> tuple[str | None, float]:
    if person.known is not None:
        return person.known or None, SURE if person.known else 0.0
    who = max(chance, key=lambda name: chance[name])
    if who and (chance[who] >= SURE or (alone and chance[who] >= ONLY_SURE)):
        return who, min(chance[who], SURE)
    return None, max((value for name, value in chance.items() if name), default=0.0)


def _phones(sound: SoundReadings | None) -> dict[str, list[Phone]]:
    """Phones by who speaks them; those of lines without a name are NOBODY's."""
    found: dict[str, list[Phone]] = {}
    for phone in sound.phones if sound else ():
        if phone.word is not None and sound is not None:
            found.setdefault(sound.words[phone.word].who or NOBODY, []).append(phone)
    return found


def _people(faces: Sequence[FoundFace]) -> list[list[FoundFace]]:
    """Faces that look alike, the most alike first; never two that are seen at once."""
    groups = [[face] for face in faces]
    pairs = sorted((_unlike(a, b), a.id, b.id) for a, b in combinations(faces, 2))
    for unlike, one, other in pairs:
        a, b = (next(g for g in groups if any(face.id == wanted for face in g)) for wanted in (one, other))
        apart = any(x.span.overlap(y.span) is not None for x in a for y in b) or _two_names(a, b)
        if unlike <= ALIKE and a is not b and not apart and max(_unlike(x, y) for x in a for y in b) <= 1.5 * ALIKE:
            a.extend(b)
            groups.remove(b)
    return groups


def _two_names(a: Sequence[FoundFace], b: Sequence[FoundFace]) -> bool:
    """Whether a person has said that they are two."""
    return len({face.who for face in (*a, *b) if face.said}) > 1


def _unlike(a: FoundFace, b: FoundFace) -> float:
    """Mean difference of colour, the light's own brightness taken out."""
    one, other = a.looks - a.looks.mean(), b.looks - b.looks.mean()
    return float(np.abs(one - other).mean() + 0.3 * abs(float(a.looks.mean() - b.looks.mean())))


def _chances(faces: Sequence[FoundFace], own: Mapping[str, Sequence[Phone]], clock: FrameClock) -> dict[str, float]:
    """Log chance of what these mouths do if they are each name's; '' if nobody's who speaks."""
    starts = frame_starts(clock)
    opening = np.full(len(starts), np.nan)
    for face in faces:
        opening[face.span.start : face.span.stop] = face.mouth.opening
    total = dict.fromkeys(("", *own), 0.0)
    for speaker, phones in own.items():
        mine, other = _follows(opening, phones, starts, float(clock.rate))
        for name in total:
            total[name] += mine if name == speaker else other
    return total


def _follows(opening: Array, phones: Sequence[Phone], starts: Array, rate: float) -> tuple[float, float]:
    """Log chances of this mouth during these phones: if it speaks them, and if not."""
    wanted = [wanted_mouth(phones, starts - shift / rate) for shift in SHIFTS]
    during = (wanted[len(SHIFTS) // 2].said > 0.3) & np.isfinite(opening)
    during = np.convolve(during, np.ones(5), "same") > 0
    during &= np.isfinite(opening)
    count = int(during.sum())
    if count < FEWEST:
        return 0.0, 0.0
    seen = opening[during]
    if float(seen.std()) < STILL / 2:
        return float(np.log(STILL_OWN)), float(np.log(STILL_OTHER))
    match = max(_correlation(seen, one.opening[during]) for one in wanted)
    z = float(np.arctanh(np.clip(match, -0.99, 0.99)))
    root = np.sqrt(count / TOGETHER)
    by_accident = ACCIDENT / root
    # Better than usual is no less its own, and worse than by accident no less an accident.
    own = _log_normal(min(z, FOLLOWS), FOLLOWS, float(np.hypot(FOLLOWS_SPREAD, 1 / root)))
    other = _log_normal(max(z, by_accident), by_accident, float(np.hypot(ACCIDENT_SPREAD / root, OTHER_DOUBT)))
    return max(own, RARE), max(other, RARE)


def _log_normal(value: float, middle: float, width: float) -> float:
    return -0.5 * ((value - middle) / width) ** 2


def _correlation(a: Array, b: Array) -> float:
    return float(np.corrcoef(a, b)[0, 1]) if a.std() > 1e-9 and b.std() > 1e-9 else 0.0


def _weighed(people: Sequence[_Person], names: Sequence[str]) -> list[dict[str, float]]:
    """Chances of every name for every person, people who are seen together never being one."""
    choices = [(p.known,) if p.known is not None else ("", *names) for p in people]
    if len(people) > MOST_JOINED or len(names) > MOST_JOINED:
        return [
            _shares({name: person.chances.get(name, 0.0) + (0.0 if name else NOBODYS) for name in own})
            for person, own in zip(people, choices, strict=True)
        ]
    together = [(i, j) for i, j in combinations(range(len(people)), 2) if people[i].meets(people[j])]
    totals: list[dict[str, float]] = [dict.fromkeys(own, 0.0) for own in choices]
    scored = {
        names_now: _score(people, names_now)
        for names_now in product(*choices)
        if not any(names_now[i] and names_now[i] == names_now[j] for i, j in together)
    }
    best = max(scored.values(), default=0.0)
    for names_now, score in scored.items():
        for i, name in enumerate(names_now):
            totals[i][name] += float(np.exp(score - best))
    return [{name: value / max(sum(total.values()), 1e-300) for name, value in total.items()} for total in totals]


def _score(people: Sequence[_Person], names: Sequence[str]) -> float:
    """Log chance of all that is seen, if these are the people's names."""
    nobodys = NOBODYS_ALONE if len(people) == 1 and len(people[0].chances) == 2 else NOBODYS
    own = sum(person.chances.get(name, 0.0) + (0.0 if name else nobodys) for person, name in zip(people, names, strict=True))
    return own + UNLIKE_PAIR * sum(bool(a) and a == b for a, b in combinations(names, 2))


def _shares(scores: Mapping[str, float]) -> dict[str, float]:
    best = max(scores.values())
    weights = {name: float(np.exp(score - best)) for name, score in scores.items()}
    return {name: weight / sum(weights.values()) for name, weight in weights.items()}
