"""Who can name his gap on which call, with honest uncertainty, and what to ask him next."""
