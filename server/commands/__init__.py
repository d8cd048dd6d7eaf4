"""The console's commands, one module per noun, and the demo."""
