"""Carriers' software that nobody here wrote, in front of the real service."""
