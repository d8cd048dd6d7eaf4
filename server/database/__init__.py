"""Tables, transactions, the one writer, backup and migrations. Knows nothing of what a row means."""
