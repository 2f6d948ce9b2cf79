"""Money, papers, calendars and messages on the wire."""
