"""A team's content, its roster, and the personal data of its members."""
