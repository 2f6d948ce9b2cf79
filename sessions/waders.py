"""A guest as the wader for whom the conditions are judged."""

from beats.water.casting import Side
from beats.water.facts import Who
from beats.water.section import Wader as WadingGrade
from bookings.models import Guest


def who_wades(guest: Guest, *, alone: bool) -> Who:
    """The guest's own wading grade and casting hand, alone or not."""
    hand = Side.LEFT if guest.casting_shoulder == "left" else Side.RIGHT
    return Who(grade=WadingGrade(guest.wading_grade), alone=alone, hand=hand)
