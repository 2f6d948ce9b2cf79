"""Log lines: which request and which outing they are about, and nothing in them that opens a door."""
