"""The table of doors: which roles may open which page. A page that has no row here is closed to everybody.

Whose rows a page then shows is decided where they are read: every selector that lists rows takes the user.
"""

from marina.base.models import Role

HARBOURMASTER, HAND, HOLDER = Role.HARBOURMASTER, Role.HAND, Role.HOLDER
ANONYMOUS = None

OFFICE = frozenset({HARBOURMASTER})
STAFF = frozenset({HARBOURMASTER, HAND})
HOLDERS = frozenset({HOLDER})
SIGNED_IN = frozenset(Role)
EVERYBODY = SIGNED_IN | {ANONYMOUS}

TABLE = {
    "login": EVERYBODY,
    "logout": EVERYBODY,
    "about": EVERYBODY,
    "health": EVERYBODY,
    "offline": EVERYBODY,
    "service-worker": EVERYBODY,
    "home": SIGNED_IN,
    "me": SIGNED_IN,
    "password": SIGNED_IN,
    "admin": OFFICE,  # the whole back office is one row
    "berths:mine": HOLDERS,
    "berths:berths": STAFF,
    "berths:plan": STAFF,
    "berths:berth": SIGNED_IN,
    "berths:boat": SIGNED_IN,
    "berths:survey": OFFICE,
    "berths:survey-pier-new": OFFICE,
    "berths:survey-berth-new": OFFICE,
    "berths:survey-berth": OFFICE,
    "berths:survey-copy": OFFICE,
    "berths:fastening": STAFF,
    "berths:place": OFFICE,
    "berths:stay": SIGNED_IN,
    "berths:move": OFFICE,
    "berths:stay-turn": OFFICE,
    "berths:stay-work-out": OFFICE,
    "berths:stay-work-out-beside": OFFICE,
    "berths:stay-name": STAFF,
    "berths:stay-allowance": OFFICE,
    "berths:stay-times": OFFICE,
    "berths:made-fast": STAFF,
    "berths:picture-send": SIGNED_IN,
    "berths:picture": SIGNED_IN,
    "berths:stay-cancel": OFFICE,
    "berths:stay-lines": STAFF,
    "berths:loans": STAFF,
    "berths:loans-settle": STAFF,
    "berths:stay-left": STAFF,
    "berths:look-new": STAFF,
    "berths:looks": STAFF,
    "berths:looked": STAFF,
    "berths:looks-feed-new": STAFF,
    "berths:looks-feed": EVERYBODY,  # the address is the key
    "berths:rounds": STAFF,
    "berths:round": STAFF,
    "berths:round-close": STAFF,
    "berths:look": STAFF,
    "berths:hand-over": STAFF,
    "berths:word-new": HOLDERS,
    "berths:word": STAFF,
    "berths:accept": STAFF,  # what a hand may accept: services/accepting.py
    "berths:set-accept": STAFF,
    "berths:set-make": OFFICE,
    "berths:set": SIGNED_IN,
    "berths:set-work-out": OFFICE,
    "berths:set-fill": STAFF,
    "berths:set-place-new": OFFICE,
    "berths:set-place": OFFICE,
    "berths:set-close": OFFICE,
    "berths:set-sheet": SIGNED_IN,
    "berths:working": SIGNED_IN,
    "berths:working-line": SIGNED_IN,
    "berths:card": SIGNED_IN,
    "berths:card-pdf": SIGNED_IN,
    "berths:cards": STAFF,
    "berths:card-destroyed": STAFF,
    "berths:cards-batch": STAFF,
    "berths:lines": STAFF,
    "berths:line": SIGNED_IN,
    "berths:stock": STAFF,
    "berths:stock-xlsx": STAFF,
    "berths:sheets": OFFICE,
    "berths:sheets-out": OFFICE,
    "berths:sheets-empty": OFFICE,
    "berths:sheets-csv": OFFICE,
    "berths:method": SIGNED_IN,
    "berths:water": SIGNED_IN,
    "berths:level": SIGNED_IN,
    "berths:water-new": OFFICE,
    "berths:water-record": OFFICE,
    "berths:water-station": OFFICE,
    "berths:water-limits": OFFICE,
    "berths:water-table": OFFICE,
    "berths:water-constants": OFFICE,
    "berths:water-gate": OFFICE,
    "berths:water-allowance": OFFICE,
    "berths:water-weather": OFFICE,
    "berths:water-notice-new": OFFICE,
    "berths:water-notice": OFFICE,
    "berths:water-reading": STAFF,
    "vessels:measure": STAFF,
    "berths:due": STAFF,
    "berths:labels": STAFF,
    "berths:line-back": STAFF,
    "berths:line-label": STAFF,
    "berths:line-use-undo": STAFF,
    "vessels:line-new": STAFF,
    "vessels:line-change": STAFF,
    "vessels:line-enter": STAFF,
    "vessels:line-look": STAFF,
    "vessels:line-undo": STAFF,
    "vessels:line-withdraw": STAFF,
}

# What stands at the top of every page, in this order, for those who may open it.
PAGES = [
    ("home", "The day", STAFF),
    ("home", "My boat", HOLDERS),
    ("berths:place", "Place a boat", OFFICE),
    ("berths:rounds", "Rounds", STAFF),
    ("berths:berths", "Berths", STAFF),
    ("berths:plan", "Plan", STAFF),
    ("berths:water", "Water", SIGNED_IN),
    ("berths:lines", "Lines", STAFF),
    ("admin:index", "Back office", OFFICE),
]


def role_of(user):
    """The role of a signed-in user, else ANONYMOUS."""
    return getattr(user, "role", ANONYMOUS)


def door_of(match):
    """The row's name for a resolved address: its URL name; the back office goes by its namespace."""
    return "admin" if match.namespaces[:1] == ["admin"] else match.view_name


def may_open(role, name):
    """May this role open this door? One without a row is closed."""
    return role in TABLE.get("admin" if name.startswith("admin:") else name, ())
