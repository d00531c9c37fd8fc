"""Drawings of our own: geometry worked out here, drawn by templates, read as tables too."""
