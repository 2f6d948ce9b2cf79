"""The whole database in one file that either database can be filled from.

Gzipped JSON lines: a head (format, when, which migrations), then for each table a line that names it and a
line for each row, and a last line with the count and the SHA-256 of all before it. With recipients the file is
sealed by age (https://age-encryption.org/v1). `file.py` knows lines, `rows.py` knows tables.
"""
