"""Tables, transactions, the one writer, backup and migrations. It knows no meaning of any row."""
