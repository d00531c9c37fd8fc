"""Every read. Those of clinical data write their audit row in the same transaction, or show nothing."""
