"""What the watch is measured against: a slow mail server, a gateway, and one loop that does everything in turn."""
