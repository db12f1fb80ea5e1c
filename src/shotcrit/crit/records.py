"""The records a crit holds: frozen values with an id. `version` is the number of the edit that last changed it (0 = not stored yet).

Frames are indices from 0, `first` and `last` both inside, as in findings; people see them with the take's first_frame added.
Positions are fractions of the picture's width and height, origin top left. Times of day are ISO 8601 in UTC.
In JSON the field `suggest` is called `try`, which Python keeps for itself.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from shotcrit.readings.bundle import Medium
from shotcrit.readings.cast import Cast

MOST_FRAMES = 10_000_000
"""Beyond any film: four days at 24 frames a second; a larger number is a mistake."""
MOST_TEXT = 20_000
"""Characters in one field of a note (guess: five printed pages)."""
MOST_POINTS = 50_000
"""Points in one stroke (guess: three minutes of a pen that reports 240 times a second)."""
MOST_STROKES = 2_000
"""Strokes in one drawing (guess)."""

Id = Annotated[str, Field(pattern=r"^[0-9a-z][0-9a-z_-]{0,63}$", description="Name of one thing within the crit.")]
Index = Annotated[int, Field(ge=0, le=MOST_FRAMES, description="Frame index, counted from 0.")]
Text = Annotated[str, Field(max_length=MOST_TEXT)]
Short = Annotated[str, Field(max_length=200)]
Fraction = Annotated[float, Field(ge=-4, le=5, description="Part of the picture's width or height; it may lie outside.")]
Seconds = Annotated[float, Field(ge=-86_400, le=864_000, description="Seconds from the first picture.")]
Weight = Literal["must", "polish", "keep"]
"""must: holds the shot back; polish: would be better; keep: praise, do not lose this."""


class Shape(BaseModel):
    """A frozen value that takes no fields it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, validate_by_name=True, validate_by_alias=True)


class Record(Shape):
    """Something stored under its own id."""

    id: Id
    version: Annotated[int, Field(ge=0, le=2**53)] = 0


class _Ranged(Shape):
    """Holds over frames first..last, both inside."""

    first: Index
    last: Index

    @model_validator(mode="after")
    def _in_order(self) -> _Ranged:
        if self.last < self.first:
            raise ValueError("the last frame comes before the first")
        return self


