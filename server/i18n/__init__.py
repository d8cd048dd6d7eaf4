"""Languages: which one a request wants, and every text of ours in it."""
