"""Text that is safe inside a spreadsheet."""

TRIGGERS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def safe_cell(text: str) -> str:
    """Text for one CSV cell; a leading formula sign is disarmed with a quote mark.

    OWASP ASVS 5.0 requirement 1.2.10 names = + - @ TAB and NUL; line breaks and the full-width
    signs are added from memory. For text columns only: numbers never pass through here.
    """
    return "'" + text if text.lstrip(" ").startswith(TRIGGERS) else text
