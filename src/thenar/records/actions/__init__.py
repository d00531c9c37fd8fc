"""Every write: keyword-only, `by=` whom, at which `now`, one transaction, one audit row."""
