"""Memory: versions of desserts, kitchens and order books, and who may change them."""

from demoule.store.address import SETTING, address_of
from demoule.store.attempts import wait_after
from demoule.store.audit import Audit, Trace
from demoule.store.carrying import Kept, back_up, restore, verify
from demoule.store.comparing import Comparison, LineMoved, Moved, WordsMoved, figures_moved, lines_moved
from demoule.store.documents import Documents, digest_of
from demoule.store.drafts import Drafts
from demoule.store.folders import FOLDERS, TakenIn, give_out, read_folder, take_in, write_folder
from demoule.store.happened import HAPPENINGS, Happening, Happenings
from demoule.store.lots import Lot, Lots
from demoule.store.passwords import SHORTEST, temporary_password
from demoule.store.people import People, Person
from demoule.store.prices import Price, Prices
from demoule.store.roles import PERMISSIONS, Act, Role, may, require
from demoule.store.sessions import Session, Sessions, SignedIn
from demoule.store.slugs import slug_of
from demoule.store.store import Store, open_store
from demoule.store.texts import LARGEST
from demoule.store.trouble import (
    AlreadyThere,
    DamagedBackup,
    NewerDatabase,
    NotAllowed,
    NotOurs,
    NotReached,
    NotSignedIn,
    NotThere,
    Stale,
    Waiting,
)
from demoule.store.values import By, Draft, Head, Kind, Version

__all__ = [
    "FOLDERS",
    "HAPPENINGS",
    "LARGEST",
    "PERMISSIONS",
    "SETTING",
    "SHORTEST",
    "Act",
    "AlreadyThere",
    "Audit",
    "By",
    "Comparison",
    "DamagedBackup",
    "Documents",
    "Draft",
    "Drafts",
    "Happening",
    "Happenings",
    "Head",
    "Kept",
    "Kind",
    "LineMoved",
    "Lot",
    "Lots",
    "Moved",
    "NewerDatabase",
    "NotAllowed",
    "NotOurs",
    "NotReached",
    "NotSignedIn",
    "NotThere",
    "People",
    "Person",
    "Price",
    "Prices",
    "Role",
    "Session",
    "Sessions",
    "SignedIn",
    "Stale",
    "Store",
    "TakenIn",
    "Trace",
    "Version",
    "Waiting",
    "WordsMoved",
    "address_of",
    "back_up",
    "digest_of",
    "figures_moved",
    "give_out",
    "lines_moved",
    "may",
    "open_store",
    "read_folder",
    "require",
    "restore",
    "slug_of",
    "take_in",
    "temporary_password",
    "verify",
    "wait_after",
    "write_folder",
]
