"""What opponents run, typed in or imported from a play list."""
