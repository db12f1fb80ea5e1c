"""Findings, and what becomes of them."""
