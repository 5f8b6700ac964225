"""What has changed under a tie-up, as it is said on the dock. Pure: reads the words that were kept with it.

They are kept as the records have them, 'water Sea: surge up, surge reason changed', and name fields; here they
become 'the allowance for weather of Sea was changed'. Words that no rule knows stay as they are.
"""

import re

from marina.base.rulebook import book

CAME_OR_WENT = {
    "added": "{boat} was given {berth}",
    "berth": "{boat} was moved to {berth}",
    "state": "{boat} is at {berth} no more",
    "deleted": "{boat} is at {berth} no more",
}
# What is said once for several fields that change together: (one of the fields, words for all of them).
TOGETHER = {
    "stay": [
        ("arrive", "when {name} comes and goes"),
        ("depart", "when {name} comes and goes"),
        ("allowance", "what is allowed for weather for {name}"),
        ("side to", "how she lies, {name},"),
        ("end in", "how she lies, {name},"),
        ("heading", "how she lies, {name},"),
        ("where she lies", "where she lies, {name},"),
    ],
    "water": [
        ("surge", "the allowance for weather of {name}"),
        ("lower limit", "the lowest and highest level of {name}"),
        ("upper limit", "the lowest and highest level of {name}"),
        ("kind", "how the level of {name} is known"),
        ("station", "how the level of {name} is known"),
        ("table", "the table of {name}"),
        ("offset", "how the tide in {name} differs from the station's"),
        ("datum", "the zero that heights in {name} are counted from"),
        ("outer", "the gate of {name}"),
        ("gate", "the gate of {name}"),
        ("boats pass", "the gate of {name}"),
    ],
    "line use": [("back", "whether a line is back, {name},")],
}
# Rows that are said as a whole, whatever of them changed.
WHOLE = {
    "notice": "a notice for {name}",
    "reading": "a reading of the gauge, {name},",
    "forecast": "what is allowed for weather for a time",
    "deck fitting": "a fitting on her deck, {name},",
    "gear zone": "what is under or outside her: {name},",
    "line use": "a line in use: {name},",
    "line set": "the permanent lines of {name}",
    "set position": "a place of the permanent lines: {name},",
    "berth fastening": "a fastening of the berth, {name},",
    "berth face": "a face of the berth, {name},",
    "inspection": "a look at a line: {name},",
}
LABELS = {"vessel": "{name}", "stay": "{name}", "face": "the face {name}"}  # else 'berth C7', 'line WH-001'
DID = {"added": "was entered", "deleted": "was taken away"}
SIGNED = (" on", " by", " basis", " reason")  # who said a figure and when goes with the figure
KINDS = sorted(
    {*TOGETHER, *WHOLE, *LABELS, "berth", "fastening", "line", "house rule"}, key=len, reverse=True
)
KEPT = re.compile(rf"({'|'.join(KINDS)}) (.+): (added|deleted|(?!.*: ).+(?= changed$))(?: changed)?")


def changed(why):
    """What has changed, in the words of a reader on the dock.

    Parameters
    ----------
    why : str
        As it was kept with the tie-up.

    Returns
    -------
    str

    Examples
    --------
    >>> changed("stay Sea Thrift at C7: state changed")
    'Sea Thrift is at C7 no more'
    >>> changed("water Sea: surge up, surge down, surge reason changed")
    'the allowance for weather of Sea was changed'
    >>> changed("berth C7: level of the bed, sounded on changed")
    'berth C7: level of the bed changed'
    >>> changed("house rule H8: added")
    'the house rule “Clearance asked for under the keel” was changed'
    """
    found = KEPT.fullmatch(why)
    if not found:
        return why
    kind, name, did = found.groups()
    fields = [] if did in DID else did.split(", ")
    if kind == "house rule":
        return f"the house rule “{book().get(name, {}).get('question', name)}” was changed"
    name = _plain(kind, name)
    if kind == "stay" and (words := _came_or_went(name, fields, did)):
        return words
    together = [words.format(name=name) for part, words in TOGETHER.get(kind, ()) if part in did]
    if fields and together:
        told = list(dict.fromkeys(together))
        return f"{' and '.join(told)} {'were' if len(told) > 1 else 'was'} changed"
    if kind in WHOLE:
        verb = "were" if kind == "line set" else "was"
        return f"{WHOLE[kind].format(name=name)} {DID.get(did, 'was changed').replace('was', verb)}"
    label = LABELS.get(kind, kind + " {name}").format(name=name)
    return f"{label}: {', '.join(_said(fields))} changed" if fields else f"{label} {DID[did]}"


def _came_or_went(name, fields, did):
    """The sentence of a boat that came, moved or went; empty where it is none."""
    boat, _, berth = name.rpartition(" at ")
    way = next((each for each in ("berth", "state") if each in fields), did)
    return CAME_OR_WENT[way].format(boat=boat, berth=berth) if boat and way in CAME_OR_WENT else ""


def _plain(kind, name):
    """A row's name without what only records say: a time in UTC, the colon of a notice."""
    if kind == "reading":
        return re.sub(r" at \d\d \w{3} \d\d:\d\d UTC$", "", name)
    return name.replace(": ", ", ", 1) if kind in {"notice", "inspection"} else name


def _said(fields):
    """Fields without their units, and without who said them and when where anything is left without."""
    told = [re.sub(r" \[.*\]$", "", f) for f in fields]
    return [f for f in told if not f.endswith(SIGNED)] or told
