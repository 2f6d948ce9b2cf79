"""What reading costs, beside bare views that say the same bytes; and how it grows with the book."""
