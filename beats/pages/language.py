"""Pages in another language: a cookie says which, until it is changed."""

from django.views.i18n import set_language

from beats.pages.door import page


@page(methods=("POST",), public=True)
def language(request, *, now):  # noqa: ARG001 - the door tells every page the time
    """Back to the page it was chosen on. Django judges the language and the way back."""
    return set_language(request)
