"""A guest as the wader for whom the conditions are judged."""

from beats.water.casting import Side
from beats.water.facts import Who
from beats.water.section import Wader as WadingGrade
from bookings.models import Guest


def who_wades(guest: Guest, *, alone: bool) -> Who:
    """The guest's own wading grade (None where it is not known) and casting hand, alone or not."""
    hand = Side.LEFT if guest.casting_shoulder == "left" else Side.RIGHT
    grade = None if guest.wading_grade is None else WadingGrade(guest.wading_grade)
    return Who(grade=grade, alone=alone, hand=hand)
