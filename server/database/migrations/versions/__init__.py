"""One module a step, named by its number and what it does."""
