"""The tests, a package of their own so that no installed one is taken for it."""
