"""Sending a crit, and the answers that come back."""
