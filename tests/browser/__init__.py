"""A real server and a real browser."""
