"""What goes out on paper, as plain values: the permit, the statement, their PDF and the code that opens a page."""
