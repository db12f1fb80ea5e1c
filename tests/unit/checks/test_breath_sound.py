"""The sound half of the breath check, and the lines check, on hand-made readings."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from shotcrit.checks import lines
from shotcrit.checks.breath import check as breath
from shotcrit.checks.finding import Result
from shotcrit.checks.registry import all_checks, limits_for
from shotcrit.clock import FrameClock, Span
from shotcrit.media.info import MovieInfo
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import Cast, Character
from shotcrit.readings.events import Breath, Line, Voicing, Why, Word

FRAMES = 24 * 30


def readings(sound: SoundReadings | None, cast: Cast | None = None) -> Readings:
    seconds = Fraction(FRAMES, 24)
    movie = MovieInfo(Path("talk.wav"), "talk.wav", "0" * 64, FRAMES, Fraction(24), False, None, None, 1, seconds, None)
    return Readings(movie, FrameClock.steady(Fraction(24), FRAMES), sound=sound, cast=cast)


def talk(who: str | None, start: float, end: float, *, step: float = 0.5) -> list[Word]:
    """Words of 0.4 s with 0.1 s between."""
    count = round((end - start) / step)
    return [Word(f"w{i}", who, start + i * step, start + i * step + 0.4) for i in range(count)]


def run_breath(sound: SoundReadings | None, cast: Cast | None = None) -> Result:
    return breath.run(readings(sound, cast), limits_for(breath, {}))


def test_both_checks_are_registered() -> None:
    assert {"breath", "lines"} <= {check.ID for check in all_checks()}


def test_fifteen_seconds_without_a_breath_are_pointed_out() -> None:
    result = run_breath(SoundReadings(words=tuple(talk("Ada", 2.0, 17.0))))
    (found,) = result.findings
    assert (found.kind, found.who, found.unit, found.limit, found.weight) == ("unheard", "Ada", "s", 12, "polish")
    assert found.value == pytest.approx(14.9)
    assert found.span == Span(48, 406)  # 2.0 s to 16.9 s at 24 frames a second
    assert found.says == "Ada talks for 15 seconds, and we hear no breath."


@pytest.mark.parametrize(
    "between",
    [Breath("inhale", 9.41, 9.49, 12.0), Breath("exhale", 9.41, 9.49, 12.0, who="Ada")],
)
def test_a_breath_in_a_pause_ends_the_run(between: Breath) -> None:
    assert run_breath(SoundReadings(words=tuple(talk("Ada", 2.0, 17.0)), breaths=(between,))).findings == ()


@pytest.mark.parametrize("between", [Breath("smack", 9.41, 9.49, 12.0), Breath("inhale", 9.41, 9.49, 12.0, who="Ben")])
def test_a_smack_or_someone_else_s_breath_does_not(between: Breath) -> None:
    assert len(run_breath(SoundReadings(words=tuple(talk("Ada", 2.0, 17.0)), breaths=(between,))).findings) == 1


def test_a_long_pause_ends_the_run_and_a_short_one_does_not() -> None:
    long = (*talk("Ada", 2.0, 10.0), *talk("Ada", 11.5, 19.5))
    short = (*talk("Ada", 2.0, 10.0), *talk("Ada", 11.3, 19.3))
    assert run_breath(SoundReadings(words=long)).findings == ()
    assert len(run_breath(SoundReadings(words=short)).findings) == 1


def test_two_speakers_are_reckoned_apart() -> None:
    words = (*talk("Ada", 0.0, 8.0), *talk("Ben", 8.0, 16.0), *talk("Ada", 16.0, 24.0))
    assert run_breath(SoundReadings(words=words)).findings == ()


def test_without_words_nobody_is_said_not_to_breathe() -> None:
    """A melody has voiced stretches too."""
    voiced = tuple(Voicing("voiced", i * 0.5, i * 0.5 + 0.4) for i in range(30))
    result = run_breath(SoundReadings(voicing=voiced))
    assert result.findings == ()
    assert "lines that are heard" in result.not_measured[0].needs
    brief = [m.needs for m in run_breath(SoundReadings(voicing=voiced[:10])).not_measured]
    assert not any("long speech" in needs for needs in brief)
    assert any("a breath before a single word, and panting" in needs for needs in brief), "what a voice without lines leaves open is said"
    assert not any("panting" in m.needs for m in run_breath(SoundReadings(words=tuple(talk("Ada", 0, 3)))).not_measured)


def test_where_breaths_cannot_be_heard_none_is_missed() -> None:
    words = tuple(talk("Ada", 2.0, 17.0))
    result = run_breath(SoundReadings(words=words, breaths_need="a recording with less noise"))
    assert result.findings == ()
    assert "a recording with less noise" in [m.needs for m in result.not_measured]


def test_what_is_missing_is_said_for_each_character() -> None:
    cast = Cast(characters=(Character(name="Ada"), Character(name="Ben")))
    missing = run_breath(SoundReadings(words=tuple(talk("Ada", 0, 3))), cast).not_measured
    assert [(m.check, m.who) for m in missing] == [("breath", "Ada"), ("breath", "Ben")]
    assert all("chest" in m.needs and "scene" in m.needs for m in missing)
    assert [(m.who, m.needs) for m in run_breath(None).not_measured] == [(None, "sound")]


HEARD = Line("The kite is up.", "Ada", True, 0.9, 1.0, 2.0)


def run_lines(*given: Line) -> Result:
    return lines.run(readings(SoundReadings(lines=given)), limits_for(lines, {}))


def test_a_heard_line_is_no_finding() -> None:
    assert run_lines(HEARD) == Result()


def test_a_line_not_spoken() -> None:
    gone = Line("Let it go, Ben, before the wind takes us both out to sea.", "Ada", False, 0.1, problem="nothing like it was heard")
    (found,) = run_lines(HEARD, gone).findings
    assert (found.kind, found.who, found.value, found.span) == ("not_spoken", "Ada", 0.1, Span(0, FRAMES))
    assert found.confidence == pytest.approx(0.9)
    assert found.says == "“Let it go, Ben, before the wind takes ...” is not what is said here: nothing like it was heard."


def test_what_was_said_instead_is_told_and_certainty_is_the_line_s() -> None:
    doubted = replace(
        HEARD, confidence=0.2, problem="it was heard, but 'kite' may have been said otherwise", why="otherwise", instead="B OW T"
    )
    (found,) = run_lines(doubted).findings
    assert found.says == "“The kite is up.”: it was heard, but 'kite' may have been said otherwise (heard instead: B OW T)."
    assert found.confidence == pytest.approx(0.8)


@pytest.mark.parametrize("why", ["unclear", "unsayable"])
def test_what_cannot_be_heard_accuses_nobody(why: Why) -> None:
    result = run_lines(replace(HEARD, heard=False, confidence=0.2, problem="too much noise lies over it", why=why))
    assert result.findings == ()
    (missing,) = result.not_measured
    assert (missing.check, missing.who) == ("lines", "Ada")
    assert "“The kite is up.”: too much noise lies over it" in missing.needs


def test_a_line_in_its_cue_is_placed_there() -> None:
    gone = replace(HEARD, heard=False, problem="nothing like it was heard in its cue, 1.00 to 2.00 s")
    assert run_lines(gone).findings[0].span == Span(24, 48)


@pytest.mark.parametrize("line", [replace(HEARD, problem="it was heard, but earlier"), replace(HEARD, confidence=0.2)])
def test_a_doubtful_line(line: Line) -> None:
    (found,) = run_lines(line).findings
    assert (found.kind, found.weight) == ("doubtful", "polish")


def test_without_sound_or_lines_the_check_says_what_it_needs() -> None:
    assert "lines" in run_lines().not_measured[0].needs
    assert lines.run(readings(None), limits_for(lines, {})).not_measured[0].needs == "sound"
