"""The water of a day: level, depth, speed, tide, fish. Arithmetic only; values in, values out."""
