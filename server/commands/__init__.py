"""The console's commands, one module a noun, and the demo."""
