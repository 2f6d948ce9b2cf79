"""A form that came without its cookie, or from a page too old: said in words, in the language of whoever reads."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.translation import gettext as _

from beats.pages.show import plain_page, shown


def not_sent(request: HttpRequest) -> HttpResponse:
    """What is to be done about it; whoever keeps no cookie is told so, since signing in would lead nowhere."""
    with translation.override(translation.get_language_from_request(request)):
        if settings.CSRF_COOKIE_NAME not in request.COOKIES:
            return shown(request, "pages/no_cookies.html", status=403)
        words = _("This page is too old to send from: nothing was sent. Load it again and press once more.")
        return plain_page(request, _("Not sent"), words, status=403)
