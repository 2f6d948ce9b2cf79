"""A mistyped level in a real browser: asked about before it is stored, corrected within the minute."""

import datetime as dt

import pytest

from beats.models import Gauge, Reading
from tests.browser.test_ghillie_day import at, water  # noqa: F401
from tests.factories import NOON, ReadingFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_sixty_two_is_asked_about_stored_by_a_second_step_and_corrected_at_once(screen, water, at):  # noqa: F811
    gauge = Gauge.objects.get(fishery=water.fishery)
    ReadingFactory(gauge=gauge, at=NOON, level_m=0.41)
    ReadingFactory(gauge=gauge, at=NOON + dt.timedelta(days=1), level_m=1.84)
    screen.goto(f"{at}level/")
    field = screen.get_by_label("Level in metres, as the board reads")
    field.fill("62")
    screen.get_by_role("button", name="Note it").click()
    screen.get_by_text("62.00 m was understood.").wait_for()
    screen.get_by_text("Did you mean").wait_for()
    assert Reading.objects.filter(level_m=62).count() == 0
    assert field.input_value() in ("62", "62.0")
    with screen.expect_navigation():
        field.press("Enter")  # the Enter key is no second step
    screen.get_by_text("62.00 m was understood.").wait_for()
    assert Reading.objects.filter(level_m=62).count() == 0

    screen.get_by_role("button", name="Yes, 62.00 m is right").click()
    screen.get_by_role("heading", name="62.00 m").wait_for()
    assert Reading.objects.get(level_m=62).trusted is True

    part = screen.locator("section", has=screen.get_by_role("heading", name="62.00 m"))
    button = part.get_by_role("link", name="Wrong: correct it")
    assert button.bounding_box()["height"] >= 44
    button.click()
    screen.get_by_label("The right level in metres").fill("0.62")
    screen.get_by_role("button", name="Correct it").click()
    screen.get_by_role("heading", name="0.62 m").wait_for()
    assert Reading.objects.filter(level_m=62).count() == 0

    part = screen.locator("section", has=screen.get_by_role("heading", name="0.62 m"))
    part.get_by_role("button", name="Wrong: do not trust it").click()
    screen.get_by_text("Not trusted: a keeper took it out.").wait_for()
    assert Reading.objects.get(level_m=0.62).trusted is False
