"""manage.py demo: a beat at work, with nothing to install or set up."""

import datetime as dt
import json
import signal
import threading

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from beats.authentication import issue_token
from beats.models import AccessToken
from config.demo.scenario import Scene, set_scene
from config.demo.serve import running
from config.demo.show import alarm_summary, calls, summary, text
from safety.models import Alarm
from safety.services.deliver import deliver
from safety.services.sweep import sweep

LABEL = "demo"


class Command(BaseCommand):
    help = "An invented river with real law and light: lets, a rota, a lone angler about to be late."

    def add_arguments(self, parser):
        parser.add_argument("--once", action="store_true", help="show everything, force the alarm, and stop")
        parser.add_argument("--json", action="store_true", help="with --once: a JSON summary and nothing else")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *, once: bool, json: bool, port: int, **_options):
        if not settings.DEMO:
            raise CommandError("The demo keeps to its own database: start it as `manage.py demo`.")
        if json and not once:
            raise CommandError("--json goes with --once.")
        settings.DEMO_DIR.mkdir(parents=True, exist_ok=True)
        call_command("migrate", verbosity=0)
        if once:
            self._once(as_json=json)
        else:
            self._stay(port)

    def _once(self, *, as_json: bool):
        """Everything at once: the alarm comes by the clock passed in, not by waiting."""
        now = timezone.now()
        scene = set_scene(now=now)
        facts = summary(scene, now=now)
        later = scene.outing.alarm_at + dt.timedelta(seconds=1)
        swept = sweep(now=later)
        sent = deliver(clock=lambda: later)
        facts["alarm"] = alarm_summary(_alarm(scene))
        facts["sweep"] = {"raised": swept.raised, "cleared": swept.cleared, "failed": swept.failed}
        facts["deliveries"] = {"sent": sent.sent, "failed": sent.failed}
        if as_json:
            self.stdout.write(json.dumps(facts, indent=2))
            return
        self.stdout.write(text(scene, facts))
        self._tell(scene)

    def _stay(self, port: int):
        """Up until Ctrl-C; the alarm rises by itself."""
        stop = threading.Event()
        # An exception would do, but one that strikes inside a query comes out as a database fault.
        signal.signal(signal.SIGINT, lambda *_: stop.set())
        now = timezone.now()
        scene = set_scene(now=now)
        tokens = _tokens(scene, now=now)
        try:
            with running(port):
                self.stdout.write(text(scene, summary(scene, now=now)))
                self.stdout.write("\n" + calls(scene, tokens, f"http://127.0.0.1:{port}/api/v1"))
                self.stdout.write(
                    f"\n{scene.guest.name} is on the water alone, due off it in two minutes. Check them out, or "
                    "wait and see. Ctrl-C ends the demo."
                )
                while not _alarm(scene) and not stop.wait(1):
                    scene.outing.refresh_from_db()
                self._tell(scene)
                stop.wait()
        except OSError as error:
            raise CommandError(
                f"Port {port} will not do ({error.strerror}). Choose another: --port 8001"
            ) from error
        self.stdout.write("\nThe demo has ended.")

    def _tell(self, scene: Scene):
        alarm = _alarm(scene)
        if alarm is None:
            return
        message = alarm.deliveries.order_by("channel", "recipient").first()
        self.stdout.write(
            f"\n{message.subject}\n\n{message.body}\n\nThe messages are in {settings.EMAIL_FILE_PATH}"
        )


def _alarm(scene: Scene) -> Alarm | None:
    return Alarm.objects.filter(outing=scene.outing).order_by("id").first()


def _tokens(scene: Scene, *, now: dt.datetime) -> dict[str, str]:
    """Fresh tokens for the three; the last run's are withdrawn."""
    users = {"owner": scene.owner, "ghillie": scene.ghillie, "guest": scene.guest.user}
    AccessToken.objects.filter(user__in=users.values(), label=LABEL).delete()
    return {
        role: issue_token(user, label=LABEL, now=now, life=dt.timedelta(days=1)) for role, user in users.items()
    }
