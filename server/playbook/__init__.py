"""A team's content in use. The only room of the server that calls the engine, except for the commands."""
