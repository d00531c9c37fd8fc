"""What one worker may use: products compared, gloves for a task, and lists given out."""
