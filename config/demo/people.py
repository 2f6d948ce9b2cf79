"""The invented guests of Durrisk Water. Their telephone numbers are Ofcom's, for drama; nobody answers."""

from beats.models import Pool

EASY, FAIR, HARD = Pool.Wading.EASY, Pool.Wading.FAIR, Pool.Wading.HARD

GUESTS = (
    ("Morag Tennant", "morag.tennant", FAIR),
    ("Edwin Pryce", "edwin.pryce", EASY),
    ("Hanne Viklund", "hanne.viklund", HARD),
    ("Tobias Ashworth", "tobias.ashworth", FAIR),
    ("Greta Lindqvist", "greta.lindqvist", HARD),
    ("Rupert Oakshott", "rupert.oakshott", EASY),
    ("Sheena Dallow", "sheena.dallow", FAIR),
    ("Idris Powell-Kerr", "idris.powell-kerr", HARD),
    ("Beatrix Holm", "beatrix.holm", FAIR),
    ("Conrad Ferris", "conrad.ferris", FAIR),
    ("Yusuf Marchetti", "yusuf.marchetti", EASY),
    ("Wilma Strand", "wilma.strand", HARD),
    ("Percival Unwin", "percival.unwin", FAIR),
    ("Oona Kilbride", "oona.kilbride", HARD),
)

# A week's lets: beat, how many rods, first and last weekday (0 is Monday), whether every week or only some.
PARTIES = (
    ("upper", 2, 0, 5, 1),
    ("upper", 1, 0, 5, 1),
    ("upper", 1, 2, 5, 2),
    ("lower", 2, 0, 5, 1),
    ("lower", 1, 1, 4, 3),
)


def email_of(handle: str) -> str:
    return f"{handle}@guests.example"


def phone_of(number: int) -> str:
    return f"+4477009001{number:02}"


def contact_phone_of(number: int) -> str:
    return f"+4477009002{number:02}"
