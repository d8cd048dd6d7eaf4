"""A team's content at work: the one room of the server that calls the engine, and what it made of it."""
