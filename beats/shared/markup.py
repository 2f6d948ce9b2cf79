"""Text that may stand in XML."""


def printable(text: str) -> str:
    """The text without the characters that XML 1.0 does not allow at all, escaped or not."""
    return "".join(letter for letter in text if _allowed(ord(letter)))


def _allowed(code: int) -> bool:
    return code in (0x9, 0xA, 0xD) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000
