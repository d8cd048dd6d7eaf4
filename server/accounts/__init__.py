"""Members, sign-in, sessions, permissions and retention."""
