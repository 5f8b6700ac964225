"""What lies where in the harbour at a moment, with the places on its plan."""

from berths.models import Face, Fastening
from berths.selectors.berths import walk


def harbour_on(user, moment):
    """Berths with `lying`, faces and fastenings of the whole harbour. For staff only: it shows every boat."""
    berths = walk(user, moment)
    return berths, list(Face.objects.filter(in_use=True)), list(Fastening.objects.filter(in_use=True))
