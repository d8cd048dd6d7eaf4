"""A second, independent solver of the football, written from the design page alone. For tests only: slow and plain."""
