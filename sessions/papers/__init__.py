"""The season on paper and in files."""
