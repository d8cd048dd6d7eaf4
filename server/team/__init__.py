"""What a team brings in and keeps: its content, its roster, the data of each person."""
