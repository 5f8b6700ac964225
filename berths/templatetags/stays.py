"""How flags read on the pages that show them."""

from datetime import timedelta

from django import template

from berths.changes import changed
from berths.reader import reader_of
from berths.saying import say
from marina.base import clock
from marina.base.templatetags.dock import when

register = template.Library()
register.filter("changed", changed)


@register.filter
def sentence(text):
    """Words as a sentence: a capital in front, a point behind."""
    text = (text or "").strip()
    return text and text[0].upper() + text[1:] + ("" if text[-1] in ".?:" else ".")


@register.simple_tag(takes_context=True)
def told(context, text, kind=None):
    """A sentence of the records or the engine in this reader's units and words, as a sentence."""
    request = context.get("request")
    return sentence(say(text, reader_of(getattr(request, "user", None)), kind=kind))


@register.simple_tag(takes_context=True)
def said(context, text):
    """Words that somebody typed, with their figures in this reader's units: within a sentence."""
    return say(text, reader_of(getattr(context.get("request"), "user", None)))


@register.filter
def bites(mark):
    """When a flag bites: 'from Fri 05:40 until Fri 07:13', 'now', 'was 05:40'; nothing where it has no time.

    Nothing, too, where its own words say from when it will: to the minute, or to the one it is rounded to.
    """
    if mark.starts is None:
        return ""
    now, until = clock.now(), mark.until
    if mark.starts > now and any(
        str(when(mark.starts + timedelta(minutes=n))) in mark.message for n in (0, 1)
    ):
        return ""
    if until and until < now:
        return f"was {when(mark.starts)}"
    begins = f"from {when(mark.starts)}" if mark.starts > now else "now"
    return f"{begins} until {when(until)}" if until else begins
