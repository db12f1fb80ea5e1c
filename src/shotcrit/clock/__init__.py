"""Rates, frames, spans, time code: exact, half-open inside, no numpy, no av."""

from shotcrit.clock.frames import FrameClock, Numbering
from shotcrit.clock.rates import parse_rate, rate_label, rate_text
from shotcrit.clock.spans import Span, TimeSpan, runs

__all__ = ["FrameClock", "Numbering", "Span", "TimeSpan", "parse_rate", "rate_label", "rate_text", "runs"]
