"""HTTP for all routes: middleware, dependencies, responses, conditional requests, metrics."""
