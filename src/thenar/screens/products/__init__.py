"""Products: what they declare, as read; what they cost; where they stand; lists of them read in."""