class Shot(Record):
    """A shot; its takes are versions of it over time."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    sequence: Short = ""


class FrameRange(_Ranged):
    """Frames first..last, both inside."""


class SoundFacts(Shape):
    """rate in samples a second; offset_s: time of the first sample, in seconds from the first picture."""

    rate: Annotated[int, Field(ge=1, le=1_000_000)]
    channels: Annotated[int, Field(ge=1, le=64)]
    offset_s: float
    duration_s: Annotated[float, Field(ge=0)]


class Arrival(Shape):
    """How a take came to follow another. after : id of the take before it

    waits : what is still to come along from that one, once both are lined up: 'cast' the marks, looks and contacts of its frames, 'words' what was corrected
    says : what came along and what did not, in sentences
    """

    after: Id
    waits: tuple[Literal["cast", "words"], ...] = ()
    says: Text = ""


class Take(Record):
    """One medium under review. The medium stays where it is: `path` says where it was seen last, `sha256` what it is.

    size, modified_s : bytes and time stamp of the file when its hash was taken; as long as both fit, the hash need not be taken again
    rate : exact frames per second, '24000/1001'
    width, height : of the upright picture with square pixels; None for a sound alone
    sound_path : where the sound lies when it is in a file of its own; `sha256` is then of both
    counts : the frames that are judged; None for all. The rest are handles: shown and not judged
    lines : the dialogue as typed, one speech a line, a screenplay's page, WebVTT or SubRip
    overall : the reviewer's word on the whole; one_thing : id of the note that matters most
    added : when it came; arrival : which take it follows, and what comes along from there; None for a first take
    """

    shot: Id
    number: Annotated[int, Field(ge=1, le=100_000)] = 1
    label: Short = ""
    path: Annotated[str, Field(min_length=1, max_length=4096)]
    size: Annotated[int, Field(ge=0, le=2**53)] | None = None
    modified_s: float | None = None
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    frames: Annotated[int, Field(ge=1, le=MOST_FRAMES)]
    rate: Annotated[str, Field(pattern=r"^\d{1,9}/[1-9]\d{0,8}$")]
    variable_rate: bool = False
    width: Annotated[int, Field(ge=1, le=100_000)] | None = None
    height: Annotated[int, Field(ge=1, le=100_000)] | None = None
    first_frame: Annotated[int, Field(ge=-MOST_FRAMES, le=MOST_FRAMES)] = 1
    duration_s: Annotated[float, Field(ge=0)]
    sound: SoundFacts | None = None
    sound_path: Annotated[str, Field(max_length=4096)] | None = None
    medium: Medium = "cg"
    counts: FrameRange | None = None
    animator: Short = ""
    lines: Annotated[str, Field(max_length=200_000)] = ""
    cast: Cast = Cast()
    scene: Annotated[str, Field(max_length=4096)] | None = None
    overall: Text = ""
    one_thing: Id | None = None
    added: Short = ""
    arrival: Arrival | None = None


class Numbers(Shape):
    """What a finding measured, kept with the note that came of it."""

    value: float
    unit: Short
    limit: float
    basis: Text = ""


class Answer(Shape):
    """What the animator said to a note: ticked as done or not, and in words."""

    done: bool
    text: Text = ""
    who: Short = ""
    when: Short = ""


class Settled(Shape):
    """What the reviewer said to a note while walking through a later take.

    how : 'done' it was done (or, of praise, is still there); 'again' it is asked once more; 'dropped' the reviewer changed their mind
    on : id of that take; note : id of the note there that asks again
    """

    on: Id
    how: Literal["done", "again", "dropped"]
    note: Id | None = None


class Note(Record, _Ranged):
    """What the reviewer asks for, or praises.

    place : notes are read by rising place; drawings : ids in the order shown; still : the frame that stands for the note (None: the first)
    finding : key of the finding that it came of; numbers : what that finding measured
    carried_from : the note of an older take that this one carries on; closed : only the reviewer closes a note
    settled : what became of it on a later take; None while that was not said
    """

    take: Id
    who: Short | None = None
    weight: Weight = "polish"
    what: Text = ""
    why: Text = ""
    suggest: Text = Field(default="", alias="try")
    drawings: Annotated[tuple[Id, ...], Field(max_length=200)] = ()
    still: Index | None = None
    place: Annotated[float, Field(ge=-1e12, le=1e12)] = 0.0
    finding: Short | None = None
    numbers: Numbers | None = None
    carried_from: Id | None = None
    closed: bool = False
    settled: Settled | None = None
    answer: Answer | None = None


Pressed = tuple[Fraction, Fraction, Annotated[float, Field(ge=0, le=1)], Annotated[float, Field(ge=0, le=1e9)]]
"""x, y (fractions of the picture), pressure 0..1, milliseconds since the stroke began."""
Tool = Literal["pencil", "eraser", "arrow", "ellipse", "sight", "text"]
"""sight: a line from the eyes to what they look at."""
Colour = Literal["red", "blue", "green", "ochre", "white", "black"]
"""Pencils by name; sheet/ink.json says how each looks."""


class Stroke(Shape):
    """As the pen gave it; outlines are derived (sheet/ink.json). dashed: as it should be.

    width : part of the height of the picture; a pencil's line is 0.8 of it at no pressure, twice it at half, 3.2 times when pressed fully
    """

    tool: Tool = "pencil"
    colour: Colour = "blue"
    width: Annotated[float, Field(gt=0, le=0.5)] = 0.006
    points: Annotated[tuple[Pressed, ...], Field(min_length=1, max_length=MOST_POINTS)]
    text: Short = ""
    dashed: bool = False


class Drawing(Record, _Ranged):
    """Strokes over frames first..last of a take; the first drawn lies below."""

    take: Id
    strokes: Annotated[tuple[Stroke, ...], Field(max_length=MOST_STROKES)] = ()


Verdict = Literal["taken", "dismissed", "edited"]


class Sighting(_Ranged):
    """A finding as it was when the reviewer decided on it: enough to know it again, and to tell whether it got worse."""

    take: Id
    check: Short
    kind: Short
    who: Short | None = None
    value: float
    unit: Short
    limit: float
    says: Text = ""


class Rewording(Shape):
    """What the reviewer changed on a finding before taking it; None = as measured."""

    says: Text | None = None
    suggest: Text | None = Field(default=None, alias="try")
    weight: Weight | None = None
    first: Index | None = None
    last: Index | None = None


class Decision(Record):
    """What became of a finding. It holds for the whole shot: a dismissed finding stays away on the next take unless it got worse."""

    shot: Id
    finding: Sighting
    verdict: Verdict
    reason: Text = ""
    note: Id | None = None
    rewording: Rewording = Rewording()


class Marker(Record):
    """First look: where it bothered the reviewer. pressed: on screen when the key went down; frame: drawn back by the reaction time."""

    take: Id
    pressed: Index
    frame: Index
    text: Short = ""


class WordValue(Shape):
    text: Annotated[str, Field(min_length=1, max_length=200)]
    who: Short | None = None
    start_s: Seconds
    end_s: Seconds


class PhoneValue(Shape):
    phone: Annotated[str, Field(pattern=r"^[A-Z]{1,4}$")]
    stress: Literal[0, 1, 2] | None = None
    start_s: Seconds
    end_s: Seconds


class BreathValue(Shape):
    kind: Literal["inhale", "exhale", "smack"]
    who: Short | None = None
    start_s: Seconds
    end_s: Seconds


class CutValue(Shape):
    """frame: the first of the new shot."""

    frame: Index


Heard = WordValue | PhoneValue | BreathValue | CutValue
EventKind = Literal["word", "phone", "breath", "cut"]
_VALUES: dict[str, type[Shape]] = {"word": WordValue, "phone": PhoneValue, "breath": BreathValue, "cut": CutValue}


class Correction(Record):
    """A hand-made change to what was measured; it is put over every new measurement of the take.

    was : the event as measured that this replaces, None for an added one; now : what it is, None for a deleted one
    """

    take: Id
    event: EventKind
    was: Heard | None = None
    now: Heard | None = None

    @model_validator(mode="after")
    def _fits(self) -> Correction:
        kind = _VALUES[self.event]
        if self.was is None and self.now is None:
            raise ValueError("a correction says what was, what is now, or both")
        for value in (self.was, self.now):
            if value is not None and not isinstance(value, kind):
                raise ValueError(f"the values of this correction are not those of a {self.event}")
            if isinstance(value, WordValue | PhoneValue | BreathValue) and value.end_s <= value.start_s:
                raise ValueError("an event ends after it starts")
        return self


class Phrase(Record):
    """One of the reviewer's own wordings. field: where it belongs; used: how often it was put in."""

    text: Annotated[str, Field(min_length=1, max_length=MOST_TEXT)]
    field: Literal["what", "why", "try"] = "what"
    used: Annotated[int, Field(ge=0, le=1_000_000)] = 0


class Setting(Record):
    """One setting; its id is its name."""

    value: Any


KINDS: dict[str, type[Record]] = {
    "shot": Shot,
    "take": Take,
    "note": Note,
    "drawing": Drawing,
    "decision": Decision,
    "marker": Marker,
    "correction": Correction,
    "phrase": Phrase,
    "setting": Setting,
}
"""Every kind of record by the name under which it is stored."""
Kind = Literal["shot", "take", "note", "drawing", "decision", "marker", "correction", "phrase", "setting"]
