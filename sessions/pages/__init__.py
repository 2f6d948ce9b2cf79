"""This app's pages: parse, one domain call, render."""
