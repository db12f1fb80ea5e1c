"""Cameras, rays, gaze, rigid motion: pure functions on arrays. Frames of reference are named in readings/acting.py."""
