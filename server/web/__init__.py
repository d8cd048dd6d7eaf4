"""What every route needs of HTTP: middleware, dependencies, responses, conditional requests, metrics."""
