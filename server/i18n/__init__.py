"""Languages: negotiation, catalogues and lazy texts."""
