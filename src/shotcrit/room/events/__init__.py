"""Telling windows what happens."""
