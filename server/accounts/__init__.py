"""Who is who and who may do what: members, sign-in, sessions, permissions, retention."""
