"""Everything the API document allows, and much it does not, asked of every operation: no fault of the server,
and every answer as the document declares it. Schemathesis makes the questions and judges the answers.

    FUZZ=120 uv run pytest --on sqlite -m fuzz        so many questions an operation
"""

import os

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings

from tests.fuzz.asking import JUDGED, aim, dice_of, document, sign

pytestmark = [pytest.mark.fuzz, pytest.mark.django_db]

QUESTIONS = int(os.environ.get("FUZZ", "25"))


@document().parametrize()
@settings(
    max_examples=QUESTIONS, deadline=None, phases=[Phase.explicit, Phase.generate], derandomize=False,
    suppress_health_check=list(HealthCheck), database=None,
)  # fmt: skip
def test_every_answer_is_one_that_was_declared(case, world, asked):
    world, tokens = world
    asked["questions"] += 1
    dice = dice_of(case)
    aim(case, world, dice)
    sign(case, tokens, dice)
    with transaction.atomic():
        response = case.call()
        transaction.set_rollback(True)
    case.validate_response(response, checks=JUDGED)
