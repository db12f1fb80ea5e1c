"""Shots, takes, notes, drawings, decisions: what a reviewer made of a shot. Pure values and functions; no disk, no clock."""
