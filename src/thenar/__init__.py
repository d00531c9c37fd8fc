"""Thenar: for the occupational-health practitioner who keeps a hospital's hands healthy."""

__version__ = "0.1.0"
