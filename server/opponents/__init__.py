"""What the next opponents run, typed in or read from a play list."""
