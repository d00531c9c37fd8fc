"""The way in: the first page, signing in and out, the demo's doors."""
