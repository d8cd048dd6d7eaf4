"""Sets of reps: assigned, laid out, practiced, checked."""
