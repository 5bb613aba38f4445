"""Logs of repairs, photos and people in one database file or on a server; it knows only facts."""

from panelwright.store.backup import BackedUp, Restored, restore
from panelwright.store.opening import open_store, resolve
from panelwright.store.people import Person, Theme
from panelwright.store.photos import Photo
from panelwright.store.place import Place, place_of
from panelwright.store.reading import Event, Listed
from panelwright.store.store import Imported, Store, Stored
from panelwright.store.verifying import Broken, Head, Verified
from panelwright.store.writing import Appended

__all__ = [
    "Appended",
    "BackedUp",
    "Broken",
    "Event",
    "Head",
    "Imported",
    "Listed",
    "Person",
    "Photo",
    "Place",
    "Restored",
    "Store",
    "Stored",
    "Theme",
    "Verified",
    "open_store",
    "place_of",
    "resolve",
    "restore",
]
