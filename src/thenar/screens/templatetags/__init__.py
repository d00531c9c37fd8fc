"""Template tags of the screens."""
