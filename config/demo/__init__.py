"""The demo: an invented fishery with a season behind it, and one angler who is about to be late."""
