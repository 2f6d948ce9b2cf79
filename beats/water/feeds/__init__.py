"""Open formats in which levels arrive: each reader takes bytes and answers with levels and what it left out."""
