"""Small words and links of stays and flags that many pages share."""

from django import template
from django.urls import NoReverseMatch, reverse

from marina.base import clock
from marina.base.templatetags.dock import when

register = template.Library()


@register.filter
def page_for(stay, user):
    """Where a press on a stay leads: staff to the stay, a holder to the berth."""
    try:
        if not user.is_holder:
            return reverse("berths:stay", args=[stay.pk])
    except NoReverseMatch:
        pass  # no page of stays in this installation
    return reverse("berths:berth", args=[stay.berth.code])


@register.filter
def sentence(text):
    """Words as a sentence: a capital in front, a point behind."""
    text = (text or "").strip()
    return text and text[0].upper() + text[1:] + ("" if text[-1] in ".?:" else ".")


@register.filter
def bites(mark):
    """When a flag bites: 'from Fri 05:40 until Fri 07:13', 'now', 'was 05:40'; nothing where it has no time."""
    if mark.starts is None:
        return ""
    now, until = clock.now(), mark.until
    if until and until < now:
        return f"was {when(mark.starts)}"
    begins = f"from {when(mark.starts)}" if mark.starts > now else "now"
    return f"{begins} until {when(until)}" if until else begins
