"""{% said sentence %}: what the service says, in the reader's language where the catalogue has it."""

from django import template
from django.utils import translation
from django.utils.html import format_html

from beats.pages.told import in_the_reader_s_words

register = template.Library()


@register.simple_tag
def said(sentence):
    """The sentence; where it stays English on another language's page it is marked so, for those who listen."""
    if sentence is None or sentence == "":
        return ""
    words = in_the_reader_s_words(sentence)
    if words is not None:
        return words
    if translation.get_language().startswith("en"):
        return sentence
    return format_html('<span lang="en">{}</span>', sentence)
