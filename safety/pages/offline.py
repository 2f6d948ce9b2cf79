"""What the phone's worker asks for: which pages to hold, and the page for when it holds none."""

from django.http import JsonResponse
from django.middleware.csrf import get_token
from django.views.decorators.csrf import ensure_csrf_cookie

from beats.pages.door import page
from beats.pages.show import shown
from beats.shared.made import PRIVATE
from safety.offline import held_by


@page()
@ensure_csrf_cookie  # inside: an answer to somebody signed out must not replace the cookie of an open form
def offline_pages(request, *, now):
    held = held_by(request.user, now=now)
    pages = [(path, source, False) for path, source in held.pages]
    pages += [(path, source, True) for path, source in held.papers]
    told = {
        "who": str(request.user.pk), "csrf": get_token(request), "help": held.help, "home": held.home,
        "pages": [{"path": path, "from": source, "same": same} for path, source, same in pages],
        "state": held.state,
    }  # fmt: skip
    return JsonResponse(told, headers=PRIVATE)


@page(public=True)
def no_signal(request, *, now):  # noqa: ARG001
    return shown(request, "safety/no_signal.html")
