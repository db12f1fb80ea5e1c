"""Shotcrit: measure, judge and review a character-animation shot."""

__version__ = "0.1.0"
