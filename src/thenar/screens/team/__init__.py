"""For a manager: released adjustments, nothing else."""
