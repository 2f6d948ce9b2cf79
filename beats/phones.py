"""Telephone numbers in E.164, by the number plans."""

import phonenumbers

FICTION = ("+441632960", "+447700900")
"""Ofcom's numbers for drama, which no telephone answers (Ofcom, "Telephone numbers for use in TV and
radio drama programmes"; ranges from memory). Taken so that an invented fishery rings nobody."""


def e164(text: str, *, region: str = "GB") -> str:
    """A dialable number as E.164 (+441234567890). Raises ValueError with what to write instead."""
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        number = None
    if number is not None:
        written = phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
        if phonenumbers.is_valid_number(number) or written.startswith(FICTION):
            return written
    raise ValueError(
        "write a telephone number that can be dialled, with its country code, such as +44 1632 960123"
    )


def spaced(number: str) -> str:
    """An E.164 number in groups, as it is read aloud: +44 1632 960123."""
    try:
        parsed = phonenumbers.parse(number)
    except phonenumbers.NumberParseException:
        return number
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.INTERNATIONAL)
