"""Fish by the hundred thousand, in open formats."""
