"""What needs me now, and finding people."""
