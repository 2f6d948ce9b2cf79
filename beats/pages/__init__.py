"""Pages for people: the same services as the API, told to eyes and thumbs."""
