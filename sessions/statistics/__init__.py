"""What a season's figures say, and how much of it is chance. Pure."""
