"""The drawing room: scene in yards, motion, SVG. It makes no football decision and imports no other room."""
